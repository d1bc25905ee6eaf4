"""Light and dark over any stretch of time: twilights, sunrise and sunset, solar noon, and when the moon is up.

Definitions (USNO, "Rise, Set, and Twilight Definitions", from memory): the sun rises and sets with its centre 50
minutes of arc below the level horizon; civil, nautical and astronomical twilight end where it is 6, 12 and 18 degrees
below. Solar noon is the sun's passing of the meridian.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import IntEnum
from functools import lru_cache
from itertools import pairwise
from math import atan2, ceil, cos, degrees, radians, sin

from wallbill.sources.moon import moon_at, moon_parallax_deg
from wallbill.sources.sky import CIVIL_DEG, RISE_DEG, Crossing, Path
from wallbill.sources.sun import (
    Ecliptic,
    Spot,
    direction,
    dynamical_centuries,
    nutation,
    sidereal_deg,
    sun_altitude_deg,
    sun_at,
)

NAUTICAL_DEG = -12.0
ASTRONOMICAL_DEG = -18.0
MOST_DAYS = 400
"""A stretch longer than this shows no single night."""

_STEP = timedelta(hours=1)
_NODE = timedelta(hours=6)
_TURN_DEG_A_DAY = 360.98564736629  # the earth's turning (Meeus chapter 12)
_REFRACTION_DEG = 34 / 60


class Light(IntEnum):
    """How dark it is, from full day to full night."""

    DAY = 0
    CIVIL = 1
    NAUTICAL = 2
    ASTRONOMICAL = 3
    NIGHT = 4


_LIMITS = ((Light.CIVIL, RISE_DEG), (Light.NAUTICAL, CIVIL_DEG), (Light.ASTRONOMICAL, NAUTICAL_DEG), (Light.NIGHT, ASTRONOMICAL_DEG))  # fmt: skip


@dataclass(frozen=True, slots=True)
class Lit:
    """A stretch (UTC) of one light."""

    light: Light
    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class Heavens:
    """What sun and moon do from ``start`` to ``end`` (UTC), in order of time.

    ``lights`` follow on one another without a gap. ``suns``: rises and sets. ``noons``: passings of the meridian.
    ``moons``: rises and sets of the moon's upper limb; ``moon_up``: the stretches between, cut at the ends.
    """

    start: datetime
    end: datetime
    lights: tuple[Lit, ...]
    suns: tuple[Crossing, ...]
    noons: tuple[datetime, ...]
    moons: tuple[Crossing, ...]
    moon_up: tuple[tuple[datetime, datetime], ...]


@lru_cache(maxsize=64)  # the same day is asked for whenever its page is made anew
def heavens(start: datetime, end: datetime, spot: Spot) -> Heavens:
    """Sun and moon over ``spot`` between two instants (aware). Raises ValueError for an empty or far too long stretch.

    Good to a few seconds for the sun below 66 degrees of latitude, and to 20 s for the moon.
    """
    start, end = start.astimezone(UTC), end.astimezone(UTC)
    if not timedelta(0) < end - start <= timedelta(days=MOST_DAYS):
        raise ValueError(f"light is reckoned for up to {MOST_DAYS} days, got {start} to {end}")
    sun = _path(lambda moment: sun_altitude_deg(moment, spot), start, end)
    moon = _path(_moon_height(start, end, spot), start, end)
    moons = moon.crossings(0.0)
    passings = {light: sun.crossings(limit_deg) for light, limit_deg in _LIMITS}
    return Heavens(
        start=start,
        end=end,
        lights=_lights(sun, {crossing.at for each in passings.values() for crossing in each}),
        suns=passings[Light.CIVIL],
        noons=_noons(start, end, spot),
        moons=moons,
        moon_up=_ups(moons, start, end, up=moon.samples[0][1] >= 0),
    )


def light_at(altitude_deg: float) -> Light:
    """The light by the altitude of the sun's centre."""
    return max((light for light, limit_deg in _LIMITS if altitude_deg < limit_deg), default=Light.DAY)


def _path(height: Callable[[datetime], float], start: datetime, end: datetime) -> Path:
    count = ceil((end - start) / _STEP)
    moments = [*(start + number * _STEP for number in range(count)), end]
    return Path(height, tuple((moment, height(moment)) for moment in moments))


def _lights(sun: Path, cuts: set[datetime]) -> tuple[Lit, ...]:
    first, last = sun.samples[0][0], sun.samples[-1][0]
    edges = [first, *sorted(cut for cut in cuts if first < cut < last), last]
    found: list[Lit] = []
    for begin, finish in pairwise(edges):
        light = light_at(sun.height(begin + (finish - begin) / 2))
        if found and found[-1].light is light:
            found[-1] = Lit(light, found[-1].start, finish)
        else:
            found.append(Lit(light, begin, finish))
    return tuple(found)


def _noons(start: datetime, end: datetime, spot: Spot) -> tuple[datetime, ...]:
    found = []
    at = start
    while at < end + timedelta(days=1):
        noon = _noon_near(at, spot).replace(microsecond=0)
        if start <= noon < end and noon not in found:
            found.append(noon)
        at += timedelta(hours=12)
    return tuple(sorted(found))


def _noon_near(moment: datetime, spot: Spot) -> datetime:
    """The passing of the meridian nearest to ``moment``."""
    at = moment
    for _ in range(3):
        t = dynamical_centuries(at)
        longitude, obliquity = radians(sun_at(t).longitude_deg), radians(nutation(t).obliquity_deg)
        ascension_deg = degrees(atan2(cos(obliquity) * sin(longitude), cos(longitude)))
        hour_deg = (sidereal_deg(at, t) + spot.longitude_deg - ascension_deg + 180) % 360 - 180
        at -= timedelta(days=hour_deg / (_TURN_DEG_A_DAY - 0.9856))
    return at


def _ups(
    moons: tuple[Crossing, ...], start: datetime, end: datetime, *, up: bool
) -> tuple[tuple[datetime, datetime], ...]:
    edges = [start, *(moon.at for moon in moons), end]
    return tuple((begin, finish) for begin, finish in list(pairwise(edges))[0 if up else 1 :: 2])


def _moon_height(start: datetime, end: datetime, spot: Spot) -> Callable[[datetime], float]:
    """`wallbill.sources.moon.moon_height_deg`, with the moon's place interpolated between places six hours apart.

    Five neighbours each (Lagrange; Meeus chapter 3) keep the place to a millionth of a degree, at a fifth of the cost.
    """
    count = ceil((end - start) / _NODE) + 5
    first = start - 2 * _NODE
    nodes = [moon_at(dynamical_centuries(first + number * _NODE)) for number in range(count)]
    turns = [0.0]
    for before, after in pairwise(nodes):
        turns.append(turns[-1] + (360.0 if after.longitude_deg < before.longitude_deg else 0.0))
    rows = [
        (node.longitude_deg + turn, node.latitude_deg, node.distance_km)
        for node, turn in zip(nodes, turns, strict=True)
    ]

    def height(moment: datetime) -> float:
        place = (moment - first) / _NODE
        begin = min(max(0, round(place) - 2), count - 5)
        shares = _lagrange(place - begin)
        longitude, latitude, distance = (
            sum(share * rows[begin + number][part] for number, share in enumerate(shares))
            for part in range(3)
        )
        body = Ecliptic(longitude % 360, latitude, distance)
        return direction(body, moment, spot).altitude_deg - (
            0.7275 * moon_parallax_deg(body) - _REFRACTION_DEG
        )

    return height


def _lagrange(x: float) -> tuple[float, ...]:
    """The shares of five values at 0, 1, 2, 3 and 4 in the value at ``x``."""
    shares = []
    for here in range(5):
        share = 1.0
        for other in range(5):
            if other != here:
                share *= (x - other) / (here - other)
        shares.append(share)
    return tuple(shares)
