"""What part of the world a map shows, in which projection, and where a place falls on it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wallbill.blocks.maps.coast import Lines, chosen
from wallbill.blocks.maps.projection import (
    EARTH_RADIUS_M,
    EqualEarth,
    Equirectangular,
    LambertAzimuthal,
    Mercator,
    Projection,
    Reals,
    great_circle_m,
)

Spot = tuple[float, float]
"""Longitude and latitude in degrees."""

LOCAL_M = 300_000
"""Up to this size the plainest projection is true enough: its error at the rim stays under half a per cent."""

_MERCATOR_M = 4_000_000
_MERCATOR_DEG = 66.0  # beyond, Mercator stretches areas sixfold and more
_HEMISPHERE_DEG = 130.0  # a wider world is shown whole
_WORLD_MERIDIAN_DEG = 11.0
_LEAST_M = 500.0  # a single place still has surroundings


@dataclass(frozen=True, slots=True)
class View:
    """A projection laid on a drawing of ``width_px`` by ``height_px``.

    ``middle``: x and y of the drawing's middle in radii. ``px_per_radius``: scale. ``centre``: the place in the
    middle. ``whole``: the world's outline is inside the drawing.
    """

    projection: Projection
    centre: Spot
    middle: tuple[float, float]
    px_per_radius: float
    size: tuple[int, int]
    whole: bool = False

    def points(self, longitude_deg: Reals, latitude_deg: Reals) -> tuple[Reals, Reals]:
        """Points on the drawing (x right, y down, pixel corners whole) of places."""
        return self.laid(*self.projection.forward(longitude_deg, latitude_deg))

    def laid(self, x: Reals, y: Reals) -> tuple[Reals, Reals]:
        """Points on the drawing of the projection's x and y, in radii."""
        return (
            (x - self.middle[0]) * self.px_per_radius + self.size[0] / 2,
            (self.middle[1] - y) * self.px_per_radius + self.size[1] / 2,
        )

    def near(self, longitude_deg: Reals) -> Reals:
        """Longitudes turned by whole turns to lie within 180 degrees of the map's middle."""
        turned: Reals = self.centre[0] + (longitude_deg - self.centre[0] + 180) % 360 - 180
        return turned

    @property
    def px_per_deg(self) -> float:
        """Pixels of a degree of the great circle where the projection stretches least."""
        return self.px_per_radius * math.pi / 180

    def metres_per_px(self) -> float:
        """Ground metres of one pixel at the middle of the map, where every projection is even, by the great circle."""
        step = min(1.0, 20 * math.degrees(1 / self.px_per_radius))
        south = min(self.centre[1] - step / 2, 90 - step)
        ends = np.array([south, south + step])
        x, y = self.points(np.full(2, self.centre[0]), ends)
        ground = great_circle_m((self.centre[0], south), (self.centre[0], south + step))
        return ground / math.hypot(float(x[1] - x[0]), float(y[1] - y[0]))


def middle_longitude(longitudes_deg: Sequence[float] | Reals) -> tuple[float, float]:
    """Middle and width, in degrees, of the shortest arc of longitude that holds them all, also across 180 degrees."""
    turned = np.sort(np.asarray(longitudes_deg, dtype=np.float64) % 360)
    gaps = np.diff(turned, append=turned[0] + 360)
    widest = int(np.argmax(gaps))
    span = max(0.0, 360 - float(gaps[widest]))
    start = float(turned[(widest + 1) % len(turned)])
    return (start + span / 2 + 180) % 360 - 180, span


def view_of(
    spots: Sequence[Spot] | Reals, *, size: tuple[int, int], margin_px: int, least_m: float = _LEAST_M
) -> View:
    """The view that holds all ``spots`` with ``margin_px`` around them, at least ``least_m`` across.

    Up to 300 km: local equirectangular; then Mercator in middle latitudes; Lambert azimuthal equal-area for larger
    or polar parts; Equal Earth for most of the world. Raises ValueError where there is no spot.
    """
    if not len(spots):
        raise ValueError("a map shows at least one place")
    places = np.asarray(spots, dtype=np.float64).reshape(-1, 2)
    middle, span = middle_longitude(places[:, 0])
    south, north = float(places[:, 1].min()), float(places[:, 1].max())
    centre = (middle, (south + north) / 2)
    level = min(abs(south), abs(north), abs(centre[1]))
    wide_m = math.radians(span) * EARTH_RADIUS_M * math.cos(math.radians(level))
    across_m = max(wide_m, math.radians(north - south) * EARTH_RADIUS_M)
    projection = _projection(centre, span, across_m=across_m, farthest_deg=max(abs(south), abs(north)))
    if isinstance(projection, EqualEarth):
        return _world(projection, size=size, margin_px=min(margin_px, 4))
    room = (max(8, size[0] - 2 * margin_px), max(8, size[1] - 2 * margin_px))
    first = View(projection, centre, (0.0, 0.0), 1.0, (0, 0))
    x, y = projection.forward(first.near(places[:, 0]), places[:, 1])
    least = least_m / EARTH_RADIUS_M
    px_per_radius = min(room[0] / max(float(np.ptp(x)), least), room[1] / max(float(np.ptp(y)), least))
    middle_xy = ((float(x.min()) + float(x.max())) / 2, (float(y.min()) + float(y.max())) / 2)
    return View(projection, centre, middle_xy, px_per_radius, size)


def world_view(*, size: tuple[int, int], margin_px: int) -> View:
    """The whole world, cut in the Bering Strait, where the cut runs through no country."""
    return _world(EqualEarth(_WORLD_MERIDIAN_DEG), size=size, margin_px=min(margin_px, 4))


def _projection(centre: Spot, span_deg: float, *, across_m: float, farthest_deg: float) -> Projection:
    if across_m <= LOCAL_M and farthest_deg < 85:
        return Equirectangular(*centre)
    if across_m <= _MERCATOR_M and farthest_deg <= _MERCATOR_DEG:
        return Mercator(centre[0])
    if span_deg <= _HEMISPHERE_DEG or (farthest_deg > _MERCATOR_DEG and across_m < 2 * _MERCATOR_M):
        return LambertAzimuthal(*centre)
    return EqualEarth(centre[0])


def _world(projection: EqualEarth, *, size: tuple[int, int], margin_px: int) -> View:
    x, _ = projection.forward(np.array([projection.meridian_deg + 180]), np.array([0.0]))
    _, y = projection.forward(np.array([projection.meridian_deg]), np.array([90.0]))
    room = (size[0] - 2 * margin_px, size[1] - 2 * margin_px)
    scale = min(room[0] / float(x[0]) / 2, room[1] / float(y[0]) / 2)
    return View(projection, (projection.meridian_deg, 0.0), (0.0, 0.0), scale, size, whole=True)


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """Lines on the drawing: points x and y, float64, shape (n,), and where each line begins (n lines + 1)."""

    x: Reals
    y: Reals
    starts: NDArray[np.int64]


def laid(lines: Lines, view: View) -> Drawn:
    """The lines that may touch the drawing, as points on it; those of a wrapping projection up to three times."""
    turns = (-360.0, 0.0, 360.0) if view.projection.wraps else (0.0,)
    parts = [_laid_once(lines, view, turn_deg=turn) for turn in turns]
    shift, starts = 0, [np.zeros(1, dtype=np.int64)]
    for part in parts:
        starts.append(part.starts[1:] + shift)
        shift += len(part.x)
    x, y = np.concatenate([part.x for part in parts]), np.concatenate([part.y for part in parts])
    return Drawn(x, y, np.concatenate(starts))


def _laid_once(lines: Lines, view: View, *, turn_deg: float) -> Drawn:
    near = lines
    west, south, east, north = lines.boxes.T
    if view.whole:
        rim = view.centre[0] - 180, view.centre[0] + 180
        near = chosen(lines, (west + turn_deg < rim[1]) & (east + turn_deg > rim[0]))
    elif view.projection.wraps:
        left, low = view.points(west + turn_deg, south)
        right, high = view.points(east + turn_deg, north)
        width, height = view.size
        near = chosen(lines, (left < width) & (right > 0) & (high < height) & (low > 0))
    x, y = view.points(near.places[:, 0] + turn_deg, near.places[:, 1])
    return Drawn(x, y, near.starts)
