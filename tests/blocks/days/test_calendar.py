"""The month's page: every day once under its own weekday, nothing outside, nothing over anything, in any language."""

import re
import warnings
from calendar import monthrange
from datetime import date, datetime, timedelta
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any
from zoneinfo import ZoneInfo

import blitz_py
import numpy as np
import pytest
from babel import Locale
from hypothesis import given, settings
from hypothesis import strategies as st
from icalendar import Calendar
from icalendar.error import BrokenCalendarProperty
from lxml import html as markup
from tests.blocks.days.makings import (
    CLUB,
    GREY,
    HOLIDAYS,
    HOUSE,
    LONDON,
    PLATE,
    RED,
    START,
    agenda,
    check_texts,
    codes,
    look,
    timed,
    whole,
    wording,
)
from tests.golden import check_golden

from wallbill.blocks.days.calendar import _cells, month_calendar, month_composed
from wallbill.blocks.days.calendar_cells import _fitting, _runs
from wallbill.blocks.days.calendar_plan import MonthPage, plan_of
from wallbill.blocks.days.month import Weeks
from wallbill.blocks.drawing.grid import ACCENT, INK
from wallbill.blocks.drawing.markup import Drawing
from wallbill.blocks.drawing.palette import Palette
from wallbill.errors import SheetError
from wallbill.facts.agenda import Agenda, Event

MARCH = date(2026, 3, 14)
LANGUAGES = ("en-GB", "en-US", "de", "fr-FR", "ja", "ar-EG", "he", "fa", "pt-PT", "sv", "hi", "th")


def rows_of(page: MonthPage, **how: Any) -> list[list[str]]:
    """The texts of the table's cells, line by line, in the order in which they are seen."""
    tree = markup.fromstring(str(month_calendar(page, look=look(**how))))
    return [["".join(cell.itertext()) for cell in row] for row in tree.iterfind(".//tr")]


@given(
    st.dates(date(1, 1, 1), date(9999, 12, 31)),
    st.sampled_from(LANGUAGES),
    st.booleans(),
    st.sampled_from(Weeks),
)
@settings(max_examples=80, deadline=None)
def test_every_day_once_in_the_column_of_its_weekday(
    day: date,
    language: str,
    neighbours: bool,  # noqa: FBT001  hypothesis hands it over by place
    how: Weeks,
) -> None:
    words = wording(language)
    page = MonthPage(day, weeks=how, neighbours=neighbours)
    table = rows_of(page, wording=words, width_px=420, height_px=300, label_px=12, now=None)
    seen = [row if words.direction == "ltr" else row[::-1] for row in table]
    shift = 0 if how is Weeks.NONE else 1
    assert all(len(row) == 7 + shift for row in seen)
    first = (
        Locale.parse(language.replace("-", "_")).first_week_day if "-" in language else words.first_weekday
    )
    assert words.first_weekday == first
    found: dict[str, list[int]] = {}
    for row in seen[1:]:
        for column, text in enumerate(row[shift:]):
            if text:
                found.setdefault(text, []).append(column)
    for number in range(1, monthrange(day.year, day.month)[1] + 1):
        assert (day.replace(day=number).weekday() - first) % 7 in found[words.number(number, 0)]
    if not neighbours:
        assert all(len(columns) == 1 for columns in found.values())
        assert len(found) == monthrange(day.year, day.month)[1]
    names = [words.weekday(date(2026, 3, 2) + timedelta(days=(first + n) % 7), "short") for n in range(7)]
    assert seen[0][shift:] == names


def test_right_to_left_runs_from_right_to_left() -> None:
    table = rows_of(MonthPage(MARCH), wording=wording("he"), width_px=420, height_px=300)
    assert table[1] == ["7", "6", "5", "4", "3", "2", "1"]
    assert rows_of(MonthPage(MARCH), wording=wording("en-US"))[1] == ["1", "2", "3", "4", "5", "6", "7"]


def test_week_numbers_follow_the_rule_that_is_asked_for() -> None:
    """1 January 2027 is a Friday: ISO week 53 of 2026, by the CLDR's rule for the United States week 1."""
    day = date(2027, 1, 9)
    assert [row[0] for row in rows_of(MonthPage(day, weeks=Weeks.ISO))[1:]] == ["53", "1", "2", "3", "4"]
    american = rows_of(MonthPage(day, weeks=Weeks.LOCAL), wording=wording("en-US"))
    assert [row[0] for row in american[1:]] == ["1", "2", "3", "4", "5", "6"]


@given(
    st.dates(date(1900, 1, 1), date(2100, 1, 1)),
    st.integers(150, 820),
    st.integers(110, 480),
    st.integers(8, 40),
    st.sampled_from(["en-GB", "de", "ar-EG", "ja"]),
)
@settings(max_examples=80, deadline=None)
def test_nothing_leaves_the_page_or_lies_over_anything(
    day: date, width_px: int, height_px: int, label_px: int, language: str
) -> None:
    begin = day.replace(day=1)
    busy = agenda(
        "Busy", [whole(f"Stay {n}", (begin + timedelta(days=n * 3)).isoformat(), 1 + n % 5) for n in range(9)]
    )
    hours = agenda(
        "Hours", [timed(f"At {n}", f"{begin + timedelta(days=n % 11)}T{8 + n % 12:02}:00") for n in range(30)]
    )
    page = MonthPage(day, (busy, hours), weeks=Weeks.ISO)
    asked = look(width_px, height_px, label_px=label_px, wording=wording(language))
    try:
        composed = month_composed(page, look=asked)
    except SheetError as fault:  # numbers that do not fit are told, not drawn over one another
        if "pixels" not in fault.what:
            raise
        return
    assert composed.grid.size == (width_px, height_px)
    check_texts(composed.texts, (width_px, height_px))
    plan = plan_of(page, asked)
    assert plan.top_px + plan.cell_px[1] * len(plan.weeks) <= height_px
    assert plan.week_px + 7 * plan.cell_px[0] <= width_px


def test_all_that_is_on_is_shown_or_counted() -> None:
    page = MonthPage(MARCH, (CLUB, HOUSE))
    plan = plan_of(page, look(700, 420, label_px=11))
    assert plan.lines >= 2
    for row in range(len(plan.weeks)):
        week = [cell for cell in _cells(plan) if cell.row == row]
        kept, more = _fitting(_runs(plan, week, several=False), plan.lines)
        for cell in week:
            here = [run for run in kept if run.first <= cell.column <= run.last]
            assert len(here) + more.get(cell.column, 0) == len(cell.on)
            assert len({run.lane for run in here}) == len(here)
            assert len(here) + (1 if more.get(cell.column) else 0) <= plan.lines


def test_today_is_reversed_and_holidays_are_in_the_second_ink() -> None:
    page = MonthPage(MARCH, holidays=(HOLIDAYS,))
    inked = month_composed(page, look=look())
    assert (inked.grid.codes == ACCENT).sum() > 100
    assert str(inked.table).count("color:#c80000") == 1
    plain = month_composed(page, look=look(palette=Palette()))
    assert not (plain.grid.codes == ACCENT).any()
    without = month_composed(MonthPage(MARCH), look=look(palette=Palette()))
    assert (plain.grid.codes == INK).sum() > (without.grid.codes == INK).sum()  # a frame


def test_tomorrow_in_another_zone_is_not_today() -> None:
    """Kiritimati is 14 hours ahead of UTC: there it is the 15th already."""
    there = look(wording=wording(zone=ZoneInfo("Pacific/Kiritimati")), palette=RED)
    here = look(palette=RED)
    one, other = (month_composed(MonthPage(MARCH), look=each).grid for each in (there, here))
    assert one != other


def test_names_of_weekdays_shrink_to_letters() -> None:
    table = rows_of(MonthPage(MARCH), width_px=130, height_px=130, label_px=14)
    assert table[0] == ["M", "T", "W", "T", "F", "S", "S"]


def test_a_page_too_small_for_its_numbers_is_refused() -> None:
    with pytest.raises(SheetError, match="does not hold its number") as caught:
        month_composed(MonthPage(MARCH), look=look(60, 200))
    assert "pixels across" in caught.value.mend
    with pytest.raises(SheetError, match="pixels high"):
        month_composed(MonthPage(MARCH), look=look(400, 60))


def test_words_for_those_who_cannot_see_it() -> None:
    html = str(month_calendar(MonthPage(MARCH, (CLUB,)), look=look()))
    assert 'aria-label="March 2026; 14 Outing, Soup lunch; 17 Committee;' in html
    assert "&lt;b&gt;" in str(month_calendar(MonthPage(MARCH, (agenda("x", [timed("<b>", "2026-03-14T09:00")]),)), look=look(700, 420)))  # fmt: skip


def _moment(told: Any) -> Any:
    """The value of a property of dates."""
    return told.dt


def _span(first: Any, last: Any) -> tuple[datetime | date, datetime | date]:
    """Start and end as an event has them: aware, or dates; the end no earlier than the start."""
    last = last if type(last) is type(first) else first
    if not isinstance(first, datetime):
        return first, max(last, first + timedelta(days=1))
    first, last = (one if one.tzinfo else one.replace(tzinfo=LONDON) for one in (first, last))
    return first, max(first, last)


def _from_ics(path: Traversable) -> Agenda | None:
    """The events of one of the library's own test files, as far as they have a start."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # some of these files are odd on purpose, and the library says so
            calendar = Calendar.from_ical(path.read_bytes())
    except ValueError:
        return None
    found: list[Event] = []
    for part in calendar.walk("VEVENT"):
        try:
            first, last = _moment(part["DTSTART"]), _moment(part.get("DTEND", part["DTSTART"]))
        except (KeyError, AttributeError, BrokenCalendarProperty):
            continue
        found.append(Event(str(part.get("UID", "")), str(part.get("SUMMARY", "?")), *_span(first, last)))
    return agenda("file", found) if found else None


def test_real_calendars_fill_their_months() -> None:
    """The test files that icalendar installs beside itself (RFC 5545's examples, odd zones, odd letters)."""
    folder = files("icalendar").joinpath("tests", "calendars")
    known = [one for path in folder.iterdir() if path.name.endswith(".ics") and (one := _from_ics(path))]
    assert len(known) > 20
    for one in known:
        start = one.events[0].starts
        day = start.date() if isinstance(start, datetime) else start
        composed = month_composed(MonthPage(day, (one,), neighbours=True), look=look(700, 420, label_px=11))
        check_texts(composed.texts, (700, 420))
        assert re.search(r"<td", str(composed.table))


def test_the_engine_paints_the_drawing_as_it_is() -> None:
    """Outside of type, every pixel is of the drawing's own ink."""
    asked = look(420, 260, label_px=12, palette=RED)
    page = MonthPage(MARCH, (CLUB, HOUSE), holidays=(HOLIDAYS,))
    composed = month_composed(page, look=asked)
    hidden = re.sub(r"(<(?:span|div) class=\"wb-(?!chart|ground)[^>]*style=\")", r"\1visibility:hidden;", str(month_calendar(page, look=asked)))  # fmt: skip
    body = f'<body style="margin:0;background:#fff">{hidden}</body>'
    width, height, data = blitz_py.render_rgba(body, width=420, height=260)
    seen = np.frombuffer(bytes(data), dtype=np.uint8).reshape(height, width, 4)[:, :, :3]
    plate = np.array([*PLATE[:3], (255, 255, 255), (0, 0, 0)], dtype=np.uint8)
    flat = Drawing(composed.grid, tints=composed.tints).flat().codes
    assert np.array_equal(seen, plate[flat])


@pytest.mark.parametrize("name", ["month-marks", "month-texts", "month-hebrew"])
def test_golden(name: str) -> None:
    small = look(224, 170, label_px=11, palette=RED)
    large = look(520, 330, label_px=10, palette=Palette())
    hebrew = look(470, 330, label_px=9, palette=RED, wording=wording("he"))
    asked = {"month-marks": small, "month-texts": large, "month-hebrew": hebrew}[name]
    page = MonthPage(MARCH, (CLUB, HOUSE), holidays=(HOLIDAYS,), weeks=Weeks.ISO)
    check_golden(name, codes(month_composed(page, look=asked)), PLATE)


def test_greys_are_no_hatches() -> None:
    html = str(month_calendar(MonthPage(MARCH, (CLUB, HOUSE)), look=look(700, 420, palette=GREY, now=START)))
    assert "Visitors" in html
