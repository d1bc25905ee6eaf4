"""Where the patches of a target stand: rows on a grid of eight pixels, from sheet to sheet."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

from wallbill.inks.calibration import marks
from wallbill.inks.calibration.patches import PERIOD_PX, Box, Kind
from wallbill.inks.impression import Mask

MOST_SHEETS = 12
"""So many refreshes are asked of a person at the most; what does not fit is left out."""

_PATCH_MM = 6.0  # the opening of a colorimeter and the unsteadiness of the hand; common practice, no source
_LABEL_MM = 2.1  # type read with the sheet in the hand
_WIDE_PX = 300  # below, the marks take so much of the height that patches stand between them
_RIM_PX = 2  # what an outlined patch needs around it
_AIR_PX = 2  # between a patch and its type
_COLUMNS = (8, 6, 3, 2, 1)


class Lettering(Protocol):
    """Sets a line of type on the pixel grid."""

    def __call__(self, text: str, *, size_px: int) -> Mask:
        """The line, true where there is ink: bool (height, width), from the ascent to the descent of the face."""
        ...


class Form(StrEnum):
    """What a row of a sheet is: cells side by side, bars to be matched by eye, a ramp, or fields that show ghosts."""

    SOLIDS = "solids"
    TINTS = "tints"
    EYE = "eye"
    RAMP = "ramp"
    GHOST = "ghost"


@dataclass(frozen=True, slots=True)
class Cell:
    """A patch to be placed: ``count`` of 64 pixels in ``ink``, a place in a panel's inks, the others white."""

    name: str
    kind: Kind
    ink: int
    count: int


@dataclass(frozen=True, slots=True)
class Row:
    """A row to be placed: ``cells`` side by side, or a strip that mixes ``ink`` with white."""

    form: Form
    ink: int = 0
    cells: tuple[Cell, ...] = ()


@dataclass(frozen=True, slots=True)
class Placed:
    """A row in its place: ``box`` holds its patches, type stands below and, for strips, above."""

    row: Row
    sheet: int
    box: Box


@dataclass(frozen=True, slots=True)
class Frame:
    """The bones of every sheet of a target, pixels.

    ``module_px``: of the marks. ``tile_px``: a mark with its clear zone. ``body``: what is left for patches. ``columns``
    of ``cell_px``, ``gap_px`` apart. ``label_px`` and ``title_px``: sizes of type; ``line_px``: a line of labels.
    ``least_px``: the least height of a patch. ``is_wide``: the body has the sheet's width, below and above are lines.
    """

    size: tuple[int, int]
    module_px: int
    body: Box
    columns: int
    cell_px: int
    gap_px: int
    label_px: int
    title_px: int
    line_px: int
    least_px: int
    is_wide: bool

    @property
    def tile_px(self) -> int:
        """Side of a mark with its clear zone."""
        return self.module_px * (marks.MODULES + 2 * marks.QUIET_MODULES)

    @property
    def block_px(self) -> int:
        """Width of a row that is full."""
        return self.columns * self.cell_px + (self.columns - 1) * self.gap_px


def _eights(length_px: float) -> int:
    """The length cut to whole patterns."""
    return int(length_px) // PERIOD_PX * PERIOD_PX


def frame_of(size: tuple[int, int], *, pitch_mm: float, lettering: Lettering, names: Sequence[str]) -> Frame:
    """The bones for a panel of ``size`` (width and height, pixels), pixels ``pitch_mm`` apart.

    ``names``: of patches, which must have room below them. Raises `ValueError` where there is room for none.
    """
    width, height = size
    module = max(2, round(min(size) / 150))
    tile, quiet = module * (marks.MODULES + 2 * marks.QUIET_MODULES), module * marks.QUIET_MODULES
    label = max(9, min(round(_LABEL_MM / pitch_mm), min(size) // 24))
    line = lettering("Ag", size_px=label).shape[0]
    widest = max(lettering(name, size_px=label).shape[1] for name in names)
    is_wide = min(size) >= _WIDE_PX
    if is_wide:
        body = (quiet, tile + _RIM_PX, width - 2 * quiet, height - 2 * (tile + _RIM_PX))
    else:
        aside = tile + _RIM_PX
        top = quiet // 2 + line + _RIM_PX
        body = (aside, top, width - 2 * aside, height - quiet // 2 - top)
    gap = PERIOD_PX if min(size) < 600 else 2 * PERIOD_PX
    least = max(3 * PERIOD_PX, -(-round(_PATCH_MM / pitch_mm) // PERIOD_PX) * PERIOD_PX)
    for columns in _COLUMNS:
        cell = _eights((body[2] - (columns - 1) * gap) / columns)
        if cell >= least and cell + gap > widest:
            title = max(label, min(round(1.5 * label), tile // 3)) if is_wide else label
            return Frame(size, module, body, columns, cell, gap, label, title, line, least, is_wide)
    raise ValueError(f"a sheet of {width} x {height} pixels has no room for a patch")


def height_px(form: Form, frame: Frame, *, stretch_px: int = 0) -> int:
    """Height of a row with its type; ``stretch_px`` more for its patches."""
    lines = 2 if form is Form.EYE else 1
    return _least(form, frame) + stretch_px + lines * frame.line_px + _AIR_PX


def _least(form: Form, frame: Frame) -> int:
    """Least height of a row's patches."""
    match form:
        case Form.EYE:
            return 4 * PERIOD_PX
        case Form.RAMP:
            return 2 * PERIOD_PX
        case _:
            return frame.least_px


def _most(form: Form, frame: Frame) -> int:
    """Greatest height of a row's patches: beyond, they would gain nothing."""
    match form:
        case Form.SOLIDS:
            return max(2 * frame.cell_px, frame.least_px)
        case Form.EYE:
            return 12 * PERIOD_PX
        case Form.RAMP:
            return 6 * PERIOD_PX
        case _:
            return max(frame.cell_px, frame.least_px)


def place(rows: Sequence[Row], frame: Frame) -> tuple[tuple[Placed, ...], tuple[Row, ...]]:
    """Rows in their places, in their order, and those that had no room on `MOST_SHEETS` sheets.

    As few sheets as will do, and about as full as each other.
    """
    sheets, left_out = _dealt(rows, frame, frame.body[3])
    for room_px in range(frame.body[3] - PERIOD_PX, 0, -PERIOD_PX):
        fewer, out = _dealt(rows, frame, room_px)
        if len(fewer) > len(sheets) or len(out) > len(left_out):
            break
        sheets = fewer
    placed = tuple(one for number, some in enumerate(sheets, 1) for one in _on_sheet(some, frame, number))
    return placed, tuple(left_out)


def _dealt(rows: Sequence[Row], frame: Frame, room_px: int) -> tuple[list[list[Row]], list[Row]]:
    """Rows dealt to sheets of so much room, one after the other, and those that were left over."""
    sheets: list[list[Row]] = [[]]
    for at, row in enumerate(rows):
        used = sum(height_px(one.form, frame) + frame.gap_px for one in sheets[-1])
        if sheets[-1] and used + height_px(row.form, frame) > room_px:
            if len(sheets) == MOST_SHEETS:
                return sheets, list(rows[at:])
            sheets.append([])
        sheets[-1].append(row)
    return sheets, []


def _on_sheet(rows: Sequence[Row], frame: Frame, number: int) -> Iterator[Placed]:
    """The rows of one sheet, their patches as high as there is room for."""
    heights = _stretched(rows, frame)
    left, top, width, height = frame.body
    left += (width - frame.block_px) // 2
    rest = height - sum(
        height_px(row.form, frame, stretch_px=tall - _least(row.form, frame))
        for row, tall in zip(rows, heights, strict=True)
    )
    gap = min(rest // max(1, len(rows) - 1), 3 * frame.gap_px) if len(rows) > 1 else 0
    y = top + (rest - gap * (len(rows) - 1)) // 2
    for row, tall in zip(rows, heights, strict=True):
        above = frame.line_px + _AIR_PX // 2 if row.form is Form.EYE else 0
        yield Placed(row, number, (left, y + above, frame.block_px, tall))
        y += height_px(row.form, frame, stretch_px=tall - _least(row.form, frame)) + gap


def _stretched(rows: Sequence[Row], frame: Frame) -> list[int]:
    """Heights of the rows' patches: what room is left goes to the solids first, then to all in turn."""
    heights = [_least(row.form, frame) for row in rows]
    room = frame.body[3] - sum(height_px(row.form, frame) for row in rows) - frame.gap_px * (len(rows) - 1)
    turns: tuple[Callable[[Row], bool], ...] = (lambda row: row.form is Form.SOLIDS, lambda row: True)
    while room >= PERIOD_PX:
        grown = False
        for turn in turns:
            for at, row in enumerate(rows):
                if turn(row) and room >= PERIOD_PX and heights[at] + PERIOD_PX <= _most(row.form, frame):
                    heights[at] += PERIOD_PX
                    room -= PERIOD_PX
                    grown = True
        if not grown:
            break
    return heights


def cell_boxes(placed: Placed, frame: Frame) -> tuple[Box, ...]:
    """The boxes of a row's cells; few cells of solids share the whole row in equal spans."""
    left, top, _, height = placed.box
    count = len(placed.row.cells)
    span = (
        frame.columns // count
        if placed.row.form is Form.SOLIDS and count and not frame.columns % count
        else 1
    )
    step = frame.cell_px + frame.gap_px
    width = span * step - frame.gap_px
    return tuple((left + at * span * step, top, width, height) for at in range(count))


def ghost_fields(placed: Placed, frame: Frame) -> tuple[Box, Box, Box]:
    """The three fields of a row for ghosts, in two halves each."""
    left, top, width, height = placed.box
    field = (width - 2 * frame.gap_px) // (6 * PERIOD_PX) * 2 * PERIOD_PX
    first, second, third = (left + at * (width - field) // 2 for at in range(3))
    return (first, top, field, height), (second, top, field, height), (third, top, field, height)


def split(cells: Sequence[Cell], form: Form, columns: int) -> tuple[Row, ...]:
    """Cells flowed into rows of at most so many columns."""
    return tuple(Row(form, cells=tuple(cells[at : at + columns])) for at in range(0, len(cells), columns))
