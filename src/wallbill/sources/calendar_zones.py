"""Time zones that calendars define themselves, kept apart from those of other calendars.

The library remembers a zone by its name for as long as the process lives, and some programs call every zone that they
make up ``Customized Time Zone``: the second calendar would be told in the first one's time. So each such zone gets a
name of its own, out of its definition.
"""

import hashlib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from icalendar.timezone import tzp

_TZID = re.compile(r"(;TZID=)(\"?)([^\";:]*)\2(?=[;:])", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Line:
    """One content line, unfolded, with the number (from 1) of the first physical line that it stood on."""

    number: int
    text: str


def with_own_zones(lines: Sequence[Line]) -> tuple[Line, ...]:
    """The lines with each zone that only their own calendar knows named anew, where it is defined and where it is used."""
    made: list[Line] = []
    start = 0
    for place, line in enumerate(lines):
        if line.text.upper().strip() == "END:VCALENDAR":
            made += _renamed(lines[start : place + 1])
            start = place + 1
    return (*made, *lines[start:])


def _renamed(lines: Sequence[Line]) -> Sequence[Line]:
    """The lines of one calendar, its zones named anew."""
    names = _names(lines)
    if not names:
        return lines

    def anew(found: re.Match[str]) -> str:
        name = names.get(found[3].strip())
        return found[0] if name is None else f'{found[1]}"{name}"'

    inside = False
    made = []
    for line in lines:
        text = line.text
        inside = (inside or _is(text, "BEGIN:VTIMEZONE")) and not _is(text, "END:VTIMEZONE")
        if inside and text.upper().startswith("TZID:"):
            told = text[5:].strip()
            text = f"TZID:{names.get(told, told)}"
        elif ";TZID=" in text.upper():
            text = _TZID.sub(anew, text)
        made.append(line if text is line.text else replace(line, text=text))
    return made


def _names(lines: Sequence[Line]) -> Mapping[str, str]:
    """The new name of each zone that a calendar defines and that the library does not know by itself."""
    names: dict[str, str] = {}
    block: list[str] = []
    for line in lines:
        if _is(line.text, "BEGIN:VTIMEZONE"):
            block = []
        block.append(line.text)
        if _is(line.text, "END:VTIMEZONE"):
            told = next((text[5:].strip() for text in block if text.upper().startswith("TZID:")), "")
            if told and not _is_known(told):
                mark = hashlib.sha256("\n".join(block).encode("utf-8", "replace")).hexdigest()[:12]
                names[told] = re.sub(r"[^\w ./+-]", "", told)[:60] + f" {mark}"
    return names


def _is_known(name: str) -> bool:
    """Whether the library knows a zone by itself; of a name with a maker's prefix it would only guess."""
    try:
        return not name.startswith("/") and tzp.timezone(name) is not None
    except Exception:  # noqa: BLE001  it looks for a file of that name, and a name may be of any length
        return False


def _is(text: str, line: str) -> bool:
    return text.strip().upper() == line
