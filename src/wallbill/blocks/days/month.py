"""The days of a month in weeks, as a place counts them: which day a week begins with, and which week is the first.

Week numbers: ISO 8601, or the rule of the Unicode CLDR (UTS 35 part 4, "Week Data"): the first week of a year is the
first with at least ``min_days`` days in it.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

_THURSDAY = 3


class Weeks(StrEnum):
    """How weeks are numbered: not at all, by ISO 8601, or as the wall's language does."""

    NONE = "none"
    ISO = "iso"
    LOCAL = "local"


@dataclass(frozen=True, slots=True)
class Week:
    """Seven days from the first weekday on; None before 1-01-01 and after 9999-12-31, where the calendar ends."""

    days: tuple[date | None, ...]

    def number(self, how: Weeks, *, min_days: int) -> int:
        """The number of the week; 0 for `Weeks.NONE`.

        A week that does not begin on a Monday has the ISO number of its Thursday. ``min_days``: see the module.
        """
        if how is Weeks.NONE:
            return 0
        if how is Weeks.ISO:
            known = next((day for day in self.days if day is not None and day.weekday() == _THURSDAY), None)
            known = known or next(day for day in self.days if day is not None)
            return known.isocalendar().week
        first = next(day for day in self.days if day is not None)
        return week_number(first, first_weekday=first.weekday(), min_days=min_days)


def weeks(day: date, *, first_weekday: int) -> tuple[Week, ...]:
    """The weeks that hold the month of ``day``, in order: four to six. ``first_weekday``: 0 Monday to 6 Sunday."""
    first = day.replace(day=1)
    ahead = (first.weekday() - first_weekday) % 7
    begin = first.toordinal() - ahead
    last = _last_of(first).toordinal()
    return tuple(
        Week(tuple(_day(monday + number) for number in range(7))) for monday in range(begin, last + 1, 7)
    )


def week_number(day: date, *, first_weekday: int, min_days: int) -> int:
    """The week of the year that ``day`` lies in: 1 to 53, at the turn of the year possibly that of the year beside."""
    begin = day.toordinal() - (day.weekday() - first_weekday) % 7
    for year in (day.year + 1, day.year, day.year - 1):
        start = _first_week(year, first_weekday=first_weekday, min_days=min_days)
        if start <= begin:
            return (begin - start) // 7 + 1
    raise AssertionError(
        "a week begins after the first week of the year before"
    )  # pragma: no cover  by arithmetic


def _first_week(year: int, *, first_weekday: int, min_days: int) -> int:
    """The ordinal of the day that the first week of ``year`` begins with; years beside the calendar's ends count too."""
    january = (
        date(year, 1, 1).toordinal()
        if 1 <= year <= 9999
        else date(1, 1, 1).toordinal() - 366
        if year < 1
        else date.max.toordinal() + 1
    )
    before = ((january - 1) % 7 - first_weekday) % 7
    return january - before if 7 - before >= min_days else january - before + 7


def _last_of(first: date) -> date:
    if (first.year, first.month) == (9999, 12):
        return date.max
    return (first + timedelta(days=31)).replace(day=1) - timedelta(days=1)


def _day(ordinal: int) -> date | None:
    return date.fromordinal(ordinal) if 1 <= ordinal <= date.max.toordinal() else None
