"""The drawing board for signs: a square of 24 units, every point of which falls on the pixel grid of its size.

Signs are drawn by the middle lines of their strokes. All points lie on one lattice that runs through the
middle of the drawing, on the corners of pixels where the pen is an even number of pixels wide and on their
centres where it is odd, so that both edges of every level, upright or round stroke fall between pixels. A drawing
with an odd pen leaves the last column and row of its box empty, as there is no middle pixel otherwise.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.shapes import Point, Size
from wallbill.inks.impression import Mask

UNITS = 24
"""Units across a sign."""


@dataclass(frozen=True, slots=True)
class Draft:
    """A drawing board ``size_px`` square for strokes ``pen_px`` wide. Points and lengths are in units of 1/24."""

    size_px: int
    pen_px: int

    @property
    def size(self) -> Size:
        """Width and height in pixels."""
        return self.size_px, self.size_px

    @property
    def middle(self) -> float:
        """The middle of the drawing in pixels: a corner for an even pen, a pixel's centre for an odd one."""
        return (self.size_px - self.pen_px % 2) / 2

    def steps(self, units: float) -> int:
        """A length in whole pixels; a half rounds away from zero, so that both sides of a drawing are alike."""
        length = abs(units) * 2 * self.middle / UNITS
        return int(math.copysign(math.floor(length + 0.5), units)) if length >= 0.5 else 0

    def at(self, x: float, y: float) -> Point:
        """The nearest point of the lattice, in pixels."""
        return self.middle + self.steps(x - UNITS / 2), self.middle + self.steps(y - UNITS / 2)

    def nothing(self) -> Mask:
        """No pixel."""
        return shapes.nothing(self.size)

    def line(self, *points: tuple[float, float], closed: bool = False) -> Mask:
        """A stroke through the points."""
        placed = [self.at(x, y) for x, y in points]
        return shapes.stroke(self.size, [*placed, placed[0]] if closed else placed, line_px=self.pen_px)

    def area(self, *points: tuple[float, float]) -> Mask:
        """A closed area, up to the outer edge of its stroke."""
        placed = [self.at(x, y) for x, y in points]
        return shapes.polygon(self.size, placed) | self.line(*points, closed=True)

    def box(self, left: float, top: float, *, right: float, bottom: float) -> Mask:
        """A filled box, up to the outer edges of its strokes."""
        (x0, y0), (x1, y1) = self.at(left, top), self.at(right, bottom)
        half = self.pen_px / 2
        corner = (int(x0 - half), int(y0 - half))
        return shapes.rectangle(self.size, (*corner, int(x1 - x0) + self.pen_px, int(y1 - y0) + self.pen_px))

    def frame(self, left: float, top: float, *, right: float, bottom: float) -> Mask:
        """The rim of a box; its corners are as round as the ends of the pen, square up to 3 px."""
        return self.line((left, top), (right, top), (right, bottom), (left, bottom), closed=True)

    def disc(self, x: float, y: float, *, radius_units: float) -> Mask:
        """A filled circle, up to the outer edge of its stroke."""
        return shapes.disc(self.size, self.at(x, y), radius_px=self.steps(radius_units) + self.pen_px / 2)

    def dot(self, x: float, y: float, *, pens: float = 1.5) -> Mask:
        """A dot of about ``pens`` times the pen's width, wider than the pen by an even number of pixels."""
        wide = self.pen_px + 2 * math.floor((pens - 1) * self.pen_px / 2 + 0.5)
        return shapes.disc(self.size, self.at(x, y), radius_px=wide / 2)

    def ring(self, x: float, y: float, *, radius_units: float) -> Mask:
        """A circle."""
        outer = self.steps(radius_units) + self.pen_px / 2
        return shapes.ring(self.size, self.at(x, y), radius_px=outer, line_px=self.pen_px)

    def arc(self, x: float, y: float, *, radius_units: float, span_deg: tuple[float, float]) -> Mask:
        """Part of a circle, clockwise; degrees from the top."""
        outer = self.steps(radius_units) + self.pen_px / 2
        return shapes.arc(self.size, self.at(x, y), radius_px=outer, line_px=self.pen_px, span_deg=span_deg)

    def curve(self, points: Iterable[Point]) -> Mask:
        """A stroke through many points that are not put on the lattice, for what is neither straight nor round."""
        scale = 2 * self.middle / UNITS
        return shapes.stroke(self.size, [(x * scale, y * scale) for x, y in points], line_px=self.pen_px)

    def bend(self, *points: tuple[float, float], closed: bool = False) -> Mask:
        """A smooth stroke through the points, for leaves and flames; like `curve`, not put on the lattice."""
        return self.curve(bent(points, closed=closed))

    def shape(self, *points: tuple[float, float]) -> Mask:
        """The area within a smooth closed curve through the points, up to the outer edge of its stroke."""
        scale = 2 * self.middle / UNITS
        path = bent(points, closed=True)
        return shapes.polygon(self.size, [(x * scale, y * scale) for x, y in path]) | self.curve(path)

    def mirrored(self, mask: Mask) -> Mask:
        """Left and right exchanged about the middle of the lattice."""
        span = int(2 * self.middle)
        result = self.nothing()
        result[:, :span] = mask[:, :span][:, ::-1]
        return result

    def both(self, mask: Mask) -> Mask:
        """The mask and its mirror image."""
        return mask | self.mirrored(mask)

    def before(self, front: Mask, back: Mask) -> Mask:
        """``front`` over ``back``, which is cut away around it."""
        return (back & ~self.clear(front)) | front

    def outline(self, area: Mask) -> Mask:
        """The rim of any area, inside its edge."""
        if self.pen_px > 1:
            return area & ~shapes.shrunk(area, self.pen_px)
        inside = area.copy()
        for by in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            inside &= shapes.shifted(area, by)
        return area & ~inside

    def clear(self, area: Mask) -> Mask:
        """The area with a casing, a pixel wide at the smallest size and about half the pen above."""
        return shapes.grown(area, max(1, round(self.pen_px * 0.6)))


def bent(points: Sequence[Point], *, closed: bool = False) -> list[Point]:
    """Points along a smooth curve through ``points``: a cubic of Catmull and Rom, eight steps a span."""
    count = len(points)
    path: list[Point] = []
    for n in range(count if closed else count - 1):
        a, b, c, d = (
            points[(n + k) % count] if closed else points[min(max(n + k, 0), count - 1)]
            for k in (-1, 0, 1, 2)
        )
        path += [_between(a, b, c, d, along=step / 8) for step in range(8)]
    return [*path, points[0] if closed else points[-1]]


def _between(a: Point, b: Point, c: Point, d: Point, *, along: float) -> Point:
    """The point ``along`` (0 to 1) the span from ``b`` to ``c``."""
    t, t2, t3 = along, along**2, along**3

    def axis(i: int) -> float:
        return 0.5 * (
            2 * b[i]
            + (c[i] - a[i]) * t
            + (2 * a[i] - 5 * b[i] + 4 * c[i] - d[i]) * t2
            + (3 * b[i] - a[i] - 3 * c[i] + d[i]) * t3
        )

    return axis(0), axis(1)


def joined(parts: Sequence[Mask]) -> Mask:
    """All that any of the masks covers."""
    mask = parts[0].copy()
    for part in parts[1:]:
        mask |= part
    return mask
