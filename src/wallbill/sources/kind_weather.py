"""The kinds ``observation`` and ``alerts``: their options, and where their services are."""

from collections.abc import Mapping
from datetime import timedelta

from wallbill.sources.kind import FETCH, FILE, URL, Kind, Option

METAR_SERVICE = "https://aviationweather.gov/api/data/metar"
"""The public text service of the US Aviation Weather Center: worldwide, keyless, at most 100 requests a minute."""

METAR_LEAST = timedelta(minutes=10)
_METAR_BACK_H = 4


def observation_kind() -> Kind:
    """The kind ``observation``."""
    return Kind(
        name="observation",
        what="the latest report of an aerodrome's weather station (METAR)",
        options=(
            Option("station", "the station's code of four letters, such as EGHD", required=True),
            Option("url", "where to fetch METAR text, in place of the public service"),
            FILE,
            *FETCH,
        ),
        every=timedelta(minutes=20),
        good_for=timedelta(minutes=100),
    )


def metar_query(station: str) -> Mapping[str, str]:
    """What to ask `METAR_SERVICE` for: the reports of a station's last hours as plain text."""
    return {"ids": station.strip().upper(), "format": "raw", "hours": str(_METAR_BACK_H)}


def alerts_kind() -> Kind:
    """The kind ``alerts``."""
    return Kind(
        name="alerts",
        what="official warnings for the wall's place (CAP)",
        options=(
            Option("service", "a service that is asked for the wall's place", choices=("nws",)),
            URL,
            FILE,
            Option("areas", "codes of the areas that the wall lies in, such as NUTS3=UKK30", types=(list,)),
            Option(
                "within", "how near an area may come to count, such as 10 km; else it must hold the place"
            ),
            *FETCH,
        ),
        one_of=("service", "url", "file"),
        every=timedelta(minutes=10),
        good_for=timedelta(hours=1),
    )
