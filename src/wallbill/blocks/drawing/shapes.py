"""Shapes as masks: bool arrays of shape (height, width), true where the shape covers a pixel.

Every function takes ``size``, the width and height of the drawing in pixels, and cuts off what falls outside.
Two kinds of coordinates are used, x to the right and y down:

- *pixels* are whole numbers and name a pixel: 0 is the first. Rectangles and lines take these.
- *points* lie on the corners between pixels, so that pixel 0 goes from 0 to 1 with its centre at 0.5. Discs,
  polygons and strokes take these, and cover each pixel whose centre they contain. A shape is symmetric when its
  centre is a multiple of a half: a disc of even diameter sits on a corner (8, 8), one of odd diameter on a
  pixel's centre (8.5, 8.5), and the radius is half the diameter.

A box is (left, top, width, height) in whole pixels. Angles are degrees clockwise from the top, as on a compass.
"""

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from wallbill.inks.impression import Mask

Size = tuple[int, int]
Pixel = tuple[int, int]
Point = tuple[float, float]
Box = tuple[int, int, int, int]
Reals = NDArray[np.float64]
Wholes = NDArray[np.int64]

_HAIR = 1e-6
"""Pixels by which a shape's edge is drawn in, so that rounding never decides about a pixel's centre."""


def nothing(size: Size) -> Mask:
    """A mask that covers no pixel."""
    return np.zeros((size[1], size[0]), dtype=np.bool_)


def rectangle(size: Size, box: Box) -> Mask:
    """The pixels of a box; empty for a box of no width or height."""
    mask = nothing(size)
    x, y, width, height = box
    mask[max(0, y) : max(0, y + height), max(0, x) : max(0, x + width)] = True
    return mask


def frame(size: Size, box: Box, *, line_px: int = 1) -> Mask:
    """The rim of a box, ``line_px`` thick, inside its edges."""
    x, y, width, height = box
    hollow = (x + line_px, y + line_px, max(0, width - 2 * line_px), max(0, height - 2 * line_px))
    return rectangle(size, box) & ~rectangle(size, hollow)


def rounded(size: Size, box: Box, *, radius_px: int) -> Mask:
    """A box with its corners rounded to quarter discs of ``radius_px``, or as far as the box allows."""
    x, y, width, height = box
    radius = min(radius_px, width // 2, height // 2)
    mask = rectangle(size, (x + radius, y, width - 2 * radius, height))
    mask |= rectangle(size, (x, y + radius, width, height - 2 * radius))
    for cx in (x + radius, x + width - radius):
        for cy in (y + radius, y + height - radius):
            mask |= disc(size, (cx, cy), radius_px=radius)
    return mask


def line(
    size: Size, pixels: Sequence[Pixel] | Wholes, *, line_px: int = 1, dash_px: Sequence[int] = ()
) -> Mask:
    """A line from pixel to pixel, all included; one pixel alone gives a dot. ``pixels``: (x, y), as rows of an array too.

    Bresenham's algorithm (IBM Systems Journal 4, 1965) with a round brush ``line_px`` wide, whose odd pixel lies
    to the right and below. ``dash_px``: lengths on and off in turn, counted in steps along the whole line.
    """
    mask = nothing(size)
    if not len(pixels):
        return mask
    corners = np.asarray(pixels, dtype=np.int64)
    x, y = _steps(corners[:, 0], corners[:, 1])
    on = _dashed(len(x), dash_px)
    if on is not None:
        x, y = x[on], y[on]
    width, height = size
    near = (x > -line_px) & (x < width + line_px) & (y > -line_px) & (y < height + line_px)
    if not near.all():
        x, y = x[near], y[near]
    rim = line_px if len(x) and _leaves(x, width, line_px) | _leaves(y, height, line_px) else 0
    wide = nothing((width + 4 * rim, height + 4 * rim)) if rim else mask
    flat, across = wide.reshape(-1), wide.shape[1]
    at = (y + 2 * rim) * across + x + 2 * rim
    for dx, dy in _brush(line_px):
        flat[at + (dy * across + dx)] = True
    return np.ascontiguousarray(wide[2 * rim : 2 * rim + height, 2 * rim : 2 * rim + width])


def _leaves(places: Wholes, length_px: int, line_px: int) -> bool:
    """Whether a brush at these places reaches beyond 0 to ``length_px``."""
    return bool(places.min() < line_px or places.max() >= length_px - line_px)


def _brush(line_px: int) -> tuple[Pixel, ...]:
    """Offsets of a round brush from the pixel that it is led by."""
    first = -((line_px - 1) // 2)
    middle = first + (line_px - 1) / 2
    reach = range(first, first + line_px)
    return tuple(
        (dx, dy)
        for dy in reach
        for dx in reach
        if math.hypot(dx - middle, dy - middle) <= line_px / 2 + _HAIR
    )


def _steps(x: Wholes, y: Wholes) -> tuple[Wholes, Wholes]:
    """The pixels (x, y) on the way from each of the given ones to the next, none twice in a row.

    Along the longer side every pixel is a step; along the shorter one the place is rounded, halves down: what
    Bresenham's running error comes to, for all steps at once.
    """
    across, down = np.diff(x), np.diff(y)
    longs = np.maximum(np.abs(across), np.abs(down))
    starts = np.repeat(np.arange(len(longs)), longs)
    number = np.arange(1, len(starts) + 1) - (np.cumsum(longs) - longs)[starts]
    long = longs[starts]
    found = []
    for corners, ways in ((x, across), (y, down)):
        rise = (2 * np.abs(ways)[starts] * number + long - 1) // (2 * long)
        found.append(np.concatenate((corners[:1], corners[starts] + np.sign(ways)[starts] * rise)))
    return found[0], found[1]


def _dashed(count: int, dash_px: Sequence[int]) -> Mask | None:
    """Which of so many steps fall on a dash; None where all do."""
    if not dash_px:
        return None
    if len(dash_px) % 2 or min(dash_px) < 0 or sum(dash_px) < 1:
        raise ValueError(f"dashes are lengths on and off in turn, got {tuple(dash_px)}")
    pattern = [on % 2 == 0 for on, length in enumerate(dash_px) for _ in range(length)]
    return np.resize(np.array(pattern, dtype=np.bool_), count)


def centres(size: Size) -> tuple[Reals, Reals]:
    """The x of each column's centre, shape (1, width), and the y of each row's, shape (height, 1), as points."""
    width, height = size
    across, down = np.arange(width, dtype=np.float64), np.arange(height, dtype=np.float64)
    return (across + 0.5)[np.newaxis, :], (down + 0.5)[:, np.newaxis]


def _around(size: Size, bounds: tuple[float, float, float, float]) -> tuple[slice, slice]:
    """The rows and columns of the drawing that ``bounds`` (left, top, right, bottom, as points) touch, and one more."""
    width, height = size
    left, top = (max(0, math.floor(edge) - 1) for edge in bounds[:2])
    right, bottom = (max(0, math.ceil(edge) + 1) for edge in bounds[2:])
    return slice(min(top, height), min(bottom, height)), slice(min(left, width), min(right, width))


def _bounds(mask: Mask) -> tuple[slice, slice]:
    """The rows and columns from the first to the last that hold a pixel; empty where none does."""
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    if not len(rows):
        return slice(0, 0), slice(0, 0)
    return slice(int(rows[0]), int(rows[-1]) + 1), slice(int(columns[0]), int(columns[-1]) + 1)


def disc(size: Size, centre: Point, *, radius_px: float) -> Mask:
    """A filled circle about a point."""
    return ellipse(size, centre, radii_px=(radius_px, radius_px))


def ellipse(size: Size, centre: Point, *, radii_px: tuple[float, float]) -> Mask:
    """A filled ellipse about a point, ``radii_px`` across and down; empty where a radius is 0 or less."""
    across, down = radii_px
    mask = nothing(size)
    if min(across, down) <= 0:
        return mask
    rows, columns = _around(
        size, (centre[0] - across, centre[1] - down, centre[0] + across, centre[1] + down)
    )
    x, y = centres(size)
    x, y = x[:, columns], y[rows]
    mask[rows, columns] = ((x - centre[0]) * down) ** 2 + ((y - centre[1]) * across) ** 2 <= (
        across * down
    ) ** 2
    return mask


def ring(size: Size, centre: Point, *, radius_px: float, line_px: float) -> Mask:
    """A circle's rim: the outer radius is ``radius_px``, the inner ``line_px`` less."""
    return disc(size, centre, radius_px=radius_px) & ~disc(size, centre, radius_px=radius_px - line_px)


def sector(size: Size, centre: Point, *, from_deg: float, to_deg: float) -> Mask:
    """All pixels in the directions from ``from_deg`` clockwise to ``to_deg``; everything for 360 or more."""
    turn = to_deg - from_deg
    if turn >= 360:
        return ~nothing(size)
    x, y = centres(size)
    bearing = np.degrees(np.arctan2(x - centre[0], centre[1] - y))
    return np.asarray((bearing - from_deg) % 360 <= turn)


def arc(
    size: Size, centre: Point, *, radius_px: float, line_px: float, span_deg: tuple[float, float]
) -> Mask:
    """Part of a `ring`, clockwise from the first to the second angle of ``span_deg``."""
    part = sector(size, centre, from_deg=span_deg[0], to_deg=span_deg[1])
    return ring(size, centre, radius_px=radius_px, line_px=line_px) & part


def stroke(size: Size, points: Sequence[Point], *, line_px: float) -> Mask:
    """All pixels whose centre lies less than half of ``line_px`` from the line through ``points``; round ends."""
    all_x, all_y = centres(size)
    mask = nothing(size)
    half = line_px / 2
    for (x0, y0), (x1, y1) in pairwise(points if len(points) > 1 else (*points, *points)):
        near = _around(size, (min(x0, x1) - half, min(y0, y1) - half, max(x0, x1) + half, max(y0, y1) + half))
        x, y = all_x[:, near[1]], all_y[near[0]]
        across, down = x1 - x0, y1 - y0
        length = across * across + down * down
        along = (
            np.clip(((x - x0) * across + (y - y0) * down) / length, 0, 1)
            if length
            else np.zeros((y.shape[0], x.shape[1]))
        )
        away = (x - x0 - along * across) ** 2 + (y - y0 - along * down) ** 2
        mask[near] |= away < (half - _HAIR) ** 2
    return mask


def polygon(size: Size, *rings: Sequence[Point]) -> Mask:
    """The inside of one or more closed rings, by the even-odd rule: a ring inside another is a hole.

    A centre exactly on an edge counts to the area right of and below the edge, so that polygons which share an
    edge leave no gap and no overlap.
    """
    width, height = size
    edges = [edge for corners in rings for edge in pairwise((*corners, corners[0]))]
    if not edges:
        return nothing(size)
    (x0, y0), (x1, y1) = np.asarray(edges, dtype=np.float64).transpose(1, 2, 0)
    firsts = np.clip(np.ceil(np.minimum(y0, y1) - 0.5), 0, height).astype(np.int64)
    lasts = np.clip(np.ceil(np.maximum(y0, y1) - 0.5), 0, height).astype(np.int64)
    counts = np.maximum(lasts - firsts, 0)
    edge = np.repeat(np.arange(len(counts)), counts)
    rows = np.arange(len(edge)) - (np.cumsum(counts) - counts - firsts)[edge]
    with np.errstate(over="ignore"):
        slopes = np.divide(x1 - x0, y1 - y0, out=np.zeros_like(x0), where=y1 != y0)
    slopes[np.isinf(slopes)] = 0  # an edge of no height to speak of
    crossing = x0[edge] + (rows + 0.5 - y0[edge]) * slopes[edge]
    columns = np.clip(np.ceil(crossing - 0.5), 0, width).astype(np.int64)
    if not len(rows):
        return nothing(size)
    top, bottom, left = int(rows.min()), int(rows.max()) + 1, int(columns.min())
    flips = np.zeros((bottom - top, width + 1 - left), dtype=np.uint8)
    np.add.at(flips.reshape(-1), (rows - top) * flips.shape[1] + columns - left, 1)
    mask = nothing(size)
    mask[top:bottom, left:] = np.bitwise_xor.accumulate(flips & 1, axis=1)[:, :-1]
    return mask


def grown(mask: Mask, reach_px: int) -> Mask:
    """The mask and every pixel within ``reach_px`` of it, round at corners: a casing is this without the mask."""
    if reach_px < 1:
        return mask.copy()
    result = np.zeros_like(mask)
    rows, columns = _bounds(mask)
    height, width = mask.shape
    top, left = max(0, rows.start - reach_px), max(0, columns.start - reach_px)
    bottom, right = min(height, rows.stop + reach_px), min(width, columns.stop + reach_px)
    part = mask[top:bottom, left:right]
    down, across = part.shape
    padded = np.pad(part, reach_px)
    into = result[top:bottom, left:right]
    for dy in range(-reach_px, reach_px + 1):
        for dx in range(-reach_px, reach_px + 1):
            if dx * dx + dy * dy <= (reach_px + 0.5) ** 2:
                into |= padded[reach_px + dy : reach_px + dy + down, reach_px + dx : reach_px + dx + across]
    return result


def shrunk(mask: Mask, reach_px: int) -> Mask:
    """The mask without every pixel within ``reach_px`` of its edge; outside the drawing counts as outside."""
    return ~grown(~np.pad(mask, reach_px), reach_px)[
        reach_px : reach_px + mask.shape[0], reach_px : reach_px + mask.shape[1]
    ]


def shifted(mask: Mask, by: Pixel) -> Mask:
    """The mask moved right and down by whole pixels; what leaves the drawing is lost."""
    height, width = mask.shape
    dx, dy = by
    result = np.zeros_like(mask)
    into = (slice(max(0, dy), min(height, height + dy)), slice(max(0, dx), min(width, width + dx)))
    out_of = (slice(max(0, -dy), min(height, height - dy)), slice(max(0, -dx), min(width, width - dx)))
    if abs(dx) < width and abs(dy) < height:
        result[into] = mask[out_of]
    return result


def without_specks(mask: Mask) -> Mask:
    """The mask without whatever is only one pixel wide or high: only whole squares of two by two pixels stay."""
    whole = np.zeros((mask.shape[0] + 1, mask.shape[1] + 1), dtype=np.bool_)
    whole[1:-1, 1:-1] = mask[:-1, :-1] & mask[1:, :-1] & mask[:-1, 1:] & mask[1:, 1:]
    return whole[1:, 1:] | whole[:-1, 1:] | whole[1:, :-1] | whole[:-1, :-1]
