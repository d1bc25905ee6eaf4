"""A table's layout as boxes: headings and their rule, groups, marked rows, hair rules or a light tint, the last line."""

from collections.abc import Iterator
from enum import StrEnum

from markupsafe import Markup

from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.patterns import Hatch
from wallbill.blocks.drawing.tiles import tint_css
from wallbill.blocks.tables.boxes import Field, Line, Piece, Sheetlet, hair, to_markup
from wallbill.blocks.tables.cutting import cut
from wallbill.blocks.tables.spec import Align, Column
from wallbill.blocks.tables.table import GROUP, HEAD, MORE, Laid, Layout, Room

_HEAD_RULE_PX = 2
_CLEAR_PX = 3


class Stripes(StrEnum):
    """What leads the eye along a row."""

    RULES = "rules"
    TINT = "tint"
    NONE = "none"


def inset_of(size_px: int, *, fields: bool) -> int:
    """What stays free at the sides of rows that may have a field or a bar behind them."""
    return round(0.4 * size_px) if fields else 0


def table_html(layout: Layout, room: Room, *, stripes: Stripes = Stripes.RULES) -> Markup:
    """The table as one ``<div>`` of the room's size."""
    pieces = (
        *_head(layout, room),
        *_groups(layout, room),
        *_rows(layout, room, stripes),
        *_more(layout, room),
    )
    return to_markup(Sheetlet(room.width_px, room.height_px, room.size_px, pieces), room.palette)


def _kept(layout: Layout) -> Iterator[tuple[int, Column, int, int]]:
    """Place, column, left edge and width of the columns that are not left out."""
    for at, (column, left, width) in enumerate(
        zip(layout.columns, layout.lefts_px, layout.widths_px, strict=True)
    ):
        if width is not None:
            yield at, column, left, width


def _head(layout: Layout, room: Room) -> Iterator[Piece]:
    if not layout.head_px:
        return
    for _, column, left, width in _kept(layout):
        text = cut(column.head, width, room.kind(HEAD))
        side = column.align.side(leftwards=room.leftwards)
        yield Line(text, (left, 0, width, room.pitch_px), side, HEAD)
    yield Field((0, room.pitch_px, room.width_px, _HEAD_RULE_PX), room.palette.ink)


def _groups(layout: Layout, room: Room) -> Iterator[Piece]:
    for text, top in layout.groups:
        shown = cut(text, room.width_px, room.kind(GROUP))
        yield Line(shown, (0, top, room.width_px, room.pitch_px - 1), _start(room), GROUP)
        yield Field((0, top + room.pitch_px - 1, room.width_px, 1), room.palette.ink)


def _rows(layout: Layout, room: Room, stripes: Stripes) -> Iterator[Piece]:
    in_group = 0
    for number, laid in enumerate(layout.rows):
        before = layout.rows[number - 1] if number else None
        in_group = in_group + 1 if before and before.row.group == laid.row.group else 0
        box = (0, laid.top_px, room.width_px, laid.height_px)
        if laid.row.reverse:
            yield Field(box, room.palette.ink)
        elif stripes is Stripes.TINT and in_group % 2:
            yield Field(box, str(tint_css(Hatch.DOTS_6, room.palette)))
            yield from _cleared(layout, laid, room)
        elif stripes is Stripes.RULES and in_group and before and not before.row.reverse:
            yield hair((0, laid.top_px, room.width_px, 1), room.palette)
        if laid.row.accent and not laid.row.reverse and not room.palette.has_accent:
            yield _bar(box, room)
        yield from _texts(layout, laid, room)


def _cleared(layout: Layout, laid: Laid, room: Room) -> Iterator[Field]:
    """Paper behind each text on a tint of dots, which would spoil its letters; an even grey does not."""
    for line in () if room.palette.smooth else _texts(layout, laid, room):
        wide = room.kind(line.role).measure(line.text)
        left, top, across, down = line.box
        free = {Align.LEFT: 0, Align.CENTRE: (across - wide) // 2}.get(line.side, across - wide)
        yield Field((left + free - _CLEAR_PX, top, wide + 2 * _CLEAR_PX, down), room.palette.paper)


def _bar(box: tuple[int, int, int, int], room: Room) -> Field:
    """What marks a row where there is no second ink: an upright bar before it, as far from its neighbours as from the type."""
    wide = bar_px(room.size_px)
    left = room.width_px - wide if room.leftwards else 0
    return Field((left, box[1] + 2, wide, box[3] - 3), room.palette.ink)


def bar_px(size_px: int) -> int:
    """How wide the bar is that marks a row."""
    return max(2, round(size_px / 6))


def _texts(layout: Layout, laid: Laid, room: Room) -> Iterator[Line]:
    colour = _colour(laid, room.palette)
    pad = (room.pitch_px - room.leading_px) // 2
    for at, column, left, width in _kept(layout):
        cell = laid.cells[at]
        side = column.align.side(leftwards=room.leftwards)
        for number, text in enumerate(cell.lines):
            top = laid.top_px + pad + number * room.leading_px
            if cell.shift_px is None:
                box = (left, top, width, room.leading_px)
                yield Line(text, box, side, column.role, colour, laid.row.struck)
            else:
                box = (left + cell.shift_px, top, width - cell.shift_px, room.leading_px)
                yield Line(text, box, Align.LEFT, column.role, colour, laid.row.struck)


def _colour(laid: Laid, palette: Palette) -> str:
    if laid.row.reverse:
        return palette.paper
    if laid.row.accent and palette.has_accent:
        return palette.accent
    return "#555555" if laid.row.struck and palette.smooth else ""


def _more(layout: Layout, room: Room) -> Iterator[Piece]:
    if layout.more is None:
        return
    text, top = layout.more
    _, _, left, width = next(_kept(layout))
    right = left + width if room.leftwards else room.width_px
    left = 0 if room.leftwards else left
    box = (left, top, right - left, room.pitch_px)
    yield Line(cut(text, box[2], room.kind(MORE)), box, _start(room), MORE)


def _start(room: Room) -> Align:
    return Align.START.side(leftwards=room.leftwards)
