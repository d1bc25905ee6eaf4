"""Affine maps as SVG writes them, and curves as points: what every reader of outlines needs."""

import math
import re
from collections.abc import Sequence
from typing import NamedTuple

from wallbill.blocks.drawing.shapes import Point

_CALL = re.compile(r"\s*(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^()]*)\)\s*,?")
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")


class Affine(NamedTuple):
    """An affine map: x' = a x + c y + e, y' = b x + d y + f. With no numbers, the map that moves nothing."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def after(self, inner: "Affine") -> "Affine":
        """This map of what ``inner`` gives."""
        return Affine(
            self.a * inner.a + self.c * inner.b,
            self.b * inner.a + self.d * inner.b,
            self.a * inner.c + self.c * inner.d,
            self.b * inner.c + self.d * inner.d,
            self.a * inner.e + self.c * inner.f + self.e,
            self.b * inner.e + self.d * inner.f + self.f,
        )

    def at(self, point: Point) -> Point:
        """Where a point comes to lie."""
        x, y = point
        return self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f

    @property
    def turned_deg(self) -> float:
        """How far it turns what lay along x, clockwise where y grows downwards."""
        return math.degrees(math.atan2(self.b, self.a))

    @property
    def scale(self) -> float:
        """By how much it makes lengths longer, on average over directions: the root of its determinant."""
        return math.sqrt(abs(self.a * self.d - self.b * self.c))


UNMOVED = Affine()
"""The map that moves nothing."""


def read_transform(text: str) -> Affine:
    """The map that a ``transform`` attribute writes. Raises ValueError for what is none."""
    result, at = UNMOVED, 0
    text = text.strip()
    while at < len(text):
        found = _CALL.match(text, at)
        if found is None:
            raise ValueError(f"no transform: {text[at : at + 40]!r}")
        result = result.after(_step(found[1], numbers(found[2])))
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
        return Affine(*given)
    if name == "translate":
        return Affine(e=first, f=given[1] if len(given) > 1 else 0.0)
    if name == "scale":
        return Affine(a=first, d=given[-1])
    if name != "rotate":
        slope = math.tan(math.radians(first))
        return Affine(c=slope) if name == "skewX" else Affine(b=slope)
    cos, sin = math.cos(math.radians(first)), math.sin(math.radians(first))
    turn = Affine(cos, sin, -sin, cos)
    if len(given) == 1:
        return turn
    x, y = given[1:]
    return Affine(e=x, f=y).after(turn).after(Affine(e=-x, f=-y))


def numbers(text: str) -> list[float]:
    """The numbers of a list, whatever stands between them."""
    return [float(number) for number in _NUMBER.findall(text)]


def curve(corners: tuple[Point, Point, Point, Point], *, steps: int) -> list[Point]:
    """Points of a cubic Bézier curve from behind its start to its end, ``steps`` of them, by Bernstein's polynomials."""
    start, first, second, end = corners
    found = []
    for step in range(1, steps + 1):
        t = step / steps
        a, b, c, d = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
        found.append(
            (
                a * start[0] + b * first[0] + c * second[0] + d * end[0],
                a * start[1] + b * first[1] + c * second[1] + d * end[1],
            )
        )
    return found
