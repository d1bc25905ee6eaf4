"""Outlines of SVG path data as straight steps."""

import math
from dataclasses import dataclass
from itertools import pairwise

from fontTools.pens.basePen import BasePen
from fontTools.svgLib.path import parse_path

from wallbill.blocks.drawing.affine import curve
from wallbill.blocks.drawing.shapes import Point

_STEP_PX = 2.0  # a chord of so many pixels strays less than a tenth from any curve of a chart
_MOST_STEPS = 64


@dataclass(frozen=True, slots=True)
class Stretch:
    """A run of points, one joined to the next; ``closed``: the last to the first as well. ``curved``: of curves."""

    points: tuple[Point, ...]
    closed: bool
    curved: bool = False


def stretches(data: str) -> tuple[Stretch, ...]:
    """The runs of points in path data (SVG 1.1, section 8.3). Raises ValueError for what is no path data."""
    pen = _Pen()
    try:
        parse_path(data, pen)
    except (IndexError, AssertionError, TypeError, ZeroDivisionError) as fault:
        raise ValueError(f"no path data: {data[:40]!r}") from fault
    return tuple(pen.found)


class _Pen(BasePen):  # type: ignore[misc]  # the library has no types
    """Collects straight stretches; curves are parted into chords of about `_STEP_PX`."""

    def __init__(self) -> None:
        super().__init__(None)
        self.found: list[Stretch] = []
        self._points: list[Point] = []
        self._curved = False

    def _moveTo(self, pt: Point) -> None:  # noqa: N802  the library's name
        self._points, self._curved = [pt], False

    def _lineTo(self, pt: Point) -> None:  # noqa: N802  the library's name
        self._points.append(pt)

    def _curveToOne(self, pt1: Point, pt2: Point, pt3: Point) -> None:  # noqa: N802  the library's name
        corners = (self._points[-1], pt1, pt2, pt3)
        length = sum(math.dist(a, b) for a, b in pairwise(corners))
        steps = min(_MOST_STEPS, max(2, math.ceil(length / _STEP_PX)))
        self._points += curve(corners, steps=steps)
        self._curved = True

    def _closePath(self) -> None:  # noqa: N802  the library's name
        self._end(closed=True)

    def _endPath(self) -> None:  # noqa: N802  the library's name
        self._end(closed=False)

    def _end(self, *, closed: bool) -> None:
        if self._points:
            self.found.append(Stretch(tuple(self._points), closed, self._curved))
        self._points = []
