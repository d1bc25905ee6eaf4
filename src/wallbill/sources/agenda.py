"""Calendars (iCalendar, RFC 5545) made into agendas, with every recurrence laid out.

Option ``ahead``: how many days from today are laid out, 60 unless said; a whole number, or a text such as "60 days".
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, timedelta
from unicodedata import normalize
from zoneinfo import ZoneInfo

from icalendar import Calendar
from icalendar.cal.component import Component

from wallbill.errors import Place, SourceError
from wallbill.facts.agenda import Agenda, Event, Todo, in_order, local_day
from wallbill.facts.origin import Origin
from wallbill.findings import Finding
from wallbill.sources.calendar_text import CalendarText, Entry, length_of, moment_of, read_calendar
from wallbill.sources.recurrence import Occurrence, Window, endless, exact_end, occurrences
from wallbill.sources.spec import ParseContext

AHEAD_DAYS = 60
"""Days from today that are laid out where a source does not say."""

_BACK_DAYS = 1
_MOST_AHEAD_DAYS = 800


def parse(data: bytes, context: ParseContext) -> Agenda:
    """A calendar payload as an agenda; raises `SourceError` for what is no calendar or was cut.

    An event that cannot be read is left out with a finding in the fact's origin; the rest stays. Times without a
    zone, and those of a zone that nobody knows, are taken in the wall's.
    """
    file = str(context.spec.options.get("file") or context.spec.name)
    text = read_calendar(data, file)
    reader = _Reader(file, context.zone, window_of(context))
    events, todos = reader.events(text), reader.todos(text)
    findings = (*text.findings, *reader.findings)
    origin = Origin(
        source=context.spec.name,
        service="calendar",
        credit="",
        issued_at=None,
        fetched_at=context.fetched_at,
        good_for=context.spec.good_for,
        findings=findings,
    )
    return Agenda(origin, text.name or context.spec.name, events, todos)


def window_of(context: ParseContext) -> Window:
    """The days that are laid out for a source, from yesterday on; raises `SourceError` for a bad ``ahead``."""
    today = local_day(context.now, context.zone)
    days = ahead_days(context.spec.options.get("ahead", AHEAD_DAYS), context.spec.where)
    return Window(today - timedelta(days=_BACK_DAYS), today + timedelta(days=days), context.zone)


def ahead_days(value: object, where: Place) -> int:
    """Days of the option ``ahead``; raises `SourceError` for what is no number of days from 1 to 800."""
    found = re.fullmatch(r"(\d+)\s*(?:d|day|days)?", str(value).strip())
    days = int(found[1]) if found and not isinstance(value, bool) else 0
    if not 1 <= days <= _MOST_AHEAD_DAYS:
        raise SourceError(
            f"ahead is {value!r}", where=where, mend='Give days from 1 to 800, such as ahead = "60 days".'
        )
    return days


class _Reader:
    """One reading of one payload; gathers findings as it goes."""

    def __init__(self, file: str, zone: ZoneInfo, window: Window) -> None:
        self._file = file
        self._zone = zone
        self._window = window
        self.findings: list[Finding] = []

    def events(self, text: CalendarText) -> tuple[Event, ...]:
        """Every occurrence of every event that touches the window, in order."""
        entries = [entry for entry in text.entries if entry.component.name == "VEVENT"]
        usable = [entry for entry in _distinct(entries) if self._usable(entry, needs_start=True)]
        made = [self._event(found) for found in self._laid_out(usable, text)]
        return in_order((event for event in made if event and self._window.holds(event)), self._zone)

    def todos(self, text: CalendarText) -> tuple[Todo, ...]:
        """Every to-do, and of a repeating one the first occurrence that is still to be done, in order of need."""
        entries = [entry for entry in text.entries if entry.component.name == "VTODO"]
        usable = [entry for entry in _distinct(entries) if self._usable(entry, needs_start=False)]
        repeating = {_uid(entry) for entry in usable if "RRULE" in entry.component}
        single = [self._todo(entry.component) for entry in usable if _uid(entry) not in repeating]
        series: dict[str, list[Todo]] = defaultdict(list)
        for found in self._laid_out([e for e in usable if _uid(e) in repeating], text):
            if todo := self._todo(found.component):
                series[todo.uid].append(todo)
        nexts = (self._next(todos) for todos in series.values())
        made = (todo for todo in (*single, *nexts) if todo is not None)
        return tuple(sorted(made, key=lambda todo: todo.order(self._zone)))

    def _next(self, todos: list[Todo]) -> Todo | None:
        due = sorted(todos, key=lambda todo: todo.order(self._zone)[2:])
        return next((todo for todo in due if not todo.done), due[-1] if due else None)

    def _laid_out(self, entries: list[Entry], text: CalendarText) -> Iterator[Occurrence]:
        """Occurrences in the window; if the whole cannot be laid out, series by series, the bad ones left out."""
        whole = _calendar(entries, text.calendars[0])
        try:
            yield from list(occurrences(whole, self._window, entries))
        except Exception:  # noqa: BLE001 - the library raises what the calendar's author made it raise
            series: dict[str, list[Entry]] = defaultdict(list)
            for entry in entries:
                series[_uid(entry)].append(entry)
            for group in series.values():
                yield from self._one_series(group, text)

    def _one_series(self, entries: list[Entry], text: CalendarText) -> list[Occurrence]:
        try:
            return list(occurrences(_calendar(entries, text.calendars[0]), self._window, entries))
        except Exception as fault:  # noqa: BLE001 - as above
            self._leave_out(entries[0], f"it cannot be laid out ({fault})")
            return []

    def _usable(self, entry: Entry, *, needs_start: bool) -> bool:
        """Whether an entry can be laid out; a finding says why not."""
        component = entry.component
        broken = [f"{name}: {fault}" for name, fault in component.errors if name in _NEEDED]
        start = component.get("DTSTART")
        if broken:
            self._leave_out(entry, f"it cannot be read ({broken[0]})")
        elif far := next((name for name in ("DTSTART", "DTEND", "DUE") if _is_far(component, name)), None):
            self._leave_out(entry, f"its {far} lies at the end of all calendars")
        elif needs_start and start is None:
            self._leave_out(entry, "it has no DTSTART")
        elif "RRULE" in component and start is None:
            self._leave_out(entry, "its rule has no start")
        elif "RRULE" in component and (why := endless(component, self._window)) is not None:
            self._leave_out(entry, why)
        else:
            self._note_zones(entry)
            return True
        return False

    def _leave_out(self, entry: Entry, why: str) -> None:
        self.findings.append(
            Finding(
                rule="sources.left-out",
                where=Place(self._file, entry.line, _summary(entry.component)),
                what=f"left out, as {why}",
                mend="Mend the entry in the calendar that it comes from.",
            )
        )

    def _note_zones(self, entry: Entry) -> None:
        for name in ("DTSTART", "DTEND", "DUE"):
            zone = getattr(entry.component.get(name), "params", {}).get("TZID")
            moment = moment_of(entry.component, name)
            if zone and isinstance(moment, datetime) and moment.tzinfo is None:
                self.findings.append(
                    Finding(
                        rule="sources.unknown-zone",
                        where=Place(self._file, entry.line, _summary(entry.component)),
                        what=f"its time zone {str(zone)!r} is not known; its {name} is taken in {self._zone.key}",
                        mend="Set the entry's time zone to one of the IANA database, such as Europe/London.",
                    )
                )
                return

    def _event(self, found: Occurrence) -> Event | None:
        part = found.component
        if _text(part, "STATUS").upper() == "CANCELLED":
            return None
        starts, ends = found.starts, exact_end(found, self._zone)
        return Event(
            uid=_text(part, "UID").partition(_MARK)[0],
            summary=_text(part, "SUMMARY"),
            starts=self._instant(starts),
            ends=self._instant(ends),
            location=_text(part, "LOCATION"),
            description=_text(part, "DESCRIPTION"),
            categories=_categories(part),
            tentative=_text(part, "STATUS").upper() == "TENTATIVE",
        )

    def _todo(self, part: Component) -> Todo | None:
        status = _text(part, "STATUS").upper()
        if status == "CANCELLED":
            return None
        moment, start, length = (
            moment_of(part, "DUE"),
            moment_of(part, "DTSTART"),
            length_of(part, "DURATION"),
        )
        if moment is None and start is not None and length is not None:
            moment = start + length
        priority = _whole(part, "PRIORITY")
        return Todo(
            summary=_text(part, "SUMMARY"),
            due=None if moment is None else self._instant(moment),
            priority=priority if 0 <= priority <= 9 else 0,
            done=status == "COMPLETED" or "COMPLETED" in part or str(part.get("PERCENT-COMPLETE")) == "100",
            uid=_text(part, "UID"),
            categories=_categories(part),
        )

    def _instant(self, moment: datetime | date) -> datetime | date:
        if not isinstance(moment, datetime):
            return moment
        try:
            return (moment if moment.tzinfo else moment.replace(tzinfo=self._zone)).astimezone(UTC)
        except OverflowError:
            return moment.replace(tzinfo=UTC)  # the ends of the calendar have no other zones
        except Exception:  # noqa: BLE001  a zone that the calendar made itself raises what its author made it raise
            return moment.replace(tzinfo=self._zone).astimezone(UTC)


_NEEDED = frozenset(["DTSTART", "DTEND", "DUE", "DURATION", "RRULE", "RECURRENCE-ID"])
_MARK = "\x01"
"""Parts the number that tells entries of one UID apart from the UID itself."""


def _is_far(part: Component, name: str) -> bool:
    """Whether a moment lies in the first or the last year that there is: in other zones it may have no date."""
    moment = moment_of(part, name)
    return moment is not None and moment.year in {1, 9999}


def _distinct(entries: Iterable[Entry]) -> list[Entry]:
    """The entries with a UID of their own for each series.

    Two masters of one UID are two versions where their SEQUENCE differs or they start together: the later one holds.
    Otherwise a careless exporter gave two events one UID: both stay.
    """
    masters: dict[str, list[Entry]] = defaultdict(list)
    kept = []
    for number, entry in enumerate(entries):
        if not _uid(entry):
            entry.component["UID"] = f"{_MARK}{number}"
        if "RECURRENCE-ID" in entry.component:
            kept.append(entry)
        else:
            masters[_uid(entry)].append(entry)
    for group in masters.values():
        newest = max(_sequence(entry) for entry in group)
        latest = {str(moment_of(e.component, "DTSTART")): e for e in group if _sequence(e) == newest}
        for number, entry in enumerate(latest.values()):
            if number:
                entry.component["UID"] = f"{_uid(entry)}{_MARK}{number}"
            kept.append(entry)
    return sorted(kept, key=lambda entry: entry.line)


def _calendar(entries: Iterable[Entry], model: Calendar) -> Calendar:
    """A calendar of these entries only, with the properties of ``model``."""
    made = Calendar()
    for name, value in model.property_items(recursive=False):
        if name not in {"BEGIN", "END"}:
            made[name] = value
    made.subcomponents = [entry.component for entry in entries]
    return made


def _uid(entry: Entry) -> str:
    return str(entry.component.get("UID", ""))


def _sequence(entry: Entry) -> int:
    return _whole(entry.component, "SEQUENCE")


def _whole(part: Component, name: str) -> int:
    """A property that is a whole number, 0 where it is missing or cannot be read."""
    value = str(part.get(name, "")).strip()
    return int(value) if value.isascii() and value.isdigit() else 0


def _summary(part: Component) -> str:
    return _text(part, "SUMMARY") or _text(part, "UID")


def _text(part: Component, name: str) -> str:
    """A text property, escapes resolved, in normal form C; the first of several; "" where there is none."""
    value = part.get(name, "")
    first = value[0] if isinstance(value, list) and value else value
    return normalize("NFC", str(first)).strip()


def _categories(part: Component) -> tuple[str, ...]:
    value = part.get("CATEGORIES", ())
    lists = value if isinstance(value, list) else [value]
    words = (word for one in lists for word in getattr(one, "cats", ()))
    return tuple(normalize("NFC", str(word)).strip() for word in words)
