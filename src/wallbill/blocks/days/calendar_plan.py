"""How a month's page is laid out: which rows there are, how large the cells and their type, how many lines of events."""

from dataclasses import dataclass
from datetime import date, timedelta

from wallbill.blocks.days.entries import Entry, entries
from wallbill.blocks.days.look import LEAST_LABEL_PX, Look
from wallbill.blocks.days.month import Week, Weeks, weeks
from wallbill.blocks.days.type import Role, line_px
from wallbill.blocks.drawing.shapes import Box
from wallbill.errors import SheetError
from wallbill.facts.agenda import Agenda

_TEXT_EMS = 4.6  # a day narrower than so many sizes of the small type holds no text: judged by eye
_LEAST_LINES = 2  # with a single line, most days would only say how many more there are
_HEADING_TIMES = 1.5
_LINES = 20  # names of days larger than this share of the height take room from the days: judged by eye
_NUMBER_TIMES = 1.15
_LARGEST_NUMBER_TIMES = 2.6


@dataclass(frozen=True, slots=True)
class MonthPage:
    """What a month shows: the month of ``day``, what is on in each calendar, and the public holidays.

    ``weeks``: how weeks are numbered. ``neighbours``: show the days of the months beside as well, smaller.
    ``heading``: print the month's name.
    """

    day: date
    agendas: tuple[Agenda, ...] = ()
    holidays: tuple[Agenda, ...] = ()
    weeks: Weeks = Weeks.NONE
    neighbours: bool = False
    heading: bool = True


@dataclass(frozen=True, slots=True)
class Plan:
    """The layout of a month; lengths in pixels from the block's left top corner.

    ``names``: of the weekdays in their order. ``left_px``: of the first column of days that is seen.
    ``top_px``: of the first week. ``cell_px``: width and height of a day. ``week_px``: width of the column of week
    numbers, 0 for none. ``lines``: of events in a day, 0 where days hold marks only. ``marks``: whether there is
    room for these, ``bars``: and for a thin bar below. ``heading_px``: its size of type, 0 for none.
    """

    page: MonthPage
    look: Look
    weeks: tuple[Week, ...]
    entries: tuple[Entry, ...]
    names: tuple[str, ...]
    left_px: int
    names_top_px: int
    top_px: int
    cell_px: tuple[int, int]
    week_px: int
    heading_px: int
    number_px: int
    small_px: int
    name_px: int
    lines: int
    marks: bool
    bars: bool
    legend_top_px: int | None

    @property
    def pad_px(self) -> int:
        """Room beside type in a day."""
        return max(2, self.look.label_px // 4)

    def cell_at(self, row: int, column: int) -> tuple[int, int]:
        """Left top corner of a day; ``column`` counts from the first day of the week."""
        seen = 6 - column if self.look.runs_left else column
        return self.left_px + seen * self.cell_px[0], self.top_px + row * self.cell_px[1]

    def number_box(self, row: int, column: int, *, digits: int = 2) -> Box:
        """The box of a day's number; type stands in its middle."""
        x, y = self.cell_at(row, column)
        high = number_height_px(self.number_px)
        if not self.lines:
            wide = number_width_px(self.look, self.number_px)
            below = marks_px(self.look) + 2 if self.marks else 0
            foot = bar_px(self.look) + 2 if self.bars else 0
            top = y + max(2, (self.cell_px[1] + 1 - foot - high - below) // 2)
            return x + (self.cell_px[0] - wide) // 2, top, wide, high
        wide = number_width_px(self.look, self.number_px, digits=digits)
        hang = min(number_air_px(self.number_px) // 2, self.pad_px - 1)
        left = (
            x + self.cell_px[0] - wide - self.pad_px + hang if self.look.runs_left else x + self.pad_px - hang
        )
        return left, y + 2, wide, high


def plan_of(page: MonthPage, look: Look) -> Plan:
    """The layout. Raises `SheetError` where the numbers of the days do not fit."""
    found = weeks(page.day, first_weekday=look.wording.first_weekday)
    shown = _shown(page, look, found)
    week_px = _week_px(look) if page.weeks is not Weeks.NONE else 0
    wide = (look.width_px - week_px) // 7
    rows = _vertical(page, look, shown, count=len(found))
    high = (rows.bottom_px - rows.top_px) // len(found)
    number_px = round(look.label_px * _NUMBER_TIMES)
    lines = 0
    if wide >= look.label_px * _TEXT_EMS:
        lines = max(0, (high - number_height_px(number_px) - 5) // (look.line_height_px + 1))
        lines = lines if lines >= _LEAST_LINES else 0
    marks = bars = False
    if not lines:
        number_px, marks, bars = _marked(look, shown, room=(wide - 2, high - 4))
    names, name_px = _names(look, found[1], size_px=rows.name_px, width_px=wide)
    return Plan(
        page=page,
        look=look,
        weeks=found,
        entries=shown,
        names=names,
        left_px=0 if look.runs_left else week_px,
        names_top_px=rows.names_px,
        top_px=rows.top_px,
        cell_px=(wide, high),
        week_px=week_px,
        heading_px=rows.heading_px,
        number_px=number_px,
        small_px=max(LEAST_LABEL_PX, min(look.label_px, number_px) * 5 // 6),
        name_px=name_px,
        lines=lines,
        marks=marks,
        bars=bars,
        legend_top_px=rows.legend_px,
    )


@dataclass(frozen=True, slots=True)
class _Vertical:
    """Sizes of type of the heading and of the days' names, and the rows where names, weeks and legend begin and the weeks end."""

    heading_px: int
    name_px: int
    names_px: int
    top_px: int
    bottom_px: int
    legend_px: int | None


def _vertical(page: MonthPage, look: Look, shown: tuple[Entry, ...], *, count: int) -> _Vertical:
    """Heading and legend stand where the weeks keep enough height without what they take."""
    least = count * (number_height_px(LEAST_LABEL_PX) + 4)
    wanted = count * (number_height_px(look.label_px) + 4 + (marks_px(look) + 3 if shown else 0))
    name_px = max(LEAST_LABEL_PX, min(look.label_px, look.height_px // _LINES))
    names = line_px(name_px) + 4
    heading_px = round(name_px * _HEADING_TIMES)
    legend = line_px(name_px) + 6 if len({entry.number for entry in shown if entry.number >= 0}) > 1 else 0
    heading = line_px(heading_px) + 2 if page.heading else 0
    if look.height_px - names - heading - legend < wanted:
        legend = 0
    if look.height_px - names - heading < wanted:
        heading = 0
    top, bottom = heading + names, look.height_px - legend
    if bottom - top < least:
        raise SheetError(
            f"a month of {count} weeks is at least {names + least} pixels high with these labels, got {look.height_px}",
            mend=f"Write height_px={names + least} or more, or a smaller label_px.",
        )
    return _Vertical(
        heading_px if heading else 0, name_px, heading, top, bottom, bottom + 4 if legend else None
    )


def _shown(page: MonthPage, look: Look, found: tuple[Week, ...]) -> tuple[Entry, ...]:
    """What touches the days that are shown."""
    days = [day for week in found for day in week.days if day is not None]
    if not page.neighbours:
        days = [day for day in days if (day.year, day.month) == (page.day.year, page.day.month)]
    every = entries(page.agendas, page.holidays, look.wording.zone)
    return tuple(entry for entry in every if entry.first <= days[-1] and entry.last >= days[0])


def _week_px(look: Look) -> int:
    return (look.text_px(look.count(53)) + 9) // 2 * 2


def _names(look: Look, week: Week, *, size_px: int, width_px: int) -> tuple[tuple[str, ...], int]:
    """Names of the weekdays and their size: short names, somewhat smaller if need be, else a letter each.

    The second week of a month is whole.
    """
    days = [day for day in week.days if day is not None]
    while len(days) < 7:  # the last week there is
        days = [days[0] - timedelta(days=7 - number) for number in range(7)]
    short = tuple(look.wording.weekday(day, "short") for day in days)
    for size in range(size_px, max(LEAST_LABEL_PX, size_px * 2 // 3) - 1, -1):
        if all(look.measure.width_px(name, size_px=size, role=Role.STRONG) <= width_px - 4 for name in short):
            return short, size
    return tuple(look.wording.weekday(day, "narrow") for day in days), size_px


def number_air_px(number_px: int) -> int:
    """Room beside a day's number in its box, both sides together."""
    return number_px // 3


def number_width_px(look: Look, number_px: int, *, digits: int = 2) -> int:
    """Width of the box of a day's number, even."""
    number = look.count(30 if digits > 1 else 3)
    widest = look.measure.width_px(number, size_px=number_px, role=Role.STRONG)
    return (widest + number_air_px(number_px) + 1) // 2 * 2


def number_height_px(number_px: int) -> int:
    """Height of the box of a day's number, even: figures have nothing below their line, so less than a line of type."""
    return round(number_px * 0.56) * 2


def _marked(look: Look, shown: tuple[Entry, ...], *, room: tuple[int, int]) -> tuple[int, bool, bool]:
    """The size of the days' numbers, and whether marks and thin bars find room below them.

    Bars go before the numbers get smaller than the small type, and so do marks. Raises `SheetError` where not even
    the numbers fit.
    """
    own = [entry for entry in shown if not entry.holiday]
    choices = [(True, True)] if any(entry.days > 1 for entry in own) else []
    choices += [(True, False)] if own else []
    for marks, bars in choices:
        below = marks_px(look) + 3 + (bar_px(look) + 2 if bars else 0)
        size = _number_px(look, room=(room[0], room[1] - below))
        if size >= look.label_px or size >= _number_px(look, room=room):
            return size, marks, bars
    size = _number_px(look, room=room)
    if size:
        return size, False, False
    wide, high = number_width_px(look, LEAST_LABEL_PX) + 2, number_height_px(LEAST_LABEL_PX) + 4
    raise SheetError(
        f"a day of {room[0]} x {max(room[1], 0)} pixels does not hold its number",
        mend=f"A month wants {7 * wide} pixels across, and {high} down for each of its weeks.",
    )


def _number_px(look: Look, *, room: tuple[int, int]) -> int:
    """The largest size of the days' numbers for a room; 0 where the least does not fit."""
    largest = round(look.label_px * _LARGEST_NUMBER_TIMES)
    for size in range(largest, LEAST_LABEL_PX - 1, -1):
        if number_width_px(look, size) <= room[0] and number_height_px(size) <= room[1]:
            return size
    return 0


def marks_px(look: Look) -> int:
    """The size of the marks in a day without text; odd."""
    return max(5, round(look.label_px * 0.36)) | 1


def bar_px(look: Look) -> int:
    """The height of a bar in a day without text."""
    return max(3, round(look.label_px * 0.22))
