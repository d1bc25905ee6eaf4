"""The user's own drawing as pixels: coverage decides about a pixel's ink, and thin strokes are kept whole."""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from types import MappingProxyType

import numpy as np
import pathops
from numpy.typing import NDArray

from wallbill.blocks.drawing import shapes as masks
from wallbill.blocks.drawing.shapes import Box, Point
from wallbill.blocks.icons.own_reading import Shape
from wallbill.blocks.icons.own_snapping import stroke_px
from wallbill.inks.impression import Mask

FINE = 8
"""Samples of a pixel along each axis: 64 in all."""

MOST_SAMPLES = 200_000_000
"""Samples of all shapes of a drawing together: a second or two of work."""

_CAPS = MappingProxyType(
    {
        "butt": pathops.LineCap.BUTT_CAP,
        "round": pathops.LineCap.ROUND_CAP,
        "square": pathops.LineCap.SQUARE_CAP,
    }
)
_JOINS = MappingProxyType(
    {
        "miter": pathops.LineJoin.MITER_JOIN,
        "round": pathops.LineJoin.ROUND_JOIN,
        "bevel": pathops.LineJoin.BEVEL_JOIN,
    }
)

Rings = Sequence[Sequence[Point]]


def filled(shape: Shape, size_px: int) -> Mask:
    """The pixels that a shape's area covers by half or more; one thinner than a pixel is drawn as a line."""
    rings = [outline.points for outline in shape.outlines if len(outline.points) > 1]
    mask = covered(rings, size_px, even_odd=shape.style.even_odd)
    for ring in rings:
        if shape.style.stroke.colour is None and _is_thin(ring):
            mask |= _hairline([*ring, ring[0]], size_px, dash=())
    return mask


def stroked(shape: Shape, size_px: int) -> Mask:
    """The pixels of a shape's strokes, a whole number of pixels wide."""
    width = stroke_px(shape)
    mask = masks.nothing((size_px, size_px))
    for outline in shape.outlines:
        points = [*outline.points, outline.points[0]] if outline.closed else list(outline.points)
        if width == 1 and len(points) > 1:
            mask |= _hairline(points, size_px, dash=_whole(shape.style.dash))
        else:
            mask |= covered(_around(points, shape, closed=outline.closed), size_px, even_odd=False)
    return mask


def samples(shape: Shape, size_px: int) -> int:
    """How many samples it takes to draw a shape: a measure of the work."""
    points = [point for outline in shape.outlines for point in outline.points]
    box = _box(points, size_px, margin=stroke_px(shape))
    own = (box[2] + 1) * (box[3] + 1) * FINE * FINE + 200 * len(points)
    return own + sum(samples(part, size_px) for clip in shape.clips for part in clip)


def covered(rings: Rings, size_px: int, *, even_odd: bool) -> Mask:
    """The pixels of which at least half lie inside closed rings, by the even-odd or the nonzero rule."""
    mask = masks.nothing((size_px, size_px))
    points = [point for ring in rings for point in ring]
    left, top, wide, high = _box(points, size_px, margin=1)
    if wide < 1 or high < 1:
        return mask
    turns = _winding(rings, (left, top, wide, high))
    inside = turns % 2 == 1 if even_odd else turns != 0
    share = inside.reshape(high, FINE, wide, FINE).sum(axis=(1, 3))
    mask[top : top + high, left : left + wide] = share * 2 >= FINE * FINE
    return mask


def _winding(rings: Rings, box: Box) -> NDArray[np.int32]:
    """How often the rings go round each sample of a box."""
    left, top, wide, high = box
    flips = np.zeros((high * FINE, wide * FINE + 1), dtype=np.int32)
    for ring in rings:
        for (x0, y0), (x1, y1) in pairwise((*ring, ring[0])):
            if y0 == y1:
                continue
            way = 1 if y1 > y0 else -1
            upper, lower = (min(y0, y1) - top) * FINE, (max(y0, y1) - top) * FINE
            first, last = max(0, math.ceil(upper - 0.5)), min(high * FINE, math.ceil(lower - 0.5))
            if first >= last:
                continue
            rows = np.arange(first, last)
            crossing = (x0 - left + ((rows + 0.5) / FINE + top - y0) * ((x1 - x0) / (y1 - y0))) * FINE
            columns = np.clip(np.ceil(crossing - 0.5 - _HAIR), 0, wide * FINE).astype(np.int64)
            flips[rows, columns] += way
    return np.cumsum(flips, axis=1)[:, :-1].astype(np.int32)


_HAIR = 1e-6


def _box(points: Sequence[Point], size_px: int, *, margin: int) -> Box:
    """The whole pixels around some points, within the drawing."""
    if not points:
        return 0, 0, 0, 0
    xs, ys = [x for x, _ in points], [y for _, y in points]
    left, top = (max(0, math.floor(min(v)) - margin) for v in (xs, ys))
    right, bottom = (min(size_px, math.ceil(max(v)) + margin) for v in (xs, ys))
    return left, top, max(0, right - left), max(0, bottom - top)


def _is_thin(ring: Sequence[Point]) -> bool:
    """Whether a closed ring is on average thinner than a pixel, so that coverage could lose it."""
    area = abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairwise((*ring, ring[0])))) / 2
    length = sum(math.dist(a, b) for a, b in pairwise((*ring, ring[0])))
    return _NO_AREA_PX * length < 2 * area < _THIN_PX * length


_THIN_PX, _NO_AREA_PX = 0.75, 0.02


def _hairline(points: Sequence[Point], size_px: int, *, dash: tuple[int, ...]) -> Mask:
    """A stroke one pixel wide, without a gap however it slants."""
    reach = 4 * size_px
    pixels = [
        (max(-reach, min(reach, math.floor(x + _HAIR))), max(-reach, min(reach, math.floor(y + _HAIR))))
        for x, y in points
    ]
    return masks.line(
        (size_px, size_px), list(dict.fromkeys(pixels)) if len(set(pixels)) == 1 else pixels, dash_px=dash
    )


def _whole(dash: tuple[float, ...]) -> tuple[int, ...]:
    return tuple(max(1, round(length)) for length in dash)


def _around(points: Sequence[Point], shape: Shape, *, closed: bool) -> list[list[Point]]:
    """The outline of a wide stroke: its caps, joins and dashes are made by the library."""
    path = pathops.Path()
    path.moveTo(*points[0])
    for point in points[1:]:
        path.lineTo(*point)
    if len(points) == 1:
        path.lineTo(points[0][0] + 1e-3, points[0][1])
    if closed:
        path.close()
    style = shape.style
    dash = list(_whole(style.dash)) or None
    path.stroke(float(stroke_px(shape)), _CAPS[style.cap], _JOINS[style.join], style.miter, dash)
    path.convertConicsToQuads()
    return list(_rings(path))


def _rings(path: pathops.Path) -> Iterator[list[Point]]:
    """A path of the library as rings of points, its curves in eight steps."""
    ring: list[Point] = []
    for verb, points in path.segments:
        if verb == "moveTo":
            ring = [points[0]]
        elif verb == "lineTo":
            ring.append(points[0])
        elif verb == "qCurveTo":
            for control, end in pathops.decompose_quadratic_segment(points):
                ring += (
                    [_quadratic(ring[-1], control, end, step / 8) for step in range(1, 9)] if ring else [end]
                )
        elif ring:
            yield ring
            ring = []


def _quadratic(start: Point, control: Point, end: Point, t: float) -> Point:
    a, b, c = (1 - t) ** 2, 2 * t * (1 - t), t * t
    return a * start[0] + b * control[0] + c * end[0], a * start[1] + b * control[1] + c * end[1]
