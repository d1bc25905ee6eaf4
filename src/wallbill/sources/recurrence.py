"""Recurrences laid out over a window of days, by `recurring-ical-events`, with lengths that clock changes keep.

The library gives the end of a repeated event by the clock. RFC 5545 3.8.5.3 wants "the same exact duration" for all
members, so an end is reckoned again here in instants, from the entry that defines the occurrence.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from math import prod
from types import MappingProxyType
from zoneinfo import ZoneInfo

import recurring_ical_events
from icalendar import Calendar
from icalendar.cal.component import Component

from wallbill.facts.agenda import Event, local_day, midnight
from wallbill.sources.calendar_text import Entry, length_of, moment_of

MOST_A_DAY = 200
"""Times a day that an entry may repeat. A wall has no use for more, and a rule of every second would never end."""

MOST_STEPS = 300_000
"""Steps that may be counted through from the start of a rule; each takes some microseconds."""

_PER_DAY = MappingProxyType({"SECONDLY": 86400.0, "MINUTELY": 1440.0, "HOURLY": 24.0})
_FREQUENCIES = frozenset({*_PER_DAY, "DAILY", "WEEKLY", "MONTHLY", "YEARLY"})
_PARTS = frozenset(
    {
        *(
            "FREQ",
            "UNTIL",
            "COUNT",
            "INTERVAL",
            "WKST",
            "BYSECOND",
            "BYMINUTE",
            "BYHOUR",
            "BYDAY",
            "BYMONTHDAY",
        ),
        *("BYYEARDAY", "BYWEEKNO", "BYMONTH", "BYSETPOS", "RSCALE", "SKIP"),
    }
)
_FINER = MappingProxyType({"SECONDLY": (), "MINUTELY": ("BYSECOND",), "HOURLY": ("BYSECOND", "BYMINUTE")})
_LONGEST = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
_NUMBER = "X-WALLBILL-ENTRY"


@dataclass(frozen=True, slots=True)
class Window:
    """Days from ``first`` up to, not at, ``end`` in ``zone``."""

    first: date
    end: date
    zone: ZoneInfo

    def holds(self, event: Event) -> bool:
        """Whether any part of ``event`` lies in the window."""
        first, end = local_day(event.starts, self.zone), local_day(event.ends, self.zone)
        if first >= self.end:
            return False
        if isinstance(event.starts, datetime) and isinstance(event.ends, datetime):
            opening = midnight(self.first, self.zone)
            return event.ends > opening or event.starts >= opening
        return max(end, first + timedelta(days=1)) > self.first


@dataclass(frozen=True, slots=True)
class Occurrence:
    """One occurrence as the library gives it, and the entry that defines it.

    ``starts``, ``ends``: as the calendar tells them: dates, aware, or naive where no zone is known.
    """

    component: Component
    definition: Component
    starts: datetime | date
    ends: datetime | date


def endless(component: Component, window: Window) -> str | None:
    """Why a rule of the entry cannot be laid out in reasonable time, None if it can.

    The library counts through a rule from its start; a step of nothing, or a day that no month has, it counts for ever.
    """
    rules = component.get("RRULE")
    starts = moment_of(component, "DTSTART")
    first = local_day(starts, window.zone) if starts is not None else window.first
    for rule in rules if isinstance(rules, list) else [rules]:
        if not _is_sound(rule):
            return "its rule has parts that no rule has, or has twice"
        steps = _a_day(rule)
        if steps is None or _never(rule):
            return "its rule never comes to an end or to a day"
        if steps * _at_a_time(rule) > MOST_A_DAY:
            return f"its rule repeats it more than {MOST_A_DAY} times a day"
        if steps * (window.end - first).days > MOST_STEPS:
            return f"its rule takes more than {MOST_STEPS} steps from its start to today"
    return None


Rule = dict[str, list[object]]


def _is_sound(rule: Rule) -> bool:
    """Whether a rule has one frequency and only parts of RFC 5545 3.3.10 and RFC 7529.

    The library hands on what it does not understand, and the next one understands it in its own way.
    """
    parts = {str(name).upper(): values for name, values in rule.items()}
    once = all(len(parts.get(name, [0])) == 1 for name in ("FREQ", "INTERVAL", "COUNT"))
    frequency = str(next(iter(parts.get("FREQ", [])), "")).upper()
    return once and frequency in _FREQUENCIES and set(parts) <= _PARTS


def _a_day(rule: Rule) -> float | None:
    """Steps that the rule's frequency takes in a day, None for steps of nothing."""
    interval = _whole(rule, "INTERVAL", 1)
    if interval < 1 or _whole(rule, "COUNT", 1) < 1:
        return None
    frequency = str(next(iter(rule.get("FREQ", [])), "")).upper()
    return _PER_DAY.get(frequency, 1.0) / (interval if frequency in _PER_DAY else 1)


def _at_a_time(rule: Rule) -> int:
    """Times that the rule gives for each step."""
    frequency = str(next(iter(rule.get("FREQ", [])), "")).upper()
    return prod(
        len(rule.get(name, [0])) for name in _FINER.get(frequency, ("BYSECOND", "BYMINUTE", "BYHOUR"))
    )


def _never(rule: Rule) -> bool:
    """Whether the rule's months have none of its days, such as 30 February."""
    months = [int(str(month)) for month in rule.get("BYMONTH", []) if str(month).isdigit()]
    days = [abs(int(str(day))) for day in rule.get("BYMONTHDAY", [])]
    return bool(months and days) and all(
        not 1 <= month <= 12 or min(days) > _LONGEST[month - 1] for month in months
    )


def _whole(rule: Rule, name: str, default: int) -> int:
    return int(str(next(iter(rule.get(name, [default])), default)))


def occurrences(calendar: Calendar, window: Window, entries: Sequence[Entry]) -> Iterator[Occurrence]:
    """Occurrences of the calendar's entries in the window and up to two days around it.

    ``entries``: those of the calendar, in its order. Raises whatever the library makes of a bad rule.
    """
    components = calendar.subcomponents
    for number, component in enumerate(components):
        component[_NUMBER] = str(number)
    start = midnight(window.first - timedelta(days=2), window.zone)
    end = midnight(window.end + timedelta(days=2), window.zone)
    query = recurring_ical_events.of(
        calendar, components=[entries[0].component.name] if entries else ["VEVENT"]
    )
    for found in query.between(start, end):
        definition = components[int(str(found[_NUMBER]))]
        starts = moment_of(found, "DTSTART") or moment_of(found, "DUE")
        if starts is not None:
            yield Occurrence(found, definition, starts, moment_of(found, "DTEND") or starts)


def exact_end(found: Occurrence, zone: ZoneInfo) -> datetime | date:
    """The end of an occurrence: never before its start, and as long in instants as its definition says.

    A length given as whole days (``DURATION:P1D``) is by the calendar, so the clock time stays.
    """
    starts, ends = found.starts, found.ends
    if not isinstance(starts, datetime) or not isinstance(ends, datetime):
        return max(_day(ends), _day(starts))
    first, last = _aware(starts, zone), _aware(ends, zone)
    if moment_of(found.definition, "DTSTART") in (None, starts) and "DTEND" in found.definition:
        return max(first, last)
    length = _exact_length(found, zone)
    return max(first, last if length is None else first.astimezone(UTC) + length)


def _exact_length(found: Occurrence, zone: ZoneInfo) -> timedelta | None:
    """The exact length by the definition; None where the clock time of the end stands."""
    length = length_of(found.definition, "DURATION")
    if length is not None:
        return length if length % timedelta(days=1) else None
    starts, ends = moment_of(found.definition, "DTSTART"), moment_of(found.definition, "DTEND")
    if not isinstance(starts, datetime) or not isinstance(ends, datetime):
        return None
    if _naive(found.ends) - _naive(found.starts) != _naive(ends) - _naive(starts):
        return None
    return _aware(ends, zone).astimezone(UTC) - _aware(starts, zone).astimezone(UTC)


def _aware(moment: datetime, zone: ZoneInfo) -> datetime:
    return moment if moment.tzinfo else moment.replace(tzinfo=zone)


def _naive(moment: datetime | date) -> datetime:
    if isinstance(moment, datetime):
        return moment.replace(tzinfo=None)
    return datetime(moment.year, moment.month, moment.day)  # noqa: DTZ001 - a clock time, compared with clock times


def _day(moment: datetime | date) -> date:
    return moment.date() if isinstance(moment, datetime) else moment
