"""Bar codes drawn on whole pixels: bars, quiet zones, and what they say in type below them."""

from dataclasses import dataclass, field

import numpy as np
from markupsafe import Markup

from wallbill.blocks.codes.scanning import dark_on_light
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import INK, PAPER, Sketch
from wallbill.blocks.drawing.labels import Label
from wallbill.blocks.drawing.markup import Drawing, to_markup
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.ruler import Ruler
from wallbill.errors import SheetError
from wallbill.inks.impression import Mask

LEAST_BARS_PX = 8
"""Bars lower than this are no bars."""

LEAST_TYPE_PX = 8
"""Type below the bars is made no smaller than this to fit; where it still does not, it is left out."""

_LEADING = 1.25  # height of the line below the bars, in sizes of its type
_TALL_MODULES = 5  # how far the tall bars reach down beside the type: EAN's guard bars, ISO/IEC 15420


@dataclass(frozen=True, slots=True)
class Print:
    """A text below the bars, centred between two modules (counted from the first bar; below 0: in the quiet zone)."""

    text: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Bars:
    """A bar code as modules. ``dark``: from the first bar to the last, true where there is ink.

    ``quiet``: clear modules before and after. ``tall``: modules whose bars reach down beside the type.
    ``text``: what the code says, its text alternative.
    """

    dark: tuple[bool, ...]
    quiet: tuple[int, int]
    prints: tuple[Print, ...]
    text: str
    tall: frozenset[int] = field(default_factory=frozenset)

    @property
    def modules(self) -> int:
        """Modules across, quiet zones included."""
        return sum(self.quiet) + len(self.dark)


@dataclass(frozen=True, slots=True)
class BarSize:
    """How large a bar code is drawn, pixels.

    ``width_px``: of the box, or None for just what ``module_px`` needs. ``module_px``: the narrowest bar, or None for
    as many whole pixels as fit. ``label_px``: type below the bars, 0 for none.
    """

    height_px: int
    width_px: int | None = None
    module_px: int | None = None
    label_px: int = 14


def module_of(bars: Bars, size: BarSize) -> int:
    """Pixels of the narrowest bar. Raises `SheetError` where the code does not fit."""
    module = size.module_px
    if size.width_px is None and module is None:
        raise SheetError(
            "a bar code has neither a width nor a size of its bars",
            mend=f"Write module_px=1 or more ({bars.modules} px wide each), or width_px.",
        )
    if module is None:
        module = (size.width_px or 0) // bars.modules
    if module < 1 or (size.width_px is not None and module * bars.modules > size.width_px):
        needed = bars.modules * max(1, module)
        raise SheetError(
            f"a bar code of {bars.modules} modules does not fit into {size.width_px or 0} px",
            mend=f"Give it {needed} px or more, or encode a shorter text; a qr code holds more on less room.",
        )
    return module


def bar_drawing(bars: Bars, size: BarSize, *, ruler: Ruler) -> Drawing:
    """The code as a drawing of exactly the size asked for; type that does not fit is left out.

    Raises `SheetError` where the bars do not fit.
    """
    module = module_of(bars, size)
    width = size.width_px or bars.modules * module
    left = (width - bars.modules * module) // 2 + bars.quiet[0] * module
    label_px = type_px(bars, size, ruler=ruler)
    line_px = round(label_px * _LEADING)
    bottom = size.height_px - line_px
    if bottom < LEAST_BARS_PX:
        raise SheetError(
            f"a bar code is at least {LEAST_BARS_PX + line_px} pixels high, got {size.height_px}",
            mend="Write a larger height_px, or label_px=0 for bars alone.",
        )
    area = (width, size.height_px)
    sketch = Sketch(*area).lay(~shapes.nothing(area), PAPER)
    sketch.lay(_bars(bars, area, at=(left, bottom, module)), INK)
    if label_px:
        reach = min(size.height_px, bottom + _TALL_MODULES * module)
        tall = Bars(
            tuple(dark and at in bars.tall for at, dark in enumerate(bars.dark)), bars.quiet, (), bars.text
        )
        sketch.lay(_bars(tall, area, at=(left, reach, module)), INK)
    labels = tuple(
        Label(
            one.text,
            (left + one.start * module, size.height_px - line_px, (one.end - one.start) * module, line_px),
        )
        for one in bars.prints
        if label_px
    )
    return Drawing(sketch.grid(), labels, title=bars.text, kind="wb-code")


def bar_code(bars: Bars, size: BarSize, *, palette: Palette, ruler: Ruler) -> Markup:
    """The code as a block of HTML, dark on light whatever the palette. Raises as `bar_drawing` does."""
    label_px = type_px(bars, size, ruler=ruler)
    return to_markup(bar_drawing(bars, size, ruler=ruler), dark_on_light(palette), label_px=label_px)


def type_px(bars: Bars, size: BarSize, *, ruler: Ruler) -> int:
    """The size of type below the bars: as asked, smaller where it would not fit, 0 where it never would."""
    module = module_of(bars, size)
    if size.label_px < 1:
        return 0
    for label_px in range(size.label_px, min(size.label_px, LEAST_TYPE_PX) - 1, -1):
        if all(
            ruler.width_px(one.text, size_px=label_px, role="wb-label") <= (one.end - one.start) * module
            for one in bars.prints
        ):
            return label_px
    return 0


def _bars(bars: Bars, area: tuple[int, int], *, at: tuple[int, int, int]) -> Mask:
    """The bars from the top of ``area`` down to ``at[1]``, from ``at[0]`` on, ``at[2]`` pixels a module."""
    left, bottom, module = at
    row = np.repeat(np.array(bars.dark, dtype=np.bool_), module)
    mask = shapes.nothing(area)
    mask[:bottom, left : left + len(row)] = row
    return mask
