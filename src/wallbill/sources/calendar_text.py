"""Bytes of an iCalendar payload made into components (RFC 5545), each with the line on which it begins.

Whatever is not a content line is left out with a finding, so that one bad line does not lose a calendar; a payload
that is no calendar, or stops in its middle, is refused.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from html import unescape

from icalendar import Calendar, vBroken
from icalendar.cal.component import Component

from wallbill.errors import Place, SourceError
from wallbill.findings import Finding, Weight
from wallbill.sources.calendar_zones import Line, with_own_zones

_FOLD = re.compile(rb"\r?\n[ \t]")
_CONTENT = re.compile(r"[A-Za-z0-9-]+[;:]")
_MEND_KIND = (
    "Give the address of the calendar itself, the one that ends in .ics, and check that it needs no login."
)


@dataclass(frozen=True, slots=True)
class Entry:
    """A component of a calendar, and the line on which it begins."""

    line: int
    component: Component


@dataclass(frozen=True, slots=True)
class CalendarText:
    """What a payload holds: its calendars, the entries (VEVENT, VTODO) in order, and what had to be left out."""

    calendars: tuple[Calendar, ...]
    entries: tuple[Entry, ...]
    findings: tuple[Finding, ...]

    @property
    def name(self) -> str:
        """The calendar's own name (NAME of RFC 7986, or X-WR-CALNAME), or ""."""
        named = (c.get(key) for c in self.calendars for key in ("NAME", "X-WR-CALNAME"))
        return next((unescape(str(name)).strip() for name in named if name), "")


def moment_of(component: Component, name: str) -> datetime | date | None:
    """The date or the instant (aware, or naive where no zone is known) of a property, None where there is none."""
    value = _value(component, name)
    return value if isinstance(value, date) else None


def length_of(component: Component, name: str) -> timedelta | None:
    """The length of time of a property such as DURATION, None where there is none."""
    value = _value(component, name)
    return value if isinstance(value, timedelta) else None


def _value(component: Component, name: str) -> object:
    """The date, instant or length of a property; None where it is missing, broken or given twice."""
    found = component.get(name)
    return None if isinstance(found, vBroken) else getattr(found, "dt", None)


def read_calendar(data: bytes, file: str) -> CalendarText:
    """A payload as calendars; ``file`` names it in errors. Several calendars may stand one after the other.

    Raises `SourceError` with the line: an empty payload, a web page, one that stops in its middle, or one whose
    BEGIN and END lines do not pair.
    """
    _check_start(data, file)
    lines, findings = _lines(data, file)
    blocks = _blocks(lines, file)
    lines = with_own_zones(lines)
    try:
        calendars = Calendar.from_ical(_joined(lines), multiple=True)
    except Exception:  # noqa: BLE001 - the library raises what the calendar's author made it raise
        return _block_by_block(lines, blocks, file=file, findings=findings)
    found = [component for calendar in calendars for component in _entries(calendar)]
    begins = [lines[block.start].number for block in blocks]
    if len(found) != len(begins):
        return _block_by_block(lines, blocks, file=file, findings=findings)
    entries = tuple(Entry(line, component) for line, component in zip(begins, found, strict=True))
    return CalendarText(tuple(calendars), entries, findings)


def _joined(lines: Iterable[Line]) -> str:
    return "\r\n".join(line.text for line in lines) + "\r\n"


def _block_by_block(
    lines: tuple[Line, ...], blocks: tuple[slice, ...], *, file: str, findings: tuple[Finding, ...]
) -> CalendarText:
    """The calendar read entry by entry, each beside the time zones, since one of them stops the library."""
    inside = {number for block in blocks for number in range(block.start, block.stop)}
    frame = [line for number, line in enumerate(lines) if number not in inside]
    try:
        calendars = tuple(Calendar.from_ical(_joined(frame), multiple=True))
    except Exception as fault:  # noqa: BLE001 - as above
        raise SourceError(
            f"this calendar cannot be read: {fault}", where=Place(file), mend=_MEND_KIND
        ) from None
    entries, bad = [], []
    for block in blocks:
        number = lines[block.start].number
        try:
            (calendar, *_) = Calendar.from_ical(
                _joined([*frame[:-1], *lines[block], frame[-1]]), multiple=True
            )
            entries.append(Entry(number, next(_entries(calendar))))
        except Exception as fault:  # noqa: BLE001 - as above
            bad.append(
                Finding(
                    rule="sources.left-out",
                    where=Place(file, number, _summary(lines[block])),
                    what=f"left out, as it cannot be read ({str(fault) or 'its lines do not make an entry'})",
                    mend="Mend the entry in the calendar that it comes from.",
                )
            )
    return CalendarText(calendars, tuple(entries), (*findings, *bad))


def _entries(calendar: Component) -> Iterator[Component]:
    return (part for part in calendar.walk() if part.name in {"VEVENT", "VTODO"})


def _lines(data: bytes, file: str) -> tuple[tuple[Line, ...], tuple[Finding, ...]]:
    """The content lines. Lines are unfolded before they are decoded, since a fold may split a letter (RFC 5545 3.1)."""
    findings = []
    lines = []
    for number, raw in _unfolded(data.removeprefix(b"\xef\xbb\xbf")):
        try:
            text = raw.decode("utf-8")
        except UnicodeDecodeError:
            text = raw.decode("cp1252", errors="replace")
            findings.append(_doubt(Place(file, number), "is not UTF-8; read as Windows-1252"))
        text = text.strip("\r\x00")
        if _CONTENT.match(text):
            lines.append(Line(number, text))
        elif text.strip():
            findings.append(_doubt(Place(file, number), f"is no content line and is left out: {text[:40]!r}"))
    return tuple(lines), tuple(findings)


def _doubt(where: Place, what: str) -> Finding:
    return Finding(
        rule="sources.calendar-line",
        where=where,
        what=f"a line of the calendar {what}",
        mend="Nothing, if the page is right; else mend the line, or tell who publishes the calendar.",
        weight=Weight.NOTE,
    )


def _unfolded(data: bytes) -> Iterator[tuple[int, bytes]]:
    """Unfolded lines, each with the number of its first physical line."""
    number = 1
    start = 0
    text = data.replace(b"\r\n", b"\n")
    for end in [*(m.start() for m in re.finditer(rb"\n(?![ \t])", text)), len(text)]:
        piece = text[start:end]
        yield number, _FOLD.sub(b"", piece)
        number += piece.count(b"\n") + 1
        start = end + 1


def _check_start(data: bytes, file: str) -> None:
    """Raises `SourceError` unless the first line that is not empty opens a calendar."""
    text = data.removeprefix(b"\xef\xbb\xbf").lstrip()
    if not text:
        raise SourceError("the payload is empty", where=Place(file), mend=_MEND_KIND)
    first = text.splitlines()[0].strip()
    if first.upper() != b"BEGIN:VCALENDAR":
        shown = first[:40].decode("utf-8", errors="replace")
        what = "a web page came in place of a calendar" if first.startswith(b"<") else "this is no calendar"
        raise SourceError(
            f"{what}: it begins with {shown!r}, not with BEGIN:VCALENDAR",
            where=Place(file, data[: data.index(first)].count(b"\n") + 1),
            mend=_MEND_KIND,
        )


def _blocks(lines: tuple[Line, ...], file: str) -> tuple[slice, ...]:
    """Where the entries stand among the lines; raises `SourceError` where BEGIN and END do not pair."""
    open_parts: list[tuple[int, str]] = []
    blocks = []
    for place, line in enumerate(lines):
        name, _, part = (piece.strip().upper() for piece in line.text.partition(":"))
        if name == "BEGIN":
            open_parts.append((place, part))
        elif name == "END":
            begun = open_parts.pop() if open_parts else (place, "nothing")
            if begun[1] != part:
                raise SourceError(
                    f"END:{part} closes {begun[1]} of line {lines[begun[0]].number}",
                    where=Place(file, line.number),
                    mend="Fetch the calendar again; if it stays so, tell who publishes it.",
                )
            if part in {"VEVENT", "VTODO"}:
                blocks.append(slice(begun[0], place + 1))
    if open_parts:
        raise SourceError(
            f"the calendar stops in the middle of {open_parts[-1][1]}, begun in line {lines[open_parts[-1][0]].number}",
            where=Place(file, lines[-1].number),
            mend="Fetch it again; the payload was cut. If it stays so, tell who publishes it.",
        )
    return tuple(sorted(blocks, key=lambda block: block.start))


def _summary(lines: tuple[Line, ...]) -> str:
    """The summary of an entry as it is written."""
    told = (line.text for line in lines if line.text.upper().startswith("SUMMARY"))
    return next(told, "").partition(":")[2].strip()
