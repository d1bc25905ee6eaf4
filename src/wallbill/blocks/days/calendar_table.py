"""The table of a month: names of days, numbers of weeks and of days, in cells of whole pixels.

The columns stand in the order in which they are seen, whatever way the language runs: the default engine knows no
direction.
"""

from collections.abc import Mapping
from datetime import date

from markupsafe import Markup, escape

from wallbill.blocks.days.calendar_cells import Cell
from wallbill.blocks.days.calendar_plan import Plan
from wallbill.blocks.days.look import LEAST_LABEL_PX
from wallbill.blocks.days.type import Role, Text, type_style
from wallbill.blocks.drawing.grid import INK, PAPER
from wallbill.blocks.drawing.labels import Align

_NO_BOX = (0, 0, 0, 0)  # the place is the cell's


def month_table(plan: Plan, cells: tuple[Cell, ...]) -> Markup:
    """The table as HTML, placed over the drawing; its name is the text alternative."""
    found = {(cell.row, cell.column): cell for cell in cells}
    names_px = plan.top_px - plan.names_top_px
    rows = [_row(plan, names_px, [_name(plan, column) for column in range(7)], beside=_corner(plan))]
    for row in range(len(plan.weeks)):
        days = [_number(plan, found.get((row, column))) for column in range(7)]
        rows.append(_row(plan, plan.cell_px[1], days, beside=_week(plan, row)))
    left = plan.left_px if plan.look.runs_left else plan.left_px - plan.week_px
    style = (
        f"position:absolute;left:{left}px;top:{plan.names_top_px}px;width:{7 * plan.cell_px[0] + plan.week_px}px;"
        f"height:{names_px + plan.cell_px[1] * len(plan.weeks)}px;"
        "table-layout:fixed;border-spacing:0;border:0;margin:0;padding:0"
    )
    title = escape(plan.look.title or month_words(plan, found))
    return Markup(f'<table dir="ltr" aria-label="{title}" style="{style}">{"".join(rows)}</table>')  # noqa: S704  every text in it is escaped


def month_words(plan: Plan, found: Mapping[tuple[int, int], Cell]) -> str:
    """The text alternative where the sheet gives none: the month, and what is on its days."""
    look = plan.look
    parts = [look.wording.date(plan.page.day, "yMMMM")]
    seen: set[tuple[str, date]] = set()
    for cell in found.values():
        new = [e for e in cell.on if cell.own and (e.event.uid, e.first) not in seen]
        seen |= {(entry.event.uid, entry.first) for entry in new}
        if new:
            parts.append(f"{look.count(cell.day.day)} {', '.join(entry.event.summary for entry in new)}")
    return "; ".join(parts)


def _row(plan: Plan, height_px: int, days: list[str], *, beside: str) -> str:
    """Seven cells in the order in which they are seen, and that of the week before or behind them."""
    seen = [*days[::-1], beside] if plan.look.runs_left else [beside, *days]
    return f'<tr style="height:{height_px}px">{"".join(seen)}</tr>'


def _corner(plan: Plan) -> str:
    return _cell("td", (plan.week_px, plan.top_px - plan.names_top_px)) if plan.week_px else ""


def _name(plan: Plan, column: int) -> str:
    look = plan.look
    high = plan.top_px - plan.names_top_px
    align = Align.CENTRE if not plan.lines else Align.RIGHT if look.runs_left else Align.LEFT
    text = Text(plan.names[column], _NO_BOX, plan.name_px, align, Role.STRONG)
    pad = plan.pad_px if plan.lines else 0
    place = f"height:{high - 2}px;line-height:{high - 2}px;white-space:nowrap;margin:0 {pad}px"
    return _cell("th", (plan.cell_px[0], high), _typed(plan, text, place))


def _number(plan: Plan, cell: Cell | None) -> str:
    if cell is None:
        return _cell("td", plan.cell_px)
    look = plan.look
    left, top, width, height = plan.number_box(cell.row, cell.column, digits=cell.digits)
    x, y = plan.cell_at(cell.row, cell.column)
    code = PAPER if cell.today else look.accent if cell.holiday else INK
    size = plan.number_px if cell.own else max(LEAST_LABEL_PX, plan.number_px * 4 // 5)
    role = Role.STRONG if cell.own else Role.LABEL
    text = Text(look.count(cell.day.day), _NO_BOX, size, Align.CENTRE, role, code)
    place = f"width:{width}px;height:{height}px;line-height:{height}px;margin:{top - y}px 0 0 {left - x}px"
    return _cell("td", plan.cell_px, _typed(plan, text, place))


def _week(plan: Plan, row: int) -> str:
    """The number of a week, in small type on the height of the days' numbers."""
    if not plan.week_px:
        return ""
    look = plan.look
    _, top, _, height = plan.number_box(row, 0)
    number = plan.weeks[row].number(plan.page.weeks, min_days=look.wording.week_min_days)
    text = Text(look.count(number), _NO_BOX, plan.small_px, Align.CENTRE)
    place = f"height:{height}px;line-height:{height}px;margin:{top - plan.cell_at(row, 0)[1]}px 0 0 0"
    return _cell("th", (plan.week_px, plan.cell_px[1]), _typed(plan, text, place))


def _typed(plan: Plan, text: Text, place: str) -> str:
    """A text in a cell; ``place``: CSS of its box."""
    style = f"{place};text-align:{text.align};{type_style(text, plan.look.palette)}"
    return f'<div class="{text.role}" style="{style}">{escape(text.text)}</div>'


def _cell(tag: str, size: tuple[int, int], inner: str = "") -> str:
    style = f"width:{size[0]}px;height:{size[1]}px;padding:0;border:0;vertical-align:top;text-align:left;font-weight:400"
    return f'<{tag} style="{style}">{inner}</{tag}>'
