"""Days on which the clocks are changed, walked minute by minute: a reference for the timetable that only reads clocks."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from zoneinfo import ZoneInfo

MINUTE = timedelta(minutes=1)


def reading(text: str) -> datetime:
    """What clocks show, naive."""
    return datetime.fromisoformat(text)


# What happened there stands in the IANA time zone database (files europe, africa, asia, australasia, northamerica,
# southamerica); the tests need no more of it than that the clocks were changed within the days named.
CHANGES = (
    ("Europe/London", reading("2026-03-28"), 3),  # an hour skipped at 01:00
    ("Europe/London", reading("2026-10-24"), 3),  # an hour twice, from 01:00
    ("Australia/Lord_Howe", reading("2026-10-03"), 3),  # half an hour skipped
    ("Australia/Lord_Howe", reading("2026-04-04"), 3),  # half an hour twice
    ("Pacific/Apia", reading("2011-12-28"), 6),  # the whole of 30 December skipped
    ("Africa/Casablanca", reading("2023-03-18"), 3),  # back for Ramadan
    ("Africa/Casablanca", reading("2023-04-22"), 3),
    ("Asia/Beirut", reading("2022-03-26"), 3),  # midnight skipped
    ("Asia/Beirut", reading("2022-10-29"), 3),  # the hour before midnight twice
    ("America/Santiago", reading("2022-09-10"), 3),
    ("America/Santiago", reading("2022-04-02"), 3),
    ("Africa/Cairo", reading("2023-04-27"), 3),
    ("Africa/Cairo", reading("2023-10-26"), 3),
    ("America/Havana", reading("2022-11-05"), 3),  # midnight twice
    ("America/St_Johns", reading("2006-10-28"), 3),  # one minute past midnight, back to the day before
    ("UTC", reading("2026-02-27"), 4),  # no change at all
)


@dataclass(frozen=True, repr=False)
class Walk:
    """What clocks show over some days. ``readings``: for each minute (UTC) what is reached then, skipped ones included.

    ``reached``: when a reading is first reached or skipped. ``again``: minutes of a stretch that comes twice, on its
    second pass, with its length.
    """

    zone: ZoneInfo
    minutes: tuple[datetime, ...]
    readings: dict[datetime, tuple[datetime, ...]]
    reached: dict[datetime, datetime]
    again: dict[datetime, timedelta]


@cache
def walk(name: str, first: datetime, days: int) -> Walk:
    """The clocks of a zone from two days before ``first`` (naive) to two days after the last day."""
    zone = ZoneInfo(name)
    at = (first - timedelta(days=3)).replace(tzinfo=UTC)
    minutes, readings, reached, again = [], {}, {}, {}
    highest = at.astimezone(zone).replace(tzinfo=None) - MINUTE
    back = timedelta()
    before = highest
    for _ in range((days + 6) * 1440):
        shown = at.astimezone(zone).replace(tzinfo=None)
        if shown <= before:
            back = before + MINUTE - shown
        if shown > highest:
            passed = tuple(highest + step * MINUTE for step in range(1, (shown - highest) // MINUTE + 1))
            for reading in passed:
                reached[reading] = at
            highest = shown
        else:
            passed = (shown,)
            again[at] = back
        minutes.append(at)
        readings[at] = passed
        before = shown
        at += MINUTE
    return Walk(zone, tuple(minutes), readings, reached, again)
