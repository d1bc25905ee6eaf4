"""Where the moon is, how much of it is lit, and when its quarters fall.

Source of the formulas: J. Meeus, Astronomical Algorithms, 2nd ed., 1998: chapter 47 (place of the moon, with the
terms of tables 47.A above 800 and 47.B above 1000 millionths of a degree) and chapter 48 (lit share). The quarters
are where the moon's apparent longitude is a quarter, half or three quarters of a circle ahead of the sun's, which is
their definition; they are found by iteration on the two places.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from math import acos, asin, atan2, cos, degrees, radians, sin

from wallbill.facts.sky import Phase, Quarter
from wallbill.sources.sun import (
    Ecliptic,
    Spot,
    direction,
    dynamical_centuries,
    nutation,
    sun_at,
)

SYNODIC_DAYS = 29.530588861
"""Mean time from new moon to new moon (Meeus chapter 49)."""

EARTH_EQUATOR_KM = 6378.14
"""Equatorial radius of the earth, for the moon's parallax (Meeus chapter 47)."""

QUARTERS = (Phase.NEW, Phase.FIRST_QUARTER, Phase.FULL, Phase.LAST_QUARTER)
"""The principal phases, a quarter of a circle of elongation apart."""

Term = tuple[int, ...]


def _terms(rows: str) -> tuple[Term, ...]:
    return tuple(tuple(int(cell) for cell in row.split()) for row in rows.strip().splitlines())


# Multiples of D, M, M' and F; sine for the longitude in 1e-6 degree, cosine for the distance in metres (table 47.A).
_LONGITUDE = _terms("""
    0 0 1 0 6288774 -20905355
    2 0 -1 0 1274027 -3699111
    2 0 0 0 658314 -2955968
    0 0 2 0 213618 -569925
    0 1 0 0 -185116 48888
    0 0 0 2 -114332 -3149
    2 0 -2 0 58793 246158
    2 -1 -1 0 57066 -152138
    2 0 1 0 53322 -170733
    2 -1 0 0 45758 -204586
    0 1 -1 0 -40923 -129620
    1 0 0 0 -34720 108743
    0 1 1 0 -30383 104755
    2 0 0 -2 15327 10321
    0 0 1 2 -12528 0
    0 0 1 -2 10980 79661
    4 0 -1 0 10675 -34782
    0 0 3 0 10034 -23210
    4 0 -2 0 8548 -21636
    2 1 -1 0 -7888 24208
    2 1 0 0 -6766 30824
    1 0 -1 0 -5163 -8379
    1 1 0 0 4987 -16675
    2 -1 1 0 4036 -12831
    2 0 2 0 3994 -10445
    4 0 0 0 3861 -11650
    2 0 -3 0 3665 14403
    0 1 -2 0 -2689 -7003
    2 0 -1 2 -2602 0
    2 -1 -2 0 2390 10056
    1 0 1 0 -2348 6322
    2 -2 0 0 2236 -9884
    0 1 2 0 -2120 5751
    0 2 0 0 -2069 0
    2 -2 -1 0 2048 -4950
    2 0 1 -2 -1773 4130
    2 0 0 2 -1595 0
    4 -1 -1 0 1215 -3958
    0 0 2 2 -1110 0
    3 0 -1 0 -892 3258
    2 1 1 0 -810 2616
""")

# The same multiples; sine for the latitude in 1e-6 degree (table 47.B).
_LATITUDE = _terms("""
    0 0 0 1 5128122
    0 0 1 1 280602
    0 0 1 -1 277693
    2 0 0 -1 173237
    2 0 -1 1 55413
    2 0 -1 -1 46271
    2 0 0 1 32573
    0 0 2 1 17198
    2 0 1 -1 9266
    0 0 2 -1 8822
    2 -1 0 -1 8216
    2 0 -2 -1 4324
    2 0 1 1 4200
    2 1 0 -1 -3359
    2 -1 -1 1 2463
    2 -1 0 1 2211
    2 -1 -1 -1 2065
    0 1 -1 -1 -1870
    4 0 -1 -1 1828
    0 1 0 1 -1794
    0 0 0 3 -1749
    0 1 -1 1 -1565
    1 0 0 1 -1491
    0 1 1 1 -1475
    0 1 1 -1 -1410
    0 1 0 -1 -1344
    1 0 0 -1 -1335
    0 0 3 1 1107
    4 0 0 -1 1021
""")


@dataclass(frozen=True, slots=True)
class _Arguments:
    """The moon's mean longitude and the four fundamental arguments, radians, and the factor of the sun's anomaly."""

    longitude: float
    elongation: float
    sun: float
    moon: float
    node: float
    factor: float

    def angle(self, term: Term) -> float:
        return term[0] * self.elongation + term[1] * self.sun + term[2] * self.moon + term[3] * self.node

    def weight(self, term: Term) -> float:
        return float(self.factor ** abs(term[1]))


def _arguments(t: float) -> _Arguments:
    return _Arguments(
        longitude=radians(218.3164477 + 481267.88123421 * t - 0.0015786 * t**2 + t**3 / 538841),
        elongation=radians(297.8501921 + 445267.1114034 * t - 0.0018819 * t**2 + t**3 / 545868),
        sun=radians(357.5291092 + 35999.0502909 * t - 0.0001536 * t**2),
        moon=radians(134.9633964 + 477198.8675055 * t + 0.0087414 * t**2 + t**3 / 69699),
        node=radians(93.2720950 + 483202.0175233 * t - 0.0036539 * t**2),
        factor=1 - 0.002516 * t - 0.0000074 * t**2,
    )


def moon_at(t: float) -> Ecliptic:
    """The moon's apparent geocentric place at ``t`` centuries of dynamical time, good to about 0.006 degree."""
    a = _arguments(t)
    venus, jupiter = radians(119.75 + 131.849 * t), radians(53.09 + 479264.290 * t)
    third = radians(313.45 + 481266.484 * t)
    longitude = sum(term[4] * a.weight(term) * sin(a.angle(term)) for term in _LONGITUDE)
    longitude += 3958 * sin(venus) + 1962 * sin(a.longitude - a.node) + 318 * sin(jupiter)
    latitude = sum(term[4] * a.weight(term) * sin(a.angle(term)) for term in _LATITUDE)
    latitude += -2235 * sin(a.longitude) + 382 * sin(third)
    latitude += 175 * (sin(venus - a.node) + sin(venus + a.node))
    latitude += 127 * sin(a.longitude - a.moon) - 115 * sin(a.longitude + a.moon)
    distance = sum(term[5] * a.weight(term) * cos(a.angle(term)) for term in _LONGITUDE)
    apparent = degrees(a.longitude) + longitude / 1e6 + nutation(t).longitude_deg
    return Ecliptic(apparent % 360, latitude / 1e6, 385000.56 + distance / 1000)


def moon_parallax_deg(body: Ecliptic) -> float:
    """Equatorial horizontal parallax of the moon (Meeus chapter 47)."""
    return degrees(asin(EARTH_EQUATOR_KM / body.distance_km))


def moon_height_deg(moment: datetime, spot: Spot) -> float:
    """Geocentric altitude of the moon less that at which its upper limb rises: it is up where this is positive.

    The limb rises at 0.7275 of the parallax less 34 minutes of arc of refraction (Meeus chapter 15).
    """
    body = moon_at(dynamical_centuries(moment))
    return direction(body, moment, spot).altitude_deg - (0.7275 * moon_parallax_deg(body) - 34 / 60)


def elongation_deg(moment: datetime) -> float:
    """How far the moon's longitude is ahead of the sun's at ``moment`` (aware): 0 new, 90 first quarter, up to 360."""
    t = dynamical_centuries(moment)
    return (moon_at(t).longitude_deg - sun_at(t).longitude_deg) % 360


def lit_share(moment: datetime) -> float:
    """Share of the moon's disc that is lit at ``moment`` (aware), 0 to 1 (Meeus chapter 48)."""
    t = dynamical_centuries(moment)
    moon, sun = moon_at(t), sun_at(t)
    apart = acos(cos(radians(moon.latitude_deg)) * cos(radians(moon.longitude_deg - sun.longitude_deg)))
    angle = atan2(sun.distance_km * sin(apart), moon.distance_km - sun.distance_km * cos(apart))
    return (1 + cos(angle)) / 2


def quarters_from(moment: datetime) -> Iterator[Quarter]:
    """The principal phases from ``moment`` (aware) on, without end; instants in UTC, good to a minute."""
    number = int(elongation_deg(moment) // 90) + 1
    at = moment.astimezone(UTC)
    while True:
        target = number % 4 * 90.0
        at = _quarter(at, target)
        yield Quarter(QUARTERS[number % 4], at)
        number += 1


def _quarter(start: datetime, target_deg: float) -> datetime:
    """The instant next after ``start`` at which the elongation is ``target_deg``."""
    ahead = (target_deg - elongation_deg(start)) % 360
    at = start + timedelta(days=ahead / 360 * SYNODIC_DAYS)
    for _ in range(8):
        wrong = (target_deg - elongation_deg(at) + 180) % 360 - 180
        at += timedelta(days=wrong / 360 * SYNODIC_DAYS)
        if abs(wrong) < 1e-6:
            break
    return at
