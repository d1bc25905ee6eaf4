"""The month as a table: days of every week under their names, and what is on, as text, bars or marks."""

from collections.abc import Iterator

from markupsafe import Markup

from wallbill.blocks.days.bars import mark, mark_px
from wallbill.blocks.days.calendar_cells import Cell, fill_marks, fill_texts
from wallbill.blocks.days.calendar_plan import MonthPage, Plan, plan_of
from wallbill.blocks.days.calendar_table import month_table
from wallbill.blocks.days.look import Look
from wallbill.blocks.days.type import Composed, Role, Text, composed_markup, line_px
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import INK, MUTED, Sketch
from wallbill.blocks.drawing.labels import Align


def month_calendar(page: MonthPage, *, look: Look) -> Markup:
    """The month as HTML: a table of day numbers over a drawing of rules, marks and bars.

    Days that have room for it carry their events as text, several-day events as bars across the days, and how many
    more there are; smaller ones carry up to three marks. Today is reversed, public holidays are in the second ink, or
    framed where there is none. In a language that runs from right to left the week does so too.
    Raises `SheetError` where the numbers of the days do not fit.
    """
    return composed_markup(month_composed(page, look=look), look.palette)


def month_composed(page: MonthPage, *, look: Look) -> Composed:
    """What is behind `month_calendar`."""
    plan = plan_of(page, look)
    sketch = Sketch(*look.size)
    _rules(sketch, plan)
    cells = tuple(_cells(plan))
    for cell in cells:
        _ground(sketch, plan, cell)
    fill = fill_texts if plan.lines else fill_marks
    texts, tints = fill(sketch, plan, cells)
    texts = (*_heading(plan), *_legend(sketch, plan), *texts)
    return Composed(sketch.grid(), texts, tints, table=month_table(plan, cells))


def _rules(sketch: Sketch, plan: Plan) -> None:
    """A heavy rule under the names of the days, fine ones between weeks, dots between days that hold text."""
    pen = plan.look.pen_px
    left, right = plan.left_px, plan.left_px + 7 * plan.cell_px[0]
    sketch.fill((0, plan.top_px - 1 - pen, look_width(plan, right), 1 + pen))
    for row in range(1, len(plan.weeks)):
        y = plan.top_px + row * plan.cell_px[1]
        sketch.fill((0, y, look_width(plan, right), pen))
    if plan.lines:
        for column in range(1, 7):
            x = left + column * plan.cell_px[0]
            for row in range(len(plan.weeks)):
                under = pen if row else 0
                under += (row * plan.cell_px[1] + under) % 2  # the dots go on in one rhythm from week to week
                top = plan.top_px + row * plan.cell_px[1] + under
                sketch.fill((x, top, 1, plan.cell_px[1] - under), MUTED, every=(1, 2))


def look_width(plan: Plan, right_px: int) -> int:
    """How far rules go: to the table's right edge, the column of week numbers included."""
    return max(right_px, plan.look.width_px if plan.look.runs_left and plan.week_px else right_px)


def _cells(plan: Plan) -> Iterator[Cell]:
    """Every day of the grid, in order."""
    page, look = plan.page, plan.look
    today = look.now.astimezone(look.wording.zone).date() if look.now else None
    for row, week in enumerate(plan.weeks):
        for column, day in enumerate(week.days):
            if day is None:
                continue
            own = (day.year, day.month) == (page.day.year, page.day.month)
            if own or page.neighbours:
                on = tuple(entry for entry in plan.entries if entry.first <= day <= entry.last)
                holiday = next((entry for entry in on if entry.holiday), None)
                yield Cell(day, row, column, own, day == today, holiday is not None, on)


def _ground(sketch: Sketch, plan: Plan, cell: Cell) -> None:
    """What lies under a day's number: a filled box for today, a frame for a holiday where no ink sets it off."""
    box = plan.number_box(cell.row, cell.column, digits=cell.digits)
    framed = cell.holiday and not plan.look.palette.has_accent
    if not (cell.today or framed):
        return
    size = box[2:]
    shape = shapes.rounded(size, (0, 0, *size), radius_px=3)
    if not cell.today:
        shape &= ~shapes.rounded(size, (1, 1, size[0] - 2, size[1] - 2), radius_px=2)
    sketch.put(shape, plan.look.accent, at=box[:2])


def _heading(plan: Plan) -> tuple[Text, ...]:
    """The name of the month and the year."""
    look = plan.look
    if not plan.heading_px:
        return ()
    text = look.wording.date(plan.page.day, "yMMMM")
    align = Align.RIGHT if look.runs_left else Align.LEFT
    box = (0, 0, look.width_px, line_px(plan.heading_px))
    return (Text(text, box, plan.heading_px, align, role=Role.STRONG),)


def _legend(sketch: Sketch, plan: Plan) -> tuple[Text, ...]:
    """The calendars' names behind their marks, in one line, as many as there is room for."""
    look = plan.look
    top = plan.legend_top_px
    if top is None:
        return ()
    size = plan.name_px
    across, high = mark_px(line_px(size)), line_px(size)
    texts, x = [], 0
    for number, agenda in enumerate(plan.page.agendas):
        wide = look.measure.width_px(agenda.name, size_px=size)
        if x + across + 5 + wide > look.width_px:
            break
        left = look.width_px - x - across if look.runs_left else x
        sketch.stamp(
            mark(number, across_px=across, code=INK),
            at=(left, top + (high - across) // 2),
        )
        begin = left - 5 - wide if look.runs_left else left + across + 5
        texts.append(Text(agenda.name, (begin, top, wide, high), size))
        x += across + 5 + wide + size
    return tuple(texts)
