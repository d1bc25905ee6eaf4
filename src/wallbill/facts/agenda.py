"""Events and to-dos out of calendars, recurrences already laid out."""

from dataclasses import dataclass, field
from datetime import date, datetime

from wallbill.facts.origin import Origin


@dataclass(frozen=True, slots=True)
class Event:
    """One occurrence. ``starts`` and ``ends`` are both aware instants in UTC, or both dates (all day).

    ``ends`` is exclusive: an event of 28 and 29 March has ``ends`` 30 March.
    """

    uid: str
    summary: str
    starts: datetime | date
    ends: datetime | date
    location: str = ""
    description: str = ""
    categories: tuple[str, ...] = ()

    @property
    def all_day(self) -> bool:
        """Whether the event is of whole dates, with no instants."""
        return not isinstance(self.starts, datetime)


@dataclass(frozen=True, slots=True)
class Todo:
    """Something to be done. ``priority``: 1 first to 9 last, 0 unsaid. ``due``: instant, date or None."""

    summary: str
    due: datetime | date | None = None
    priority: int = 0
    done: bool = False
    uid: str = ""


@dataclass(frozen=True, slots=True)
class Agenda:
    """Events in order of start, to-dos in order of need, cancelled ones left out."""

    origin: Origin
    name: str
    events: tuple[Event, ...] = field(default=())
    todos: tuple[Todo, ...] = field(default=())
