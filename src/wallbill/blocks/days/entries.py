"""Events on their way into a block: of which calendar, on which days, from which instant to which."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo

from wallbill.facts.agenda import Agenda, Event, local_day, midnight

HOLIDAY = "holiday"
"""The category of events that the source of public holidays gives."""


@dataclass(frozen=True, slots=True)
class Entry:
    """An event of the calendar ``number`` (from 0), with its first and last local day, both included."""

    event: Event
    number: int
    first: date
    last: date

    @property
    def days(self) -> int:
        """How many local days it touches."""
        return (self.last - self.first).days + 1

    @property
    def holiday(self) -> bool:
        """Whether it is a public holiday."""
        return HOLIDAY in self.event.categories

    def span(self, zone: tzinfo) -> tuple[datetime, datetime]:
        """Its first instant and its end (UTC for dates); they are equal for an event of no length."""
        starts, ends = self.event.starts, self.event.ends
        if isinstance(starts, datetime) and isinstance(ends, datetime):
            return starts, ends
        return midnight(self.first, zone), midnight(self.last + timedelta(days=1), zone)


def entries(agendas: Sequence[Agenda], holidays: Iterable[Agenda], zone: tzinfo) -> tuple[Entry, ...]:
    """Every event in order of start, all-day and longer ones first; ``holidays`` count as no calendar's."""
    found = [_entry(event, number, zone) for number, agenda in enumerate(agendas) for event in agenda.events]
    found += [_entry(_as_holiday(event), -1, zone) for agenda in holidays for event in agenda.events]
    return tuple(sorted(found, key=lambda entry: _order(entry, zone)))


def _as_holiday(event: Event) -> Event:
    if HOLIDAY in event.categories:
        return event
    return Event(event.uid, event.summary, event.starts, event.ends, categories=(*event.categories, HOLIDAY))


def _order(entry: Entry, zone: tzinfo) -> tuple[date, bool, int, datetime, str]:
    return entry.first, not entry.holiday, -entry.days, entry.span(zone)[0], entry.event.summary


def _entry(event: Event, number: int, zone: tzinfo) -> Entry:
    first = local_day(event.starts, zone)
    if isinstance(event.ends, datetime):
        last = local_day(event.ends, zone)
        if last > first and event.ends <= midnight(last, zone):
            last -= timedelta(days=1)
    else:
        last = event.last_day or first
    return Entry(event, number, first, max(first, last))
