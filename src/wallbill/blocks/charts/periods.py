"""Readings gathered by hours, days, weeks or months of the wall's own calendar: how much in each, or how much at most."""

from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, date, datetime, timedelta, tzinfo
from enum import StrEnum
from itertools import pairwise
from math import fsum, nan
from statistics import mean, median
from types import MappingProxyType

from wallbill.blocks.charts.readings import Span, is_number
from wallbill.blocks.charts.timeaxis import first_instant
from wallbill.errors import SheetError
from wallbill.facts.series import Reading

_MOST = 10_000
_NEAR = 1.5  # so many usual distances away the next reading still ends a span: common practice, no source


class Period(StrEnum):
    """The stretches of the calendar that readings may be gathered by; weeks begin on a Monday."""

    HOUR = "hour"
    DAY = "day"
    WEEK = "week"
    MONTH = "month"
    YEAR = "year"


class Gathering(StrEnum):
    """What is told of the readings of a period."""

    SUM = "sum"
    MEAN = "mean"
    HIGHEST = "highest"
    LOWEST = "lowest"


_HOW: Mapping[Gathering, Callable[[Sequence[float]], float]] = MappingProxyType(
    {Gathering.SUM: fsum, Gathering.MEAN: mean, Gathering.HIGHEST: max, Gathering.LOWEST: min}
)


def spans_of(readings: Sequence[Reading], *, at_end: bool = False) -> tuple[Span, ...]:
    """The stretch that each reading stands for: up to the next one, or from the one before if ``at_end``.

    Where that is more than one and a half times the usual (median) distance away, and at the ends, the usual distance;
    an hour for a reading alone. What is no number is a span whose value is not a number: a gap.
    """
    ordered = sorted(readings, key=lambda reading: reading.at)
    steps = [later.at - earlier.at for earlier, later in pairwise(ordered) if later.at > earlier.at]
    usual = timedelta(seconds=median(step.total_seconds() for step in steps)) if steps else timedelta(hours=1)
    found = []
    for place, reading in enumerate(ordered):
        value = float(reading.value) if reading.value is not None and is_number(reading.value) else nan
        if at_end:
            before = ordered[place - 1].at if place else reading.at - usual
            start = before if timedelta(0) < reading.at - before <= usual * _NEAR else reading.at - usual
            found.append(Span(start, reading.at, value))
        else:
            after = ordered[place + 1].at if place + 1 < len(ordered) else reading.at + usual
            end = after if timedelta(0) < after - reading.at <= usual * _NEAR else reading.at + usual
            found.append(Span(reading.at, end, value))
    return tuple(found)


def gathered(
    readings: Sequence[Reading], period: Period, *, zone: tzinfo, how: Gathering = Gathering.SUM
) -> tuple[Span, ...]:
    """One amount for every period from the first reading's to the last's, in the zone's own calendar.

    A day of 23 or 25 hours is one day. Readings without a value are left out; a period of which nothing is known is a
    gap, whose value is not a number. Raises `SheetError` for more than ten thousand periods.
    """
    found: dict[datetime, list[float]] = {}
    for reading in readings:
        begin = period_start(reading.at, period, zone)
        values = found.setdefault(begin, [])
        if reading.value is not None and is_number(reading.value):
            values.append(float(reading.value))
    if not found:
        return ()
    spans: list[Span] = []
    begin, last = min(found), max(found)
    while begin <= last:
        if len(spans) == _MOST:
            raise SheetError(
                f"from {min(found):%Y} to {last:%Y} there are more than {_MOST} times one {period}",
                mend="Gather by a longer period, or hand it the part between two moments.",
            )
        end = next_start(begin, period, zone)
        values = found.get(begin, [])
        spans.append(Span(begin, end, float(_HOW[how](values)) if values else nan))
        begin = end
    return tuple(spans)


def period_start(moment: datetime, period: Period, zone: tzinfo) -> datetime:
    """The instant (UTC) at which the period that ``moment`` (aware) lies in begins."""
    local = moment.astimezone(zone)
    if period is Period.HOUR:
        past = timedelta(minutes=local.minute, seconds=local.second, microseconds=local.microsecond)
        return moment.astimezone(UTC) - past
    return first_instant(_first_day(local.date(), period), zone)


def next_start(begin: datetime, period: Period, zone: tzinfo) -> datetime:
    """The instant (UTC) at which the next period begins, from the beginning of one."""
    if period is Period.HOUR:
        return begin + timedelta(hours=1)
    day = _first_day(begin.astimezone(zone).date(), period)
    ahead = {Period.DAY: 1, Period.WEEK: 7, Period.MONTH: 32, Period.YEAR: 367}[period]
    return first_instant(_first_day(day + timedelta(days=ahead), period), zone)


def _first_day(day: date, period: Period) -> date:
    if period is Period.WEEK:
        return day - timedelta(days=day.weekday())
    if period is Period.MONTH:
        return day.replace(day=1)
    return day.replace(month=1, day=1) if period is Period.YEAR else day
