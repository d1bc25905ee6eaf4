"""Texts and rules as HTML boxes at whole pixels, within one box that nothing leaves."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from markupsafe import Markup, escape

from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.tables.cutting import runs_left
from wallbill.blocks.tables.spec import Align

_LEFTWARDS = "\N{RIGHT-TO-LEFT MARK}"
_OPEN_ENDS = frozenset(".,:;!?…–-/")


@dataclass(frozen=True, slots=True)
class Line:
    """A line of text in a box: left, top, width, height, pixels from the whole's left top corner.

    ``side``: where it stands in the box. ``role``: its class. ``colour``: of CSS, "" for that around it.
    ``struck``: with a line through it.
    """

    text: str
    box: tuple[int, int, int, int]
    side: Align = Align.LEFT
    role: str = ""
    colour: str = ""
    struck: bool = False


@dataclass(frozen=True, slots=True)
class Field:
    """A filled box. ``background``: a value of CSS."""

    box: tuple[int, int, int, int]
    background: str


@dataclass(frozen=True, slots=True)
class Art:
    """Ready HTML, such as a sign, at a place."""

    html: Markup
    left_px: int
    top_px: int


Piece = Line | Field | Art


@dataclass(frozen=True, slots=True)
class Sheetlet:
    """All pieces of a block in the order of painting, and the block's size, pixels. ``kind``: its class."""

    width_px: int
    height_px: int
    size_px: int
    pieces: tuple[Piece, ...] = field(default=())
    kind: str = "wb-table"


def hair(box: tuple[int, int, int, int], palette: Palette) -> Field:
    """A light rule: grey where there are greys, else every third pixel, which stands back behind type."""
    if palette.smooth:
        return Field(box, "#bbbbbb")
    return Field(box, f"repeating-linear-gradient(90deg,{palette.ink} 0 1px,transparent 1px 3px)")


def to_markup(sheetlet: Sheetlet, palette: Palette) -> Markup:
    """A positioned ``<div>`` of the block's size with each piece at its place; every text is escaped."""
    style = (
        f"position:relative;width:{sheetlet.width_px}px;height:{sheetlet.height_px}px;overflow:hidden;"
        f"font-size:{sheetlet.size_px}px;color:{palette.ink}"
    )
    inside = "".join(_pieces(sheetlet.pieces))
    return Markup(f'<div class="{sheetlet.kind}" style="{style}">{inside}</div>')  # noqa: S704  every text is escaped


def _pieces(pieces: Iterable[Piece]) -> Iterable[str]:
    for piece in pieces:
        if isinstance(piece, Art):
            yield f'<div style="position:absolute;left:{piece.left_px}px;top:{piece.top_px}px">{piece.html}</div>'
        elif isinstance(piece, Field):
            yield f'<div style="{_place(piece.box)};background:{piece.background}"></div>'
        elif piece.text:
            yield _line(piece)


def _place(box: tuple[int, int, int, int]) -> str:
    left, top, width, height = box
    return f"position:absolute;left:{left}px;top:{top}px;width:{width}px;height:{height}px"


def _line(line: Line) -> str:
    colour = f";color:{line.colour}" if line.colour else ""
    struck = ";text-decoration:line-through" if line.struck else ""
    style = f"{_place(line.box)};line-height:{line.box[3]}px;white-space:nowrap;text-align:{line.side}{colour}{struck}"
    return f'<div class="{escape(line.role)}" style="{style}">{escape(ordered(line.text))}</div>'


def ordered(text: str) -> str:
    """A text that runs from right to left with a mark behind signs at its end, which else would go to the wrong side."""
    if text and text[-1] in _OPEN_ENDS and runs_left(text):
        return text + _LEFTWARDS
    return text
