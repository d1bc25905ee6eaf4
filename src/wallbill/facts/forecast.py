"""A weather forecast: hours as the service gave them, and days made of them in the wall's own time."""

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from enum import StrEnum

from wallbill.facts.origin import Origin
from wallbill.units.quantity import Quantity


class Falling(StrEnum):
    """What falls from the sky."""

    NONE = "none"
    DRIZZLE = "drizzle"
    RAIN = "rain"
    FREEZING_RAIN = "freezing-rain"
    SLEET = "sleet"
    SNOW = "snow"
    HAIL = "hail"


class Strength(StrEnum):
    """How strongly it falls."""

    LIGHT = "light"
    MODERATE = "moderate"
    HEAVY = "heavy"


@dataclass(frozen=True, slots=True)
class Weather:
    """The look of the sky, in parts that an icon is composed of and a phrase is made from.

    ``cloud``: share of the sky covered, 0 to 1. ``showers``: it falls now and then, from broken cloud.
    """

    cloud: float = 0.0
    falling: Falling = Falling.NONE
    strength: Strength = Strength.MODERATE
    showers: bool = False
    thunder: bool = False
    fog: bool = False

    def __post_init__(self) -> None:
        if not 0 <= self.cloud <= 1:
            raise ValueError(f"cloud is a share of 0 to 1, got {self.cloud}")


@dataclass(frozen=True, slots=True)
class Hour:
    """The forecast for a span of time, most often an hour, later on six.

    ``valid_from``, ``valid_to``: aware, UTC. Temperature, wind, pressure, humidity and cloud hold at ``valid_from``;
    ``precipitation`` is what falls from ``valid_from`` to ``valid_to``, whatever period the service itself counts.
    ``wind_from_deg``: degrees clockwise from north, where the wind comes from. None: the service does not say.
    """

    valid_from: datetime
    valid_to: datetime
    temperature: Quantity | None = None
    weather: Weather | None = None
    precipitation: Quantity | None = None
    precipitation_chance: Quantity | None = None
    wind_speed: Quantity | None = None
    wind_gust: Quantity | None = None
    wind_from_deg: float | None = None
    humidity: Quantity | None = None
    pressure: Quantity | None = None
    is_day: bool | None = None


@dataclass(frozen=True, slots=True)
class Day:
    """One local calendar day: lowest and highest temperature, what falls, and the weather that matters most."""

    day: date
    low: Quantity | None = None
    high: Quantity | None = None
    precipitation: Quantity | None = None
    precipitation_chance: Quantity | None = None
    wind_speed: Quantity | None = None
    wind_from_deg: float | None = None
    weather: Weather | None = None


@dataclass(frozen=True, slots=True)
class Forecast:
    """Hours in order of time, and days in order, for one place."""

    origin: Origin
    hours: tuple[Hour, ...]
    days: tuple[Day, ...] = field(default=())

    def at(self, moment: datetime) -> Hour | None:
        """The hour that ``moment`` (aware) falls in, or None outside the forecast."""
        return next((hour for hour in self.hours if hour.valid_from <= moment < hour.valid_to), None)

    def between(self, start: datetime, end: datetime) -> tuple[Hour, ...]:
        """The hours that begin from ``start`` up to, not at, ``end`` (both aware)."""
        return tuple(hour for hour in self.hours if start <= hour.valid_from < end)

    def span(self, start: datetime, length: timedelta) -> tuple[Quantity, Quantity] | None:
        """Lowest and highest temperature of the hours that touch the span, or None if none is known."""
        touched = (h for h in self.hours if h.valid_to > start and h.valid_from < start + length)
        known = [hour.temperature for hour in touched if hour.temperature is not None]
        if not known:
            return None
        return min(known, key=lambda t: t.to("K").value), max(known, key=lambda t: t.to("K").value)
