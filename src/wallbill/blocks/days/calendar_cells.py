"""What is on in the days of a month: lines of text and bars where days are large, marks where they are small."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from wallbill.blocks.days.bars import BarStyle, is_filled, lay_bar, mark, mark_px, plus
from wallbill.blocks.days.calendar_plan import Plan, bar_px, marks_px, number_height_px
from wallbill.blocks.days.entries import Entry
from wallbill.blocks.days.lanes import lanes
from wallbill.blocks.days.type import Role, Text
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import INK, PAPER, Sketch
from wallbill.blocks.drawing.labels import Align
from wallbill.blocks.drawing.markup import Tint
from wallbill.blocks.drawing.patterns import Hatch
from wallbill.blocks.drawing.shapes import Box
from wallbill.inks.impression import Mask

_MOST_MARKS = 3
_KEPT_SHARE = 0.6  # a time stands before the words where so much of them stays to be read: judged by eye

Filled = tuple[tuple[Text, ...], tuple[Tint, ...]]


@dataclass(frozen=True, slots=True)
class Cell:
    """A day on the page: its row and its column from the first day of the week, and what is on.

    ``own``: it belongs to the month shown.
    """

    day: date
    row: int
    column: int
    own: bool
    today: bool
    holiday: bool
    on: tuple[Entry, ...]

    @property
    def digits(self) -> int:
        """How many digits its number has."""
        return 1 if self.day.day < 10 else 2


@dataclass(frozen=True, slots=True)
class _Run:
    """An event in one week: its first and last column, its lane, and whether it goes on before and behind."""

    entry: Entry
    first: int
    last: int
    lane: int
    cut: tuple[bool, bool]


def fill_marks(sketch: Sketch, plan: Plan, cells: Sequence[Cell]) -> Filled:
    """Up to three marks a day under its number, a cross in place of the third for more, and a thin bar for several days."""
    across = marks_px(plan.look)
    for cell in cells if plan.marks else ():
        singles = [entry for entry in cell.on if not entry.holiday and not (plan.bars and entry.days > 1)]
        _marks(sketch, plan, cell, singles, across_px=across)
    if plan.bars:
        for row in range(len(plan.weeks)):
            _thin_bars(sketch, plan, [cell for cell in cells if cell.row == row])
    return (), ()


def _marks(sketch: Sketch, plan: Plan, cell: Cell, on: Sequence[Entry], *, across_px: int) -> None:
    shown = list(on[:_MOST_MARKS])
    gap = max(2, across_px // 3)
    wide = len(shown) * (across_px + gap) - gap
    x, y = plan.cell_at(cell.row, cell.column)
    left = x + (plan.cell_px[0] - wide) // 2
    box = plan.number_box(cell.row, cell.column)
    top = box[1] + box[3] + 2
    for place, entry in enumerate(shown):
        at = left + place * (across_px + gap)
        more = len(on) > _MOST_MARKS and place == _MOST_MARKS - 1
        grid = (
            plus(across_px=across_px, code=INK) if more else mark(entry.number, across_px=across_px, code=INK)
        )
        if at >= x and at + across_px <= x + plan.cell_px[0] and top + across_px <= y + plan.cell_px[1]:
            sketch.stamp(grid, at=(at, top))


def _thin_bars(sketch: Sketch, plan: Plan, cells: Sequence[Cell]) -> None:
    """Several-day events of a week as one line of bars at the foot of their days."""
    high = bar_px(plan.look)
    for run in _runs(plan, cells, several=True):
        left, _, width, _ = _run_box(plan, cells[0].row, run)
        y = plan.cell_at(cells[0].row, 0)[1] + plan.cell_px[1] - high - 2
        hollow = not is_filled(run.entry.number) and high > 3
        sketch.fill((left, y, width, high))
        if hollow:
            sketch.fill((left + 1, y + 1, width - 2, high - 2), PAPER)


def _runs(plan: Plan, cells: Sequence[Cell], *, several: bool) -> list[_Run]:
    """What is on in a week, in lanes; ``several``: only events of several days."""
    columns = {cell.day: cell.column for cell in cells}
    days = sorted(columns)
    known: dict[int, Entry] = {}
    for cell in cells:
        for entry in cell.on:
            if not several or (entry.days > 1 and not entry.holiday):
                known.setdefault(id(entry), entry)
    found = sorted(known.values(), key=lambda e: (not e.holiday, e.days == 1, e.first))
    reach = [(columns[max(e.first, days[0])], columns[min(e.last, days[-1])]) for e in found]
    placed = _laned(found, reach)
    return [
        _Run(entry, first, last, lane, (entry.first < days[0], entry.last > days[-1]))
        for entry, (first, last), lane in zip(found, reach, placed, strict=True)
    ]


def _laned(found: Sequence[Entry], reach: Sequence[tuple[int, int]]) -> list[int]:
    """Lanes for a week: holidays on top, then several-day events packed, then single days in the lowest free lane."""
    taken: dict[int, set[int]] = {}
    result = []
    several = [i for i, entry in enumerate(found) if entry.days > 1 and not entry.holiday]
    packed = dict(zip(several, lanes([(reach[i][0], reach[i][1] + 1) for i in several]), strict=True))
    above = max(
        (
            sum(1 for e, r in zip(found, reach, strict=True) if e.holiday and r[0] <= c <= r[1])
            for c in range(7)
        ),
        default=0,
    )
    for i, (first, last) in enumerate(reach):
        columns = range(first, last + 1)
        lane = packed[i] + above if i in packed else 0
        while any(lane in taken.setdefault(column, set()) for column in columns):
            lane += 1
        for column in columns:
            taken.setdefault(column, set()).add(lane)
        result.append(lane)
    return result


def fill_texts(sketch: Sketch, plan: Plan, cells: Sequence[Cell]) -> Filled:
    """Lines of text in every day, bars across several days, and how many more there are."""
    texts: list[Text] = []
    area = shapes.nothing(sketch.size)
    for row in range(len(plan.weeks)):
        week = [cell for cell in cells if cell.row == row]
        if not week:
            continue
        kept, more = _fitting(_runs(plan, week, several=False), plan.lines)
        for run in kept:
            texts += (
                _line(sketch, plan, row, run=run)
                if _is_line(run)
                else _bar(sketch, plan, row, run=run, hatched=area)
            )
        for column, count in more.items():
            texts += _more(plan, row, column, count=count)
    return tuple(texts), (Tint(area, Hatch.RISING_25),) if area.any() else ()


def _fitting(runs: Sequence[_Run], count: int) -> tuple[list[_Run], dict[int, int]]:
    """The runs that find a lane, and how many are left out in each column; a column with some left out keeps its last lane free."""
    hidden = {i for i, run in enumerate(runs) if run.lane >= count}
    full = {column for i in hidden for column in range(runs[i].first, runs[i].last + 1)}
    for i, run in enumerate(runs):
        if run.lane == count - 1 and full & set(range(run.first, run.last + 1)):
            hidden.add(i)
    more: dict[int, int] = {}
    for i in hidden:
        for column in range(runs[i].first, runs[i].last + 1):
            more[column] = more.get(column, 0) + 1
    return [run for i, run in enumerate(runs) if i not in hidden], more


def _is_line(run: _Run) -> bool:
    """Whether an event is a line of text: those of one day that have hours, and holidays."""
    return run.entry.holiday or (run.entry.days == 1 and not run.entry.event.all_day)


def _run_box(plan: Plan, row: int, run: _Run) -> Box:
    """The box of a run, a little inside its days at ends that are its own."""
    left = min(plan.cell_at(row, run.first)[0], plan.cell_at(row, run.last)[0])
    wide = (run.last - run.first + 1) * plan.cell_px[0]
    cut = run.cut[::-1] if plan.look.runs_left else run.cut
    before, behind = (0 if cut[0] else 2), (0 if cut[1] else 1)
    y = plan.cell_at(row, run.first)[1] + 3 + number_height_px(plan.number_px)
    pitch = plan.look.line_height_px + 1
    return left + before + 1, y + run.lane * pitch, wide - before - behind - 1, plan.look.line_height_px


def _bar(sketch: Sketch, plan: Plan, row: int, *, run: _Run, hatched: Mask) -> list[Text]:
    look = plan.look
    box = _run_box(plan, row, run)
    event = run.entry.event
    style = BarStyle(
        run.entry.number,
        solid=is_filled(run.entry.number),
        tentative=event.tentative,
        cut=run.cut,
        marked=len(plan.page.agendas) > 1,
        mirrored=look.runs_left,
    )
    lay_bar(sketch, box, style=style, hatched=hatched)
    left, room = style.room_px(box)
    text = look.measure.cut(event.summary, room_px=room, size_px=look.label_px)
    if not text:
        return []
    if event.tentative:
        wide = look.text_px(text)
        begin = left + room - wide if look.runs_left else left
        hatched[box[1] + 1 : box[1] + box[3] - 1, max(0, begin - 2) : begin + wide + 4] = False
    align = Align.RIGHT if look.runs_left else Align.LEFT
    # A pixel up: letters reach further below their line than capitals above it, and must keep off the frame.
    return [Text(text, (left, box[1] - 1, room, box[3]), look.label_px, align, code=style.text_code())]


def _line(sketch: Sketch, plan: Plan, row: int, *, run: _Run) -> list[Text]:
    """A line of text behind the mark of its calendar, with its time where that leaves room for the words."""
    look = plan.look
    left, top, width, height = _run_box(plan, row, run)
    across = mark_px(height)
    begin, room = left + plan.pad_px - 2, width - plan.pad_px
    event = run.entry.event
    if not run.entry.holiday:
        at = left + width - across - 1 if look.runs_left else begin
        sketch.stamp(
            mark(run.entry.number, across_px=across, code=INK), at=(at, top + (height - across) // 2)
        )
        room -= across + 3
        begin += 0 if look.runs_left else across + 3
    role = Role.STRONG if run.entry.holiday and not look.palette.has_accent else Role.LABEL
    text = ""
    if not event.all_day:
        time = look.wording.time(event.starts)
        timed = look.measure.cut(f"{time} {event.summary}", room_px=room, size_px=look.label_px, role=role)
        text = timed if len(timed) - len(time) - 2 >= _KEPT_SHARE * len(event.summary) else ""
    text = text or look.measure.cut(event.summary, room_px=room, size_px=look.label_px, role=role)
    align = Align.RIGHT if look.runs_left else Align.LEFT
    code = look.accent if run.entry.holiday else INK
    return [Text(text, (begin, top, room, height), look.label_px, align, role, code)] if text else []


def _more(plan: Plan, row: int, column: int, *, count: int) -> list[Text]:
    """How many more there are, in the last lane of a day."""
    look = plan.look
    x, y = plan.cell_at(row, column)
    pitch = look.line_height_px + 1
    top = y + 3 + number_height_px(plan.number_px) + (plan.lines - 1) * pitch
    room = plan.cell_px[0] - 2 * plan.pad_px
    number = look.count(count)
    wanted = look.more_text.replace("{count}", number)
    text = wanted if look.text_px(wanted) <= room else f"+{number}"
    align = Align.RIGHT if look.runs_left else Align.LEFT
    return [
        Text(text, (x + plan.pad_px, top, room, look.line_height_px), look.label_px, align, role=Role.STRONG)
    ]
