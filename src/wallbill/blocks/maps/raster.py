"""From the points of coasts to pixels: filled land, its edge, the world's outline and dashed borders."""

import math

import numpy as np
from numpy.typing import NDArray

from wallbill.blocks.drawing import shapes
from wallbill.blocks.maps.coast import Coast
from wallbill.blocks.maps.projection import Equirectangular, LambertAzimuthal
from wallbill.blocks.maps.view import Drawn, View, laid
from wallbill.inks.impression import Mask

Whole = NDArray[np.int64]


def filled(drawn: Drawn, size: tuple[int, int]) -> Mask:
    """The pixels whose centre lies inside the rings, by the even-odd rule; bool, shape (height, width).

    Each edge flips all pixels to its right, row by row. Parts outside the drawing need no cutting.
    """
    width, height = size
    begin, end = _edges(drawn)
    x0, y0, x1, y1 = drawn.x[begin], drawn.y[begin], drawn.x[end], drawn.y[end]
    first = np.clip(np.ceil(np.minimum(y0, y1) - 0.5), 0, height).astype(np.int64)
    last = np.clip(np.ceil(np.maximum(y0, y1) - 0.5), 0, height).astype(np.int64)
    used = (last > first) & (np.minimum(x0, x1) < width)
    x0, y0, x1, y1 = (points[used] for points in (x0, y0, x1, y1))
    first, last = first[used], last[used]
    count = last - first
    edge = np.repeat(np.arange(len(count)), count)
    row = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count) + first[edge]
    crossing = x0[edge] + (row + 0.5 - y0[edge]) * ((x1 - x0) / (y1 - y0))[edge]
    column = np.clip(np.ceil(crossing - 0.5), 0, width).astype(np.int64)
    flips = np.bincount(row * (width + 1) + column, minlength=height * (width + 1)).reshape(height, width + 1)
    odd = (flips & 1).astype(np.uint8)
    return np.asarray(np.bitwise_xor.accumulate(odd, axis=1)[:, :width], dtype=np.bool_)


def land_of(coast: Coast, view: View) -> Mask:
    """The land on the drawing; bool, shape (height, width).

    An azimuthal map turns what lies round the point opposite its centre inside out: where that is land, inside and
    outside of the rings change places.
    """
    land = filled(laid(coast.land, view), view.size)
    projection = view.projection
    if isinstance(projection, LambertAzimuthal):
        opposite = ((projection.meridian_deg + 360) % 360 - 180, -projection.parallel_deg)
        if _on_land(coast, opposite):
            return ~land
    return land


def _on_land(coast: Coast, spot: tuple[float, float]) -> bool:
    """Whether a place (longitude, latitude) lies in the land: one pixel about it, filled."""
    near = (spot[0], max(-89.9, min(89.9, spot[1])))
    view = View(Equirectangular(*near), near, (0.0, math.radians(near[1])), 1e4, (1, 1))
    return bool(filled(laid(coast.land, view), (1, 1))[0, 0])


def _edges(drawn: Drawn) -> tuple[Whole, Whole]:
    """Indices of each edge's two points: every point and the next, but for the last point of each ring."""
    inner = np.ones(len(drawn.x), dtype=np.bool_)
    inner[drawn.starts[1:] - 1] = False
    begin = np.nonzero(inner)[0]
    return begin, begin + 1


def shore(land: Mask) -> Mask:
    """The land's own pixels that touch the sea at a side; the drawing's rim is no shore."""
    padded = np.pad(land, 1, mode="edge")
    inner = padded[:-2, 1:-1] & padded[2:, 1:-1] & padded[1:-1, :-2] & padded[1:-1, 2:]
    return land & ~inner


def spread_out(mask: Mask) -> Mask:
    """The mask and the pixels that touch it at a side."""
    padded = np.pad(mask, 1)
    return mask | padded[:-2, 1:-1] | padded[2:, 1:-1] | padded[1:-1, :-2] | padded[1:-1, 2:]


def globe(view: View) -> Mask:
    """The inside of the world's outline, for a view that shows the whole world."""
    down = np.linspace(90, -90, 181)
    east = view.centre[0] + 180
    x, y = view.points(np.full_like(down, east), down)
    other, _ = view.points(np.full_like(down, east - 360), down)
    ring_x = np.concatenate([x, other[::-1], x[:1]])
    ring_y = np.concatenate([y, y[::-1], y[:1]])
    return filled(Drawn(ring_x, ring_y, np.array([0, len(ring_x)])), view.size)


def dashed(drawn: Drawn, size: tuple[int, int], *, dash_px: tuple[int, int]) -> Mask:
    """Lines one pixel wide, dashed by their length on the drawing, whatever the distance of their points."""
    mask = shapes.nothing(size)
    width, height = size
    on, off = dash_px
    for first, last in zip(drawn.starts[:-1], drawn.starts[1:], strict=True):
        x, y = drawn.x[first:last], drawn.y[first:last]
        if len(x) < 2 or x.max() < 0 or y.max() < 0 or x.min() >= width or y.min() >= height:
            continue
        along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
        if not along[-1] or not math.isfinite(along[-1]):
            continue
        at = np.arange(0.25, along[-1], 0.5)  # off the pixels' edges, where rounding would decide
        at = at[at % (on + off) < on]
        columns = np.floor(np.interp(at, along, x)).astype(np.int64)
        lines = np.floor(np.interp(at, along, y)).astype(np.int64)
        inside = (columns >= 0) & (columns < width) & (lines >= 0) & (lines < height)
        mask[lines[inside], columns[inside]] = True
    return mask
