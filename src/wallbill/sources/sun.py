"""Where the sun is: its place in the sky for any instant and place on the earth.

Source of the formulas: J. Meeus, Astronomical Algorithms, 2nd ed., 1998: chapters 12 (sidereal time), 13 (coordinates),
22 (nutation and obliquity, the short form), 25 (sun, low accuracy, stated as 0.01 degree), 40 (parallax).
"""

from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import pairwise
from math import asin, atan2, cos, degrees, radians, sin

J2000 = datetime(2000, 1, 1, 12, tzinfo=UTC)
"""The epoch of the formulas: Julian day 2451545.0."""

DAYS_PER_CENTURY = 36525.0

SUN_PARALLAX_DEG = 8.794 / 3600
"""Equatorial horizontal parallax of the sun at one astronomical unit (Meeus chapter 40)."""

# Year, delta-T in seconds: Meeus table 10.A up to 1998, from 2000 IERS values rounded; from memory. The earth's
# turning is not foreseeable; after the last row its value stays.
_DELTA_T_S = (
    (1900, -2.8),
    (1920, 21.2),
    (1940, 24.3),
    (1950, 29.1),
    (1960, 33.1),
    (1970, 40.2),
    (1980, 50.5),
    (1990, 56.9),
    (2000, 63.8),
    (2010, 66.1),
    (2020, 69.4),
    (2025, 69.2),
)


def delta_t_s(moment: datetime) -> float:
    """Seconds that dynamical time runs ahead of universal time at ``moment`` (aware)."""
    year = moment.year + (moment.month - 0.5) / 12
    for (before, low), (after, high) in pairwise(_DELTA_T_S):
        if before <= year < after:
            return low + (high - low) * (year - before) / (after - before)
    return _DELTA_T_S[0][1] if year < _DELTA_T_S[0][0] else _DELTA_T_S[-1][1]


def days(moment: datetime) -> float:
    """Days of universal time since `J2000`."""
    return (moment - J2000).total_seconds() / 86400


def dynamical_centuries(moment: datetime) -> float:
    """Julian centuries of dynamical time since `J2000`: the T of the formulas."""
    return (days(moment) + delta_t_s(moment) / 86400) / DAYS_PER_CENTURY


@dataclass(frozen=True, slots=True)
class Nutation:
    """Nutation in longitude, and the true obliquity of the ecliptic."""

    longitude_deg: float
    obliquity_deg: float


def nutation(t: float) -> Nutation:
    """Nutation to 0.5 and obliquity to 0.1 seconds of arc at ``t`` centuries (Meeus chapter 22)."""
    node = radians(125.04452 - 1934.136261 * t)
    sun, moon = radians(280.4665 + 36000.7698 * t), radians(218.3165 + 481267.8813 * t)
    longitude = -17.20 * sin(node) - 1.32 * sin(2 * sun) - 0.23 * sin(2 * moon) + 0.21 * sin(2 * node)
    wobble = 9.20 * cos(node) + 0.57 * cos(2 * sun) + 0.10 * cos(2 * moon) - 0.09 * cos(2 * node)
    mean = 23 + 26 / 60 + (21.448 - 46.8150 * t - 0.00059 * t**2 + 0.001813 * t**3) / 3600
    return Nutation(longitude / 3600, mean + wobble / 3600)


@dataclass(frozen=True, slots=True)
class Ecliptic:
    """Apparent geocentric place: longitude from the true equinox of date, latitude, and distance."""

    longitude_deg: float
    latitude_deg: float
    distance_km: float


AU_KM = 149597870.7
"""The astronomical unit (IAU 2012, exact)."""


def sun_at(t: float) -> Ecliptic:
    """The sun's apparent place at ``t`` centuries, good to 0.01 degree (Meeus chapter 25)."""
    mean = 280.46646 + 36000.76983 * t + 0.0003032 * t**2
    anomaly = radians(357.52911 + 35999.05029 * t - 0.0001537 * t**2)
    eccentricity = 0.016708634 - 0.000042037 * t - 0.0000001267 * t**2
    centre = (
        (1.914602 - 0.004817 * t - 0.000014 * t**2) * sin(anomaly)
        + (0.019993 - 0.000101 * t) * sin(2 * anomaly)
        + 0.000289 * sin(3 * anomaly)
    )
    true_anomaly = anomaly + radians(centre)
    distance = 1.000001018 * (1 - eccentricity**2) / (1 + eccentricity * cos(true_anomaly))
    aberration = -20.4898 / 3600 / distance
    longitude = mean + centre + nutation(t).longitude_deg + aberration
    return Ecliptic(longitude % 360, 0.0, distance * AU_KM)


@dataclass(frozen=True, slots=True)
class Spot:
    """A place on the earth, degrees north and east."""

    latitude_deg: float
    longitude_deg: float


@dataclass(frozen=True, slots=True)
class Direction:
    """Where a body is seen from the earth's centre: altitude above the horizon, azimuth from north through east."""

    altitude_deg: float
    azimuth_deg: float


def sidereal_deg(moment: datetime, t: float) -> float:
    """Apparent sidereal time at Greenwich (Meeus chapter 12)."""
    elapsed = days(moment)
    century = elapsed / DAYS_PER_CENTURY
    mean = 280.46061837 + 360.98564736629 * elapsed + 0.000387933 * century**2 - century**3 / 38710000
    shift = nutation(t)
    return (mean + shift.longitude_deg * cos(radians(shift.obliquity_deg))) % 360


def direction(body: Ecliptic, moment: datetime, spot: Spot) -> Direction:
    """Where ``body`` stands at ``moment`` (aware) over ``spot``, no parallax and no refraction (Meeus chapter 13)."""
    t = dynamical_centuries(moment)
    obliquity = radians(nutation(t).obliquity_deg)
    longitude, latitude = radians(body.longitude_deg), radians(body.latitude_deg)
    ascension = atan2(
        sin(longitude) * cos(obliquity) - sin(latitude) / cos(latitude) * sin(obliquity), cos(longitude)
    )
    declination = asin(sin(latitude) * cos(obliquity) + cos(latitude) * sin(obliquity) * sin(longitude))
    hour = radians(sidereal_deg(moment, t) + spot.longitude_deg) - ascension
    phi = radians(spot.latitude_deg)
    altitude = asin(sin(phi) * sin(declination) + cos(phi) * cos(declination) * cos(hour))
    azimuth = atan2(sin(hour), cos(hour) * sin(phi) - sin(declination) / cos(declination) * cos(phi))
    return Direction(degrees(altitude), (degrees(azimuth) + 180) % 360)


def sun_altitude_deg(moment: datetime, spot: Spot) -> float:
    """Altitude of the sun's centre at ``moment`` (aware), parallax allowed for, refraction not."""
    body = sun_at(dynamical_centuries(moment))
    altitude = direction(body, moment, spot).altitude_deg
    return altitude - SUN_PARALLAX_DEG * AU_KM / body.distance_km * cos(radians(altitude))
