"""Map projections of the sphere: arrays of longitude and latitude in degrees to x (east) and y (north), for radius 1.

Sources: Snyder, "Map Projections: A Working Manual", USGS Professional Paper 1395 (equidistant cylindrical p. 91,
Mercator p. 41, Lambert azimuthal equal-area p. 185); Savric, Patterson and Jenny, "The Equal Earth map projection",
Int. J. Geographical Information Science 33(3), 2019.
"""

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Reals = NDArray[np.float64]
Whole = NDArray[np.int64]

EARTH_RADIUS_M = 6_371_008.8  # mean radius of WGS 84, (2a + b) / 3

_MERCATOR_LIMIT_DEG = 85.0
_POLE_DEG = 90 - 1e-7  # a centimetre short of it, where the direction of a meridian is still known

FARTHEST_DEG = 170.0
"""The azimuthal projection tears at the point opposite its centre: places beyond this distance stay at its rim."""


class Projection(Protocol):
    """A way to lay the sphere flat. ``wraps``: a place can be drawn again a full turn east or west of itself."""

    @property
    def wraps(self) -> bool:
        """Whether longitudes a full turn apart lie side by side."""
        ...

    def forward(self, longitude_deg: Reals, latitude_deg: Reals) -> tuple[Reals, Reals]:
        """X and y of places, in radii of the sphere. Longitudes may lie beyond 180 degrees where it wraps."""
        ...


@dataclass(frozen=True, slots=True)
class Equirectangular:
    """Equidistant cylindrical, true to scale along ``parallel_deg``: for maps of a region."""

    meridian_deg: float
    parallel_deg: float
    wraps: bool = True

    def forward(self, longitude_deg: Reals, latitude_deg: Reals) -> tuple[Reals, Reals]:
        """See `Projection.forward`."""
        x = np.radians(longitude_deg - self.meridian_deg) * math.cos(math.radians(self.parallel_deg))
        return x, np.radians(latitude_deg)


@dataclass(frozen=True, slots=True)
class Mercator:
    """Mercator of the sphere; latitudes beyond 85 degrees stay at 85."""

    meridian_deg: float
    wraps: bool = True

    def forward(self, longitude_deg: Reals, latitude_deg: Reals) -> tuple[Reals, Reals]:
        """See `Projection.forward`."""
        latitude = np.radians(np.clip(latitude_deg, -_MERCATOR_LIMIT_DEG, _MERCATOR_LIMIT_DEG))
        return np.radians(longitude_deg - self.meridian_deg), np.arctanh(np.sin(latitude))


@dataclass(frozen=True, slots=True)
class LambertAzimuthal:
    """Lambert azimuthal equal-area about a centre; what lies beyond 170 degrees from it stays at that distance."""

    meridian_deg: float
    parallel_deg: float
    wraps: bool = False

    def forward(self, longitude_deg: Reals, latitude_deg: Reals) -> tuple[Reals, Reals]:
        """See `Projection.forward`."""
        east = np.radians(longitude_deg - self.meridian_deg)
        north = np.radians(np.clip(latitude_deg, -_POLE_DEG, _POLE_DEG))
        centre = math.radians(self.parallel_deg)
        x = np.cos(north) * np.sin(east)
        y = math.cos(centre) * np.sin(north) - math.sin(centre) * np.cos(north) * np.cos(east)
        towards = math.sin(centre) * np.sin(north) + math.cos(centre) * np.cos(north) * np.cos(east)
        away = np.arctan2(np.hypot(x, y), towards)  # the angle from the centre
        reach = 2 * np.sin(np.minimum(away, math.radians(FARTHEST_DEG)) / 2)
        bearing = np.arctan2(x, y)  # any, at the centre and at the point opposite
        return reach * np.sin(bearing), reach * np.cos(bearing)

    def away_deg(self, longitude_deg: Reals, latitude_deg: Reals) -> Reals:
        """Distance of places from the centre, in degrees of the great circle."""
        north, centre = np.radians(latitude_deg), math.radians(self.parallel_deg)
        east = np.radians(longitude_deg - self.meridian_deg)
        cosine = math.sin(centre) * np.sin(north) + math.cos(centre) * np.cos(north) * np.cos(east)
        return np.asarray(np.degrees(np.arccos(np.clip(cosine, -1, 1))))


@dataclass(frozen=True, slots=True)
class EqualEarth:
    """Equal Earth, for maps of the whole world."""

    meridian_deg: float
    wraps: bool = True

    def forward(self, longitude_deg: Reals, latitude_deg: Reals) -> tuple[Reals, Reals]:
        """See `Projection.forward`."""
        a1, a2, a3, a4 = 1.340264, -0.081106, 0.000893, 0.003796
        theta = np.arcsin(math.sqrt(3) / 2 * np.sin(np.radians(latitude_deg)))
        square = theta * theta
        sixth = square * square * square
        slope = a1 + 3 * a2 * square + sixth * (7 * a3 + 9 * a4 * square)
        x = 2 / math.sqrt(3) * np.radians(longitude_deg - self.meridian_deg) * np.cos(theta) / slope
        return x, theta * (a1 + a2 * square + sixth * (a3 + a4 * square))


def great_circle_m(here: tuple[float, float], there: tuple[float, float]) -> float:
    """Distance on the sphere between two places (longitude, latitude; degrees), in metres.

    Source: the haversine formula (Sinnott, Sky and Telescope 68, 1984).
    """
    east, north = math.radians(there[0] - here[0]), math.radians(there[1] - here[1])
    across = math.cos(math.radians(here[1])) * math.cos(math.radians(there[1])) * math.sin(east / 2) ** 2
    share = min(1.0, math.sin(north / 2) ** 2 + across)
    return 2 * EARTH_RADIUS_M * math.asin(math.sqrt(share))


def great_circles_m(here: Reals, there: Reals) -> Reals:
    """Distances from place to place, in metres: arrays of shape (n, 2), longitude and latitude in degrees, or (1, 2)."""
    east, north = np.radians(there[:, 0] - here[:, 0]), np.radians(there[:, 1] - here[:, 1])
    level = np.cos(np.radians(here[:, 1])) * np.cos(np.radians(there[:, 1]))
    share = np.clip(np.sin(north / 2) ** 2 + level * np.sin(east / 2) ** 2, 0, 1)
    return np.asarray(2 * EARTH_RADIUS_M * np.arcsin(np.sqrt(share)))


def between(
    here: tuple[float, float], there: tuple[float, float], *, steps: int
) -> list[tuple[float, float]]:
    """``steps`` places along the great circle from ``here``, not included, to ``there``, the last one.

    Each place is (longitude, latitude) in degrees. Source: Williams, "Aviation Formulary", intermediate points.
    """
    angle = great_circle_m(here, there) / EARTH_RADIUS_M
    if angle < 1e-9 or math.pi - angle < 1e-6:  # one place, or opposite ones: no single great circle
        return [there]
    lon1, lat1, lon2, lat2 = (math.radians(number) for number in (*here, *there))
    places = []
    for step in range(1, steps):
        a, b = math.sin((1 - step / steps) * angle), math.sin(step / steps * angle)
        x = a * math.cos(lat1) * math.cos(lon1) + b * math.cos(lat2) * math.cos(lon2)
        y = a * math.cos(lat1) * math.sin(lon1) + b * math.cos(lat2) * math.sin(lon2)
        z = a * math.sin(lat1) + b * math.sin(lat2)
        places.append((math.degrees(math.atan2(y, x)), math.degrees(math.atan2(z, math.hypot(x, y)))))
    return [*places, there]
