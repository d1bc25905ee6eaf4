"""Sun and moon at one place on one local day."""

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from enum import StrEnum

from wallbill.facts.origin import Origin


class Always(StrEnum):
    """What the sun does on a day when it neither rises nor sets."""

    UP = "up"
    DOWN = "down"


class Phase(StrEnum):
    """The eight named phases of the moon, in order. The four quarters are instants, the others the time between."""

    NEW = "new"
    WAXING_CRESCENT = "waxing-crescent"
    FIRST_QUARTER = "first-quarter"
    WAXING_GIBBOUS = "waxing-gibbous"
    FULL = "full"
    WANING_GIBBOUS = "waning-gibbous"
    LAST_QUARTER = "last-quarter"
    WANING_CRESCENT = "waning-crescent"


@dataclass(frozen=True, slots=True)
class Quarter:
    """One of the four principal phases, new, first quarter, full, last quarter, and its instant (aware, UTC)."""

    phase: Phase
    at: datetime


@dataclass(frozen=True, slots=True)
class Sky:
    """Instants are aware, UTC, None where the thing does not happen on that local day.

    ``sun_always``: set when the sun neither rises nor sets. ``day_length``: time the sun is up.
    ``day_length_change``: against the day before. ``dawn``, ``dusk``: of civil twilight.
    ``moon_phase``: 0 new, 0.25 first quarter, 0.5 full, 0.75 last quarter, up to 1; ``moon_lit``: share of the disc
    that is lit, 0 to 1; both at local noon. ``moon_name``: a quarter on the day it falls on, else what lies between.
    ``quarters``: the next four quarters from the day's beginning.
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
    moon_name: Phase = Phase.NEW
    quarters: tuple[Quarter, ...] = field(default=())

    def is_day(self, moment: datetime) -> bool | None:
        """Whether the sun is up at ``moment`` (aware) of this day, reckoned from its rise and set; None if unknown."""
        if self.sun_always is not None:
            return self.sun_always is Always.UP
        if self.sunrise is None or self.sunset is None:
            known = self.sunrise or self.sunset
            return None if known is None else (moment >= known) is (self.sunrise is not None)
        if self.sunrise <= self.sunset:
            return self.sunrise <= moment < self.sunset
        return not self.sunset <= moment < self.sunrise
