"""Outlines of the user's own drawings: paths flattened to polylines. Pure geometry, in bounded time."""

import math
from dataclasses import dataclass

from fontTools.pens.basePen import BasePen
from fontTools.svgLib.path.parser import parse_path

from wallbill.blocks.drawing.affine import Affine, curve
from wallbill.blocks.drawing.shapes import Point

_STEPS = 24
"""Straight pieces of a curve: half a pixel off at most in a curve of 1,000 px."""


class TooLargeError(Exception):
    """A drawing holds more than can be drawn in bounded time."""


@dataclass(frozen=True, slots=True)
class Outline:
    """One part of a path. ``straight``: for each stretch between two points whether it is a line of its own, no curve."""

    points: tuple[Point, ...]
    straight: tuple[bool, ...]
    closed: bool


def flattened(data: str, *, transform: Affine, most: int) -> tuple[Outline, ...]:
    """Path data as outlines after ``transform``.

    Raises ValueError for data that is none, `TooLargeError` for more than ``most`` commands.
    """
    pen = _Pen(transform, most)
    try:
        parse_path(data, pen)
    except (IndexError, TypeError, AssertionError, ZeroDivisionError, OverflowError) as fault:
        raise ValueError("the path data breaks off or is garbled") from fault
    return pen.outlines()


class _Pen(BasePen):  # type: ignore[misc]  # the library has no types
    """Takes what the parser draws, and keeps it as points."""

    def __init__(self, transform: Affine, most: int) -> None:
        super().__init__(None)
        self._transform, self._most, self._count = transform, most, 0
        self._done: list[Outline] = []
        self._points: list[Point] = []
        self._straight: list[bool] = []

    def outlines(self) -> tuple[Outline, ...]:
        self._end(closed=False)
        return tuple(self._done)

    def _add(self, point: Point, *, straight: bool) -> None:
        x, y = self._transform.at(point)
        if not (math.isfinite(x) and math.isfinite(y) and max(abs(x), abs(y)) < _FARTHEST_PX):
            raise ValueError("a point lies too far away")
        self._points.append((x, y))
        if len(self._points) > 1:
            self._straight.append(straight)

    def _tick(self) -> None:
        self._count += 1
        if self._count > self._most:
            raise TooLargeError

    def _moveTo(self, pt: Point) -> None:  # noqa: N802  the library's name
        self._tick()
        self._end(closed=False)
        self._add(pt, straight=True)

    def _lineTo(self, pt: Point) -> None:  # noqa: N802  the library's name
        self._tick()
        self._add(pt, straight=True)

    def _curveToOne(self, pt1: Point, pt2: Point, pt3: Point) -> None:  # noqa: N802  the library's name
        self._tick()
        for point in curve((self._getCurrentPoint(), pt1, pt2, pt3), steps=_STEPS):
            self._add(point, straight=False)

    def _closePath(self) -> None:  # noqa: N802  the library's name
        self._end(closed=True)

    def _endPath(self) -> None:  # noqa: N802  the library's name
        self._end(closed=False)

    def _end(self, *, closed: bool) -> None:
        points, straight = self._points, self._straight
        self._points, self._straight = [], []
        if not points:
            return
        if closed and len(points) > 1 and math.dist(points[0], points[-1]) < _SAME_PX:
            points = points[:-1]
        elif closed:
            straight = [*straight, True]
        self._done.append(Outline(tuple(points), tuple(straight), closed))


_FARTHEST_PX = 1e6
_SAME_PX = 1e-6
