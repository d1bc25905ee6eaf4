# ruff: noqa: DTZ001 - clock times are compared with clock times
"""Calendars into agendas: the worked examples of RFC 5545, and the traps of real calendars."""

from collections.abc import Mapping
from contextlib import suppress
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from types import MappingProxyType
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wallbill.errors import Place, SourceError
from wallbill.facts.agenda import Agenda, Event
from wallbill.sources.agenda import ahead_days, parse
from wallbill.sources.spec import ParseContext, SourceSpec

PAYLOADS = Path(__file__).parent / "payloads"
LONDON = ZoneInfo("Europe/London")
NEW_YORK = ZoneInfo("America/New_York")
NOW = datetime(2026, 3, 14, 7, 45, tzinfo=UTC)


def _context(
    now: datetime = NOW, zone: ZoneInfo = LONDON, options: Mapping[str, object] | None = None
) -> ParseContext:
    spec = SourceSpec(
        "club",
        "agenda",
        MappingProxyType(dict(options or {})),
        None,
        timedelta(hours=6),
        Place("wall.toml", 9),
    )
    return ParseContext(spec, zone, 50.31, -4.05, now, now, "en-GB")


def _calendar(*bodies: str, head: str = "") -> bytes:
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Fennel Quay//Tests//EN"]
    lines += [line for text in (head, *bodies) for line in text.strip().splitlines()]
    return "\r\n".join([*lines, "END:VCALENDAR", ""]).encode()


def _entry(body: str, kind: str = "VEVENT", uid: str = "u1@fennel-quay.invalid") -> str:
    return f"BEGIN:{kind}\nUID:{uid}\n{body.strip()}\nEND:{kind}"


def _read(data: bytes, **context: Any) -> Agenda:
    return parse(data, _context(**context))


def _hour(moment: datetime | date) -> int:
    assert isinstance(moment, datetime)
    return moment.hour


def _local(agenda: Agenda, zone: ZoneInfo) -> list[datetime | date]:
    return [
        event.starts.astimezone(zone).replace(tzinfo=None)
        if isinstance(event.starts, datetime)
        else event.starts
        for event in agenda.events
    ]


def _new_york(start: str, rule: str, until: date) -> list[datetime | date]:
    """Starts by the clock of New York of a rule at 09:00, up to and with ``until``."""
    first = datetime.fromisoformat(f"{start}T09:00")
    now = first.replace(tzinfo=NEW_YORK)
    body = f"DTSTART;TZID=America/New_York:{first:%Y%m%dT%H%M%S}\n{rule}\nSUMMARY:Rule"
    ahead = (until - first.date()).days + 1
    found: list[datetime | date] = []
    # Windows of 800 days one after the other, as a rule may span years.
    while ahead > 0:
        days = min(ahead, 800)
        agenda = _read(_calendar(_entry(body)), now=now, zone=NEW_YORK, options={"ahead": days})
        found += [when for when in _local(agenda, NEW_YORK) if when not in found]
        now, ahead = now + timedelta(days=days), ahead - days
    return found


def _nine(text: str) -> list[datetime]:
    return [datetime.fromisoformat(f"{day.strip()}T09:00") for day in text.split(",")]


# Source: RFC 5545 section 3.8.5.3, all with DTSTART;TZID=America/New_York at 09:00. R12 ("every 3 hours") is left
# out as its printed list is wrong: 17:00Z is 13:00 EDT.
RFC = {
    "R1": (
        "1997-09-29",
        "RRULE:FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-2",
        "1997-09-29,1997-10-30,1997-11-27,1997-12-30,1998-01-29,1998-02-26,1998-03-30",
    ),
    "R2": (
        "2007-01-15",
        "RRULE:FREQ=MONTHLY;BYMONTHDAY=15,30;COUNT=5",
        "2007-01-15,2007-01-30,2007-02-15,2007-03-15,2007-03-30",
    ),
    "R3": (
        "1997-08-05",
        "RRULE:FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=MO",
        "1997-08-05,1997-08-10,1997-08-19,1997-08-24",
    ),
    "R4": (
        "1997-08-05",
        "RRULE:FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=SU",
        "1997-08-05,1997-08-17,1997-08-19,1997-08-31",
    ),
    "R5": (
        "1997-09-02",
        "EXDATE;TZID=America/New_York:19970902T090000\nRRULE:FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13",
        "1998-02-13,1998-03-13,1998-11-13,1999-08-13,2000-10-13",
    ),
    "R6": (
        "1997-05-12",
        "RRULE:FREQ=YEARLY;BYWEEKNO=20;BYDAY=MO",
        "1997-05-12,1998-05-11,1999-05-17",
    ),
    "R7": (
        "1996-11-05",
        "RRULE:FREQ=YEARLY;INTERVAL=4;BYMONTH=11;BYDAY=TU;BYMONTHDAY=2,3,4,5,6,7,8",
        "1996-11-05,2000-11-07,2004-11-02",
    ),
    "R8": (
        "1997-09-07",
        "RRULE:FREQ=MONTHLY;INTERVAL=2;COUNT=10;BYDAY=1SU,-1SU",
        "1997-09-07,1997-09-28,1997-11-02,1997-11-30,1998-01-04,1998-01-25,1998-03-01,1998-03-29,1998-05-03,1998-05-31",
    ),
    "R9": (
        "1997-01-01",
        "RRULE:FREQ=YEARLY;INTERVAL=3;COUNT=10;BYYEARDAY=1,100,200",
        "1997-01-01,1997-04-10,1997-07-19,2000-01-01,2000-04-09,2000-07-18,2003-01-01,2003-04-10,2003-07-19,2006-01-01",
    ),
    "R10": (
        "1997-09-10",
        "RRULE:FREQ=MONTHLY;INTERVAL=18;COUNT=10;BYMONTHDAY=10,11,12,13,14,15",
        "1997-09-10,1997-09-11,1997-09-12,1997-09-13,1997-09-14,1997-09-15,1999-03-10,1999-03-11,1999-03-12,1999-03-13",
    ),
    "R11": (
        "1997-09-02",
        "RRULE:FREQ=WEEKLY;UNTIL=19971224T000000Z",
        "1997-09-02,1997-09-09,1997-09-16,1997-09-23,1997-09-30,1997-10-07,1997-10-14,1997-10-21,1997-10-28,1997-11-04,1997-11-11,1997-11-18,1997-11-25,1997-12-02,1997-12-09,1997-12-16,1997-12-23",
    ),
}


@pytest.mark.parametrize("name", RFC)
def test_the_worked_rules_of_the_standard(name: str) -> None:
    start, rule, days = RFC[name]
    wanted = _nine(days)
    assert _new_york(start, rule, wanted[-1].date() + timedelta(days=3)) == wanted


def test_several_times_a_day() -> None:
    # Source: RFC 5545 3.8.5.3, "every 20 minutes from 9:00 AM to 4:40 PM every day" (R13).
    rule = "RRULE:FREQ=DAILY;BYHOUR=9,10,11,12,13,14,15,16;BYMINUTE=0,20,40"
    found = [w for w in _new_york("1997-09-02", rule, date(1997, 9, 2)) if str(w).startswith("1997-09-02")]
    assert len(found) == 24
    assert found[:2] + found[-1:] == [
        datetime(1997, 9, 2, 9), datetime(1997, 9, 2, 9, 20), datetime(1997, 9, 2, 16, 40),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("clock", "instant"),
    [  # Source: RFC 5545 section 3.3.5: the first of a doubled hour; the offset before a gap.
        ("20071104T013000", datetime(2007, 11, 4, 5, 30, tzinfo=UTC)),
        ("20070311T023000", datetime(2007, 3, 11, 7, 30, tzinfo=UTC)),
    ],
)
def test_clock_times_that_are_doubled_or_missing(clock: str, instant: datetime) -> None:
    agenda = _read(
        _calendar(_entry(f"DTSTART;TZID=America/New_York:{clock}\nSUMMARY:Watch")), now=instant, zone=NEW_YORK
    )
    assert [event.starts for event in agenda.events] == [instant]


def test_leap_days_come_in_leap_years() -> None:
    # M1. RFC 5545 3.3.10: "Recurrence rules may generate recurrence instances with an invalid date ... ignored".
    body = "DTSTART;VALUE=DATE:20200229\nRRULE:FREQ=YEARLY;COUNT=3\nSUMMARY:Leap"
    found = []
    for year in range(2020, 2029):
        now = datetime(year, 2, 20, tzinfo=UTC)
        found += [event.starts for event in _read(_calendar(_entry(body)), now=now).events]
    assert found == [date(2020, 2, 29), date(2024, 2, 29), date(2028, 2, 29)]


def test_months_without_a_31st_are_passed_over() -> None:
    # M2, as above.
    body = "DTSTART;VALUE=DATE:20250131\nRRULE:FREQ=MONTHLY;COUNT=4\nSUMMARY:Books"
    agenda = _read(_calendar(_entry(body)), now=datetime(2025, 1, 31, tzinfo=UTC), options={"ahead": 200})
    assert [e.starts for e in agenda.events] == [date(2025, m, 31) for m in (1, 3, 5, 7)]
    assert agenda.events[0].ends == date(2025, 2, 1)


def test_the_clock_time_stays_over_a_clock_change() -> None:
    # M3. RFC 5545 3.3.10: rules are by local time.
    body = "DTSTART;TZID=Europe/Berlin:20241020T090000\nRRULE:FREQ=WEEKLY;COUNT=3\nSUMMARY:Tide"
    agenda = _read(_calendar(_entry(body)), now=datetime(2024, 10, 20, tzinfo=UTC))
    assert [event.starts for event in agenda.events] == [
        datetime(2024, 10, 20, 7, tzinfo=UTC),
        datetime(2024, 10, 27, 8, tzinfo=UTC),
        datetime(2024, 11, 3, 8, tzinfo=UTC),
    ]


def test_an_hour_that_is_skipped_takes_the_offset_before_it() -> None:
    # M4. RFC 5545 3.3.10 contradicts itself here; 3.3.5 and the library take the offset before the gap.
    body = "DTSTART;TZID=America/New_York:20240308T023000\nRRULE:FREQ=DAILY;COUNT=4\nSUMMARY:Night"
    agenda = _read(_calendar(_entry(body)), now=datetime(2024, 3, 8, 12, tzinfo=UTC), zone=NEW_YORK)
    assert agenda.events[2].starts == datetime(2024, 3, 10, 7, 30, tzinfo=UTC)


@pytest.mark.parametrize("length", ["DURATION:PT30M", "DTEND;TZID=America/New_York:20241102T020000"])
def test_half_an_hour_stays_half_an_hour_when_the_clock_goes_back(length: str) -> None:
    # M5. RFC 5545 3.8.5.3: "the same exact duration will apply to all the members".
    body = f"DTSTART;TZID=America/New_York:20241102T013000\n{length}\nRRULE:FREQ=DAILY;COUNT=3\nSUMMARY:Watch"
    agenda = _read(_calendar(_entry(body)), now=datetime(2024, 11, 2, 5, tzinfo=UTC), zone=NEW_YORK)
    assert agenda.events[1].starts == datetime(2024, 11, 3, 5, 30, tzinfo=UTC)
    spans = [
        e.ends - e.starts
        for e in agenda.events
        if isinstance(e.ends, datetime) and isinstance(e.starts, datetime)
    ]
    assert spans == [timedelta(minutes=30)] * 3


def test_a_single_night_over_the_clock_change_ends_as_told() -> None:
    body = (
        "DTSTART;TZID=Europe/London:20260328T220000\nDTEND;TZID=Europe/London:20260329T060000\nSUMMARY:Watch"
    )
    (event,) = _read(_calendar(_entry(body))).events
    assert (event.starts, event.ends) == (
        datetime(2026, 3, 28, 22, tzinfo=UTC),
        datetime(2026, 3, 29, 5, tzinfo=UTC),
    )


def test_a_length_of_whole_days_is_by_the_calendar() -> None:
    # RFC 5545 3.3.6: a duration in days is nominal.
    body = "DTSTART;TZID=Europe/London:20260327T120000\nDURATION:P1D\nRRULE:FREQ=DAILY;COUNT=2\nSUMMARY:Watch"
    agenda = _read(_calendar(_entry(body)))
    assert agenda.events[1].ends == datetime(2026, 3, 29, 11, tzinfo=UTC)


def test_exceptions_additions_and_moves() -> None:
    # M6: EXDATE, RDATE and RECURRENCE-ID in one series.
    master = """DTSTART;TZID=Europe/Paris:20250106T100000
RRULE:FREQ=WEEKLY;COUNT=5
EXDATE;TZID=Europe/Paris:20250120T100000
RDATE;TZID=Europe/Paris:20250122T150000
SUMMARY:Crew"""
    moved = """RECURRENCE-ID;TZID=Europe/Paris:20250127T100000
DTSTART;TZID=Europe/Paris:20250128T140000
SUMMARY:Crew (moved)"""
    paris = ZoneInfo("Europe/Paris")
    agenda = _read(_calendar(_entry(master), _entry(moved)), now=datetime(2025, 1, 6, tzinfo=UTC), zone=paris)
    assert _local(agenda, paris) == [
        datetime(2025, 1, 6, 10),
        datetime(2025, 1, 13, 10),
        datetime(2025, 1, 22, 15),
        datetime(2025, 1, 28, 14),
        datetime(2025, 2, 3, 10),
    ]
    assert agenda.events[3].summary == "Crew (moved)"


def test_the_end_of_whole_days_is_exclusive() -> None:
    # M7. Source: RFC 5545 section 3.6.1, its example of 28 June to 8 July 2007.
    body = "DTSTART;VALUE=DATE:20070628\nDTEND;VALUE=DATE:20070709\nSUMMARY:Festival International de Jazz"
    agenda = _read(_calendar(_entry(body)), now=datetime(2007, 6, 28, tzinfo=UTC))
    assert len(agenda.on(date(2007, 6, 28), LONDON)) == len(agenda.on(date(2007, 7, 8), LONDON)) == 1
    assert not agenda.on(date(2007, 7, 9), LONDON)
    assert agenda.events[0].last_day == date(2007, 7, 8)


def test_times_without_a_zone_are_the_walls() -> None:
    # M8: floating.
    body = "DTSTART:20250330T023000\nRRULE:FREQ=DAILY;COUNT=2\nSUMMARY:Watch"
    berlin = ZoneInfo("Europe/Berlin")
    agenda = _read(_calendar(_entry(body)), now=datetime(2025, 3, 30, tzinfo=UTC), zone=berlin)
    assert [event.starts for event in agenda.events] == [
        datetime(2025, 3, 30, 1, 30, tzinfo=UTC),
        datetime(2025, 3, 31, 0, 30, tzinfo=UTC),
    ]
    assert agenda.origin.findings == ()


def test_until_is_inclusive() -> None:
    # M9: 09:00 EST is 14:00Z. RFC 5545 3.3.10.
    found = _new_york("2024-11-01", "RRULE:FREQ=DAILY;UNTIL=20241104T140000Z", date(2024, 11, 10))
    assert found == _nine("2024-11-01,2024-11-02,2024-11-03,2024-11-04")


def test_cancelled_ones_are_left_out() -> None:
    # M10, a cancelled day of a series, and a cancelled single event.
    agenda = _read(
        _calendar(
            _entry("DTSTART:20260315T100000Z\nRRULE:FREQ=DAILY;COUNT=3\nSUMMARY:Ferry"),
            _entry(
                "RECURRENCE-ID:20260316T100000Z\nDTSTART:20260316T100000Z\nSTATUS:CANCELLED\nSUMMARY:Ferry"
            ),
            _entry("DTSTART:20260315T110000Z\nSTATUS:CANCELLED\nSUMMARY:Off", uid="u2"),
            _entry("DTSTART:20260315T120000Z\nSTATUS:TENTATIVE\nSUMMARY:Perhaps", uid="u3"),
        )
    )
    assert [(e.summary, e.starts.day, e.tentative) for e in agenda.events] == [
        ("Ferry", 15, False), ("Perhaps", 15, True), ("Ferry", 17, False),
    ]  # fmt: skip


def test_this_and_all_that_follow() -> None:
    # M11: RANGE=THISANDFUTURE, with a new length.
    agenda = _read(
        _calendar(
            _entry("DTSTART:20260315T100000Z\nDTEND:20260315T110000Z\nRRULE:FREQ=DAILY;COUNT=4\nSUMMARY:Old"),
            _entry(
                "RECURRENCE-ID;RANGE=THISANDFUTURE:20260317T100000Z\nDTSTART:20260317T120000Z\n"
                "DTEND:20260317T150000Z\nSUMMARY:New"
            ),
        )
    )
    hours = [(e.summary, _hour(e.starts), _hour(e.ends)) for e in agenda.events]
    assert hours == [("Old", 10, 11), ("Old", 10, 11), ("New", 12, 15), ("New", 12, 15)]


def test_the_sample_calendar() -> None:
    agenda = _read((PAYLOADS / "calendar.ics").read_bytes())
    assert agenda.name == "Fennel Quay"
    assert [(event.summary, str(event.starts)) for event in agenda.events][:4] == [
        ("Choir practice (moved to Tuesday)", "2026-03-24 19:00:00+00:00"),
        ("Spring fair – all weekend; clocks change", "2026-03-28"),
        ("Choir practice", "2026-03-30 17:00:00+00:00"),
        ("Choir practice", "2026-04-06 17:00:00+00:00"),
    ]
    assert agenda.events[1].all_day
    assert agenda.events[2].location == "Great room, first floor"
    assert agenda.events[2].categories == ("MUSIC", "WEEKLY")
    assert not any("Boat" in event.summary for event in agenda.events)
    assert [(todo.summary, todo.done) for todo in agenda.todos] == [
        ("Order paper for the notice board", False), ("Bleed the radiators", True),
    ]  # fmt: skip
    assert [todo.summary for todo in agenda.undone] == ["Order paper for the notice board"]


def test_an_unknown_zone_is_the_walls_and_is_told() -> None:
    agenda = _read(_calendar(_entry("DTSTART;TZID=Nowhere/Harbour:20260315T100000\nSUMMARY:Tea")))
    assert agenda.events[0].starts == datetime(2026, 3, 15, 10, tzinfo=UTC)
    (finding,) = agenda.origin.findings
    assert finding.rule == "sources.unknown-zone"
    assert "'Nowhere/Harbour'" in str(finding)
    assert finding.where == Place("club", 4, "Tea")


def test_zone_names_of_an_office_suite_are_known() -> None:
    # Unicode CLDR windowsZones: W. Europe Standard Time is Europe/Berlin (through babel and icalendar).
    agenda = _read(_calendar(_entry("DTSTART;TZID=W. Europe Standard Time:20260315T100000\nSUMMARY:Tea")))
    assert agenda.events[0].starts == datetime(2026, 3, 15, 9, tzinfo=UTC)


@pytest.mark.parametrize(
    ("bad", "why"),
    [
        ("DTSTART:2026031\nRRULE:FREQ=DAILY", "DTSTART"),
        ("DTSTART:20260315T1000", "DTSTART"),
        ("SEQUENCE:x", "no DTSTART"),
        ("DTSTART:20260315T100000Z\nRRULE:FREQ=NEVER", "RRULE"),
        ("DTSTART:20260315T100000Z\nRRULE:FREQ=SECONDLY", "200 times a day"),
        ("DTSTART:20260315T100000Z\nRRULE:FREQ=DAILY;INTERVAL=0", "never comes"),
        ("DTSTART:20260315T100000Z\nRRULE:FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30,31", "never comes"),
        ("DTSTART:19000101T100000Z\nRRULE:FREQ=HOURLY", "300000 steps"),
        ("DTSTART;VALUE=DATE,DATE-TIME:20260315", "cannot be read"),
        ("DTSTART:20260315T100000Z\nRRULE:FREQ=DAILY;BYHOUR=1,2,3,4,5;BYMINUTE=0,1,2,3,4,5,6,7;BYSECOND=0,1,2,3,4,5", "200"),
    ],
)  # fmt: skip
def test_one_bad_event_does_not_lose_the_calendar(bad: str, why: str) -> None:
    good = _entry("DTSTART:20260315T100000Z\nRRULE:FREQ=DAILY;COUNT=2\nSUMMARY:Good", uid="good")
    agenda = _read(_calendar(_entry(f"{bad}\nSUMMARY:Bad"), good))
    assert [event.summary for event in agenda.events] == ["Good", "Good"]
    (finding,) = agenda.origin.findings
    assert finding.rule == "sources.left-out"
    assert finding.where == Place("club", 4, "Bad")
    assert why in finding.what


def test_a_series_that_only_fails_when_laid_out_is_left_out_alone() -> None:
    # UNTIL before 1970 with a local zone makes some libraries fail; whatever fails, the other series stays.
    good = _entry("DTSTART:20260315T100000Z\nSUMMARY:Good", uid="good")
    bad = _entry(
        "DTSTART:20260315T100000Z\nDTEND;VALUE=DATE:20260316\nRRULE:FREQ=DAILY;COUNT=2\nSUMMARY:Mixed"
    )
    agenda = _read(_calendar(bad, good))
    assert "Good" in [event.summary for event in agenda.events]


def test_two_events_of_one_uid_both_stay_and_versions_do_not() -> None:
    agenda = _read(
        _calendar(
            _entry("DTSTART:20260315T100000Z\nSUMMARY:One", uid="same"),
            _entry("DTSTART:20260316T100000Z\nSUMMARY:Two", uid="same"),
            _entry("DTSTART:20260317T100000Z\nSUMMARY:Old\nSEQUENCE:1", uid="v"),
            _entry("DTSTART:20260318T100000Z\nSUMMARY:New\nSEQUENCE:2", uid="v"),
            "BEGIN:VEVENT\nDTSTART:20260319T100000Z\nSUMMARY:No UID\nEND:VEVENT",
        )
    )
    assert [(e.summary, e.uid) for e in agenda.events] == [
        ("One", "same"), ("Two", "same"), ("New", "v"), ("No UID", ""),
    ]  # fmt: skip


def test_a_calendar_that_names_its_zone_apart_is_repaired() -> None:
    # X-WR-TIMEZONE: times in UTC that repeat by the clock of the named zone. Common practice, no standard.
    body = "DTSTART:20260323T183000Z\nRRULE:FREQ=WEEKLY;COUNT=2\nSUMMARY:Choir"
    agenda = _read(_calendar(_entry(body), head="X-WR-TIMEZONE:Europe/London"))
    assert [event.starts for event in agenda.events] == [
        datetime(2026, 3, 23, 18, 30, tzinfo=UTC),
        datetime(2026, 3, 30, 17, 30, tzinfo=UTC),
    ]


def test_a_zone_defined_in_the_calendar_only() -> None:
    zone = """BEGIN:VTIMEZONE
TZID:Harbour time
BEGIN:STANDARD
DTSTART:19700101T000000
TZOFFSETFROM:+0230
TZOFFSETTO:+0230
END:STANDARD
END:VTIMEZONE"""
    agenda = _read(_calendar(_entry("DTSTART;TZID=Harbour time:20260315T100000\nSUMMARY:Tea"), head=zone))
    assert agenda.events[0].starts == datetime(2026, 3, 15, 7, 30, tzinfo=UTC)
    assert not agenda.origin.findings


def test_folds_inside_a_letter_escapes_and_a_byte_order_mark() -> None:
    # RFC 5545 3.1: lines fold at octets, so a fold may stand inside a UTF-8 sequence; unfold before decoding.
    summary = "SUMMARY:Übung\\, Ölzeug\\; und\\nTee \\\\ Kuchen".encode()
    cut = summary.index("Ö".encode()) + 1
    folded = summary[:cut] + b"\r\n " + summary[cut:]
    data = _calendar(_entry("DTSTART:20260315T100000Z\nSUMMARY:@@")).replace(b"SUMMARY:@@", folded)
    agenda = _read(b"\xef\xbb\xbf" + data)
    assert agenda.events[0].summary == "Übung, Ölzeug; und\nTee \\ Kuchen"
    assert _read(data.replace(b"\r\n", b"\n")).events[0].summary == agenda.events[0].summary


def test_letters_that_are_not_utf_8_and_lines_that_are_none() -> None:
    data = _calendar(_entry("DTSTART:20260315T100000Z\nSUMMARY:@@"))
    data = data.replace(b"SUMMARY:@@", b"a stray line\r\nSUMMARY:Caf\xe9")
    agenda = _read(data)
    assert agenda.events[0].summary == "Café"
    assert {(f.rule, f.where.line) for f in agenda.origin.findings} == {
        ("sources.calendar-line", 7),
        ("sources.calendar-line", 8),
    }


@pytest.mark.parametrize(
    ("data", "line", "what"),
    [
        (b" \r\n", None, "empty"),
        (b"<!DOCTYPE html>\n<html lang='en'><body>Log in: now</body></html>", 1, "a web page"),
        (b"time,value\n2026-03-14T07:45:00Z,3\n", 1, "no calendar"),
        (
            _calendar(_entry("DTSTART:20260315T100000Z\nSUMMARY:Tea"))[:130],
            6,
            "stops in the middle of VEVENT",
        ),
        (
            _calendar(_entry("DTSTART:20260315T100000Z\nEND:VALARM\nSUMMARY:Tea")),
            7,
            "END:VALARM closes VEVENT",
        ),
    ],
)
def test_what_is_no_calendar_is_refused_with_its_line(data: bytes, line: int | None, what: str) -> None:
    with pytest.raises(SourceError) as caught:
        _read(data)
    assert what in caught.value.what
    assert caught.value.mend
    if line is not None:
        assert caught.value.where.line == line


def test_an_empty_calendar_is_an_empty_agenda() -> None:
    agenda = _read(_calendar())
    assert (agenda.events, agenda.todos, agenda.name) == ((), (), "club")


def test_to_dos_in_order_of_need() -> None:
    def todo(body: str, uid: str) -> str:
        return _entry(body, kind="VTODO", uid=uid)

    agenda = _read(
        _calendar(
            todo("SUMMARY:Done\nSTATUS:COMPLETED\nPRIORITY:1", "a"),
            todo("SUMMARY:Some time", "b"),
            todo("SUMMARY:Later\nDUE;VALUE=DATE:20260401\nPRIORITY:5", "c"),
            todo("SUMMARY:First\nDUE:20260313T100000Z\nPRIORITY:1", "d"),
            todo("SUMMARY:Sooner\nDUE;VALUE=DATE:20260320\nPRIORITY:5", "e"),
            todo("SUMMARY:Dropped\nSTATUS:CANCELLED", "f"),
            todo("SUMMARY:All of it\nPERCENT-COMPLETE:100", "g"),
            todo("SUMMARY:Reckoned\nDTSTART;VALUE=DATE:20260318\nDURATION:P2D\nPRIORITY:9", "h"),
        )
    )
    assert [todo.summary for todo in agenda.undone] == ["First", "Sooner", "Later", "Reckoned", "Some time"]
    assert {todo.summary for todo in agenda.todos if todo.done} == {"Done", "All of it"}
    assert [todo.summary for todo in agenda.todos if todo.overdue(NOW, LONDON)] == ["First"]
    assert agenda.todos[3].due == date(2026, 3, 20)


def test_a_repeating_to_do_shows_its_next_undone_turn() -> None:
    body = "DTSTART;VALUE=DATE:20260314\nDUE;VALUE=DATE:20260315\nRRULE:FREQ=WEEKLY\nSUMMARY:Pump out"
    done = "RECURRENCE-ID;VALUE=DATE:20260314\nDTSTART;VALUE=DATE:20260314\nDUE;VALUE=DATE:20260315\nSTATUS:COMPLETED\nSUMMARY:Pump out"
    agenda = _read(_calendar(_entry(body, kind="VTODO"), _entry(done, kind="VTODO")))
    assert [(todo.summary, todo.due, todo.done) for todo in agenda.todos] == [
        ("Pump out", date(2026, 3, 22), False)
    ]


def test_the_window_and_the_order() -> None:
    agenda = _read(
        _calendar(
            _entry("DTSTART:20260315T100000Z\nSUMMARY:B", uid="1"),
            _entry("DTSTART:20260315T100000Z\nSUMMARY:A", uid="2"),
            _entry("DTSTART;VALUE=DATE:20260315\nSUMMARY:Whole day", uid="3"),
            _entry("DTSTART:20260312T235900Z\nDTEND:20260313T000000Z\nSUMMARY:Just before", uid="4"),
            _entry("DTSTART:20260312T235900Z\nDTEND:20260313T000001Z\nSUMMARY:Reaches in", uid="5"),
            _entry("DTSTART;VALUE=DATE:20260310\nDTEND;VALUE=DATE:20260313\nSUMMARY:Days before", uid="6"),
            _entry("DTSTART:20260513T000000Z\nSUMMARY:After", uid="7"),
            _entry("DTSTART:20260512T225959Z\nSUMMARY:Last", uid="8"),
        )
    )
    assert [e.summary for e in agenda.events] == ["Reaches in", "Whole day", "A", "B", "Last"]


@pytest.mark.parametrize("value", [0, 801, "soon", -3, True, "60 weeks"])
def test_ahead_must_be_days(value: object) -> None:
    with pytest.raises(SourceError, match="ahead"):
        ahead_days(value, Place("wall.toml", 9))


@pytest.mark.parametrize(("value", "days"), [(60, 60), ("60 days", 60), ("7 d", 7), ("1 day", 1)])
def test_ahead_in_days(value: object, days: int) -> None:
    assert ahead_days(value, Place()) == days


@settings(max_examples=40, deadline=None)
@given(
    start=st.datetimes(datetime(2026, 3, 13), datetime(2026, 4, 30)),
    length=st.timedeltas(timedelta(0), timedelta(days=4)),
    zone=st.sampled_from(["Europe/London", "America/New_York", "Asia/Kathmandu", "Pacific/Apia"]),
)
def test_an_event_is_on_each_day_that_it_touches(start: datetime, length: timedelta, zone: str) -> None:
    where = ZoneInfo(zone)
    event = Event("u", "s", start.replace(tzinfo=UTC), start.replace(tzinfo=UTC) + length)
    agenda = Agenda(_read(_calendar()).origin, "a", (event,))
    days = [date(2026, 3, 10) + timedelta(days=n) for n in range(60)]
    on = [day for day in days if agenda.on(day, where)]
    first = event.starts.astimezone(where).date() if isinstance(event.starts, datetime) else None
    assert on[0] == first
    assert [b - a for a, b in pairwise(on)] == [timedelta(days=1)] * (len(on) - 1)
    ends = start.replace(tzinfo=UTC) + max(timedelta(0), length - timedelta(microseconds=1))
    assert on[-1] == ends.astimezone(where).date()


@settings(max_examples=150, deadline=None)
@given(
    cut=st.integers(0, 1900), gone=st.integers(0, 40), put=st.sampled_from(
        [b"", b"\xff", b"\r\n", b":", b";", b"BEGIN:VEVENT\r\n", b"VALUE=DATE,TIME:", b"INTERVAL=0;", b'"', b"99999999"]
    ),
)  # fmt: skip
def test_a_spoilt_calendar_is_read_or_refused_and_nothing_else(cut: int, gone: int, put: bytes) -> None:
    data = (PAYLOADS / "calendar.ics").read_bytes()
    spoilt = data[:cut] + put + data[cut + gone :]
    with suppress(SourceError):
        assert isinstance(_read(spoilt), Agenda)
