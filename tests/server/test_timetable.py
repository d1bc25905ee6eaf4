"""When displays are looked at and when devices call, by hand-made tables and recurrence rules."""

from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from fractions import Fraction
from zoneinfo import ZoneInfo

import pytest
from dateutil.rrule import rrulestr  # type: ignore[import-untyped]  # dateutil ships no types
from hypothesis import given
from hypothesis import strategies as st
from tests.server.clock_days import MINUTE, reading
from tests.server.timetables import HALL, LONDON, WORKDAYS, asked, london, looks, panel, shown

from wallbill.server.timetable import (
    Situation,
    back_in_s,
    is_quiet,
    last_look,
    next_look,
    phase_s,
    shown_at,
    why_look,
)
from wallbill.store.model import Why
from wallbill.wall.model import (
    EVERY_DAY,
    WHOLE_DAY,
    Dates,
    Display,
    Hours,
    Interrupt,
    TimetableEntry,
)

# An ordinary day, and what breaks into it. 27 March 2026 is a Friday.


def test_the_night_is_quiet_and_the_half_hours_are_kept() -> None:
    found = shown(looks(Situation(HALL, LONDON), london("2026-03-26 22:10"), london("2026-03-27 07:40")))
    assert found == ["26 22:30", "27 06:00", "27 06:30", "27 07:00", "27 07:30"]


def test_a_sheet_changes_when_its_hours_begin_and_end_even_between_two_beats() -> None:
    hall = replace(HALL, every=timedelta(hours=6), quiet=None)
    situation = Situation(hall, LONDON)
    found = list(looks(situation, london("2026-03-27 00:00"), london("2026-03-28 13:00")))
    assert shown(iter(found)) == ["27 06:00", "27 06:30", "27 09:00", "27 12:00", "27 18:00", "28 00:00", "28 06:00", "28 12:00"]  # fmt: skip
    assert [why_look(situation, at) for at in found[:4]] == [
        Why.FACTS,
        Why.TIMETABLE,
        Why.TIMETABLE,
        Why.FACTS,
    ]
    assert shown_at(situation, found[1]) == ("morning", "timetable")
    assert shown_at(situation, found[2]) == ("hall", "timetable")


def test_the_first_look_after_the_night_tells_that_the_sheet_has_changed_in_it() -> None:
    late = replace(HALL, timetable=(TimetableEntry(Hours(time(4), time(12)), EVERY_DAY, "morning"),))
    assert why_look(Situation(late, LONDON), london("2026-03-27 06:00")) is Why.TIMETABLE
    assert why_look(Situation(HALL, LONDON), london("2026-03-27 06:00")) is Why.FACTS


def test_what_is_asked_for_by_hand_goes_before_timetable_and_quiet_hours() -> None:
    wish = asked(london("2026-03-26 22:40"), london("2026-03-27 00:20"))
    situation = Situation(HALL, LONDON, wish)
    found = list(looks(situation, london("2026-03-26 22:10"), london("2026-03-27 06:45")))
    assert shown(iter(found)) == ["26 22:30", "26 22:40", "26 23:00", "26 23:30", "27 00:00", "27 06:00", "27 06:30"]  # fmt: skip
    assert [shown_at(situation, at)[1] for at in found] == ["timetable", *["asked"] * 4, *["timetable"] * 2]
    assert [why_look(situation, at) for at in found[:3]] == [Why.FACTS, Why.ASKED, Why.FACTS]
    assert why_look(situation, london("2026-03-27 06:00")) is Why.ASKED  # it goes, at the end of the night
    assert not is_quiet(situation, london("2026-03-27 00:19:59"))
    assert is_quiet(situation, wish.until)
    assert last_look(situation, london("2026-03-27 05:59")) == london("2026-03-27 00:00")


def test_what_was_asked_for_ends_by_day_at_its_moment() -> None:
    wish = asked(london("2026-03-27 10:05"), london("2026-03-27 10:50"))
    situation = Situation(HALL, LONDON, wish)
    assert shown(looks(situation, london("2026-03-27 10:00"), london("2026-03-27 11:10"))) == ["27 10:05", "27 10:30", "27 10:50", "27 11:00"]  # fmt: skip
    assert why_look(situation, wish.until) is Why.ASKED
    over = Situation(HALL, LONDON, asked(london("2026-03-27 10:05"), london("2026-03-27 10:05")))
    assert next_look(over, london("2026-03-27 10:00")) == london("2026-03-27 10:30")


def test_an_interrupt_that_may_break_the_quiet_hours_is_looked_for_in_them() -> None:
    hall = replace(HALL, interrupts=(Interrupt("alerts.active", "warning", even_quiet=True),))
    situation = Situation(hall, LONDON)
    night = shown(looks(situation, london("2026-03-26 22:40"), london("2026-03-27 00:40")))
    assert night == ["26 23:00", "26 23:30", "27 00:00", "27 00:30"]
    assert is_quiet(situation, london("2026-03-27 00:00"))
    plain = replace(hall, interrupts=(Interrupt("alerts.active", "warning"),))
    assert next_look(Situation(plain, LONDON), london("2026-03-26 22:40")) == london("2026-03-27 06:00")


def test_a_look_too_soon_for_the_panel_is_put_off() -> None:
    up_at = london("2026-03-27 09:59:10")
    situation = Situation(HALL, LONDON, None, up_at)
    assert next_look(situation, up_at) == london("2026-03-27 10:02:10")
    assert last_look(situation, london("2026-03-27 10:01")) == london("2026-03-27 09:30")
    assert last_look(situation, london("2026-03-27 10:02:10")) == london("2026-03-27 10:02:10")
    assert next_look(situation, london("2026-03-27 10:01")) == london("2026-03-27 10:02:10")
    # Nothing was to be looked at meanwhile: then nothing is put off.
    assert next_look(replace(situation, edition_at=london("2026-03-27 10:00:10")), london("2026-03-27 10:00:10")) == london("2026-03-27 10:30")  # fmt: skip


def test_the_look_that_put_the_picture_up_is_not_put_off() -> None:
    situation = Situation(HALL, LONDON, None, london("2026-03-27 10:00"))
    assert next_look(situation, london("2026-03-27 09:45")) == london("2026-03-27 10:00")
    assert last_look(situation, london("2026-03-27 10:01")) == london("2026-03-27 10:00")
    assert next_look(situation, london("2026-03-27 10:00")) == london("2026-03-27 10:30")


def test_a_sheet_that_is_due_too_soon_is_put_off_and_tells_why_it_is_there() -> None:
    situation = Situation(HALL, LONDON, asked(london("2026-03-27 10:31"), london("2026-03-27 12:00")), london("2026-03-27 10:30:05"))  # fmt: skip
    assert next_look(situation, london("2026-03-27 10:31:01")) == london("2026-03-27 10:33:05")
    assert why_look(situation, london("2026-03-27 10:33:05")) is Why.ASKED


def test_put_off_into_the_night_it_waits_until_morning() -> None:
    situation = Situation(HALL, LONDON, asked(london("2026-03-26 20:00"), london("2026-03-26 22:59")), london("2026-03-26 22:58"))  # fmt: skip
    assert next_look(situation, london("2026-03-26 22:58")) == london("2026-03-27 06:00")
    assert last_look(situation, london("2026-03-27 05:59")) == london("2026-03-26 22:30")


@pytest.mark.parametrize(
    ("up_at", "rest_h", "expected"),
    [
        ("2026-03-26 07:00:20", 24, "2026-03-27 07:00"),  # the beat just before is taken for it
        ("2026-03-26 07:12:00", 24, "2026-03-27 07:12"),  # between two beats: a look of its own
        ("2026-03-26 17:00:00", 8, "2026-03-26 22:50"),  # in the night: before it
        ("2026-03-26 22:58:00", 1, "2026-03-27 06:00"),  # before it would be too soon: after
    ],
)
def test_a_panel_that_has_rested_long_enough_is_refreshed(up_at: str, rest_h: int, expected: str) -> None:
    hall = replace(HALL, panel=panel(rest_s=rest_h * 3600))
    situation = Situation(hall, LONDON, None, london(up_at))
    first = next(at for at in looks(situation, london(up_at), london("2026-03-28 00:00")) if why_look(situation, at) is Why.REST)  # fmt: skip
    assert first == london(expected)
    assert last_look(situation, first) == first
    assert why_look(situation, first + timedelta(hours=12)) is Why.REST  # until it has been refreshed


def test_a_rest_is_not_put_into_the_night_before_where_there_is_hardly_a_day() -> None:
    hall = replace(HALL, quiet=Hours(time(6), time(5, 55)), panel=panel(rest_s=44 * 3600), timetable=())
    situation = Situation(hall, LONDON, None, london("2026-03-25 05:56"))
    assert why_look(situation, london("2026-03-26 05:55")) is Why.FACTS
    assert why_look(situation, london("2026-03-27 05:55")) is Why.REST


def test_before_anything_is_up_nothing_is_put_off_and_nothing_rests() -> None:
    situation = Situation(HALL, LONDON)
    assert next_look(situation, london("2026-03-27 09:59:59")) == london("2026-03-27 10:00")
    assert why_look(situation, london("2026-03-29 10:00")) is Why.FACTS


def test_quiet_hours_without_an_end_leave_the_usual_interval() -> None:
    always = replace(HALL, quiet=WHOLE_DAY, timetable=())
    situation = Situation(always, LONDON, None, london("2026-03-27 09:00"))
    now = london("2026-03-27 10:00")
    assert next_look(situation, now) == now + HALL.every
    assert last_look(situation, now) is None
    assert why_look(situation, now) is Why.FACTS


def test_moments_in_another_zone_are_the_same_moments() -> None:
    tokyo = london("2026-03-27 09:50").astimezone(ZoneInfo("Asia/Tokyo"))
    situation = Situation(HALL, LONDON, None, tokyo)
    for found in (next_look(situation, tokyo), last_look(situation, tokyo)):
        assert found is not None
        assert found.tzinfo is UTC
    assert next_look(situation, tokyo) == london("2026-03-27 10:00")


# When the clocks are changed. What is skipped and what comes twice: PEP 495; when: the IANA time zone database.


@pytest.mark.parametrize(
    ("zone", "begin", "end", "every_min", "expected"),
    [
        # 29 March 2026, 01:00 GMT becomes 02:00 BST
        ("Europe/London", "2026-03-29T00:10Z", "2026-03-29T02:10Z", 30, ["00:30", "02:00", "02:30", "03:00"]),
        ("Europe/London", "2026-03-28T17:00Z", "2026-03-29T18:00Z", 360, ["18:00", "00:00", "06:00", "12:00", "18:00"]),
        # 25 October 2026, 02:00 BST becomes 01:00 GMT: the hour from 01:00 comes twice
        ("Europe/London", "2026-10-24T23:40Z", "2026-10-25T02:10Z", 30, ["01:00", "01:30", "01:00", "01:30", "02:00"]),
        ("Europe/London", "2026-10-24T22:40Z", "2026-10-25T12:10Z", 360, ["00:00", "06:00", "12:00"]),
        ("Europe/London", "2026-10-24T22:40Z", "2026-10-25T04:10Z", 90, ["00:00", "01:30", "03:00"]),
        # 5 April 2026, 02:00 becomes 01:30 on Lord Howe
        ("Australia/Lord_Howe", "2026-04-04T13:50Z", "2026-04-04T16:00Z", 30, ["01:00", "01:30", "01:30", "02:00"]),
        ("Australia/Lord_Howe", "2026-04-04T13:50Z", "2026-04-04T16:50Z", 60, ["01:00", "02:00", "03:00"]),
        # 27 March 2022, midnight becomes 01:00 in Beirut
        ("Asia/Beirut", "2022-03-26T21:30Z", "2022-03-26T23:30Z", 60, ["01:00", "02:00"]),
        # 29 December 2011 is followed by 31 December in Samoa
        ("Pacific/Apia", "2011-12-30T08:50Z", "2011-12-30T11:10Z", 30, ["23:00", "23:30", "00:00", "00:30", "01:00"]),
    ],
)  # fmt: skip
def test_beats_keep_to_what_the_clocks_show(
    *, zone: str, begin: str, end: str, every_min: int, expected: list[str]
) -> None:
    hall = replace(HALL, every=timedelta(minutes=every_min), quiet=None, timetable=())
    found = looks(Situation(hall, ZoneInfo(zone)), datetime.fromisoformat(begin), datetime.fromisoformat(end))
    assert [f"{at.astimezone(ZoneInfo(zone)):%H:%M}" for at in found] == expected


def test_asked_in_the_second_of_two_hours_a_long_interval_skips_its_multiple_there() -> None:
    hall = replace(HALL, every=timedelta(minutes=90), quiet=None, timetable=())
    now = datetime(2026, 10, 25, 1, 10, tzinfo=UTC)  # 01:10 for the second time
    assert next_look(Situation(hall, LONDON), now) == london("2026-10-25 03:00")
    assert last_look(Situation(hall, LONDON), now) == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    short = replace(hall, every=timedelta(minutes=30))
    assert next_look(Situation(short, LONDON), now) == datetime(2026, 10, 25, 1, 30, tzinfo=UTC)


def test_hours_that_begin_in_a_skipped_hour_begin_when_the_clocks_jump() -> None:
    early = TimetableEntry(Hours(time(1, 20), time(4)), EVERY_DAY, "morning")
    situation = Situation(replace(HALL, every=timedelta(hours=6), quiet=None, timetable=(early,)), LONDON)
    begin = next_look(situation, london("2026-03-29 00:30"))
    assert begin == datetime(2026, 3, 29, 1, tzinfo=UTC)
    assert [shown_at(situation, at)[0] for at in (begin - MINUTE, begin)] == ["hall", "morning"]


def test_hours_that_are_skipped_whole_do_not_come() -> None:
    gone = TimetableEntry(Hours(time(1, 10), time(1, 50)), EVERY_DAY, "morning")
    situation = Situation(replace(HALL, every=timedelta(hours=6), quiet=None, timetable=(gone,)), LONDON)
    assert next_look(situation, london("2026-03-29 00:30")) == london("2026-03-29 06:00")


def test_quiet_hours_that_are_skipped_whole_end_with_no_look() -> None:
    hall = replace(HALL, every=timedelta(hours=6), quiet=Hours(time(1, 10), time(1, 50)), timetable=())
    situation = Situation(hall, LONDON)
    assert next_look(situation, london("2026-03-29 00:30")) == london("2026-03-29 06:00")
    assert next_look(situation, london("2026-03-30 00:30")) == london("2026-03-30 01:50")


def test_hours_within_an_hour_that_comes_twice_come_once() -> None:
    twice = TimetableEntry(Hours(time(1, 10), time(1, 50)), EVERY_DAY, "morning")
    situation = Situation(replace(HALL, every=timedelta(hours=6), quiet=None, timetable=(twice,)), LONDON)
    found = list(looks(situation, london("2026-10-25 00:30"), london("2026-10-25 05:00")))
    assert found == [datetime(2026, 10, 25, 0, 10, tzinfo=UTC), datetime(2026, 10, 25, 0, 50, tzinfo=UTC)]
    assert shown_at(situation, datetime(2026, 10, 25, 1, 20, tzinfo=UTC))[0] == "hall"  # 01:20 once more


def test_quiet_hours_that_end_in_an_hour_that_comes_twice_end_at_the_first() -> None:
    hall = replace(HALL, quiet=Hours(time(23), time(1, 30)), timetable=())
    situation = Situation(hall, LONDON)
    assert next_look(situation, london("2026-10-24 22:40")) == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    assert not is_quiet(situation, datetime(2026, 10, 25, 1, 10, tzinfo=UTC))


def test_quiet_hours_from_midnight_hold_on_when_the_clocks_go_back_to_the_day_before() -> None:
    """In Newfoundland the clocks went back at 00:01, to 23:01 of the day before, until 2011 (IANA, northamerica)."""
    zone = ZoneInfo("America/St_Johns")
    situation = Situation(replace(HALL, quiet=Hours(time(0), time(6)), timetable=()), zone)
    midnight = datetime(2006, 10, 29, tzinfo=zone).replace(fold=0).astimezone(UTC)
    second = [midnight + step * MINUTE for step in (-1, 0, 1, 30, 70)]
    assert [f"{at.astimezone(zone):%d %H:%M}" for at in second] == ["28 23:59", "29 00:00", "28 23:01", "28 23:30", "29 00:10"]  # fmt: skip
    assert [is_quiet(situation, at) for at in second] == [False, True, True, True, True]


def test_an_interval_longer_than_a_day_falls_on_the_same_days_everywhere() -> None:
    week = replace(HALL, every=timedelta(days=7), quiet=None, timetable=())
    found = list(looks(Situation(week, LONDON), london("2026-03-18 00:00"), london("2026-04-12 00:00")))
    assert shown(iter(found)) == ["23 00:00", "30 00:00", "06 00:00"]  # Mondays, over a change of the clocks
    assert {at.astimezone(LONDON).isoweekday() for at in found} == {1}


# Against RFC 5545 recurrence rules, reckoned by dateutil.


@pytest.mark.parametrize(
    ("display", "rule"),
    [
        (replace(HALL, every=timedelta(hours=6)), "FREQ=DAILY;BYHOUR=0,6,12,18"),
        (replace(HALL, every=timedelta(days=1)), "FREQ=DAILY;BYHOUR=0"),
        (replace(HALL, every=timedelta(hours=2, minutes=30)), "FREQ=DAILY;BYSETPOS=1,2,3,4,5,6,7,8,9,10;BYHOUR=0,2,5,7,10,12,15,17,20,22;BYMINUTE=0,30"),
        (replace(HALL, every=timedelta(days=7)), "FREQ=WEEKLY;BYDAY=MO"),
    ],
)  # fmt: skip
def test_beats_of_a_year_against_a_recurrence_rule(display: Display, rule: str) -> None:
    if "BYSETPOS" in rule:  # every two hours and a half: the even ones at :00, the odd ones at :30
        rule = "RRULE:FREQ=DAILY;BYHOUR=0,5,10,15,20\nRRULE:FREQ=DAILY;BYHOUR=2,7,12,17,22;BYMINUTE=30"
    begin, end = reading("2026-01-01"), reading("2026-12-31")
    rules = rrulestr(rule, dtstart=begin, forceset=True).between(begin, end)
    expected = [reading.replace(tzinfo=LONDON).astimezone(UTC) for reading in rules]
    plain = Situation(replace(display, quiet=None, timetable=()), LONDON)
    assert list(looks(plain, begin.replace(tzinfo=LONDON), end.replace(tzinfo=LONDON))) == expected


def test_a_timetable_of_a_year_against_recurrence_rules() -> None:
    """Edges at times of the day that are never skipped nor doubled in London."""
    holidays = (Dates((12, 20), (1, 6)),)
    hall = replace(
        HALL,
        every=timedelta(days=1),
        quiet=None,
        timetable=(
            TimetableEntry(Hours(time(6, 10), time(9, 5)), WORKDAYS, "morning"),
            TimetableEntry(Hours(time(17, 3), time(2, 7)), EVERY_DAY, "evening", holidays),
        ),
    )
    begin, end = reading("2026-01-10"), reading("2027-01-10")
    rules = """RRULE:FREQ=DAILY;BYHOUR=0
RRULE:FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR;BYHOUR=6;BYMINUTE=10
RRULE:FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR;BYHOUR=9;BYMINUTE=5
RRULE:FREQ=YEARLY;BYMONTH=12;BYMONTHDAY=20,21,22,23,24,25,26,27,28,29,30,31;BYHOUR=17;BYMINUTE=3
RRULE:FREQ=YEARLY;BYMONTH=1;BYMONTHDAY=1,2,3,4,5,6;BYHOUR=17;BYMINUTE=3
RRULE:FREQ=YEARLY;BYMONTH=12;BYMONTHDAY=21,22,23,24,25,26,27,28,29,30,31;BYHOUR=2;BYMINUTE=7
RRULE:FREQ=YEARLY;BYMONTH=1;BYMONTHDAY=1,2,3,4,5,6,7;BYHOUR=2;BYMINUTE=7"""
    expected = rrulestr(rules, dtstart=begin, forceset=True).between(begin, end)
    found = looks(Situation(hall, LONDON), begin.replace(tzinfo=LONDON), end.replace(tzinfo=LONDON))
    assert [at.astimezone(LONDON).replace(tzinfo=None) for at in found] == expected


# When a device is to call.


def test_phases_are_stable_and_uniform() -> None:
    """Pearson's statistic over 20 classes of 10,000 names.

    Source of the limit: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4, upper critical values of the
    chi-square distribution, 19 degrees of freedom, 0.01: 36.191.
    """
    phases = [phase_s(f"hut-{number}", every_s=1800) for number in range(10_000)]
    assert all(0 <= phase < 180 for phase in phases)
    counts = [0] * 20
    for phase in phases:
        counts[int(phase / 9)] += 1
    assert sum((count - 500) ** 2 / 500 for count in counts) < 36.191
    assert phases[7] == phase_s("hut-7", every_s=1800)
    # SHA-256 of "hall" begins with these 16 digits (coreutils' sha256sum).
    assert phase_s("hall", every_s=1800) == int("3cbaeb57c64020ee", 16) / 2**64 * 180


def test_a_long_interval_spreads_no_further_than_five_minutes() -> None:
    phases = [phase_s(f"hut-{number}", every_s=86400) for number in range(1000)]
    assert 290 < max(phases) < 300


@pytest.mark.parametrize(
    ("now_s", "looks_at_s", "ready_s", "phase", "expected"),
    [
        (1000.0, 2800.0, 20.0, 0.0, 1820),
        (1000.0, 2800.0, 20.0, 0.2, 1821),
        (1000.9, 2800.0, 20.0, 0.0, 1820),
        (1000.0, 1010.0, 5.0, 0.0, 60),  # never sooner than a minute
        (1000.0, 990.0, 120.0, 30.5, 141),  # being pressed: a short wait
        (1000.0, 500.0, 20.0, 100.0, 60),  # late
        (1000.0, 1000.0 + 30 * 86400, 20.0, 0.0, 7 * 86400),
    ],
)  # fmt: skip
def test_how_long_a_device_sleeps(
    *, now_s: float, looks_at_s: float, ready_s: float, phase: float, expected: int
) -> None:
    assert back_in_s(now_s, looks_at_s=looks_at_s, ready_s=ready_s, phase_s=phase) == expected


milliseconds = st.integers(0, 7 * 86_400_000 - 1_000_000)


@given(milliseconds, milliseconds, st.integers(0, 120_000), st.integers(0, 300_000), st.integers(60, 3600))
def test_nobody_wakes_early(now: int, ahead: int, ready: int, phase: int, least: int) -> None:
    moment = 1_774_000_000 + now / 1000
    wait = back_in_s(
        moment, looks_at_s=moment + ahead / 1000, ready_s=ready / 1000, phase_s=phase / 1000, least_s=least
    )
    arrives = Fraction(moment) + wait
    due = Fraction(moment + ahead / 1000) + Fraction(ready / 1000) + Fraction(phase / 1000)
    assert arrives >= due - Fraction(
        1, 10**6
    )  # what a float of Unix time can tell apart is 0.24 microseconds
    assert wait >= least
    assert wait == least or arrives < due + 1
