"""Which edges of the land a map needs: those on it, and of the rest only what decides between inside and outside.

Land is filled row by row, each edge turning over all pixels to its right. So a piece of coast above, below or right
of the drawing does nothing, and one left of it does what a straight edge from its first point to its last does.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wallbill.blocks.maps.coast import Pieces
from wallbill.blocks.maps.projection import FARTHEST_DEG, LambertAzimuthal, Reals, Whole
from wallbill.blocks.maps.view import View

_TURNS_DEG = (-360.0, 0.0, 360.0)
_RIM_STEPS = 13


@dataclass(frozen=True, slots=True, eq=False)
class Edges:
    """Straight edges on the drawing, from (x0, y0) to (x1, y1): float64, shape (edges,) each, in points."""

    x0: Reals
    y0: Reals
    x1: Reals
    y1: Reals


def edges_of(pieces: Pieces, view: View) -> Edges:
    """The edges that decide, on this drawing, what is inside of the closed lines that were cut in pieces."""
    if not len(pieces.first):
        return _joined([])
    turns = _TURNS_DEG if view.projection.wraps else (0.0,)
    return _joined([part for turn in turns for part in _turned(pieces, view, turn_deg=turn)])


def _joined(parts: list[tuple[Reals, Reals, Reals, Reals]]) -> Edges:
    if not parts:
        return Edges(np.zeros(0), np.zeros(0), np.zeros(0), np.zeros(0))
    x0, y0, x1, y1 = (np.concatenate(columns) for columns in zip(*parts, strict=True))
    return Edges(x0, y0, x1, y1)


def _turned(pieces: Pieces, view: View, *, turn_deg: float) -> list[tuple[Reals, Reals, Reals, Reals]]:
    """The edges of the pieces turned by so many degrees: whole pieces, and the chords of those to the left."""
    left, top, right, bottom = _bounds(pieces, view, turn_deg=turn_deg)
    width, height = view.size
    used = (bottom > 0) & (top < height) & (left < width)
    beside = used & (right < 0)
    within = used & ~beside
    places = pieces.lines.places
    first, last = pieces.first[within], pieces.last[within]
    count = last - first
    begin = np.arange(int(count.sum())) - np.repeat(np.cumsum(count) - count, count) + np.repeat(first, count)
    parts = [(begin, begin + 1), (pieces.first[beside], pieces.last[beside])]
    found = []
    for start, end in parts:
        if isinstance(view.projection, LambertAzimuthal):
            found.append(_round_the_rim(places[start], places[end], view, view.projection))
        else:
            found.append(_on_drawing(places, start, end, view=view, turn_deg=turn_deg))
    return found


def _on_drawing(
    places: Reals, start: Whole, end: Whole, *, view: View, turn_deg: float
) -> tuple[Reals, Reals, Reals, Reals]:
    """Edges from their points' numbers; a point that ends one edge and begins the next is projected once."""
    needed = np.zeros(len(places), dtype=np.bool_)
    needed[start] = needed[end] = True
    chosen = np.flatnonzero(needed)
    x, y = view.points(places[chosen, 0] + turn_deg, places[chosen, 1])
    number = np.cumsum(needed) - 1
    a, b = number[start], number[end]
    return x[a], y[a], x[b], y[b]


def _bounds(pieces: Pieces, view: View, *, turn_deg: float) -> tuple[Reals, Reals, Reals, Reals]:
    """Left, top, right and bottom of each piece on the drawing, or beyond."""
    west, south, east, north = pieces.boxes.T
    west, east = west + turn_deg, east + turn_deg
    if isinstance(view.projection, LambertAzimuthal):
        return _round_bounds(pieces, view, view.projection)
    if view.whole:
        # The rim is no straight line, so a line is kept whole or left out whole.
        whole = pieces.lines.boxes[pieces.line]
        rim = view.centre[0] - 180, view.centre[0] + 180
        off = (whole[:, 0] + turn_deg >= rim[1]) | (whole[:, 2] + turn_deg <= rim[0])
        middle = np.full(len(west), float(view.size[0]) / 2)
        return np.where(off, np.inf, middle), middle * 0, middle, middle * 0 + view.size[1]
    left, bottom = view.points(west, south)
    right, top = view.points(east, north)
    return left, top, right, bottom


def _round_bounds(
    pieces: Pieces, view: View, projection: LambertAzimuthal
) -> tuple[Reals, Reals, Reals, Reals]:
    """Bounds on an azimuthal map: about the middle of each piece, as far as its half diagonal can be stretched."""
    west, south, east, north = pieces.boxes.T
    middle = np.column_stack([(west + east) / 2, (south + north) / 2])
    wide = (
        (east - west) / 2 * np.cos(np.radians(np.minimum(np.abs(south), np.abs(north)) * (south * north > 0)))
    )
    reach = np.hypot(wide, (north - south) / 2)
    away = projection.away_deg(middle[:, 0], middle[:, 1]) + reach
    stretch = 1 / np.cos(np.radians(np.minimum(away, FARTHEST_DEG)) / 2)
    x, y = view.points(middle[:, 0], middle[:, 1])
    reach_px = np.radians(reach) * stretch * view.px_per_radius + 1
    reach_px[away > FARTHEST_DEG - 5] = np.inf  # such a piece may lie anywhere along the rim
    return x - reach_px, y - reach_px, x + reach_px, y + reach_px


def _round_the_rim(
    here: Reals, there: Reals, view: View, projection: LambertAzimuthal
) -> tuple[Reals, Reals, Reals, Reals]:
    """Edges on an azimuthal map, with those led round its rim that pass close by the point opposite the centre.

    Held at the rim of the projection, such an edge would cut straight across the map.
    """
    x0, y0 = projection.forward(here[:, 0], here[:, 1])
    x1, y1 = projection.forward(there[:, 0], there[:, 1])
    limit = 2 * math.sin(math.radians(FARTHEST_DEG) / 2) - 1e-9
    bearing = np.degrees(np.arctan2(x0, y0))
    turn = (np.degrees(np.arctan2(x1, y1)) - bearing + 180) % 360 - 180
    wide = (np.abs(turn) > 30) & (np.hypot(x0, y0) > limit) & (np.hypot(x1, y1) > limit)
    if wide.any():
        share = np.linspace(0, 1, _RIM_STEPS + 1)[np.newaxis, :]
        angle = np.radians(bearing[wide][:, np.newaxis] + turn[wide][:, np.newaxis] * share)
        rim_x, rim_y = limit * np.sin(angle), limit * np.cos(angle)
        rim_x[:, 0], rim_y[:, 0], rim_x[:, -1], rim_y[:, -1] = x0[wide], y0[wide], x1[wide], y1[wide]
        x0, y0 = (
            np.concatenate([one[~wide], rim[:, :-1].ravel()]) for one, rim in ((x0, rim_x), (y0, rim_y))
        )
        x1, y1 = (np.concatenate([one[~wide], rim[:, 1:].ravel()]) for one, rim in ((x1, rim_x), (y1, rim_y)))
    return (*view.laid(x0, y0), *view.laid(x1, y1))


def crossings(edges: Edges, *, rows: int, step: int) -> tuple[Whole, Reals]:
    """Where the edges cross the middles of lines, ``step`` to a row of the drawing: the line's number and the x.

    A line through a point counts it for the edge below.
    """
    y0, y1 = edges.y0 * step, edges.y1 * step
    first = np.clip(np.ceil(np.minimum(y0, y1) - 0.5), 0, rows * step).astype(np.int64)
    last = np.clip(np.ceil(np.maximum(y0, y1) - 0.5), 0, rows * step).astype(np.int64)
    used = np.flatnonzero(last > first)
    first, count = first[used], (last - first)[used]
    slope = (edges.x1[used] - edges.x0[used]) / (y1[used] - y0[used])
    edge = np.repeat(np.arange(len(used)), count)
    line = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count) + first[edge]
    return line, edges.x0[used][edge] + (line + 0.5 - y0[used][edge]) * slope[edge]


def inside(edges: Edges, size: tuple[int, int]) -> NDArray[np.bool_]:
    """The pixels whose centre lies inside, by the even-odd rule; bool, shape (height, width)."""
    width, height = size
    row, x = crossings(edges, rows=height, step=1)
    flips = row * width + np.clip(np.ceil(x - 0.5), 0, width).astype(np.int64)
    open_rows = np.flatnonzero(np.bincount(row, minlength=height) % 2)  # each row begins outside
    ends = np.sort(np.concatenate([flips, (open_rows + 1) * width, [width * height]]))
    runs = np.repeat(np.arange(len(ends)) % 2 == 1, np.diff(ends, prepend=0))
    return runs.reshape(height, width)
