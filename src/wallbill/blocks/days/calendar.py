"""The month as a table: days of every week under their names, and what is on, as text, bars or marks."""

from collections.abc import Iterator
from datetime import date

from markupsafe import Markup

from wallbill.blocks.days.bars import mark, mark_px
from wallbill.blocks.days.calendar_cells import Cell, fill_marks, fill_texts
from wallbill.blocks.days.calendar_plan import MonthPage, Plan, plan_of
from wallbill.blocks.days.look import Look
from wallbill.blocks.days.type import Composed, Role, Text, composed_markup, line_px, type_style
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import INK, MUTED, PAPER, Sketch
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
    return Composed(sketch.grid(), texts, tints, table=_table(plan, cells))


def _rules(sketch: Sketch, plan: Plan) -> None:
    """A heavy rule under the names of the days, fine ones between weeks, dots between days that hold text."""
    pen = plan.look.pen_px
    left, right = plan.left_px, plan.left_px + 7 * plan.cell_px[0]
    size = sketch.size
    sketch.lay(shapes.rectangle(size, (0, plan.top_px - 1 - pen, look_width(plan, right), 1 + pen)))
    for row in range(1, len(plan.weeks)):
        y = plan.top_px + row * plan.cell_px[1]
        sketch.lay(shapes.rectangle(size, (0, y, look_width(plan, right), pen)))
    if plan.lines:
        bottom = plan.top_px + len(plan.weeks) * plan.cell_px[1]
        dots = shapes.nothing(size)
        for column in range(1, 7):
            x = left + column * plan.cell_px[0]
            dots[plan.top_px : bottom : 2, x : x + 1] = True
        sketch.lay(dots & ~sketch.drawn(), MUTED)


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
    if cell.today:
        sketch.lay(shapes.rounded(sketch.size, box, radius_px=3), plan.look.accent)
    elif cell.holiday and not plan.look.palette.has_accent:
        outer = shapes.rounded(sketch.size, box, radius_px=3)
        inner = shapes.rounded(sketch.size, (box[0] + 1, box[1] + 1, box[2] - 2, box[3] - 2), radius_px=2)
        sketch.lay(outer & ~inner)


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


def _table(plan: Plan, cells: tuple[Cell, ...]) -> Markup:
    """The names of the days, the numbers of the weeks and of the days, in cells of whole pixels.

    The columns stand in the order in which they are seen, whatever way the language runs: the default engine
    knows no direction.
    """
    wide, high = plan.cell_px
    columns = range(6, -1, -1) if plan.look.runs_left else range(7)
    found = {(cell.row, cell.column): cell for cell in cells}
    head = [_name(plan, column) for column in columns]
    rows = [[_number(plan, found.get((row, column))) for column in columns] for row in range(len(plan.weeks))]
    if plan.week_px:
        corner = _cell("td", (plan.week_px, plan.top_px - plan.names_top_px), Markup(""))
        numbers = [_week(plan, row) for row in range(len(plan.weeks))]
        head = _beside(corner, head, plan)
        rows = [_beside(number, row, plan) for number, row in zip(numbers, rows, strict=True)]
    names_px = plan.top_px - plan.names_top_px
    lines = [Markup('<tr style="height:{}px">{}</tr>').format(names_px, Markup("").join(head))]
    lines += [Markup('<tr style="height:{}px">{}</tr>').format(high, Markup("").join(row)) for row in rows]
    total = (7 * wide + plan.week_px, names_px + high * len(plan.weeks))
    left = plan.left_px if plan.look.runs_left else plan.left_px - plan.week_px
    style = (
        f"position:absolute;left:{left}px;top:{plan.names_top_px}px;width:{total[0]}px;height:{total[1]}px;"
        "table-layout:fixed;border-spacing:0;border:0;margin:0;padding:0"
    )
    title = plan.look.title or _words(plan, cells)
    return Markup('<table dir="ltr" aria-label="{}" style="{}">{}</table>').format(
        title, style, Markup("").join(lines)
    )


def _beside(first: Markup, rest: list[Markup], plan: Plan) -> list[Markup]:
    return [*rest, first] if plan.look.runs_left else [first, *rest]


def _name(plan: Plan, column: int) -> Markup:
    look = plan.look
    day = plan.names[column]
    high = plan.top_px - plan.names_top_px
    align = Align.CENTRE if not plan.lines else Align.RIGHT if look.runs_left else Align.LEFT
    text = Text(day, (0, 0, 0, 0), plan.name_px, role=Role.STRONG)
    pad = plan.pad_px if plan.lines else 0
    inner = (
        f"height:{high - 2}px;line-height:{high - 2}px;white-space:nowrap;text-align:{align};margin:0 {pad}px;"
        f"{type_style(text, look.palette)}"
    )
    return _cell(
        "th",
        (plan.cell_px[0], high),
        Markup('<div class="{}" style="{}">{}</div>').format(Role.STRONG, inner, day),
    )


def _number(plan: Plan, cell: Cell | None) -> Markup:
    if cell is None:
        return _cell("td", plan.cell_px, Markup(""))
    look = plan.look
    left, top, width, height = plan.number_box(cell.row, cell.column, digits=cell.digits)
    x, y = plan.cell_at(cell.row, cell.column)
    code = PAPER if cell.today else look.accent if cell.holiday else INK
    size = plan.number_px if cell.own else max(8, plan.number_px * 4 // 5)
    text = Text(
        look.wording.number(cell.day.day, 0),
        (0, 0, 0, 0),
        size,
        role=Role.STRONG if cell.own else Role.LABEL,
        code=code,
    )
    inner = (
        f"width:{width}px;height:{height}px;line-height:{height}px;margin:{top - y}px 0 0 {left - x}px;"
        f"text-align:center;{type_style(text, look.palette)}"
    )
    return _cell(
        "td", plan.cell_px, Markup('<div class="{}" style="{}">{}</div>').format(text.role, inner, text.text)
    )


def _week(plan: Plan, row: int) -> Markup:
    """The number of a week, in small type on the height of the days' numbers."""
    look = plan.look
    _, top, _, height = plan.number_box(row, 0)
    y = plan.cell_at(row, 0)[1]
    number = plan.weeks[row].number(plan.page.weeks, min_days=look.wording.week_min_days)
    text = Text(look.wording.number(number, 0), (0, 0, 0, 0), plan.small_px)
    inner = (
        f"height:{height}px;line-height:{height}px;margin:{top - y}px 0 0 0;text-align:center;"
        f"{type_style(text, look.palette)}"
    )
    return _cell(
        "th",
        (plan.week_px, plan.cell_px[1]),
        Markup('<div class="{}" style="{}">{}</div>').format(text.role, inner, text.text),
    )


def _cell(tag: str, size: tuple[int, int], inner: Markup) -> Markup:
    style = f"width:{size[0]}px;height:{size[1]}px;padding:0;border:0;vertical-align:top;text-align:left;font-weight:400"
    row = Markup('<th style="{}">{}</th>') if tag == "th" else Markup('<td style="{}">{}</td>')
    return row.format(style, inner)


def _words(plan: Plan, cells: tuple[Cell, ...]) -> str:
    """The text alternative where the sheet gives none: the month, and what is on its days."""
    wording = plan.look.wording
    parts = [wording.date(plan.page.day, "yMMMM")]
    seen: set[tuple[str, date]] = set()
    for cell in cells:
        for entry in cell.on:
            if cell.own and (entry.event.uid, entry.first) not in seen:
                seen.add((entry.event.uid, entry.first))
                parts.append(f"{wording.date(cell.day, 'MMMd')} {entry.event.summary}")
    return "; ".join(parts)
