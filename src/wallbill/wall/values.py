"""Values as people write them in a wall: durations, quantities, hours of the day, days of the week.

Each reader gives the value or raises what `wallbill.places.faults.wrong` makes, with the mend.
"""

import re
from datetime import time, timedelta

from wallbill.places.faults import shown, wrong
from wallbill.places.words import did_you_mean
from wallbill.units.quantity import UNITS, Quantity
from wallbill.wall.model import EVERY_DAY, Hours, Weekday

_NUMBER_UNIT = re.compile(r"\s*([+-]?\d+(?:\.\d+)?)\s*([^\s\d.,+-][^\s\d,]*)\s*")
_HOURS = re.compile(r"\s*(\S+?)\s*(?:-|–|to)\s*(\S+)\s*")
_CLOCK = re.compile(r"(\d{1,2}):(\d{2})")
_LONGEST_DAYS = 3660  # ten years: longer than any panel is left alone
_SECONDS = {sign: float(scale.factor) for sign, scale in UNITS.items() if scale.kind == "duration"}.items()
_SIGNS = tuple(sign for sign, _ in _SECONDS)
# Words that people write for the signs of units.
_WORDS = (
    ("s", ("sec", "secs", "second", "seconds")),
    ("min", ("m", "mins", "minute", "minutes")),
    ("h", ("hr", "hrs", "hour", "hours")),
    ("d", ("day", "days")),
    ("m", ("metre", "metres", "meter", "meters")),
    ("ft", ("foot", "feet", "'")),
    ("in", ("inch", "inches", '"')),
)


def _unit_mend(word: str, signs: tuple[str, ...], number: str) -> str:
    meant = next((sign for sign, words in _WORDS if sign in signs and word.casefold() in words), None)
    if meant:
        return f"Write the unit as {meant!r}: '{number} {meant}'."
    return did_you_mean(word, signs)


def duration(value: object) -> timedelta:
    """A time that passes, such as ``"30 min"``, ``"1 h 30 min"``, ``"2 d"``: more than none, up to ten years."""
    if not isinstance(value, str):
        raise wrong(
            f"{shown(value)} has no unit", "Write a duration with its unit in quotes, such as '30 min'."
        )
    parts = _NUMBER_UNIT.findall(value)
    if not parts or _NUMBER_UNIT.sub("", value):
        raise wrong(
            f"{value!r} is no duration", "Write a number and a unit, such as '30 min', '3 h' or '2 d'."
        )
    total_s = 0.0
    for number, unit in parts:
        factor = dict(_SECONDS).get(unit)
        if factor is None:
            raise wrong(f"{unit!r} is no unit of duration", _unit_mend(unit, _SIGNS, number))
        total_s += float(number) * factor
    if not 0 < total_s <= _LONGEST_DAYS * 86400:
        raise wrong(f"{value!r} is not between nothing and ten years", "Write a longer or a shorter time.")
    return timedelta(seconds=total_s)


def length(value: object) -> Quantity:
    """A length, such as ``"2 m"`` or ``"-12.5 m"``."""
    signs = tuple(sign for sign, scale in UNITS.items() if scale.kind == "length")
    if not isinstance(value, str):
        raise wrong(f"{shown(value)} has no unit", "Write a length with its unit in quotes, such as '2 m'.")
    found = _NUMBER_UNIT.fullmatch(value)
    if found is None:
        raise wrong(f"{value!r} is no length", "Write a number and a unit, such as '2 m' or '80 cm'.")
    if found[2] not in signs:
        raise wrong(f"{found[2]!r} is no unit of length", _unit_mend(found[2], signs, found[1]))
    return Quantity(float(found[1]), found[2])


def distance(value: object) -> Quantity:
    """A length of more than nothing, up to a kilometre: from a reader's eye to a panel."""
    found = length(value)
    if not 0 < found.to("m").value <= 1000:
        raise wrong(
            f"{value!r} is no distance to read from", "Write how far away the reader stands, such as '2 m'."
        )
    return found


def clock(value: object) -> time:
    """A time of the day, such as ``"06:30"``; ``"24:00"`` is the midnight that ends the day."""
    if isinstance(value, time):
        return value
    found = _CLOCK.fullmatch(value.strip()) if isinstance(value, str) else None
    if found is None:
        raise wrong(
            f"{shown(value)} is no time of the day", "Write hours and minutes in quotes, such as '06:30'."
        )
    hour, minute = int(found[1]), int(found[2])
    if hour > 24 or minute > 59 or (hour == 24 and minute):
        raise wrong(f"{value!r} is no time of the day", "Write a time from '00:00' to '24:00'.")
    return time(hour % 24, minute)


def hours_between(start: time, end: time) -> Hours:
    """The span between two times of the day; over midnight where ``end`` is the earlier."""
    if start == end != time(0):
        raise wrong(
            f"the span from {start:%H:%M} to {end:%H:%M} is empty",
            "Write two different times, or 00:00 and 24:00 for the whole day.",
        )
    return Hours(start, end)


def hours(value: object) -> Hours:
    """A span of the day, such as ``"23:00-06:00"``; over midnight where its end is the earlier."""
    found = _HOURS.fullmatch(value) if isinstance(value, str) else None
    if found is None:
        raise wrong(
            f"{shown(value)} is no span of the day", "Write two times and a hyphen, such as '23:00-06:00'."
        )
    return hours_between(clock(found[1]), clock(found[2]))


def _weekday(word: str) -> Weekday:
    """A day by its English name or its first three letters."""
    names = dict(zip(_DAY_NAMES, Weekday, strict=True))
    short = word.strip().casefold()
    for name, day in names.items():
        if short in {name.casefold(), name[:3].casefold()}:
            return day
    known = [name[:3] for name in names]
    raise wrong(f"{word.strip()!r} is no day of the week", did_you_mean(word.strip(), known))


_DAY_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def days(value: object) -> frozenset[Weekday]:
    """Days of the week, such as ``"Mon-Fri"``, ``"Sat, Sun"`` or ``"Fri-Mon"``, in English whatever the wall speaks."""
    if isinstance(value, list) and all(isinstance(part, str) for part in value):
        value = ",".join(value)
    if not isinstance(value, str) or not value.strip(" ,"):
        raise wrong(f"{shown(value)} names no days", "Write days such as 'Mon-Fri' or 'Sat, Sun'.")
    found: set[Weekday] = set()
    for part in value.split(","):
        first, _, last = re.sub(r"\s*[–-]\s*", "-", part).partition("-")
        start = _weekday(first)
        end = _weekday(last) if last else start
        found |= {Weekday((start + step) % 7) for step in range((end - start) % 7 + 1)}
    return frozenset(found) if len(found) < 7 else EVERY_DAY
