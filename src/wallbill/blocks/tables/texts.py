"""A text as large as its box allows, broken into lines."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.tables.boxes import Line, Sheetlet, to_markup
from wallbill.blocks.tables.cutting import Type, lines_of
from wallbill.blocks.tables.spec import Align

SIZES_PX = (
    10,
    11,
    12,
    13,
    14,
    15,
    16,
    18,
    20,
    22,
    24,
    28,
    32,
    36,
    42,
    48,
    56,
    64,
    72,
    84,
    96,
    112,
    128,
    160,
    192,
)
"""Sizes of type where the sheet allows any: a scale of even steps, each a sixth or so above the last (by eye)."""

LEADING = 1.22
"""From line to line, times the size (by eye)."""

_LEAST_LETTERS = 6  # of a word that has to be split, on a line: fewer are hard to read together (by eye)


@dataclass(frozen=True, slots=True)
class TextSpec:
    """How a text is to stand in its box. ``leading``: from line to line, times the size.

    ``balance``: lines of even length. ``middle``: in the middle of the height, else at its top.
    """

    align: Align = Align.START
    role: str = ""
    leading: float = LEADING
    balance: bool = False
    middle: bool = False


@dataclass(frozen=True, slots=True)
class TextLayout:
    """A text as it fits: its size, its lines, and from one to the next, pixels. ``whole``: nothing was cut."""

    size_px: int
    lines: tuple[str, ...]
    leading_px: int
    whole: bool


def lay_text(
    text: str,
    box_px: tuple[int, int],
    spec: TextSpec,
    *,
    sizes_px: Sequence[int],
    kind_at: Callable[[int], Type],
) -> TextLayout:
    """The text at the largest of the sizes at which all of it fits in ``box_px`` (width, height); else cut at the least.

    No word is split between letters, unless one is too long for the box at every size. ``kind_at``: how texts are
    measured at a size.
    """
    sizes = sorted(set(sizes_px))
    for split in (False, True):
        low, high, best = 0, len(sizes) - 1, None
        while low <= high:
            middle = (low + high) // 2
            found = _at(text, box_px, spec, (sizes[middle], kind_at(sizes[middle])), split=split)
            if found is not None:
                low, best = middle + 1, found
            else:
                high = middle - 1
        if best is not None:
            return best
    size = sizes[0]
    leading = round(spec.leading * size)
    most = box_px[1] // leading
    lines = lines_of(text, box_px[0], kind_at(size), most=most) if most else ()
    return TextLayout(size, lines, leading, whole=False)


def _at(
    text: str, box_px: tuple[int, int], spec: TextSpec, sized: tuple[int, Type], *, split: bool
) -> TextLayout | None:
    """The text at a size, and as it is measured at that; None where it does not fit. ``split``: whether words may be."""
    size_px, kind = sized
    leading = round(spec.leading * size_px)
    if leading > box_px[1]:
        return None
    lines = lines_of(text, box_px[0], kind)
    if len(lines) * leading > box_px[1]:
        return None
    letters = _LEAST_LETTERS if split else None
    if not all(kind.fits(piece[:letters], box_px[0]) for piece in kind.pieces(text)):
        return None
    if spec.balance and not split and len(lines) > 1:
        lines = _balanced(text, lines, box_px[0], kind)
    return TextLayout(size_px, lines, leading, whole=True)


def _balanced(text: str, lines: tuple[str, ...], width_px: int, kind: Type) -> tuple[str, ...]:
    """The same number of lines in the least width: lines of even length."""
    low, high = max(kind.measure(piece) for piece in kind.pieces(text)), width_px
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if len(lines_of(text, middle, kind)) <= len(lines) else (middle + 1, high)
    return lines_of(text, high, kind)


def text_html(
    layout: TextLayout, box_px: tuple[int, int], spec: TextSpec, *, palette: Palette, leftwards: bool
) -> Markup:
    """The text as one ``<div>`` of the box's size, each line in a box of its own."""
    width, height = box_px
    free = height - len(layout.lines) * layout.leading_px
    top = free // 2 if spec.middle else 0
    side = spec.align.side(leftwards=leftwards)
    lines = tuple(
        Line(text, (0, top + at * layout.leading_px, width, layout.leading_px), side, spec.role)
        for at, text in enumerate(layout.lines)
    )
    return to_markup(Sheetlet(width, height, layout.size_px, lines, "wb-text"), palette)
