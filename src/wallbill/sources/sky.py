"""Sun and moon on one local day, reckoned, with no network: rise, set, twilight, day length, phase.

Definitions (USNO, "Rise, Set, and Twilight Definitions", from memory): the sun rises and sets when its centre is
50 minutes of arc below the level horizon at the sea (34 of refraction, 16 of its radius); civil twilight reaches to
6 degrees below. A day is a calendar day of the wall's zone, from midnight to midnight.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import islice, pairwise
from types import MappingProxyType
from zoneinfo import ZoneInfo

from wallbill.facts.agenda import local_day, midnight
from wallbill.facts.origin import Origin
from wallbill.facts.sky import Always, Phase, Quarter, Sky
from wallbill.sources.moon import elongation_deg, lit_share, moon_height_deg, quarters_from
from wallbill.sources.spec import ParseContext
from wallbill.sources.sun import Spot, sun_altitude_deg

RISE_DEG = -50 / 60
"""Altitude of the sun's centre at rise and set."""

CIVIL_DEG = -6.0
"""Altitude of the sun's centre at the ends of civil twilight."""

_STEP = timedelta(minutes=20)
_FINE = timedelta(milliseconds=200)

_BEFORE = MappingProxyType(
    {
        Phase.FIRST_QUARTER: Phase.WAXING_CRESCENT,
        Phase.FULL: Phase.WAXING_GIBBOUS,
        Phase.LAST_QUARTER: Phase.WANING_GIBBOUS,
        Phase.NEW: Phase.WANING_CRESCENT,
    }
)

Height = Callable[[datetime], float]


@dataclass(frozen=True, slots=True)
class Crossing:
    """An instant (UTC, cut to the second) at which a body passes a level, upwards or downwards."""

    at: datetime
    upwards: bool


@dataclass(frozen=True, slots=True)
class Path:
    """How high a body stands, in degrees, from ``start`` to ``end`` (UTC); sampled every 20 minutes."""

    height: Height
    samples: tuple[tuple[datetime, float], ...]

    def crossings(self, level_deg: float) -> tuple[Crossing, ...]:
        """Every passing of ``level_deg`` in order, those between two samples found by the turning point there."""
        knots = list(self.samples)
        for before, here, after in zip(self.samples, self.samples[1:], self.samples[2:], strict=False):
            sides = [(value - level_deg >= 0) for _, value in (before, here, after)]
            summit = here[1] >= max(before[1], after[1]) and not any(sides)
            trough = here[1] <= min(before[1], after[1]) and all(sides)
            if summit or trough:
                knots.append(self._turn(before[0], after[0], sign=1 if summit else -1))
        return tuple(self._between(sorted(knots), level_deg))

    def _between(self, knots: list[tuple[datetime, float]], level_deg: float) -> Iterator[Crossing]:
        for (start, low), (end, high) in pairwise(knots):
            upwards = low < level_deg
            if upwards == (high >= level_deg):
                yield Crossing(self._root(start, end, level_deg).replace(microsecond=0), upwards)

    def _root(self, start: datetime, end: datetime, level_deg: float) -> datetime:
        """The passing between two instants on either side of it, by halving, to a fifth of a second."""
        below_first = self.height(start) < level_deg
        while end - start > _FINE:
            middle = start + (end - start) / 2
            if (self.height(middle) < level_deg) == below_first:
                start = middle
            else:
                end = middle
        return start + (end - start) / 2

    def _turn(self, start: datetime, end: datetime, *, sign: int) -> tuple[datetime, float]:
        """The highest (``sign`` 1) or lowest (-1) point between two instants, by thirds."""
        while end - start > timedelta(seconds=1):
            third = (end - start) / 3
            if sign * self.height(start + third) < sign * self.height(end - third):
                start += third
            else:
                end -= third
        middle = start + (end - start) / 2
        return middle, self.height(middle)


def path_of(height: Height, start: datetime, end: datetime) -> Path:
    """The path of a body whose height in degrees at an instant is ``height``, between two instants (UTC)."""
    count = -(-(end - start) // _STEP)
    moments = [*(start + number * _STEP for number in range(count)), end]
    return Path(height, tuple((moment, height(moment)) for moment in moments))


@dataclass(frozen=True, slots=True)
class _SunDay:
    """The sun on one local day."""

    path: Path
    rises: tuple[Crossing, ...]

    @property
    def length(self) -> timedelta:
        """Time the sun is up: the parts of the day between its passings, or the round day of 24 hours."""
        up = self.path.samples[0][1] >= RISE_DEG
        if not self.rises:
            return timedelta(hours=24) if up else timedelta(0)
        edges = [self.path.samples[0][0], *(rise.at for rise in self.rises), self.path.samples[-1][0]]
        spans = [end - start for start, end in pairwise(edges)]
        return sum(spans[0 if up else 1 :: 2], timedelta(0))

    @property
    def always(self) -> Always | None:
        if self.rises:
            return None
        return Always.UP if self.path.samples[0][1] >= RISE_DEG else Always.DOWN


def _sun_day(day: date, zone: ZoneInfo, spot: Spot) -> _SunDay:
    path = path_of(
        lambda moment: sun_altitude_deg(moment, spot),
        midnight(day, zone),
        midnight(day + timedelta(days=1), zone),
    )
    return _SunDay(path, path.crossings(RISE_DEG))


def _first_up(crossings: tuple[Crossing, ...]) -> datetime | None:
    return next((crossing.at for crossing in crossings if crossing.upwards), None)


def _last_down(crossings: tuple[Crossing, ...]) -> datetime | None:
    return next((crossing.at for crossing in reversed(crossings) if not crossing.upwards), None)


def _named(quarters: tuple[Quarter, ...], end: datetime) -> Phase:
    """The moon's name on a day that ends at ``end``, from the quarters since it began."""
    return quarters[0].phase if quarters[0].at < end else _BEFORE[quarters[0].phase]


def sky_on(day: date, *, zone: ZoneInfo, latitude_deg: float, longitude_deg: float, origin: Origin) -> Sky:
    """Sun and moon on ``day`` of ``zone`` at a place, degrees north and east.

    Measured against a full ephemeris: rise and set within 5 s below 66 degrees of latitude, 10 s to 72;
    moonrise and moonset within 20 s; quarters within 70 s. Where a day has two sunrises (near the polar day) the
    first is given, of two sunsets the last. Instants are cut to the second.
    """
    spot = Spot(latitude_deg, longitude_deg)
    start, end = midnight(day, zone), midnight(day + timedelta(days=1), zone)
    today, yesterday = _sun_day(day, zone, spot), _sun_day(day - timedelta(days=1), zone, spot)
    twilight = today.path.crossings(CIVIL_DEG)
    moon = path_of(lambda moment: moon_height_deg(moment, spot), start, end).crossings(0.0)
    noon = start + (end - start) / 2
    quarters = tuple(islice(quarters_from(start), 4))
    return Sky(
        origin=origin,
        day=day,
        sunrise=_first_up(today.rises),
        sunset=_last_down(today.rises),
        dawn=_first_up(twilight),
        dusk=_last_down(twilight),
        sun_always=today.always,
        day_length=today.length,
        day_length_change=today.length - yesterday.length,
        moonrise=_first_up(moon),
        moonset=_last_down(moon),
        moon_phase=elongation_deg(noon) / 360,
        moon_lit=lit_share(noon),
        moon_name=_named(quarters, end),
        quarters=tuple(Quarter(quarter.phase, quarter.at.replace(microsecond=0)) for quarter in quarters),
    )


def parse(data: bytes, context: ParseContext) -> Sky:
    """Today's sky at the wall's place; ``data`` is not looked at. It is never stale, since it is reckoned."""
    origin = Origin(
        source=context.spec.name,
        service="reckoned",
        credit="",
        issued_at=None,
        fetched_at=context.now,
        good_for=None,
    )
    return sky_on(
        local_day(context.now, context.zone),
        zone=context.zone,
        latitude_deg=context.latitude_deg,
        longitude_deg=context.longitude_deg,
        origin=origin,
    )
