"""Sun and moon at one place on one local day."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum

from wallbill.facts.origin import Origin


class Always(StrEnum):
    """What the sun does on a day when it neither rises nor sets."""

    UP = "up"
    DOWN = "down"


@dataclass(frozen=True, slots=True)
class Sky:
    """Instants are aware, UTC, None where the thing does not happen on that local day.

    ``sun_always``: set when the sun neither rises nor sets. ``day_length``: time the sun is up.
    ``moon_phase``: 0 new, 0.25 first quarter, 0.5 full, 0.75 last quarter, up to 1.
    ``moon_lit``: share of the disc that is lit, 0 to 1.
    """

    origin: Origin
    day: date
    sunrise: datetime | None
    sunset: datetime | None
    dawn: datetime | None
    dusk: datetime | None
    sun_always: Always | None
    day_length: timedelta
    day_length_change: timedelta
    moonrise: datetime | None
    moonset: datetime | None
    moon_phase: float
    moon_lit: float
