"""Areas told apart without colour, and boxes filled with them, many at a time."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import ACCENT, INK, Sketch
from wallbill.blocks.drawing.markup import Tint
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.patterns import Hatch
from wallbill.blocks.drawing.shapes import Box
from wallbill.inks.impression import Mask

_THIN_PX = 3  # a box this narrow has no room for an outline and something inside it


@dataclass(frozen=True, slots=True)
class Fill:
    """How one area differs from another without colour.

    ``hatch``: the pattern inside a fine outline; `Hatch.SOLID` is all of one ink, None leaves the inside empty.
    ``code``: the ink of a solid area.
    """

    hatch: Hatch | None = Hatch.SOLID
    code: int = INK

    @property
    def solid(self) -> bool:
        """Whether the area is one ink all over."""
        return self.hatch is Hatch.SOLID


PLAIN = Fill()
EMPTY = Fill(None)

_IN_ONE_INK = (
    PLAIN,
    Fill(Hatch.RISING_25),
    EMPTY,
    Fill(Hatch.CHECKS_50),
    Fill(Hatch.DOTS_12),
    Fill(Hatch.CROSSED_43),
)
_IN_TWO_INKS = (
    PLAIN,
    Fill(code=ACCENT),
    Fill(Hatch.RISING_25),
    EMPTY,
    Fill(Hatch.CHECKS_50),
    Fill(Hatch.DOTS_12),
)
# Hatches of the same mean are the same grey: on a panel of greys the means must differ.
_IN_GREYS = (
    PLAIN,
    Fill(Hatch.DOTS_25),
    Fill(Hatch.DOTS_75),
    EMPTY,
    Fill(Hatch.CHECKS_50),
    Fill(Hatch.DOTS_12),
)


def fills(palette: Palette, *, count: int) -> tuple[Fill, ...]:
    """A fill for each of ``count`` areas, neighbours as unlike as can be; after six they come again."""
    every = _IN_GREYS if palette.smooth else _IN_TWO_INKS if palette.has_accent else _IN_ONE_INK
    return tuple(every[i % len(every)] for i in range(count))


def below_zero(palette: Palette) -> Fill:
    """The fill of amounts below zero, beside `PLAIN` for those above: the second ink, or a hatch."""
    if palette.has_accent:
        return Fill(code=ACCENT)
    return Fill(Hatch.DOTS_25 if palette.smooth else Hatch.RISING_25)


def put(mask: Mask, box: Box) -> None:
    """Sets a box of a mask true in place, cut off at the mask's edges."""
    left, top, width, height = box
    if width > 0 and height > 0:
        mask[max(0, top) : max(0, top + height), max(0, left) : max(0, left + width)] = True


def boxes(sketch: Sketch, placed: Iterable[tuple[Box, Fill]]) -> tuple[Tint, ...]:
    """Fills boxes that do not overlap; gives the hatches that belong under the drawing.

    Empty and hatched boxes have an outline of one pixel; where that leaves nothing inside, they are solid.
    """
    size = sketch.size
    groups: dict[Fill, list[Box]] = {}
    ground = shapes.nothing(size)
    for box, fill in placed:
        put(ground, box)
        groups.setdefault(fill, []).append(box)
    inks: dict[int, Mask] = {}
    areas: dict[Hatch, Mask] = {}
    for fill, group in groups.items():
        if fill.code not in inks:
            inks[fill.code] = shapes.nothing(size)
        inner = shapes.nothing(size)
        for box in group:
            put(inks[fill.code], box)
            if not fill.solid and min(box[2:]) >= _THIN_PX:
                put(inner, (box[0] + 1, box[1] + 1, box[2] - 2, box[3] - 2))
        inks[fill.code] &= ~inner
        if fill.hatch is not None and not fill.solid:
            areas[fill.hatch] = inner
    sketch.erase(ground)
    for code, ink in inks.items():
        sketch.lay(ink, code)
    return tuple(Tint(area, pattern) for pattern, area in areas.items())


def beneath(under: Sequence[Tint], over: Sequence[Tint], *, drawn: Mask | None = None) -> tuple[Tint, ...]:
    """Tints without what lies under others or, where given, under the pixels of ``drawn``."""
    hidden = None if drawn is None else drawn.copy()
    for tint in over:
        hidden = tint.area.copy() if hidden is None else hidden | tint.area
    if hidden is None:
        return tuple(under)
    return tuple(Tint(tint.area & ~hidden, tint.pattern) for tint in under)


def swatch_px(spec: ChartSpec) -> int:
    """Side of the little patch beside a name: as high as a capital, odd."""
    return round(spec.label_px * 0.7) | 1
