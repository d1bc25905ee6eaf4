"""A list that fits its box: marks, wrapped texts, columns of even height, and what is left over in a last line."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from markupsafe import Markup

from wallbill.blocks.tables.boxes import Field, Line, Piece, Sheetlet, to_markup
from wallbill.blocks.tables.cutting import cut, lines_of, one_line
from wallbill.blocks.tables.spec import Align
from wallbill.blocks.tables.table import MORE, Room

ITEM = "wb-item"
"""Class of the items' texts."""

NOTE = "wb-note"
"""Class of what stands at the end of an item, such as a date."""

_COLUMN_GAP_EM = 1.6
_NOTE_GAP_EM = 0.7
_MARK_GAP_EM = 0.45
_BOX_EM, _BULLET_EM = 0.72, 0.26  # the height of capitals, and a third of it
_BOX_DOWN_EM, _BULLET_DOWN_EM = (
    0.03,
    0.1,
)  # from the middle of a line to that of capitals and of small letters


class Marks(StrEnum):
    """What stands before an item."""

    BOX = "box"
    BULLET = "bullet"
    NUMBER = "number"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class Item:
    """One item. ``done``: struck out. ``accent``: in the second ink. ``note``: what stands at its end."""

    text: str
    done: bool = False
    accent: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True)
class Placed:
    """An item in its place: lines, note, number from 1, left and top edge, pixels."""

    item: Item
    lines: tuple[str, ...]
    note: str
    number: int
    left_px: int
    top_px: int


@dataclass(frozen=True, slots=True)
class ListLayout:
    """A list as it fits. ``column_px``, ``mark_px``: widths of a column, and of the marks in it with their distance."""

    items: tuple[Placed, ...]
    column_px: int
    mark_px: int
    total: int
    more: tuple[str, int, int] | None = None

    @property
    def hidden(self) -> int:
        """How many items are left over."""
        return self.total - len(self.items)


@dataclass(frozen=True, slots=True)
class ListSpec:
    """How a list is to look. ``wrap``: lines that an item may have at most. ``start``: the first number."""

    marks: Marks = Marks.NONE
    columns: int = 1
    wrap: int = 1
    start: int = 1


def lay_list(items: Sequence[Item], room: Room, spec: ListSpec) -> ListLayout:
    """Fits items into a room: as many as have room, in columns that are as even as may be."""
    gap_px = round(_COLUMN_GAP_EM * room.size_px)
    column_px = max(1, (room.width_px - gap_px * (spec.columns - 1)) // spec.columns)
    most = spec.columns * max(0, room.height_px // room.pitch_px)
    mark_px = _mark_px(len(items[:most]), room, spec)
    set_ = [_set(item, column_px - mark_px, room, spec.wrap) for item in items[:most]]
    heights = [room.rows_px(max(1, len(lines))) for lines, _ in set_]
    count = len(heights)
    while count and not _packed(_with_more(heights, count, len(items), room), spec.columns, room.height_px):
        count -= 1
    every = _with_more(heights, count, len(items), room)
    places = _balanced(every, spec.columns, room.height_px) or []
    lefts = [column * (column_px + gap_px) for column in range(spec.columns)]
    if room.leftwards:
        lefts = [room.width_px - left - column_px for left in lefts]
    placed = tuple(
        Placed(items[at], *set_[at], spec.start + at, lefts[column], top)
        for at, (column, top) in enumerate(places[:count])
    )
    more = None
    if len(places) > count:
        column, top = places[count]
        more = (room.more_text(len(items) - count, len(items)), lefts[column], top)
    return ListLayout(placed, column_px, mark_px, len(items), more)


def _mark_px(count: int, room: Room, spec: ListSpec) -> int:
    em = {Marks.BOX: _BOX_EM, Marks.BULLET: _BULLET_EM, Marks.NONE: 0.0}.get(spec.marks)
    if em is None:
        measure = room.kind(ITEM).measure
        wide = max((measure(_number(spec.start + at, room)) for at in range(count)), default=0)
    else:
        wide = round(em * room.size_px)
    return wide + round(_MARK_GAP_EM * room.size_px) if wide else 0


def _number(number: int, room: Room) -> str:
    return f"{room.wording.number(number)}."


def _set(item: Item, width_px: int, room: Room, wrap: int) -> tuple[tuple[str, ...], str]:
    """The lines of an item and its note, which keeps half of the width at most and else is left out."""
    note = one_line(item.note)
    note_px = room.kind(NOTE).measure(note) + round(_NOTE_GAP_EM * room.size_px) if note else 0
    if note_px > width_px // 2:
        note, note_px = "", 0
    text, kind = item.text if wrap > 1 else one_line(item.text), room.kind(ITEM)
    return lines_of(text, width_px, kind, most=wrap, first_px=max(0, width_px - note_px)), note


def _with_more(heights: Sequence[int], count: int, total: int, room: Room) -> list[int]:
    return [*heights[:count], *([room.pitch_px] if count < total else [])]


def _packed(heights: Sequence[int], columns: int, height_px: int) -> list[tuple[int, int]] | None:
    """Column and top of each in its order, a column filled before the next; None where they do not fit."""
    places, column, top = [], 0, 0
    for height in heights:
        if top + height > height_px:
            column, top = column + 1, 0
        if column >= columns or height > height_px:
            return None
        places.append((column, top))
        top += height
    return places


def _balanced(heights: Sequence[int], columns: int, height_px: int) -> list[tuple[int, int]] | None:
    """As `_packed`, in the least height that holds all."""
    low, high = max([-(-sum(heights) // columns), *heights], default=0), height_px
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if _packed(heights, columns, middle) else (middle + 1, high)
    return _packed(heights, columns, high)


def list_html(layout: ListLayout, room: Room, spec: ListSpec) -> Markup:
    """The list as one ``<div>`` of the room's size."""
    pieces: list[Piece] = []
    for placed in layout.items:
        pieces += [*_mark(placed, layout, room, spec), *_texts(placed, layout, room)]
    if layout.more is not None:
        text, left, top = layout.more
        mark_px = 0 if room.leftwards else layout.mark_px
        box = (left + mark_px, top, layout.column_px - layout.mark_px, room.pitch_px)
        pieces.append(Line(cut(text, box[2], room.kind(MORE)), box, _start(room), MORE))
    return to_markup(
        Sheetlet(room.width_px, room.height_px, room.size_px, tuple(pieces), "wb-list"), room.palette
    )


def _start(room: Room) -> Align:
    return Align.START.side(leftwards=room.leftwards)


def _pad_px(room: Room) -> int:
    return (room.pitch_px - room.leading_px) // 2


def _texts(placed: Placed, layout: ListLayout, room: Room) -> Iterator[Line]:
    colour = _colour(placed.item, room)
    left = placed.left_px + (0 if room.leftwards else layout.mark_px)
    wide = layout.column_px - layout.mark_px
    for number, text in enumerate(placed.lines):
        box = (left, placed.top_px + _pad_px(room) + number * room.leading_px, wide, room.leading_px)
        yield Line(text, box, _start(room), ITEM, colour, placed.item.done)
    if placed.note:
        box = (left, placed.top_px + _pad_px(room), wide, room.leading_px)
        yield Line(placed.note, box, Align.END.side(leftwards=room.leftwards), NOTE, colour)


def _colour(item: Item, room: Room) -> str:
    if item.done:
        return "#555555" if room.palette.smooth else ""
    return room.palette.accent if item.accent and room.palette.has_accent else ""


def _mark(placed: Placed, layout: ListLayout, room: Room, spec: ListSpec) -> Iterator[Piece]:
    size, top = room.size_px, placed.top_px + _pad_px(room)
    ink = _colour(placed.item, room) or room.palette.ink
    if spec.marks is Marks.NUMBER:
        gap = round(_MARK_GAP_EM * size)
        left = placed.left_px + (layout.column_px - layout.mark_px + gap if room.leftwards else 0)
        box = (left, top, layout.mark_px - gap, room.leading_px)
        yield Line(
            _number(placed.number, room),
            box,
            Align.END.side(leftwards=room.leftwards),
            ITEM,
            _colour(placed.item, room),
        )
    elif spec.marks is not Marks.NONE:
        boxed = spec.marks is Marks.BOX
        side = round((_BOX_EM if boxed else _BULLET_EM) * size)
        middle = room.leading_px / 2 + (_BOX_DOWN_EM if boxed else _BULLET_DOWN_EM) * size
        left = placed.left_px + (layout.column_px - side if room.leftwards else 0)
        place = (left, top + round(middle - side / 2), side, side)
        yield Field(place, ink)
        if boxed:
            yield from _hollow(place, room, ink=ink, done=placed.item.done)


def _hollow(box: tuple[int, int, int, int], room: Room, *, ink: str, done: bool) -> Iterator[Field]:
    """The white within a box that is to be ticked, and the core of one that is."""
    left, top, side, _ = box
    pen = max(1, round(side / 9))
    inner = side - 2 * pen
    yield Field((left + pen, top + pen, inner, inner), room.palette.paper)
    core = inner - 2 * max(1, pen)
    if done and core > 0:
        yield Field((left + pen + max(1, pen), top + pen + max(1, pen), core, core), ink)
