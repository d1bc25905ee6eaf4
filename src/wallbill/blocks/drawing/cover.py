"""Smoothed shapes for panels that show greys: how much of each pixel a shape covers.

Lines over time never go back in x, so what a round brush covers of one upright sliver of the drawing is a single
stretch, from the highest to the lowest edge of the brush near it. Slivers are an eighth of a pixel wide and their
stretches are exact, so coverage is exact for level edges and right to an eighth for upright ones.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wallbill.blocks.drawing.shapes import Reals, Size

Cover = NDArray[np.uint8]
"""uint8, shape (height, width): 0 where a shape covers nothing of a pixel, 255 where it covers all."""

_SLIVERS = 8  # to a pixel
_FULL = 255


@dataclass(frozen=True, slots=True, eq=False)
class Soft:
    """A smoothed shape: its coverage, and the column and row of the drawing where that begins."""

    cover: Cover
    at: tuple[int, int]


NONE = Soft(np.zeros((0, 0), dtype=np.uint8), (0, 0))


def stroke_cover(
    size: Size, paths: Sequence[tuple[Reals, Reals]], *, line_px: float, dash_px: Sequence[float] = ()
) -> Soft:
    """Lines ``line_px`` wide with round ends through points; a path of one point is a dot.

    ``paths``: x and y of the points of each, shape (n,), as points (pixel 0 goes from 0 to 1), x never falling.
    ``dash_px``: lengths on and off in turn, along each path; round ends make a dash longer by ``line_px``. Where a
    path climbs steeply, a dash ends with its sliver.
    """
    half = line_px / 2
    reach = int(np.ceil(half * _SLIVERS))
    slivers = [_extent(x, y, reach, dash_px) for x, y in paths if len(x)]
    if not slivers:
        return NONE
    low, high = (np.concatenate([part[place] for part in slivers]) for place in (1, 2))
    columns = np.concatenate([first + np.arange(len(part)) for first, part, _ in slivers])
    top, bottom = low.copy(), high.copy()
    for step in range(-reach, reach + 1):
        drop = half**2 - (step / _SLIVERS) ** 2
        if drop < 0:
            continue
        brush = np.sqrt(drop)
        into, out_of = _shifted(len(low), step)
        np.minimum(top[into], low[out_of] - brush, out=top[into])
        np.maximum(bottom[into], high[out_of] + brush, out=bottom[into])
    held = bottom > top
    return _filled(size, columns[held], top[held], bottom[held])


def between_cover(size: Size, columns: Reals, tops: Reals, bottoms: Reals) -> Soft:
    """The area between two lines over time, from x to x: ``tops`` and ``bottoms`` at the middle of each sliver.

    ``columns``: the numbers of slivers, see `sliver_middles`; all of shape (n,). What is not a number is no area.
    """
    known = np.isfinite(tops) & np.isfinite(bottoms)
    first, last = np.minimum(tops, bottoms)[known], np.maximum(tops, bottoms)[known]
    return _filled(size, columns[known].astype(np.int64), first, last)


def sliver_middles(left_px: int, right_px: int) -> tuple[Reals, Reals]:
    """The numbers of the slivers of the columns from ``left_px`` up to ``right_px``, and the x of their middles."""
    numbers = np.arange(left_px * _SLIVERS, right_px * _SLIVERS, dtype=np.float64)
    return numbers, (numbers + 0.5) / _SLIVERS


def _extent(x: Reals, y: Reals, reach: int, dash_px: Sequence[float]) -> tuple[int, Reals, Reals]:
    """The first sliver, and the highest and lowest y of a path in each, with room for the brush on both sides.

    Slivers that the path does not touch have an upside-down extent.
    """
    first = int(np.floor(x[0] * _SLIVERS)) - reach
    count = int(np.floor(x[-1] * _SLIVERS)) + reach + 1 - first
    low, high = np.full(count, np.inf), np.full(count, -np.inf)
    inner = slice(reach, count - reach)
    edges = np.clip((first + np.arange(reach, count - reach + 1)) / _SLIVERS, x[0], x[-1])
    heights = np.interp(edges, x, y)
    low[inner] = np.minimum(heights[:-1], heights[1:])
    high[inner] = np.maximum(heights[:-1], heights[1:])
    places = np.floor(x * _SLIVERS).astype(np.int64) - first
    np.minimum.at(low, places, y)
    np.maximum.at(high, places, y)
    if dash_px:
        along = np.concatenate(([0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))))
        middles = np.interp((edges[:-1] + edges[1:]) / 2, x, along) % sum(dash_px)
        off = np.searchsorted(np.cumsum(dash_px), middles, "right") % 2 == 1
        low[inner][off], high[inner][off] = np.inf, -np.inf
    return first, low, high


def _shifted(count: int, step: int) -> tuple[slice, slice]:
    """Where values moved by so many places go to, and where they come from."""
    into = slice(max(0, step), min(count, count + step))
    return into, slice(max(0, -step), min(count, count - step))


def _filled(size: Size, columns: NDArray[np.int64], tops: Reals, bottoms: Reals) -> Soft:
    """Coverage of stretches from top to bottom, one a sliver; where several meet, they add up to the whole at most."""
    width, height = size
    seen = (columns >= 0) & (columns < width * _SLIVERS) & (bottoms > 0) & (tops < height)
    if not seen.any():
        return NONE
    across = columns[seen] // _SLIVERS
    top, bottom = np.clip(tops[seen], 0, height), np.clip(bottoms[seen], 0, height)
    first_row, first_column = int(top.min()), int(across.min())
    rows = int(np.ceil(bottom.max())) - first_row
    wide = int(across.max()) + 1 - first_column
    edges = np.concatenate((top, bottom)) - first_row
    whole = edges.astype(np.int64)
    part = edges - whole
    sign = np.repeat((1.0, -1.0), len(top))
    at = whole * wide + np.tile(across - first_column, 2)
    steps = np.bincount(
        np.concatenate((at, at + wide)),
        np.concatenate((sign * (1 - part), sign * part)),
        (rows + 2) * wide,
    ).astype(np.float32)
    filled = np.cumsum(steps.reshape(rows + 2, wide)[:rows] * np.float32(_FULL / _SLIVERS), axis=0)
    cover = (np.clip(filled, 0, _FULL) + np.float32(0.5)).astype(np.uint8)
    return Soft(cover, (first_column, first_row))
