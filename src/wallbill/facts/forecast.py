"""A weather forecast: hours as the service gave them, and days made of them in the wall's own time.

Whatever units a service uses, a forecast is in °C, m/s, mm, % and hPa.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from enum import StrEnum

from wallbill.facts.comfort import dew_point, feels_like
from wallbill.facts.origin import Origin
from wallbill.facts.wind import Point, beaufort, compass_point
from wallbill.units.quantity import Quantity

WET_FROM_MM = 0.1
"""What counts as wet: a tenth of a millimetre, the least that a rain gauge is read to (common practice)."""


class Falling(StrEnum):
    """What falls from the sky."""

    NONE = "none"
    DRIZZLE = "drizzle"
    RAIN = "rain"
    FREEZING_RAIN = "freezing-rain"
    SLEET = "sleet"
    SNOW = "snow"
    HAIL = "hail"
    ICE_PELLETS = "ice-pellets"

    @property
    def gravity(self) -> int:
        """How much it matters to someone outdoors, from 0; common practice, no source."""
        order = ("none", "drizzle", "rain", "sleet", "snow", "ice-pellets", "hail", "freezing-rain")
        return order.index(self.value)


class Strength(StrEnum):
    """How strongly it falls."""

    LIGHT = "light"
    MODERATE = "moderate"
    HEAVY = "heavy"

    @property
    def gravity(self) -> int:
        """0 light, 1 moderate, 2 heavy."""
        return tuple(Strength).index(self)


class Phenomenon(StrEnum):
    """What else the air does or carries; of several, the one that matters most.

    The kinds are those that WMO-No. 306, code tables 4677, 4678 and 4680, tell apart and a reader would dress or plan
    for, and the gale, heat and cold that forecasts give. They stand in the order of how much they matter; common
    practice, no source. `FREEZING_FOG` is fog as well: `Weather.fog` is true beside it.
    """

    NONE = "none"
    HAZE = "haze"
    MIST = "mist"
    DIAMOND_DUST = "diamond-dust"
    DISTANT_LIGHTNING = "distant-lightning"
    COLD = "cold"
    HOT = "hot"
    DUST = "dust"
    SMOKE = "smoke"
    GALE = "gale"
    BLOWING_SNOW = "blowing-snow"
    FREEZING_FOG = "freezing-fog"
    ASH = "ash"
    SANDSTORM = "sandstorm"
    SQUALL = "squall"
    FUNNEL = "funnel"

    @property
    def gravity(self) -> int:
        """How much it matters, from 0."""
        return tuple(Phenomenon).index(self)

    @property
    def dangerous(self) -> bool:
        """Whether it may hurt someone outdoors or on the road at once."""
        return self.gravity >= Phenomenon.FREEZING_FOG.gravity


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
    phenomenon: Phenomenon = Phenomenon.NONE

    def __post_init__(self) -> None:
        if not 0 <= self.cloud <= 1:
            raise ValueError(f"cloud is a share of 0 to 1, got {self.cloud}")

    @property
    def dry(self) -> bool:
        """Whether nothing falls."""
        return self.falling is Falling.NONE

    @property
    def gravity(self) -> tuple[int, int, int, int, float]:
        """A key to sort by: what matters more is greater. Common practice, no source."""
        dangerous = self.thunder + (self.falling in {Falling.HAIL, Falling.FREEZING_RAIN})
        dangerous += self.phenomenon.dangerous
        strength = 0 if self.dry else self.strength.gravity
        hidden = max(int(self.fog), self.phenomenon.gravity)
        return dangerous, self.falling.gravity, strength, hidden, self.cloud


@dataclass(frozen=True, slots=True)
class Hour:
    """The forecast for a span of time, most often an hour, later on six.

    ``valid_from``, ``valid_to``: aware, UTC. Temperature, wind, pressure, humidity and cloud hold at ``valid_from``;
    ``precipitation`` is what falls from ``valid_from`` to ``valid_to``, whatever period the service itself counts.
    ``wind_from_deg``: degrees clockwise from north, where the wind comes from. ``low``, ``high``: the extremes within
    a long span, where the service gives them. None: the service does not say.
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
    low: Quantity | None = None
    high: Quantity | None = None

    @property
    def wet(self) -> bool:
        """Whether something falls: the weather says so, or at least 0.1 mm does."""
        if self.weather is not None and not self.weather.dry:
            return True
        return self.precipitation is not None and self.precipitation.to("mm").value >= WET_FROM_MM

    @property
    def beaufort(self) -> int | None:
        """The wind's Beaufort force, 0 to 12."""
        return None if self.wind_speed is None else beaufort(self.wind_speed)

    @property
    def wind_point(self) -> Point | None:
        """The point of the compass that the wind comes from."""
        return None if self.wind_from_deg is None else compass_point(self.wind_from_deg)

    @property
    def feels(self) -> Quantity | None:
        """What the air feels like: wind chill in the cold, heat index in the heat, else the temperature."""
        return feels_like(self.temperature, wind_speed=self.wind_speed, humidity=self.humidity)

    @property
    def dew_point(self) -> Quantity | None:
        """The dew point in °C, from temperature and humidity."""
        if self.temperature is None or self.humidity is None:
            return None
        return dew_point(self.temperature, self.humidity)


@dataclass(frozen=True, slots=True)
class Day:
    """One local calendar day: lowest and highest temperature, what falls, and the weather that matters most.

    ``precipitation`` is all that falls, as water; ``snow`` is the part of it that falls as snow, ``rain`` the rest.
    ``wind_speed`` is the strongest mean wind of the day, ``wind_from_deg`` its direction then.
    """

    day: date
    low: Quantity | None = None
    high: Quantity | None = None
    precipitation: Quantity | None = None
    precipitation_chance: Quantity | None = None
    wind_speed: Quantity | None = None
    wind_from_deg: float | None = None
    weather: Weather | None = None
    rain: Quantity | None = None
    snow: Quantity | None = None
    wind_gust: Quantity | None = None

    @property
    def beaufort(self) -> int | None:
        """The Beaufort force, 0 to 12, of the strongest mean wind."""
        return None if self.wind_speed is None else beaufort(self.wind_speed)

    @property
    def wind_point(self) -> Point | None:
        """The point of the compass that the strongest wind comes from."""
        return None if self.wind_from_deg is None else compass_point(self.wind_from_deg)


@dataclass(frozen=True, slots=True)
class Spell:
    """A wet spell: from when to when (aware, UTC), its gravest weather, and how much falls, if known."""

    starts: datetime
    ends: datetime
    weather: Weather
    precipitation: Quantity | None = None


class Turn(StrEnum):
    """What happens at a change: something begins to fall, what falls turns into something else, or it ends."""

    BEGINS = "begins"
    TURNS = "turns"
    ENDS = "ends"


@dataclass(frozen=True, slots=True)
class Change:
    """A change in what falls, for a line such as "showers from 18".

    ``weather``: from ``at`` on when it begins or turns, up to ``at`` when it ends.
    """

    at: datetime
    turn: Turn
    weather: Weather


_UNSAID = Weather(cloud=1.0, falling=Falling.RAIN, strength=Strength.LIGHT)
"""What falls in an hour that has an amount and no weather that says what it is."""


@dataclass(frozen=True, slots=True)
class Forecast:
    """Hours in order of time, and days in order, for one place."""

    origin: Origin
    hours: tuple[Hour, ...]
    days: tuple[Day, ...] = field(default=())

    def at(self, moment: datetime) -> Hour | None:
        """The hour that ``moment`` (aware) falls in, or None outside the forecast."""
        return next((hour for hour in self.hours if hour.valid_from <= moment < hour.valid_to), None)

    def day(self, day: date) -> Day | None:
        """The day of that local date, or None outside the forecast."""
        return next((found for found in self.days if found.day == day), None)

    def between(self, start: datetime, end: datetime) -> tuple[Hour, ...]:
        """The hours that begin from ``start`` up to, not at, ``end`` (both aware)."""
        return tuple(hour for hour in self.hours if start <= hour.valid_from < end)

    def touching(self, start: datetime, length: timedelta) -> tuple[Hour, ...]:
        """The hours of which any part lies within ``length`` from ``start`` (aware)."""
        end = _end(start, length)
        return tuple(h for h in self.hours if h.valid_to > start and h.valid_from < end)

    def span(self, start: datetime, length: timedelta) -> tuple[Quantity, Quantity] | None:
        """Lowest and highest temperature of the hours that touch the span, or None if none is known."""
        known = [
            value
            for hour in self.touching(start, length)
            for value in (hour.temperature, hour.low, hour.high)
            if value is not None
        ]
        if not known:
            return None
        return min(known, key=lambda t: t.to("K").value), max(known, key=lambda t: t.to("K").value)

    def strongest(self, start: datetime, length: timedelta) -> Hour | None:
        """The first hour of the strongest mean wind within the span, or None if no wind is known."""
        known = (hour for hour in self.touching(start, length) if hour.wind_speed is not None)
        return max(known, key=lambda h: h.wind_speed.to("m/s").value if h.wind_speed else 0.0, default=None)

    def spells(
        self, start: datetime, length: timedelta, *, pause: timedelta = timedelta(hours=1)
    ) -> tuple[Spell, ...]:
        """The wet spells within the span; a dry pause up to ``pause`` long does not end one.

        A spell that runs beyond the span is cut at its ends, its amount in proportion.
        """
        return tuple(_spell(wet, start, _end(start, length)) for wet in self._runs(start, length, pause))

    def changes(
        self, start: datetime, length: timedelta, *, pause: timedelta = timedelta(hours=1)
    ) -> tuple[Change, ...]:
        """When something begins to fall within the span, turns into something else, and ends, in order.

        What falls already at ``start`` does not begin, and what still falls at the end of the span, or where the
        forecast breaks off, does not end.
        """
        found: list[Change] = []
        last = self.hours[-1].valid_to if self.hours else start
        for wet in self._runs(start, length, pause):
            falls = [_what(hour) for hour in wet]
            if wet[0].valid_from > start:
                found.append(Change(wet[0].valid_from, Turn.BEGINS, falls[0]))
            found += [
                Change(hour.valid_from, Turn.TURNS, weather)
                for hour, weather, before in zip(wet[1:], falls[1:], falls, strict=False)
                if weather.falling is not before.falling
            ]
            if wet[-1].valid_to < min(_end(start, length), last):
                found.append(Change(wet[-1].valid_to, Turn.ENDS, falls[-1]))
        return tuple(found)

    def _runs(self, start: datetime, length: timedelta, pause: timedelta) -> Iterator[tuple[Hour, ...]]:
        """The wet hours of the span, those of one spell together."""
        run: list[Hour] = []
        for hour in self.touching(start, length):
            if not hour.wet:
                continue
            if run and hour.valid_from - run[-1].valid_to > pause:
                yield tuple(run)
                run = []
            run.append(hour)
        if run:
            yield tuple(run)


def _end(start: datetime, length: timedelta) -> datetime:
    """The end of a span by the time that passes, also where the clocks change in it (UTC)."""
    return start.astimezone(UTC) + length


def _what(hour: Hour) -> Weather:
    """The weather of a wet hour, which may know an amount only."""
    return hour.weather if hour.weather is not None and not hour.weather.dry else _UNSAID


def _spell(wet: tuple[Hour, ...], start: datetime, end: datetime) -> Spell:
    """The wet hours of one spell, cut to the span."""
    amounts = []
    for hour in wet:
        if hour.precipitation is not None:
            inside = min(hour.valid_to, end) - max(hour.valid_from, start)
            amounts.append(hour.precipitation.to("mm").value * (inside / (hour.valid_to - hour.valid_from)))
    return Spell(
        starts=max(wet[0].valid_from, start),
        ends=min(wet[-1].valid_to, end),
        weather=max((_what(hour) for hour in wet), key=lambda weather: weather.gravity),
        precipitation=Quantity(round(sum(amounts), 6), "mm") if amounts else None,
    )
