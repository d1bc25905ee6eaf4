"""From the points of coasts to pixels: filled land, its edge, the world's outline and dashed borders."""

import math

import numpy as np

from wallbill.blocks.drawing import shapes
from wallbill.blocks.maps.clip import Edges, edges_of, inside
from wallbill.blocks.maps.coast import Coast, Pieces
from wallbill.blocks.maps.projection import Equirectangular, LambertAzimuthal, Mercator
from wallbill.blocks.maps.view import Drawn, View
from wallbill.inks.impression import Mask

_CELL_PX = 0.5  # coast thinned to cells of this size looks the same


def land_pieces(coast: Coast, view: View) -> Pieces:
    """The land as fine as a drawing can show it."""
    least_cosine = max(0.3, math.cos(math.radians(view.centre[1])))
    stretch = 1 / least_cosine if isinstance(view.projection, Mercator) else 1
    return coast.level(_CELL_PX / view.px_per_deg / stretch)


def filled(pieces: Pieces, view: View) -> Mask:
    """The pixels inside closed outlines, whole or in parts; bool, shape (height, width)."""
    return inside(edges_of(pieces, view), view.size) ^ is_inside_out(pieces, view)


def land_of(coast: Coast, view: View) -> Mask:
    """The land on the drawing; bool, shape (height, width)."""
    return filled(land_pieces(coast, view), view)


def is_inside_out(pieces: Pieces, view: View) -> bool:
    """Whether inside and outside of the outlines change places.

    An azimuthal map turns what lies round the point opposite its centre inside out: so they do where that is inside.
    """
    projection = view.projection
    if not isinstance(projection, LambertAzimuthal):
        return False
    near = ((projection.meridian_deg + 360) % 360 - 180, max(-89.9, min(89.9, -projection.parallel_deg)))
    one = View(Equirectangular(*near), near, (0.0, math.radians(near[1])), 1e4, (1, 1))
    return bool(inside(edges_of(pieces, one), (1, 1))[0, 0])


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
    return inside(Edges(ring_x[:-1], ring_y[:-1], ring_x[1:], ring_y[1:]), view.size)


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
