"""Where an alert holds: polygons, circles and codes of areas, and whether a place lies in one of them.

Polygons are joined by straight lines of latitude and longitude, as CAP's and GeoJSON's (RFC 7946, 3.1.1) are drawn;
at 50 degrees an edge of 30 km lies some 20 m off the great circle, and one of 100 km 230 m. Longitudes are unrolled
along the outline, so that an area may lie across the 180th meridian or around a pole.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import cos, hypot, radians

from wallbill.facts.track import EARTH_RADIUS_M, Position

Ring = tuple[tuple[float, float], ...]
"""Latitudes and longitudes in degrees, the last point the same as the first."""

_M_DEG = EARTH_RADIUS_M * radians(1)


@dataclass(frozen=True, slots=True)
class Polygon:
    """An outline and the holes in it."""

    outline: Ring
    holes: tuple[Ring, ...] = ()

    def holds(self, place: Position, within_m: float) -> bool:
        """Whether the place lies in it, on its edge, or within so many metres of it."""
        inside = _inside(self.outline, place) and not any(_inside(hole, place) for hole in self.holes)
        return inside or any(
            _distance_m(ring, place) <= max(within_m, 1.0) for ring in (self.outline, *self.holes)
        )


@dataclass(frozen=True, slots=True)
class Circle:
    """All that lies so far around a point at most."""

    centre: Position
    radius_m: float

    def holds(self, place: Position, within_m: float) -> bool:
        """Whether the place lies in it, or within so many metres of it."""
        return self.centre.distance_m(place) <= self.radius_m + within_m


@dataclass(frozen=True, slots=True)
class Area:
    """One area of an alert: a name, shapes that add up, and codes such as ``("UGC", "MEZ999")``."""

    name: str
    shapes: tuple[Polygon | Circle, ...] = ()
    codes: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Spot:
    """Where the wall hangs: its place, how near an area must come, and the codes of the areas that it lies in.

    ``codes``: with or without their system: ``"UGC=MEZ999"`` or ``"MEZ999"``. ``asked_for``: whether the service was
    asked for this very place, so that all that it gives is for it.
    """

    place: Position
    within_m: float = 0.0
    codes: frozenset[str] = frozenset()
    asked_for: bool = False

    def is_in(self, area: Area) -> bool | None:
        """Whether it lies in an area; None where the area has codes only and the wall names none.

        A shape or a code that fits is enough. Where there are shapes and none fits, the codes, which name the same
        area, cannot say more unless the wall names some.
        """
        if self.asked_for or any(shape.holds(self.place, self.within_m) for shape in area.shapes):
            return True
        if any(value in self.codes or f"{name}={value}" in self.codes for name, value in area.codes):
            return True
        return None if not area.shapes and not self.codes else False


def ring_of(points: Sequence[tuple[float, float]]) -> Ring | None:
    """Points (latitude, longitude, degrees) as a closed ring; None for fewer than three, or one off the earth."""
    if not all(-90 <= lat <= 90 and -180 <= lon <= 360 for lat, lon in points):
        return None
    ring = tuple(points) if points and points[0] == points[-1] else (*points, *points[:1])
    return ring if len(set(ring)) >= 3 else None


def _unrolled(ring: Ring, longitude_deg: float) -> list[tuple[float, float]]:
    """The ring with longitudes that never jump, counted from a place's; one around a pole is led over the pole."""
    points: list[tuple[float, float]] = []
    last = longitude_deg
    for lat, lon in ring:
        last += (lon - last + 180) % 360 - 180
        points.append((lat, last - longitude_deg))
    turn = points[-1][1] - points[0][1]
    if abs(turn) > 180:
        pole = 90.0 if sum(lat for lat, _ in points) > 0 else -90.0
        points += [(pole, points[-1][1]), (pole, points[0][1]), points[0]]
    return points


def _inside(ring: Ring, place: Position) -> bool:
    """Whether the place lies in the ring, by counting the edges that a line from it crosses (the even-odd rule)."""
    points = _unrolled(ring, place.longitude_deg)
    return any(_crossings(points, place.latitude_deg, turn) % 2 for turn in (-360.0, 0.0, 360.0))


def _crossings(points: Sequence[tuple[float, float]], latitude_deg: float, east_deg: float) -> int:
    count = 0
    for (a_lat, a_lon), (b_lat, b_lon) in pairwise(points):
        if (a_lat > latitude_deg) is not (b_lat > latitude_deg):
            share = (latitude_deg - a_lat) / (b_lat - a_lat)
            count += a_lon + share * (b_lon - a_lon) > east_deg
    return count


def _distance_m(ring: Ring, place: Position) -> float:
    """Metres from a place to the nearest edge, on a plane that touches the earth there; right to a per cent up to 500 km."""
    stretch = cos(radians(place.latitude_deg))
    flat = [
        (lon * stretch * _M_DEG, (lat - place.latitude_deg) * _M_DEG)
        for lat, lon in _unrolled(ring, place.longitude_deg)
    ]
    return min(_to_edge(a, b) for a, b in pairwise(flat))


def _to_edge(a: tuple[float, float], b: tuple[float, float]) -> float:
    """From the origin to the segment between two points of the plane."""
    run, rise = b[0] - a[0], b[1] - a[1]
    square = run * run + rise * rise
    share = 0.0 if square == 0 else min(max(-(a[0] * run + a[1] * rise) / square, 0.0), 1.0)
    return hypot(a[0] + share * run, a[1] + share * rise)
