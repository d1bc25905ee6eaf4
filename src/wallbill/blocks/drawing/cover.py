"""Smoothed shapes for panels that show greys: how much of each pixel a shape covers.

Lines over time never go back in x, so what a round brush covers of one upright sliver of the drawing is a single
stretch, from the highest to the lowest edge of the brush near it. Slivers are a quarter of a pixel wide and their
stretches are exact, so coverage is exact for level edges, and upright ones fall on the nearest quarter.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wallbill.blocks.drawing.shapes import Reals, Size

Cover = NDArray[np.uint8]
"""uint8, shape (height, width): 0 where a shape covers nothing of a pixel, 255 where it covers all."""

_SLIVERS = 4  # to a pixel
_FULL = 255
_SHIFT = 8  # binary places of a coverage under way
_SHARE = (_FULL << _SHIFT) // _SLIVERS + 1  # of a sliver that is covered whole


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
    reach = int(half * _SLIVERS + 0.5)
    stretches = [_extent(x, y, reach, dash_px) for x, y in paths if len(x)]
    if not stretches:
        return NONE
    low, high, middle = (np.concatenate([part[place] for part in stretches]) for place in (1, 2, 3))
    columns = np.concatenate([first + np.arange(len(part)) for first, part, *_ in stretches])
    top, bottom = np.full_like(low, np.inf), np.full_like(high, -np.inf)
    for step in range(-reach, reach):
        away = (
            abs(step + 0.5) / _SLIVERS
        )  # of a sliver's middle from a point; beside it the path itself goes through
        brush = half if away < 1 / _SLIVERS else np.sqrt(max(0.0, half**2 - away**2))
        into, out_of = _shifted(len(low), step)
        np.minimum(top[into], low[out_of] - brush, out=top[into])
        np.maximum(bottom[into], high[out_of] + brush, out=bottom[into])
    for step in (-reach, reach):  # the very rim of the brush, where a steep path reaches furthest
        into, out_of = _shifted(len(low) - 1, step)
        np.fmin(top[into], middle[:-1][out_of], out=top[into])
        np.fmax(bottom[into], middle[:-1][out_of], out=bottom[into])
    held = bottom > top
    return _filled(size, columns[held], top[held], bottom[held])


def _extent(x: Reals, y: Reals, reach: int, dash_px: Sequence[float]) -> tuple[int, Reals, Reals, Reals]:
    """The y of a path where one sliver meets the next, as a lowest and a highest, with room for the brush on both sides.

    Given with the number of the first of these places, and the y in the middle of the sliver behind each, which is no
    number where the path is not. A turn of the path counts to the place next to it. Where the path is not, the lowest
    is above the highest.
    """
    first = int(np.floor(x[0] * _SLIVERS)) - reach
    count = int(np.ceil(x[-1] * _SLIVERS)) + reach + 1 - first
    places = (first + np.arange(count)) / _SLIVERS
    heights = np.interp(places, x, y)
    beyond = (places < x[0]) | (places > x[-1])
    low, high = np.where(beyond, np.inf, heights), np.where(beyond, -np.inf, heights)
    halfway = places + 0.5 / _SLIVERS
    middle = np.where((halfway < x[0]) | (halfway > x[-1]), np.nan, np.interp(halfway, x, y))
    way = np.diff(y)
    turns = np.concatenate(([True], way[:-1] * way[1:] <= 0, [True]))[: len(x)]
    at = np.rint(x[turns] * _SLIVERS).astype(np.int64) - first
    np.minimum.at(low, at, y[turns])
    np.maximum.at(high, at, y[turns])
    if dash_px:
        along = np.concatenate(([0.0], np.cumsum(np.hypot(np.diff(x), way))))
        so_far = np.interp(places, x, along) % sum(dash_px)
        off = np.searchsorted(np.cumsum(dash_px), so_far, "right") % 2 == 1
        low[off], high[off], middle[off] = np.inf, -np.inf, np.nan
    return first, low, high, middle


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
    part = ((edges - whole) * _SHARE + 0.5).astype(np.int32)
    full = np.repeat(np.array((_SHARE, -_SHARE), dtype=np.int32), len(top))
    part[len(top) :] *= -1
    at = whole * wide + np.tile(across - first_column, 2)
    steps = np.zeros(
        (rows + 2, wide), dtype=np.int32
    )  # in place, and no wider than it must be: there are many pixels
    np.add.at(steps.reshape(-1), at, full - part)
    np.add.at(steps.reshape(-1), at + wide, part)
    np.cumsum(steps, axis=0, out=steps)
    steps >>= _SHIFT
    cover = np.minimum(steps[:rows], _FULL, out=steps[:rows]).astype(np.uint8)
    return Soft(cover, (first_column, first_row))
