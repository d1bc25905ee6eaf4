"""Outlines of the user's own drawings: affine maps, and paths flattened to polylines. Pure geometry, in bounded time."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from fontTools.pens.basePen import BasePen
from fontTools.svgLib.path.parser import parse_path

from wallbill.blocks.drawing.shapes import Point

Affine = tuple[float, float, float, float, float, float]
"""a, b, c, d, e, f as SVG writes a matrix: x' = a x + c y + e, y' = b x + d y + f."""

UNMOVED: Affine = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)

_STEPS = 24
"""Straight pieces of a curve: half a pixel off at most in a curve of 1,000 px."""

_CALL = re.compile(r"\s*(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^()]*)\)\s*,?")
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")


class TooLargeError(Exception):
    """A drawing holds more than can be drawn in bounded time."""


@dataclass(frozen=True, slots=True)
class Outline:
    """One part of a path. ``straight``: for each stretch between two points whether it is a line of its own, no curve."""

    points: tuple[Point, ...]
    straight: tuple[bool, ...]
    closed: bool


def after(outer: Affine, inner: Affine) -> Affine:
    """``outer`` applied to what ``inner`` gives."""
    a, b, c, d, e, f = outer
    g, h, i, j, k, m = inner
    return (a * g + c * h, b * g + d * h, a * i + c * j, b * i + d * j, a * k + c * m + e, b * k + d * m + f)


def moved(transform: Affine, point: Point) -> Point:
    """The point after the map."""
    a, b, c, d, e, f = transform
    return a * point[0] + c * point[1] + e, b * point[0] + d * point[1] + f


def scale_of(transform: Affine) -> float:
    """By how much the map makes lengths longer, on average over directions: the root of its determinant."""
    return math.sqrt(abs(transform[0] * transform[3] - transform[1] * transform[2]))


def read_transform(text: str) -> Affine:
    """The map that a ``transform`` attribute writes. Raises ValueError for what is none."""
    result, at = UNMOVED, 0
    text = text.strip()
    while at < len(text):
        found = _CALL.match(text, at)
        if found is None:
            raise ValueError(f"no transform: {text[at : at + 40]!r}")
        result = after(result, _step(found[1], numbers(found[2])))
        at = found.end()
    return result


def _step(name: str, given: Sequence[float]) -> Affine:
    """One function of a transform list. Source: CSS Transforms 1, section 8."""
    counts = {
        "matrix": {6},
        "translate": {1, 2},
        "scale": {1, 2},
        "rotate": {1, 3},
        "skewX": {1},
        "skewY": {1},
    }
    if len(given) not in counts[name]:
        raise ValueError(
            f"{name} takes {' or '.join(map(str, sorted(counts[name])))} numbers, got {len(given)}"
        )
    first = given[0]
    if name == "matrix":
        a, b, c, d, e, f = given
        return a, b, c, d, e, f
    if name == "translate":
        return 1, 0, 0, 1, first, given[1] if len(given) > 1 else 0
    if name == "scale":
        return first, 0, 0, given[-1], 0, 0
    if name != "rotate":
        slope = math.tan(math.radians(first))
        return (1, 0, slope, 1, 0, 0) if name == "skewX" else (1, slope, 0, 1, 0, 0)
    cos, sin = math.cos(math.radians(first)), math.sin(math.radians(first))
    turn: Affine = (cos, sin, -sin, cos, 0, 0)
    if len(given) == 1:
        return turn
    x, y = given[1:]
    return after(after((1, 0, 0, 1, x, y), turn), (1, 0, 0, 1, -x, -y))


def numbers(text: str) -> list[float]:
    """The numbers of a list, whatever stands between them."""
    return [float(number) for number in _NUMBER.findall(text)]


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
        x, y = moved(self._transform, point)
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
        (x0, y0), (x1, y1), (x2, y2), (x3, y3) = self._getCurrentPoint(), pt1, pt2, pt3
        for step in range(1, _STEPS + 1):
            t = step / _STEPS
            a, b, c, d = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
            self._add((a * x0 + b * x1 + c * x2 + d * x3, a * y0 + b * y1 + c * y2 + d * y3), straight=False)

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
