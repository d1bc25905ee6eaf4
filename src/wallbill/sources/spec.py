"""What a wall says about one source, which kinds of source there are, and the contract of their parsers."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from types import MappingProxyType
from zoneinfo import ZoneInfo

from wallbill.errors import Place
from wallbill.facts.origin import Origin
from wallbill.facts.supply import Fact
from wallbill.findings import Finding
from wallbill.sources.house_kinds import house_kinds
from wallbill.sources.kind import FETCH, FILE, Kind, Option, fetched
from wallbill.sources.kind_weather import alerts_kind, observation_kind
from wallbill.sources.kind_world import world_kinds

__all__ = ["SERVICES", "Kind", "Option", "Parse", "ParseContext", "SourceSpec", "kinds"]


@dataclass(frozen=True, slots=True)
class SourceSpec:
    """One ``[sources.NAME]`` of a wall.

    ``kind``: a name of `kinds`. ``options``: the other keys as TOML gives them, secrets filled in; they are never
    printed. ``every``: how often to fetch, None: as the kind says. ``good_for``: age after which a fact is stale,
    None: never. ``where``: the file and line that named it, for errors.
    """

    name: str
    kind: str
    options: Mapping[str, object] = field(repr=False)
    every: timedelta | None
    good_for: timedelta | None
    where: Place


@dataclass(frozen=True, slots=True)
class ParseContext:
    """What a parser may know beside the payload; all of it passed in, so that a parser is a pure function.

    ``now``: the moment of the gathering. ``fetched_at``: when the payload reached us, or was last confirmed by its
    publisher. Both aware, UTC. ``zone``: the wall's. ``language``: a CLDR locale such as ``en-GB``.
    """

    spec: SourceSpec
    zone: ZoneInfo
    latitude_deg: float
    longitude_deg: float
    now: datetime
    fetched_at: datetime
    language: str

    def origin(
        self,
        service: str,
        *,
        credit: str = "",
        issued_at: datetime | None = None,
        findings: tuple[Finding, ...] = (),
    ) -> Origin:
        """Where a fact of this payload comes from; ``issued_at`` (aware): when its publisher made it, if it says."""
        return Origin(
            source=self.spec.name,
            service=service,
            credit=credit,
            issued_at=issued_at,
            fetched_at=self.fetched_at,
            good_for=self.spec.good_for,
            findings=findings,
        )


Parse = Callable[[bytes, ParseContext], Fact | tuple[Fact, ...]]
"""A payload in, facts out; raises `wallbill.errors.SourceError` with the place in the payload and the mend.

A part that cannot be read is left out and named in the fact's ``origin.findings``; the rest stays.
"""


SERVICES = ("met-norway", "nws", "open-meteo", "bright-sky")
"""The weather services, by the name that a wall gives them."""


def _forecast() -> Kind:
    return Kind(
        name="forecast",
        what="a weather forecast for the wall's place",
        options=(
            Option(
                "service", "the weather service, or the format of the file", required=True, choices=SERVICES
            ),
            Option("url", "the address of your own instance of the service, without a query"),
            FILE,
            *FETCH,
        ),
        every=timedelta(minutes=30),
        good_for=timedelta(hours=12),
    )


def _track() -> Kind:
    options = (
        Option("files", "several payloads inside the wall folder, one after the other", types=(list,)),
        Option("name", "what the travel is called"),
    )
    kind = fetched("track", "travels and places (GPX)", *options, every=timedelta(hours=6), good_for=None)
    return replace(kind, one_of=(*kind.one_of, "files"))


_TABLE = (
    Option("columns", "the columns to read: name = { column, unit } for each", required=True, types=(dict,)),
    Option("time", "heading or number of the column of times; else time", types=(str, int)),
    Option("time_format", "iso, unix, unix-ms, or a pattern such as %d.%m.%Y %H:%M; else iso"),
    Option("time_zone", "the zone of times that name none; else the wall's"),
    Option("encoding", "how the text is coded; else utf-8"),
    Option("delimiter", "the sign between cells, or tab; else a comma"),
    Option("decimal", "the decimal sign; else a point", choices=(".", ",")),
    Option("header", "whether the first row holds headings; else true", types=(bool,)),
    Option("skip_lines", "lines to skip before the table", types=(int,)),
    Option("gap_after", "readings further apart than this have a gap between them"),
)


def kinds() -> Mapping[str, Kind]:
    """Every kind of source by its name, in the order to list them."""
    half_hour, hours = timedelta(minutes=30), timedelta(hours=6)
    listed = (
        _forecast(),
        observation_kind(),
        alerts_kind(),
        fetched(
            "agenda",
            "events and to-dos of a calendar (iCalendar)",
            Option("ahead", "how far ahead to look, such as 60 days", types=(str, int)),
            every=half_hour,
            good_for=timedelta(days=1),
        ),
        fetched("series", "readings over time (CSV)", *_TABLE, every=timedelta(minutes=15), good_for=hours),
        _track(),
        *house_kinds(),
        *world_kinds(),
        Kind(name="sky", what="sun and moon at the wall's place; needs no network"),
        Kind(
            name="own",
            what="a Python function in the wall's facts folder, called at each gathering",
            options=(
                Option("function", "module and function, such as rota:who_is_on", required=True),
                Option("options", "a table handed to the function", types=(dict,)),
            ),
            every=half_hour,
        ),
    )
    return MappingProxyType({kind.name: kind for kind in listed})
