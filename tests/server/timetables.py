"""A display of the hut, and how its looks are written in tests."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo

from wallbill.panels.model import Panel
from wallbill.panels.shell import load_panels
from wallbill.server.timetable import (
    Situation,
    next_look,
)
from wallbill.store.model import Asked
from wallbill.units.quantity import Quantity
from wallbill.wall.model import (
    EVERY_DAY,
    Display,
    Hours,
    TimetableEntry,
    Weekday,
)

LONDON = ZoneInfo("Europe/London")
WORKDAYS = EVERY_DAY - {Weekday.SAT, Weekday.SUN}
NIGHT = Hours(time(23), time(6))
MORNING = TimetableEntry(Hours(time(6, 30), time(9)), WORKDAYS, "morning")


@cache
def panel(least_s: int = 180, rest_s: int = 86400) -> Panel:
    found = load_panels(Path("none"))["5.8in-648x480-black-white-red"]
    return replace(found, refresh=replace(found.refresh, least_interval_s=least_s, longest_rest_s=rest_s))


HALL = Display(
    name="hall",
    panel=panel(),
    read_from=Quantity(2, "m"),
    turned=0,
    sheet="hall",
    every=timedelta(minutes=30),
    quiet=NIGHT,
    timetable=(MORNING,),
)


def london(text: str) -> datetime:
    """A moment by what clocks in London show."""
    return datetime.fromisoformat(text).replace(tzinfo=LONDON).astimezone(UTC)


def asked(begin: datetime, end: datetime, sheet: str = "guests") -> Asked:
    return Asked("hall", sheet, end, "keeper", begin)


def looks(situation: Situation, begin: datetime, end: datetime) -> Iterator[datetime]:
    """All looks after ``begin``, before ``end``."""
    at = begin
    while (at := next_look(situation, at)) < end:
        yield at


def shown(moments: Iterator[datetime], zone: ZoneInfo = LONDON) -> list[str]:
    return [f"{moment.astimezone(zone):%d %H:%M}" for moment in moments]
