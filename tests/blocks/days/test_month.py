"""The days of a month in weeks: every day once, under its own weekday, for any month and any place."""

import calendar
from datetime import date, timedelta
from itertools import pairwise

import pytest
from babel import Locale
from babel.dates import format_date
from hypothesis import given, settings
from hypothesis import strategies as st

from wallbill.blocks.days.month import Week, Weeks, week_number, weeks

days = st.dates()
firsts = st.integers(0, 6)


@given(days, firsts)
@settings(max_examples=300)
def test_every_day_of_the_month_once_and_under_its_weekday(day: date, first: int) -> None:
    rows = weeks(day, first_weekday=first)
    assert 4 <= len(rows) <= 6
    for row in rows:
        for column, found in enumerate(row.days):
            assert found is None or found.weekday() == (first + column) % 7
    shown = [found for row in rows for found in row.days if found is not None]
    assert all(b - a == timedelta(days=1) for a, b in pairwise(shown))
    own = [found for found in shown if (found.year, found.month) == (day.year, day.month)]
    assert [found.day for found in own] == list(range(1, calendar.monthrange(day.year, day.month)[1] + 1))


@given(st.dates(date(1, 2, 1), date(9998, 12, 31)), firsts)
def test_the_standard_library_lays_the_month_out_alike(day: date, first: int) -> None:
    expected = calendar.Calendar(first).monthdatescalendar(day.year, day.month)
    assert [list(row.days) for row in weeks(day, first_weekday=first)] == expected


def test_the_calendar_s_own_ends() -> None:
    assert weeks(date(1, 1, 1), first_weekday=6)[0].days[:2] == (None, date(1, 1, 1))
    assert weeks(date(9999, 12, 31), first_weekday=0)[-1].days[4:] == (date(9999, 12, 31), None, None)


# ISO 8601 weeks at the turn of the year; from memory, and as Python's isocalendar gives them.
@pytest.mark.parametrize(
    ("day", "week"),
    [("2004-12-31", 53), ("2005-01-02", 53), ("2005-12-31", 52), ("2007-01-01", 1), ("2007-12-31", 1), ("2008-12-29", 1), ("2010-01-03", 53), ("2020-12-31", 53), ("2024-12-30", 1), ("2027-01-03", 53)],
)  # fmt: skip
def test_iso_weeks(day: str, week: int) -> None:
    on = date.fromisoformat(day)
    assert week_number(on, first_weekday=0, min_days=4) == week
    row = next(row for row in weeks(on, first_weekday=0) if on in row.days)
    assert row.number(Weeks.ISO, min_days=1) == week


@given(days)
def test_iso_weeks_against_the_standard_library(day: date) -> None:
    assert week_number(day, first_weekday=0, min_days=4) == day.isocalendar().week


@given(st.dates(date(1900, 1, 1), date(2200, 1, 1)), st.sampled_from(["en_US", "en_GB", "de_DE", "fr_FR", "ja_JP", "pt_PT", "ar_EG", "fa_IR", "sv_SE"]))  # fmt: skip
@settings(max_examples=200)
def test_weeks_of_a_place_against_babel(day: date, name: str) -> None:
    """Babel's pattern letter w follows the CLDR's week data. It is wrong on the last days of a year that belong to the next one's first week, and tells 53: those are passed over."""
    home = Locale.parse(name)
    ours = week_number(day, first_weekday=home.first_week_day, min_days=home.min_week_days)
    theirs = int(format_date(day, "w", locale=home))
    assert ours == theirs or (ours == 1 and day.month == 12 and theirs == 53)


@given(days, firsts, st.integers(1, 7))
def test_a_week_has_one_number(day: date, first: int, least: int) -> None:
    begin = day.toordinal() - (day.weekday() - first) % 7
    around = [date.fromordinal(n) for n in range(begin, begin + 7) if 1 <= n <= date.max.toordinal()]
    assert len({week_number(each, first_weekday=first, min_days=least) for each in around}) == 1


def test_no_number_where_none_is_wanted() -> None:
    week = Week(tuple(date(2026, 3, 9) + timedelta(days=n) for n in range(7)))
    assert week.number(Weeks.NONE, min_days=4) == 0
    assert week.number(Weeks.LOCAL, min_days=4) == 11
