"""How an event looks: a bar with the mark of its calendar, and what tells calendars and doubtful events apart.

Nothing here needs colour, which is kept for today, for holidays and for now: a calendar has a mark of its own (disc,
ring, square, lozenge, in turn), every other one is filled, and what is not settled is hatched.
"""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import INK, MUTED, PAPER, Grid, Sketch
from wallbill.blocks.drawing.shapes import Box
from wallbill.inks.impression import Mask

MARKS = 4
"""Calendars that are told apart by their marks; a fifth has the first mark again."""

_EDGE_PX = 3
_NARROW_PX = 10  # a bar narrower than this is filled: an outline would not show


@dataclass(frozen=True, slots=True)
class BarStyle:
    """How one bar is drawn. ``number``: of its calendar, from 0. ``cut``: whether it goes on before and behind.

    ``mirrored``: it begins at the right, as in a language that runs from right to left.
    """

    number: int = 0
    solid: bool = True
    tentative: bool = False
    cut: tuple[bool, bool] = (False, False)
    marked: bool = False
    mirrored: bool = False

    def text_code(self) -> int:
        """The ink of the type upon it."""
        return PAPER if self.solid and not self.tentative else INK

    def room_px(self, box: Box) -> tuple[int, int]:
        """First column and width of the room for type in a bar that lies in ``box``."""
        left, _, width, height = box
        before = max(_point_px(height) if self.cut[0] else _EDGE_PX, _EDGE_PX) + 2
        if self.marked:
            before += mark_px(height) + 3
        behind = (_point_px(height) if self.cut[1] else 1) + 2
        return left + (behind if self.mirrored else before), max(0, width - before - behind)


def is_filled(number: int) -> bool:
    """Whether the bars of a calendar are filled: every other one's."""
    return number % 2 == 0


def lay_bar(sketch: Sketch, box: Box, *, style: BarStyle, hatched: Mask) -> None:
    """Draws a bar, and adds what is to be hatched in it to ``hatched`` (shape of the drawing).

    The end of an event that goes on is a point; a whole one has its corners broken by a pixel.
    """
    left, top, width, height = box
    shape = _shape((width, height), style.cut)
    inner = shapes.shrunk(shape, 1)
    bar = Sketch(width, height)
    if (style.solid or width < _NARROW_PX) and not style.tentative:
        bar.lay(shape, INK)
    else:
        bar.lay(shape, PAPER if not style.tentative else INK)
        if style.tentative:
            bar.erase(inner)
            _put(hatched, inner[:, ::-1] if style.mirrored else inner, (left, top))
        bar.lay(shape & ~inner, INK)
        if not style.cut[0] and not style.solid and width > 2 * _EDGE_PX:
            bar.lay(shape & shapes.rectangle((width, height), (0, 0, _EDGE_PX, height)), INK)
    if style.marked and style.room_px(box)[1] > 0 and width >= _NARROW_PX:
        across = mark_px(height)
        at = (replace(style, mirrored=False).room_px(box)[0] - left - across - 3, (height - across) // 2)
        bar.stamp(mark(style.number, across_px=across, code=style.text_code()), at=at)
    sketch.clear(box, MUTED)  # no dotted line runs through a bar's words
    sketch.stamp(bar.grid().mirrored() if style.mirrored else bar.grid(), at=(left, top))


def mark_px(height_px: int) -> int:
    """The size of a mark beside type in a line of that height; odd."""
    return max(5, height_px * 2 // 5) | 1


@lru_cache(maxsize=64)  # a month has dozens of the same few
def mark(number: int, *, across_px: int, code: int) -> Grid:
    """The mark of a calendar, an odd number of pixels across: disc, ring, square or lozenge by its number."""
    size = (across_px, across_px)
    middle = across_px / 2
    kind = number % MARKS
    if kind == 0:
        shape = shapes.disc(size, (middle, middle), radius_px=middle)
    elif kind == 1:
        shape = shapes.ring(size, (middle, middle), radius_px=middle, line_px=max(1, across_px // 5))
    elif kind == 2:
        inset = across_px // 8
        shape = shapes.rectangle(size, (inset, inset, across_px - 2 * inset, across_px - 2 * inset))
    else:
        x, y = shapes.centres(size)
        shape = np.asarray(abs(x - middle) + abs(y - middle) <= across_px // 2)
    return Sketch(*size).lay(shape, code).grid()


def plus(*, across_px: int, code: int) -> Grid:
    """The sign for more of the same: a cross of an odd number of pixels."""
    size = (across_px, across_px)
    arm = max(1, (across_px - 4) // 3) | 1
    begin = (across_px - arm) // 2
    shape = shapes.rectangle(size, (begin, 0, arm, across_px)) | shapes.rectangle(
        size, (0, begin, across_px, arm)
    )
    return Sketch(*size).lay(shape, code).grid()


def _point_px(height_px: int) -> int:
    """How long the point of a cut end is."""
    return max(2, height_px // 3)


def _shape(size: tuple[int, int], cut: tuple[bool, bool]) -> Mask:
    """A bar's outline filled: pointed where it goes on, else with broken corners."""
    width, height = size
    shape = ~shapes.nothing(size)
    point = min(_point_px(height), max(1, width // 2))
    for row in range(height):
        away = abs(2 * row - (height - 1)) / max(1, height - 1)
        gone = round(away * point)
        corner = 1 if row in (0, height - 1) and min(size) > 4 else 0
        before, behind = (gone if cut[0] else corner), (gone if cut[1] else corner)
        shape[row, :before] = False
        shape[row, max(0, width - behind) :] = False
    return shape


def _put(area: Mask, mask: Mask, at: tuple[int, int]) -> None:
    """Adds a small mask to an area; what falls outside is cut off."""
    x, y = at
    left, top = max(0, x), max(0, y)
    right, bottom = min(area.shape[1], x + mask.shape[1]), min(area.shape[0], y + mask.shape[0])
    if left < right and top < bottom:
        area[top:bottom, left:right] |= mask[top - y : bottom - y, left - x : right - x]
