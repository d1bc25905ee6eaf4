"""A ground of ink codes and hatches on which shapes are laid one over the other, each in a window of its own."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import NOTHING, Grid
from wallbill.blocks.drawing.markup import Tint
from wallbill.blocks.drawing.patterns import Hatch
from wallbill.blocks.drawing.shapes import Box, Pixel, Point, Size
from wallbill.blocks.grammar.inking import Paint
from wallbill.blocks.grammar.scene import Corners
from wallbill.inks.impression import Mask, frozen_codes

_HATCHES = tuple(Hatch)
_HAIR = 1e-6


def pixel(point: Point) -> Pixel:
    """The pixel that a point lies on."""
    return math.floor(point[0] + _HAIR), math.floor(point[1] + _HAIR)


def edge(at: float) -> int:
    """The pixel's edge nearest to a coordinate."""
    return math.floor(at + 0.5 + _HAIR)


@dataclass(frozen=True, slots=True, eq=False)
class Window:
    """A part of the drawing, with masks of its own size."""

    box: Box

    @property
    def size(self) -> Size:
        """Width and height in pixels."""
        return self.box[2], self.box[3]

    def pixels(self, points: Sequence[Point]) -> list[Pixel]:
        """Points as pixels of the window."""
        return [(x - self.box[0], y - self.box[1]) for x, y in map(pixel, points)]

    def moved(self, points: Sequence[Point]) -> list[Point]:
        """Points counted from the window's corner."""
        return [(x - self.box[0], y - self.box[1]) for x, y in points]


class Canvas:
    """The ground of a chart, ``size`` in pixels. Lay paints, then take the `grid` and the `tints`."""

    def __init__(self, size: Size) -> None:
        self.size = size
        self._codes = np.zeros((size[1], size[0]), dtype=np.uint8)
        self._tints = np.zeros((size[1], size[0]), dtype=np.uint8)

    def window(self, points: Iterable[Point], *, clip: Corners | None, margin_px: int = 0) -> Window | None:
        """The part of the drawing about some points, within ``clip``; None where nothing is left of it."""
        xs, ys = zip(*points, strict=True)
        bounds = (0.0, 0.0, float(self.size[0]), float(self.size[1]))
        inner = clip or bounds
        left = max(0, edge(inner[0]), math.floor(min(xs)) - margin_px)
        top = max(0, edge(inner[1]), math.floor(min(ys)) - margin_px)
        right = min(self.size[0], edge(inner[2]), math.ceil(max(xs)) + 1 + margin_px)
        bottom = min(self.size[1], edge(inner[3]), math.ceil(max(ys)) + 1 + margin_px)
        return Window((left, top, right - left, bottom - top)) if left < right and top < bottom else None

    def lay(self, window: Window, mask: Mask, paint: Paint) -> None:
        """Lays a paint wherever ``mask`` (bool, of the window's shape) is true; what lay there is gone."""
        if paint.code == NOTHING:
            return
        left, top, width, height = window.box
        codes = self._codes[top : top + height, left : left + width]
        tints = self._tints[top : top + height, left : left + width]
        hatched = paint.hatch is not Hatch.SOLID
        codes[mask] = NOTHING if hatched else paint.code
        tints[mask] = _HATCHES.index(paint.hatch) + 1 if hatched else 0

    def grid(self) -> Grid:
        """The inks, frozen."""
        return Grid(frozen_codes(self._codes))

    def tints(self) -> tuple[Tint, ...]:
        """The areas of each hatch."""
        used = np.unique(self._tints)
        return tuple(Tint(self._tints == number, _HATCHES[number - 1]) for number in used.tolist() if number)

    def drawn(self) -> Mask:
        """True where something is drawn; bool, shape (height, width)."""
        return np.asarray((self._codes != NOTHING) | (self._tints != 0))

    def clear(self, box: Box) -> None:
        """Takes the hatches out of a box, so that a text can be read there."""
        mask = shapes.rectangle(self.size, box)
        self._tints[mask] = 0
