"""When displays are looked at, against a walk that reads the clocks minute by minute."""

from bisect import bisect_right
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import takewhile
from zoneinfo import ZoneInfo

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.server.clock_days import CHANGES, MINUTE, Walk, reading, walk
from tests.server.timetables import HALL, asked, looks, panel

from wallbill.server.beats import last_beat, next_beat
from wallbill.server.timetable import (
    Situation,
    is_quiet,
    last_look,
    next_look,
    shown_at,
)
from wallbill.wall.model import (
    WHOLE_DAY,
    Dates,
    Hours,
    Interrupt,
    TimetableEntry,
    Weekday,
)

MONDAY = reading("2001-01-01")
"""From which intervals longer than a day are counted, as docs/reference/timetable.md says."""


def test_the_walk_itself_against_known_changes() -> None:
    """Changes as the IANA time zone database and PEP 495 have them, so that the reference is not taken on trust."""
    spring = walk("Europe/London", reading("2026-03-28"), 3)
    assert spring.reached[reading("2026-03-29T01:30")] == datetime(2026, 3, 29, 1, tzinfo=UTC)
    autumn = walk("Europe/London", reading("2026-10-24"), 3)
    assert autumn.reached[reading("2026-10-25T01:30")] == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    assert set(autumn.again.values()) == {timedelta(hours=1)}
    samoa = walk("Pacific/Apia", reading("2011-12-28"), 6)
    assert samoa.reached[reading("2011-12-30T12:00")] == datetime(2011, 12, 30, 10, tzinfo=UTC)
    howe = walk("Australia/Lord_Howe", reading("2026-04-04"), 3)
    assert len(howe.again) == 30


@dataclass(frozen=True, repr=False)
class Case:
    """A display that is asked about over the days of a walk."""

    steps: Walk
    situation: Situation
    first: datetime
    last: datetime

    def __repr__(self) -> str:
        display = self.situation.display
        told = (self.situation.zone, self.first, display.every, display.quiet, display.timetable)
        return f"{told} {display.interrupts} {display.panel.refresh} {self.situation.asked} {self.situation.edition_at}"


clock_times = st.builds(time, st.integers(0, 23), st.sampled_from((0, 1, 10, 15, 30, 45, 59)))
spans = st.builds(Hours, clock_times, clock_times).filter(lambda hours: hours.start != hours.end)
entries = st.builds(
    TimetableEntry,
    st.one_of(spans, st.just(WHOLE_DAY)),
    st.frozensets(st.sampled_from(Weekday), min_size=1),
    st.sampled_from(("morning", "evening")),
    st.sampled_from(((), (Dates((12, 20), (1, 6)),), (Dates((3, 27), (4, 4)), Dates((10, 25), (10, 30))))),
)
every_min = st.sampled_from((10, 15, 20, 25, 30, 40, 45, 60, 90, 120, 360, 720, 1440, 2160, 10080))


@st.composite
def cases(draw: st.DrawFn) -> Case:
    name, first, days = draw(st.sampled_from(CHANGES))
    steps = walk(name, first, days)
    begin = first.replace(tzinfo=UTC) - timedelta(hours=14)
    minutes = days * 1440
    display = replace(
        HALL,
        panel=panel(draw(st.sampled_from((60, 180, 3600))), draw(st.sampled_from((2, 5, 24))) * 3600),
        every=timedelta(minutes=draw(every_min)),
        quiet=draw(st.none() | spans),
        timetable=tuple(draw(st.lists(entries, max_size=3))),
        interrupts=(Interrupt("x", "warning", even_quiet=draw(st.booleans())),),
    )
    at = begin + draw(st.integers(0, minutes)) * MINUTE
    wish = st.builds(asked, st.just(at), st.integers(0, 900).map(lambda length: at + length * MINUTE))
    edition = st.integers(0, minutes * 60).map(lambda second: begin + timedelta(seconds=second + 0.25))
    situation = Situation(display, steps.zone, draw(st.none() | wish), draw(st.none() | edition))
    return Case(steps, situation, begin, begin + timedelta(days=days))


def spans_of(hours: Hours, steps: Walk, day: date) -> tuple[datetime, datetime] | None:
    """A span by when the walk first reached its ends; None outside the walk and where nothing of it is left."""
    ends_on = day if hours.end > hours.start else day + timedelta(days=1)
    begin = steps.reached.get(datetime.combine(day, hours.start))
    end = steps.reached.get(datetime.combine(ends_on, hours.end))
    return (begin, end) if begin and end and begin < end else None


def days_of(steps: Walk) -> list[date]:
    return sorted({reading.date() for reading in steps.reached})


def is_multiple(reading: datetime, every: timedelta) -> bool:
    if every > timedelta(days=1):
        return not (reading - MONDAY) % every
    return not (reading - datetime.combine(reading.date(), time(0))) % every


def has_beat(steps: Walk, at: datetime, every: timedelta) -> bool:
    """Whether the clocks reach or skip a multiple at this minute, the second time only in a long enough stretch."""
    if every > steps.again.get(at, every):
        return False
    return any(is_multiple(reading, every) for reading in steps.readings[at])


class Reference:
    """The looks of a case as docs/reference/timetable.md has them, from the walk alone."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self.asked = case.situation.asked
        display, steps = case.situation.display, case.steps
        quiet = [spans_of(display.quiet, steps, day) for day in days_of(steps)] if display.quiet else []
        self.quiet = [span for span in quiet if span]
        self.begins = [span[0] for span in self.quiet]
        self.even_quiet = any(interrupt.even_quiet for interrupt in display.interrupts)

    def is_quiet(self, at: datetime) -> bool:
        if self.asked and self.asked.at <= at < self.asked.until:
            return False
        place = bisect_right(self.begins, at) - 1
        return place >= 0 and at < self.quiet[place][1]

    def is_open(self, at: datetime) -> bool:
        return self.even_quiet or not self.is_quiet(at)

    def base(self) -> list[datetime]:
        display, steps = self.case.situation.display, self.case.steps
        found = {at for at in steps.minutes if has_beat(steps, at, display.every)}
        for entry in display.timetable:
            for day in days_of(steps):
                if entry.begins_on(day) and (span := spans_of(entry.hours, steps, day)):
                    found |= set(span)
        found |= {span[1] for span in self.quiet}
        if self.asked and self.asked.at < self.asked.until:
            found |= {self.asked.at, self.asked.until}
        return sorted(at for at in found if self.is_open(at))

    def looks(self) -> list[datetime]:
        base, up_at = self.base(), self.case.situation.edition_at
        if up_at is None:
            return base
        refresh = self.case.situation.display.panel.refresh
        until = (up_at + timedelta(seconds=refresh.least_interval_s, milliseconds=750)).replace(microsecond=0)
        soon = [at for at in base if up_at < at < until]
        kept = {at for at in base if not up_at < at < until}
        if soon and self.is_open(until):
            kept.add(until)
        due = up_at.replace(microsecond=0) + timedelta(seconds=refresh.longest_rest_s)
        if self.is_quiet(due):
            begin, end = self.quiet[bisect_right(self.begins, due) - 1]
            before = begin - timedelta(minutes=10)
            due = before if before >= until and not self.is_quiet(before) else end
        earliest = max(due - timedelta(minutes=10), until)
        usual = next((at for at in reversed(base) if at <= due), None)
        is_taken = usual is not None and usual >= earliest and not self.is_quiet(usual)
        if not is_taken and not self.is_quiet(due):
            kept.add(due)
        return sorted(kept)


@given(cases())
@settings(max_examples=100, deadline=None)
def test_walking_by_looks_visits_what_the_walk_by_minutes_finds(case: Case) -> None:
    expected = [at for at in Reference(case).looks() if case.first < at < case.last]
    assert list(looks(case.situation, case.first, case.last)) == expected


@given(cases(), st.data())
@settings(max_examples=120, deadline=None)
def test_next_and_last_look_belong_together(case: Case, data: st.DataObject) -> None:
    seconds = st.integers(0, int((case.last - case.first).total_seconds()))
    moments = seconds.map(lambda second: case.first + timedelta(seconds=second))
    again = sorted(at for at in case.steps.again if case.first < at < case.last)
    now = data.draw(moments | st.sampled_from(again) if again else moments)
    coming, gone = next_look(case.situation, now), last_look(case.situation, now)
    assert coming > now
    assert last_look(case.situation, coming) == coming
    assert gone is not None
    assert gone <= now
    assert next_look(case.situation, gone) == coming
    assert last_look(case.situation, gone) == gone
    reference = Reference(case)
    expected = reference.looks()
    assert coming == expected[bisect_right(expected, now)]
    for at in (now, coming, gone):
        assert is_quiet(case.situation, at) == reference.is_quiet(at)
    for at in (coming, gone):
        assert reference.is_open(at)
        up_at = case.situation.edition_at
        least_s = case.situation.display.panel.refresh.least_interval_s
        assert up_at is None or at <= up_at or (at - up_at).total_seconds() >= least_s


@given(cases())
@settings(max_examples=25, deadline=None)
def test_the_sheet_changes_at_a_look_or_in_the_quiet_hours_only(case: Case) -> None:
    situation = replace(case.situation, edition_at=None)
    seen = set(Reference(replace(case, situation=situation)).base())
    reference = Reference(case)
    inside = takewhile(lambda at: at < case.last, (at for at in case.steps.minutes if at > case.first))
    before = shown_at(situation, case.first)
    for at in inside:
        if (now := shown_at(situation, at)) != before:
            assert at in seen or not reference.is_open(at)
        before = now


@given(st.sampled_from(CHANGES), every_min, st.integers(0, 3 * 86400))
@settings(max_examples=100, deadline=None)
def test_beats_next_and_last(change: tuple[str, datetime, int], every: int, second: int) -> None:
    zone, interval = ZoneInfo(change[0]), timedelta(minutes=every)
    now = change[1].replace(tzinfo=UTC) + timedelta(seconds=second)
    coming = next_beat(now, interval, zone)
    assert last_beat(coming, interval, zone) == coming
    assert last_beat(coming - timedelta(microseconds=1), interval, zone) <= now < coming
