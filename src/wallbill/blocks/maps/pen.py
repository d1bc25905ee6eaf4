"""Lines of any width over a map, by the distance of every pixel's centre from them.

A pixel belongs to a line where its centre lies nearer than half the line's width: a line is then as heavy in every
direction. On a panel that shows greys the same distance gives each pixel's share of ink.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wallbill.blocks.maps.clip import Edges
from wallbill.blocks.maps.projection import Reals, Whole
from wallbill.inks.impression import Mask


@dataclass(frozen=True, slots=True, eq=False)
class Field:
    """How far the pixels of a part of the drawing lie from a line.

    ``rows`` and ``columns``: which part. ``away_px``: float32, of the part's shape, the distance of each pixel's
    centre; infinite where it is beyond the reach that was asked for.
    """

    rows: slice
    columns: slice
    away_px: NDArray[np.float32]


Part = tuple[Reals, Reals]
"""The points of one unbroken line on the drawing: x and y, float64, in pixels."""

_PIECE_PX = 12.0  # longer edges are cut, so that their boxes hold few pixels that lie far off
_NEAR_PX = 0.3  # points nearer to one another add nothing
_STILL_PX = 1e-9  # an edge that moves less does not move
_AIR_PX = 64.0  # what leaves the drawing by more is cut off


def eased(part: Part) -> Part:
    """The line without points that lie next to nothing from the one before; both ends stay."""
    x, y = part
    if len(x) < 3:
        return part
    way = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
    step = np.floor(way / _NEAR_PX)
    keep = np.ones(len(x), dtype=np.bool_)
    keep[1:-1] = step[1:-1] != step[:-2]
    return x[keep], y[keep]


def edges_along(parts: Sequence[Part], *, dash_px: tuple[float, float] | None = None) -> Edges:
    """The straight edges of lines; a line of one point gives one edge of no length.

    ``dash_px``: lengths on and off in turn, along each line, whatever the distance of its points.
    """
    found = []
    for x, y in parts:
        if len(x) == 1:
            found.append((x, y, x, y))
        elif len(x):
            found.append(_dashed(x, y, dash_px) if dash_px else (x[:-1], y[:-1], x[1:], y[1:]))
    if not found:
        return Edges(*(np.zeros(0) for _ in range(4)))
    return Edges(*(np.concatenate(column) for column in zip(*found, strict=True)))


def _dashed(x: Reals, y: Reals, dash_px: tuple[float, float]) -> tuple[Reals, Reals, Reals, Reals]:
    """The edges of the line's dashes: cut where a dash begins or ends, and those between left out."""
    on, off = dash_px
    way = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
    turns = np.arange(0, way[-1] + on + off, on + off)
    cuts = np.unique(np.concatenate([way, turns, turns + on]).clip(0, way[-1]))
    cut_x, cut_y = np.interp(cuts, way, x), np.interp(cuts, way, y)
    drawn = ((cuts[:-1] + cuts[1:]) / 2) % (on + off) < on
    return cut_x[:-1][drawn], cut_y[:-1][drawn], cut_x[1:][drawn], cut_y[1:][drawn]


def field_of(edges: Edges, size: tuple[int, int], *, reach_px: float) -> Field:
    """How far each pixel's centre lies from the nearest edge, as far as ``reach_px``; beyond, infinite."""
    width, height = size
    x0, y0, x1, y1 = _short(edges, size, reach_px=reach_px)
    left = np.clip(np.floor(np.minimum(x0, x1) - reach_px), 0, width).astype(np.int64)
    right = np.clip(np.ceil(np.maximum(x0, x1) + reach_px), 0, width).astype(np.int64)
    top = np.clip(np.floor(np.minimum(y0, y1) - reach_px), 0, height).astype(np.int64)
    bottom = np.clip(np.ceil(np.maximum(y0, y1) + reach_px), 0, height).astype(np.int64)
    if not len(left):
        return Field(slice(0, 0), slice(0, 0), np.zeros((0, 0), dtype=np.float32))
    rows, columns = slice(int(top.min()), int(bottom.max())), slice(int(left.min()), int(right.max()))
    away = np.full((rows.stop - rows.start, columns.stop - columns.start), np.inf, dtype=np.float32)
    wide, count = right - left, (right - left) * (bottom - top)
    edge = np.repeat(np.arange(len(count)), count)
    number = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count)
    column, row = left[edge] + number % wide[edge], top[edge] + number // wide[edge]
    x, y = column + 0.5 - x0[edge], row + 0.5 - y0[edge]
    across, down = (x1 - x0)[edge], (y1 - y0)[edge]
    share = np.clip((x * across + y * down) / np.maximum(across * across + down * down, 1e-12), 0, 1)
    off = np.hypot(x - share * across, y - share * down)
    near = off <= reach_px
    cell = (row - rows.start) * away.shape[1] + column - columns.start
    np.minimum.at(away.reshape(-1), cell[near], off[near].astype(np.float32))
    return Field(rows, columns, away)


def _short(edges: Edges, size: tuple[int, int], *, reach_px: float) -> tuple[Reals, Reals, Reals, Reals]:
    """The edges that may touch the drawing, the long ones in pieces."""
    width, height = size
    x0, y0, x1, y1 = _trimmed(edges, (-_AIR_PX, -_AIR_PX, width + _AIR_PX, height + _AIR_PX))
    pieces = np.maximum(1, np.ceil(np.hypot(x1 - x0, y1 - y0) / _PIECE_PX)).astype(np.int64)
    edge: Whole = np.repeat(np.arange(len(pieces)), pieces)
    at = np.arange(len(edge)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    begin, end = at / pieces[edge], (at + 1) / pieces[edge]
    across, down = (x1 - x0)[edge], (y1 - y0)[edge]
    ax, ay, bx, by = (
        x0[edge] + begin * across,
        y0[edge] + begin * down,
        x0[edge] + end * across,
        y0[edge] + end * down,
    )
    used = (np.maximum(ax, bx) > -reach_px) & (np.minimum(ax, bx) < width + reach_px)
    used &= (np.maximum(ay, by) > -reach_px) & (np.minimum(ay, by) < height + reach_px)
    return ax[used], ay[used], bx[used], by[used]


def _trimmed(edges: Edges, box: tuple[float, float, float, float]) -> tuple[Reals, Reals, Reals, Reals]:
    """The parts of edges inside a box (left, top, right, bottom).

    Source: Liang and Barsky, "A New Concept and Method for Line Clipping", ACM Transactions on Graphics 3(1), 1984.
    """
    across, down = (
        np.where(np.abs(way) < _STILL_PX, 0, way) for way in (edges.x1 - edges.x0, edges.y1 - edges.y0)
    )
    enter, leave = np.zeros(len(across)), np.ones(len(across))
    sides = (
        (-across, edges.x0 - box[0]),
        (across, box[2] - edges.x0),
        (-down, edges.y0 - box[1]),
        (down, box[3] - edges.y0),
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        for towards, room in sides:
            share = room / towards
            enter = np.where(towards < 0, np.maximum(enter, share), enter)
            leave = np.where(towards > 0, np.minimum(leave, share), leave)
            leave = np.where((towards == 0) & (room < 0), -1.0, leave)
    used = (enter <= leave) & np.isfinite(across) & np.isfinite(down)
    x0, y0, enter, leave = edges.x0[used], edges.y0[used], enter[used], leave[used]
    across, down = across[used], down[used]
    return x0 + enter * across, y0 + enter * down, x0 + leave * across, y0 + leave * down


def thin(parts: Sequence[Part], size: tuple[int, int], *, dash_px: tuple[int, int] | None = None) -> Mask:
    """Lines one pixel wide, each pixel touching the next by a side or a corner; bool, shape (height, width).

    ``dash_px``: lengths on and off in turn, along each line.
    """
    width, height = size
    mask = np.zeros((height, width), dtype=np.bool_)
    edges = edges_along(parts, dash_px=dash_px)
    x0, y0, x1, y1 = _trimmed(edges, (0.0, 0.0, float(width), float(height)))
    # A step along the longer side for each pixel, off the pixels' edges, where rounding would decide.
    steps = np.ceil(np.maximum(np.abs(x1 - x0), np.abs(y1 - y0))).astype(np.int64) + 1
    edge = np.repeat(np.arange(len(steps)), steps)
    share = (np.arange(len(edge)) - np.repeat(np.cumsum(steps) - steps, steps) + 0.25) / steps[edge]
    column = np.floor(x0[edge] + share * (x1 - x0)[edge]).astype(np.int64)
    row = np.floor(y0[edge] + share * (y1 - y0)[edge]).astype(np.int64)
    column, row = _without_corners(column, row)
    inside = (column >= 0) & (column < width) & (row >= 0) & (row < height)
    mask[row[inside], column[inside]] = True
    return mask


def _without_corners(column: Whole, row: Whole) -> tuple[Whole, Whole]:
    """A chain of pixels without those that only join two which touch by a corner: they thicken a line by jerks."""
    fresh = np.ones(len(column), dtype=np.bool_)
    fresh[1:] = (np.diff(column) != 0) | (np.diff(row) != 0)
    column, row = column[fresh], row[fresh]
    if len(column) < 3:
        return column, row
    corner = np.zeros(len(column), dtype=np.bool_)
    corner[1:-1] = (np.abs(column[2:] - column[:-2]) == 1) & (np.abs(row[2:] - row[:-2]) == 1)
    # Of corners in a row only every second one goes.
    number = np.arange(len(column))
    last_other = np.maximum.accumulate(np.where(corner, -1, number))
    kept = ~(corner & ((number - last_other) % 2 == 1))
    return column[kept], row[kept]
