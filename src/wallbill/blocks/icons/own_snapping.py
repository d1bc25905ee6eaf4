"""The user's own drawing put on the pixel grid: every level and upright edge and stroke falls between two pixels.

Edges are not moved one by one, which would tear a drawing apart: each axis as a whole is stretched and squeezed piece by
piece, so that the places of edges land on whole pixels, and whatever lies between them goes along. Type is fitted the same
way (grid fitting).
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from wallbill.blocks.drawing.shapes import Point
from wallbill.blocks.icons.own_paths import Outline
from wallbill.blocks.icons.own_reading import Read, Shape

_STRAIGHT_PX = 0.05
"""How far the ends of a line may differ for it to count as level or upright."""

_SHORTEST_PX = 1.5
"""Shorter edges are part of a curve or a corner, and go along."""

_SAME_PX = 0.25
"""Places nearer to each other than this are one."""


@dataclass(frozen=True, slots=True)
class _Stem:
    """Two edges with ink or a gap between them, or the middle line of a stroke, along one axis.

    ``width``: between the edges; for a middle line 0. ``half``: whether a middle line falls on the middle of a pixel.
    """

    at: float
    width: float
    half: bool
    stroke: bool


def stroke_px(shape: Shape) -> int:
    """The whole number of pixels that a shape's strokes are wide: at least one, so that none is lost."""
    return max(1, math.floor(shape.stroke_width + 0.5))


def snapped(drawing: Read, size_px: int) -> tuple[Shape, ...]:
    """The shapes in pixels of a square of ``size_px``, their edges on the grid.

    The drawing keeps its proportions and stands in the middle.
    """
    placed = [_placed(shape, drawing.view, size_px) for shape in drawing.shapes]
    warps = [_Warp(stems) for stems in (_stems(placed, 0), _stems(placed, 1))]
    return tuple(_warped(shape, warps) for shape in placed)


def _placed(shape: Shape, view: tuple[float, float, float, float], size_px: int) -> Shape:
    """A shape in pixels, not yet on the grid."""
    left, top, wide, high = view
    scale = size_px / max(wide, high)
    dx, dy = (size_px - scale * wide) / 2 - scale * left, (size_px - scale * high) / 2 - scale * top

    def moved(point: Point) -> Point:
        return scale * point[0] + dx, scale * point[1] + dy

    box = shape.round_box
    return replace(
        shape,
        outlines=tuple(replace(o, points=tuple(map(moved, o.points))) for o in shape.outlines),
        stroke_width=shape.stroke_width * scale,
        style=replace(
            shape.style, dash=tuple(length * scale * _own_scale(shape) for length in shape.style.dash)
        ),
        round_box=None if box is None else (*moved((box[0], box[1])), *moved((box[2], box[3]))),
        clips=tuple(tuple(_placed(part, view, size_px) for part in clip) for clip in shape.clips),
    )


def _own_scale(shape: Shape) -> float:
    """By how much the shape's own transforms made its strokes wider."""
    width = shape.style.stroke_width
    return shape.stroke_width / width if width > 0 else 1.0


def _stems(shapes: Sequence[Shape], axis: int) -> list[_Stem]:
    """What must fall on the grid along an axis; strokes first, as a shifted stroke is seen before a shifted edge."""
    strokes: list[_Stem] = []
    fills: list[_Stem] = []
    for shape in shapes:
        for part in (shape, *(part for clip in shape.clips for part in clip)):
            places = sorted(_places(part, axis))
            if part.style.stroke.colour is not None:
                half = stroke_px(part) % 2 == 1
                strokes += [_Stem(at, 0.0, half, stroke=True) for at in places]
            elif len(places) % 2 == 0:
                pairs = zip(places[::2], places[1::2], strict=True)
                fills += [_Stem((a + b) / 2, b - a, half=False, stroke=False) for a, b in pairs]
            else:
                fills += [_Stem(at, 0.0, half=False, stroke=False) for at in places]
    return strokes + fills


def _places(shape: Shape, axis: int) -> list[float]:
    """Where along an axis a shape has straight edges across it; each place once."""
    found = sorted(_edges(shape, axis))
    kept: list[float] = []
    for at in found:
        if not kept or at - kept[-1] > _SAME_PX:
            kept.append(at)
    return kept


def _edges(shape: Shape, axis: int) -> Iterator[float]:
    if shape.round_box is not None:
        yield shape.round_box[axis]
        yield shape.round_box[axis + 2]
        return
    for outline in shape.outlines:
        points = outline.points
        for n, straight in enumerate(outline.straight):
            one, two = points[n], points[(n + 1) % len(points)]
            away = abs(one[axis] - two[axis])
            along = abs(one[1 - axis] - two[1 - axis])
            if straight and away <= _STRAIGHT_PX and along >= _SHORTEST_PX:
                yield (one[axis] + two[axis]) / 2


class _Warp:
    """A monotone map of one axis, straight between the places that it puts on the grid."""

    def __init__(self, stems: Sequence[_Stem]) -> None:
        wanted: dict[float, float] = {}
        for stem in stems:
            for at, to in _targets(stem):
                if all(abs(at - known) > _SAME_PX for known in wanted):
                    wanted[at] = to
        self._from = np.array(sorted(wanted))
        self._to = np.maximum.accumulate(np.array([wanted[at] for at in sorted(wanted)]))

    def at(self, value: float) -> float:
        """Where a place goes; beyond the outermost places everything moves as they do."""
        if not len(self._from):
            return value
        if value <= self._from[0]:
            return float(value + self._to[0] - self._from[0])
        if value >= self._from[-1]:
            return float(value + self._to[-1] - self._from[-1])
        return float(np.interp(value, self._from, self._to))


def _targets(stem: _Stem) -> Iterator[tuple[float, float]]:
    """The places of a stem and where they go: a width is rounded first, so that equal widths stay equal."""
    if stem.width == 0:
        yield stem.at, math.floor(stem.at) + 0.5 if stem.half else math.floor(stem.at + 0.5)
        return
    width = max(1, math.floor(stem.width + 0.5))
    left = math.floor(stem.at - width / 2 + 0.5)
    yield stem.at - stem.width / 2, left
    yield stem.at + stem.width / 2, left + width


def _warped(shape: Shape, warps: Sequence[_Warp]) -> Shape:
    def moved(outline: Outline) -> Outline:
        return replace(outline, points=tuple((warps[0].at(x), warps[1].at(y)) for x, y in outline.points))

    return replace(
        shape,
        outlines=tuple(map(moved, shape.outlines)),
        clips=tuple(tuple(_warped(part, warps) for part in clip) for clip in shape.clips),
    )
