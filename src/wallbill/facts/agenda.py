"""Events and to-dos out of calendars, recurrences already laid out."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from wallbill.facts.origin import Origin


def local_day(moment: datetime | date, zone: tzinfo) -> date:
    """The calendar day that an instant (aware) falls on in ``zone``; a date is its own day."""
    return moment.astimezone(zone).date() if isinstance(moment, datetime) else moment


def midnight(day: date, zone: tzinfo) -> datetime:
    """The instant (UTC) at which ``day`` begins in ``zone``, also where a clock change swallows midnight."""
    return datetime.combine(day, time(), zone).astimezone(UTC)


@dataclass(frozen=True, slots=True)
class Event:
    """One occurrence. ``starts`` and ``ends`` are both aware instants in UTC, or both dates (all day).

    ``ends`` is exclusive: an event of 28 and 29 March has ``ends`` 30 March. It equals ``starts`` for an event of
    no length, such as a departure. ``tentative``: the calendar says that it is not settled.
    """

    uid: str
    summary: str
    starts: datetime | date
    ends: datetime | date
    location: str = ""
    description: str = ""
    categories: tuple[str, ...] = ()
    tentative: bool = False

    @property
    def all_day(self) -> bool:
        """Whether the event is of whole dates, with no instants."""
        return not isinstance(self.starts, datetime)

    @property
    def last_day(self) -> date | None:
        """The last date of an all-day event, inclusive; None for one with instants."""
        if isinstance(self.starts, datetime):
            return None
        return max(self.starts, self.ends - timedelta(days=1))

    def touches(self, day: date, zone: tzinfo) -> bool:
        """Whether any part of the event lies on ``day`` in ``zone``; what ends at midnight is not on the next day."""
        if isinstance(self.starts, datetime) and isinstance(self.ends, datetime):
            dawn, dusk = midnight(day, zone), midnight(day + timedelta(days=1), zone)
            if self.starts == self.ends:
                return dawn <= self.starts < dusk
            return self.starts < dusk and self.ends > dawn
        first, end = local_day(self.starts, zone), local_day(self.ends, zone)
        return first <= day < max(end, first + timedelta(days=1))

    def is_over(self, now: datetime, zone: tzinfo) -> bool:
        """Whether nothing of the event is left at ``now`` (aware). One of no length is over once it has begun."""
        if isinstance(self.starts, datetime) and isinstance(self.ends, datetime):
            return self.ends <= now if self.ends > self.starts else self.starts < now
        return not self.touches(local_day(now, zone), zone) and local_day(self.starts, zone) < local_day(
            now, zone
        )

    def order(self, zone: tzinfo) -> tuple[date, bool, float, str]:
        """The sort key: local day of the start, all-day first within it, then start, then summary."""
        instant = self.starts.timestamp() if isinstance(self.starts, datetime) else 0.0
        return local_day(self.starts, zone), not self.all_day, instant, self.summary


@dataclass(frozen=True, slots=True)
class Todo:
    """Something to be done. ``priority``: 1 first to 9 last, 0 unsaid. ``due``: instant (UTC), date or None.

    Of lists only: ``projects`` and ``contexts``, their tags; ``section``, the heading that it stands under; ``level``,
    how many other things it lies in; ``written_on`` and ``done_on``, the dates that the list gives.
    """

    summary: str
    due: datetime | date | None = None
    priority: int = 0
    done: bool = False
    uid: str = ""
    categories: tuple[str, ...] = ()
    projects: tuple[str, ...] = ()
    contexts: tuple[str, ...] = ()
    section: str = ""
    level: int = 0
    written_on: date | None = None
    done_on: date | None = None

    def overdue(self, now: datetime, zone: tzinfo) -> bool:
        """Whether it should have been done by ``now`` (aware); a due date runs to the end of that day."""
        if self.done or self.due is None:
            return False
        return self.due < now if isinstance(self.due, datetime) else self.due < local_day(now, zone)

    def order(self, zone: tzinfo) -> tuple[bool, int, date, float, str]:
        """The sort key: undone first, then priority (unsaid last), then due (unsaid last), then summary."""
        due = date.max if self.due is None else local_day(self.due, zone)
        instant = self.due.timestamp() if isinstance(self.due, datetime) else 0.0
        return self.done, self.priority or 10, due, instant, self.summary


@dataclass(frozen=True, slots=True)
class Agenda:
    """Events in order of start, to-dos in order of need, cancelled ones left out."""

    origin: Origin
    name: str
    events: tuple[Event, ...] = field(default=())
    todos: tuple[Todo, ...] = field(default=())

    def on(self, day: date, zone: tzinfo) -> tuple[Event, ...]:
        """The events that touch ``day`` in ``zone``: all-day ones first, then by start, then by summary.

        An event of several days is given for each of them.
        """
        return in_order((event for event in self.events if event.touches(day, zone)), zone, day=day)

    def upcoming(self, now: datetime, count: int, *, zone: tzinfo | None = None) -> tuple[Event, ...]:
        """The first ``count`` events that are not over at ``now`` (aware), those under way included.

        ``zone`` decides where all-day events end; None: the zone that ``now`` is told in.
        """
        where = zone or now.tzinfo or UTC
        return tuple(event for event in self.events if not event.is_over(now, where))[:count]

    def starting(self, now: datetime, count: int) -> tuple[Event, ...]:
        """The first ``count`` events with an instant that begin at ``now`` (aware) or later: the next departures."""
        later = (e for e in self.events if isinstance(e.starts, datetime) and e.starts >= now)
        return tuple(later)[:count]

    @property
    def undone(self) -> tuple[Todo, ...]:
        """The to-dos that are still to be done, in order of need."""
        return tuple(todo for todo in self.todos if not todo.done)


def in_order(events: Iterable[Event], zone: tzinfo, *, day: date | None = None) -> tuple[Event, ...]:
    """Events in the order of an agenda. With ``day``, in the order of that day: all-day ones, then by start."""
    if day is None:
        return tuple(sorted(events, key=lambda event: event.order(zone)))
    return tuple(sorted(events, key=lambda event: event.order(zone)[1:]))


def together(agendas: Iterable[Agenda], day: date, zone: tzinfo) -> tuple[Event, ...]:
    """The events of several agendas on ``day``, in one order, for a page that shows all calendars of a house."""
    return in_order((event for agenda in agendas for event in agenda.on(day, zone)), zone, day=day)
