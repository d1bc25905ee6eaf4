"""An axis of time that knows local days: where its marks fall, and what the steps between them are.

Positions go by elapsed time, so a day of 23 or 25 hours is drawn as long as it lasts, and marks stand at round
hours of the wall's own clock on both sides of a change of the clocks.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from enum import Enum

import numpy as np

from wallbill.blocks.charts.readings import micros
from wallbill.blocks.drawing.shapes import Wholes

_US = 1_000_000
_DAY_S = 86_400


class Step(Enum):
    """The distance between marks: seconds of the local clock, or calendar days, or calendar months."""

    MINUTE = ("clock", 60)
    MINUTES_5 = ("clock", 300)
    MINUTES_10 = ("clock", 600)
    MINUTES_15 = ("clock", 900)
    MINUTES_30 = ("clock", 1800)
    HOUR = ("clock", 3600)
    HOURS_2 = ("clock", 7200)
    HOURS_3 = ("clock", 10_800)
    HOURS_4 = ("clock", 14_400)
    HOURS_6 = ("clock", 21_600)
    HOURS_12 = ("clock", 43_200)
    DAY = ("days", 1)
    DAYS_2 = ("days", 2)
    WEEK = ("days", 7)
    WEEKS_2 = ("days", 14)
    MONTH = ("months", 1)
    MONTHS_3 = ("months", 3)
    MONTHS_6 = ("months", 6)
    YEAR = ("months", 12)
    YEARS_5 = ("months", 60)
    YEARS_10 = ("months", 120)
    YEARS_20 = ("months", 240)
    YEARS_50 = ("months", 600)
    YEARS_100 = ("months", 1200)
    YEARS_200 = ("months", 2400)
    YEARS_500 = ("months", 6000)
    YEARS_1000 = ("months", 12_000)

    @property
    def usual_s(self) -> int:
        """The step's usual length in seconds; a month counts as 28 days, so that marks never come too close."""
        kind, size = self.value
        return size * {"clock": 1, "days": _DAY_S, "months": 28 * _DAY_S}[kind]

    @property
    def within_day(self) -> bool:
        """True where several marks fall on a day."""
        return self.value[0] == "clock"

    @property
    def wording(self) -> str:
        """What tells a mark from its neighbours: "hour", "day" (of the week), "date", "month" or "year"."""
        kind, size = self.value
        if kind == "clock":
            return "hour"
        if kind == "days":
            return "day" if size < 7 else "date"
        return "month" if size < 12 else "year"


@dataclass(frozen=True, slots=True)
class Tick:
    """A mark on the axis: the instant (aware, UTC), the wall's local time then, and whether a local day begins."""

    at: datetime
    local: datetime
    starts_day: bool


@dataclass(frozen=True, slots=True)
class TimeAxis:
    """The stretch from ``start`` to ``end`` (aware), seen in ``zone``, laid on ``width_px`` pixels.

    Raises ValueError for moments without a zone, an empty stretch, or no width.
    """

    start: datetime
    end: datetime
    zone: tzinfo
    width_px: int
    length_s: float = field(init=False, repr=False, compare=False)
    """Elapsed seconds from start to end."""

    def __post_init__(self) -> None:
        if self.start.tzinfo is None or self.end.tzinfo is None:
            raise ValueError("an axis of time needs aware moments")
        if self.end <= self.start:
            raise ValueError(f"an axis of time ends after it starts, got {self.start} to {self.end}")
        if self.width_px < 2:
            raise ValueError(f"an axis of time is at least 2 pixels wide, got {self.width_px}")
        elapsed = self.end.astimezone(UTC) - self.start.astimezone(UTC)
        object.__setattr__(self, "length_s", elapsed.total_seconds())

    def x_px(self, moment: datetime) -> int:
        """The pixel column of ``moment``: 0 at the start, ``width_px`` - 1 at the end; outside for others."""
        elapsed_s = (moment.astimezone(UTC) - self.start.astimezone(UTC)).total_seconds()
        return round(elapsed_s / self.length_s * (self.width_px - 1))

    def columns(self, at_us: Wholes) -> Wholes:
        """As `x_px`, of moments in microseconds since 1970 (UTC): int64, shape (n,)."""
        elapsed_s = (at_us - micros(self.start)) / _US
        return np.rint(elapsed_s / self.length_s * (self.width_px - 1)).astype(np.int64)

    def step(self, least_px: int) -> Step:
        """The smallest step whose marks stand at least ``least_px`` apart; the largest there is, if none does."""
        least_s = least_px / self.width_px * self.length_s
        return next((step for step in Step if step.usual_s >= least_s), Step.YEARS_1000)

    def ticks(self, step: Step) -> tuple[Tick, ...]:
        """The marks from start to end, both included, in order of time, one for every pixel column at most."""
        moments = _clock_marks(self, step) if step.within_day else _calendar_marks(self, step)
        marks: dict[int, Tick] = {}
        for moment in moments:
            if self.start <= moment <= self.end:
                local = moment.astimezone(self.zone)
                starts_day = first_instant(local.date(), self.zone) == moment
                marks.setdefault(self.x_px(moment), Tick(moment, local, starts_day))
        return tuple(sorted(marks.values(), key=lambda tick: tick.at))

    def days(self) -> tuple[tuple[date, datetime, datetime], ...]:
        """Every local day that the axis touches: its date, and its part on the axis, from and to (UTC)."""
        found = []
        for day in _dates(self):
            begin = max(first_instant(day, self.zone), self.start.astimezone(UTC))
            finish = min(first_instant(day + timedelta(days=1), self.zone), self.end.astimezone(UTC))
            if begin < finish:
                found.append((day, begin, finish))
        return tuple(found)


def first_instant(day: date, zone: tzinfo) -> datetime:
    """The instant (UTC) at which a local day begins, also where its midnight is skipped by a change of the clocks.

    For a day that its zone skipped whole, the first instant of the next.
    """
    midnight = datetime.combine(day, time(), zone)
    instant = midnight.astimezone(UTC)
    if instant.astimezone(zone).replace(tzinfo=None) == midnight.replace(tzinfo=None):
        return instant
    before = instant - timedelta(days=1)
    while instant - before > timedelta(seconds=1):
        middle = (before + (instant - before) / 2).replace(microsecond=0)
        if middle in (before, instant):
            break
        if middle.astimezone(zone).date() >= day:
            instant = middle
        else:
            before = middle
    return instant


def _dates(axis: TimeAxis) -> Iterator[date]:
    day = axis.start.astimezone(axis.zone).date()
    last = axis.end.astimezone(axis.zone).date()
    while day <= last:
        yield day
        if day == date.max:
            return
        day += timedelta(days=1)


def _clock_marks(axis: TimeAxis, step: Step) -> Iterator[datetime]:
    """Round local times of each day.

    A time that is skipped is left out. One that comes twice counts twice up to hourly steps, and once above, so
    that the distance between labels stays even.
    """
    _, size_s = step.value
    for day in _dates(axis):
        for second in range(0, _DAY_S, size_s):
            naive = datetime.combine(day, time()) + timedelta(seconds=second)
            folds = (0, 1) if size_s <= Step.HOUR.usual_s else (0,)
            for fold in folds:
                moment = naive.replace(tzinfo=axis.zone, fold=fold).astimezone(UTC)
                if moment.astimezone(axis.zone).replace(tzinfo=None, fold=0) == naive:
                    yield moment


def _calendar_marks(axis: TimeAxis, step: Step) -> Iterator[datetime]:
    """First instants of days: every so many from a Monday, or the first days of months that divide evenly."""
    kind, size = step.value
    first, last = (edge.astimezone(axis.zone).date() for edge in (axis.start, axis.end))
    if kind == "days":
        begin = first.toordinal() - 1  # day 1 of the proleptic calendar was a Monday
        for number in range(begin + -begin % size, last.toordinal(), size):
            yield first_instant(date.fromordinal(number + 1), axis.zone)
        return
    begin = first.year * 12 + first.month - 1
    for number in range(begin + -begin % size, last.year * 12 + last.month, size):
        yield first_instant(date(number // 12, number % 12 + 1, 1), axis.zone)
