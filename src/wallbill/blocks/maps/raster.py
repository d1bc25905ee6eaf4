"""From the points of coasts to pixels: filled land, its edge, lines along it and the world's outline."""

import math

import numpy as np

from wallbill.blocks.drawing import shapes
from wallbill.blocks.maps.clip import Edges, edges_of, inside
from wallbill.blocks.maps.coast import Coast, Pieces
from wallbill.blocks.maps.projection import Equirectangular, LambertAzimuthal, Mercator
from wallbill.blocks.maps.view import View
from wallbill.inks.impression import Mask

_SHORE_LINES_PX = (3, 7, 12, 18)
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


def rim(view: View) -> Edges:
    """The world's outline, for a view that shows the whole world."""
    down = np.linspace(90, -90, 181)
    east = view.centre[0] + 180
    x, y = view.points(np.full_like(down, east), down)
    other, _ = view.points(np.full_like(down, east - 360), down)
    ring_x = np.concatenate([x, other[::-1], x[:1]])
    ring_y = np.concatenate([y, y[::-1], y[:1]])
    return Edges(ring_x[:-1], ring_y[:-1], ring_x[1:], ring_y[1:])


def globe(view: View) -> Mask:
    """The inside of the world's outline, for a view that shows the whole world."""
    return inside(rim(view), view.size)


def shore_lines(land: Mask) -> Mask:
    """Fine lines that follow the coast out to sea, further apart the further out, as engravers draw water."""
    lines = np.zeros_like(land)
    grown, before = land, land
    for distance in range(1, _SHORE_LINES_PX[-1] + 1):
        # Side by side and corner by corner in turn, so that the lines bend round capes.
        grown = spread_out(grown) if distance % 2 else shapes.grown(grown, 1)
        if distance in _SHORE_LINES_PX:
            lines |= grown & ~before
        before = grown
    return lines
