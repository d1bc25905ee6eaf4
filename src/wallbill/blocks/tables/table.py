"""A table that fits its box: columns measured and shared out, rows by height, what is left over told in a last line."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any

from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.ruler import Ruler
from wallbill.blocks.tables.cutting import Type, cut, lines_of, one_line
from wallbill.blocks.tables.spec import Align, Column, Wish, shared_widths
from wallbill.blocks.tables.values import whole_part
from wallbill.blocks.tables.words import more_text
from wallbill.units.wording import Wording

HEAD, GROUP, CELL, MORE = "wb-head", "wb-group", "wb-cell", "wb-more"
"""Classes of headings, of a group's heading, of cells, and of the last line."""

_LEAST_EM = 4.5
_SHORT_EM = 6.0
_GAP_EM = 0.9
_ROW_EM, _LEADING_EM = 1.45, 1.22
_HEAD_RULE_PX = 2


@dataclass(frozen=True, slots=True)
class Room:
    """The box and the type of a block.

    ``row_px``: from one row to the next, 0: 1.45 times the size. ``more``: the sheet's own words for what is left over.
    """

    width_px: int
    height_px: int
    size_px: int
    ruler: Ruler
    wording: Wording
    palette: Palette
    row_px: int = 0
    more: str | Mapping[str, str] | None = None

    def kind(self, role: str) -> Type:
        """How texts of a class are measured and broken."""
        return Type(
            partial(self.ruler.width_px, size_px=self.size_px, role=role),
            self.wording.language.split("-u-")[0],
        )

    @property
    def pitch_px(self) -> int:
        """From one row to the next, pixels."""
        return self.row_px or round(_ROW_EM * self.size_px)

    @property
    def leading_px(self) -> int:
        """From one line of a cell to the next, pixels."""
        return min(self.pitch_px, round(_LEADING_EM * self.size_px))

    @property
    def leftwards(self) -> bool:
        """Whether the language runs from right to left, so that the first column stands at the right."""
        return self.wording.direction == "rtl"

    def rows_px(self, lines: int) -> int:
        """Height of a row of so many lines."""
        return self.pitch_px + (lines - 1) * self.leading_px

    def more_text(self, hidden: int, total: int) -> str:
        """What the last line says."""
        return more_text(hidden, total, self.wording, words=self.more)


@dataclass(frozen=True, slots=True)
class Row:
    """A row as it comes: its value a column, the heading of its group, and how it is marked."""

    values: tuple[Any, ...]
    group: str = ""
    accent: bool = False
    reverse: bool = False
    struck: bool = False


@dataclass(frozen=True, slots=True)
class Cell:
    """The lines of a cell as they are set. ``shift_px``: from the column's left edge for numbers, None for texts."""

    lines: tuple[str, ...]
    shift_px: int | None = None


@dataclass(frozen=True, slots=True)
class Laid:
    """A row of the finished table: its cells (one a column, empty where the column is left out), top and height."""

    row: Row
    cells: tuple[Cell, ...]
    top_px: int
    height_px: int


@dataclass(frozen=True, slots=True)
class Layout:
    """A table as it fits. ``widths_px``: None for a column that is left out. ``lefts_px``: from the left edge.

    ``groups``: heading and top of each group. ``more``: the last line and its top, if anything is left over.
    """

    columns: tuple[Column, ...]
    widths_px: tuple[int | None, ...]
    lefts_px: tuple[int, ...]
    rows: tuple[Laid, ...]
    head_px: int
    groups: tuple[tuple[str, int], ...] = field(default=())
    more: tuple[str, int] | None = None
    total: int = 0

    @property
    def hidden(self) -> int:
        """How many rows are left over."""
        return self.total - len(self.rows)


def lay_table(rows: Sequence[Row], columns: Sequence[Column], room: Room, *, inset_px: int = 0) -> Layout:
    """Fits rows into a room. ``inset_px``: kept free at both sides of every row, for fields behind them.

    Widths go by the rows that are shown: those that might be are measured, and then once more those that are.
    """
    head_px = room.pitch_px + _HEAD_RULE_PX if any(column.head for column in columns) else 0
    head_px = head_px if head_px + room.pitch_px <= room.height_px else 0
    most = max(0, (room.height_px - head_px) // max(1, room.pitch_px))
    first = _laid(rows, columns, room, inset_px=inset_px, frame=_Frame(head_px, most))
    shown = len(first.rows)
    if not shown or shown == min(most, len(rows)):
        return first
    return _laid(rows, columns, room, inset_px=inset_px, frame=_Frame(head_px, shown))


@dataclass(frozen=True, slots=True)
class _Frame:
    """What is known of a table before its columns are: height of the headings, and rows to measure."""

    head_px: int
    measured: int


def _laid(
    rows: Sequence[Row], columns: Sequence[Column], room: Room, *, inset_px: int, frame: _Frame
) -> Layout:
    texts = [
        [one_line(column.form(value)) for column, value in zip(columns, row.values, strict=True)]
        for row in rows[: frame.measured]
    ]
    wishes = [_wish(column, [line[at] for line in texts], room) for at, column in enumerate(columns)]
    gap_px = round(_GAP_EM * room.size_px)
    widths = (
        shared_widths(_growing(wishes, columns), room.width_px - 2 * inset_px, gap_px=gap_px)
        if columns
        else ()
    )
    cells = [_cells(line, columns, widths, room=room) for line in _by_column(texts, columns, room)]
    laid, groups, more = _stacked(rows, cells, room, head_px=frame.head_px)
    return Layout(
        columns=tuple(columns),
        widths_px=widths,
        lefts_px=_lefts(widths, room, gap_px=gap_px, inset_px=inset_px),
        rows=laid,
        head_px=frame.head_px,
        groups=groups,
        more=more,
        total=len(rows),
    )


def _wish(column: Column, texts: Sequence[str], room: Room) -> Wish:
    measure = room.kind(column.role).measure
    head_px = room.kind(HEAD).measure(column.head) if column.head else 0
    wide_px = _numbers(texts, column, room)[1] if column.numeric else 0
    widest = max([head_px, wide_px, *map(measure, texts)])
    natural = widest if column.most_px is None else min(widest, column.most_px)
    short = column.numeric or widest <= _SHORT_EM * room.size_px
    usual = natural if short else min(natural, max(head_px, round(_LEAST_EM * room.size_px)))
    least = usual if column.least_px is None else column.least_px
    natural = max(natural, column.least_px or 0)
    snug = _snug(texts, natural, column, room) if column.wrap > 1 else None
    return Wish(natural, least, column.priority, column.grow, None if snug is None else max(snug, head_px))


def _snug(texts: Sequence[str], natural_px: int, column: Column, room: Room) -> int:
    """The least width at which no text of a column has more lines than it may, and no word is split."""
    kind = room.kind(column.role)
    snug = max((kind.measure(piece) for text in texts for piece in kind.pieces(text)), default=0)
    for text in sorted(texts, key=kind.measure, reverse=True):
        if snug >= natural_px or kind.fits(text, snug):
            break
        low, high = snug, natural_px
        while low < high and not _few(text, low, kind, column.wrap):
            middle = (low + high) // 2
            low, high = (low + 1, middle) if _few(text, middle, kind, column.wrap) else (middle + 1, high)
        snug = low
    return min(snug, natural_px)


def _few(text: str, width_px: int, kind: Type, most: int) -> bool:
    """Whether a text has no more lines than it may at a width."""
    return len(lines_of(text, width_px, kind, most=most + 1)) <= most


def _growing(wishes: list[Wish], columns: Sequence[Column]) -> list[Wish]:
    """Where no column is said to grow, the widest column of texts takes the room that is left over."""
    if any(wish.grow for wish in wishes):
        return wishes
    texts = [at for at, column in enumerate(columns) if not column.numeric and column.most_px is None]
    widest = max(texts, key=lambda at: (wishes[at].natural_px, -at), default=None)
    return [replace(wish, grow=at == widest) for at, wish in enumerate(wishes)]


def _numbers(texts: Sequence[str], column: Column, room: Room) -> tuple[list[int], int]:
    """For each number its width before the decimal sign, and how wide all are when those signs stand in one line."""
    measure, decimal = room.kind(column.role).measure, room.wording.number(1.5, 1)[1:2]
    parts = [whole_part(text, decimal) for text in texts]
    before = [measure(text[:part]) for text, part in zip(texts, parts, strict=True)]
    behind = [max(0, measure(text) - wide) for text, wide in zip(texts, before, strict=True)]
    return before, max(before, default=0) + max(behind, default=0)


_Shifts = list[int | None]
_Line = list[tuple[str, int | None, int]]
"""Text, width before its decimal sign, and the column's width, of each cell of a row."""


def _by_column(texts: Sequence[Sequence[str]], columns: Sequence[Column], room: Room) -> list[_Line]:
    """Each cell's text with how far its decimal sign is to be moved to the right, and how wide the numbers are."""
    shifts: list[_Shifts] = []
    wholes: list[int] = []
    for at, column in enumerate(columns):
        own = [line[at] for line in texts]
        before, whole = _numbers(own, column, room) if column.numeric else ([], 0)
        most = max(before, default=0)
        shifts.append([most - wide for wide in before] if column.numeric else [None] * len(own))
        wholes.append(whole)
    return [
        [(text, shifts[at][number], wholes[at]) for at, text in enumerate(line)]
        for number, line in enumerate(texts)
    ]


def _cells(
    line: _Line, columns: Sequence[Column], widths: Sequence[int | None], *, room: Room
) -> tuple[Cell, ...]:
    found = []
    for (text, shift, whole), column, width in zip(line, columns, widths, strict=True):
        kind = room.kind(column.role)
        if width is None:
            found.append(Cell(()))
        elif shift is not None and whole <= width:
            side = column.align.side(leftwards=room.leftwards)
            free = {Align.LEFT: 0, Align.CENTRE: (width - whole) // 2}.get(side, width - whole)
            found.append(Cell((text,), free + shift))
        elif column.wrap > 1:
            found.append(Cell(lines_of(text, width, kind, most=column.wrap)))
        else:
            found.append(Cell((cut(text, width, kind, at=column.cut),)))
    return tuple(found)


def _lefts(widths: Sequence[int | None], room: Room, *, gap_px: int, inset_px: int) -> tuple[int, ...]:
    """The left edge of each column; from the right where the language runs that way."""
    lefts, at = [], inset_px
    for width in widths:
        lefts.append(at)
        at += 0 if width is None else width + gap_px
    if not room.leftwards:
        return tuple(lefts)
    return tuple(room.width_px - left - (width or 0) for left, width in zip(lefts, widths, strict=True))


_Stack = tuple[tuple[Laid, ...], tuple[tuple[str, int], ...], tuple[str, int] | None]


def _stacked(rows: Sequence[Row], cells: Sequence[tuple[Cell, ...]], room: Room, *, head_px: int) -> _Stack:
    """As many rows as fit under each other with their groups' headings; a heading has a row below it."""
    laid: list[Laid] = []
    groups: list[tuple[str, int]] = []
    ends, heads_before = [head_px], [0]
    top = head_px
    for row, line in zip(rows, cells, strict=False):
        if row.group and (not laid or row.group != laid[-1].row.group):
            top += _over_group_px(room) if laid else 0
            groups.append((row.group, top))
            top += room.pitch_px
        height = room.rows_px(max([1, *(len(cell.lines) for cell in line)]))
        laid.append(Laid(row, line, top, height))
        top += height
        ends.append(top)
        heads_before.append(len(groups))
    count = len(laid)
    while count and ends[count] + (room.pitch_px if count < len(rows) else 0) > room.height_px:
        count -= 1
    hidden, end = len(rows) - count, ends[count]
    more = (
        (room.more_text(hidden, len(rows)), end) if hidden and end + room.pitch_px <= room.height_px else None
    )
    return tuple(laid[:count]), tuple(groups[: heads_before[count]]), more


def _over_group_px(room: Room) -> int:
    return room.pitch_px // 3
