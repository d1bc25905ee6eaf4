"""Values as people write them in a wall: durations, quantities, hours of the day, days of the week.

Each reader gives the value or raises what `wallbill.places.faults.wrong` makes, with the mend.
"""

import re
from calendar import monthrange
from datetime import date, datetime, time, timedelta

from wallbill.places.faults import shown, wrong
from wallbill.places.words import did_you_mean
from wallbill.units.quantity import UNITS, Quantity
from wallbill.wall.model import EVERY_DAY, Dates, Hours, Weekday

_NUMBER_UNIT = re.compile(r"\s*([+-]?\d+(?:\.\d+)?)\s*([^\s\d.,+-][^\s\d,]*)\s*")
_HOURS = re.compile(r"\s*(\S+?)\s*(?:-|–|to)\s*(\S+)\s*")
_CLOCK = re.compile(r"(\d{1,2}):(\d{2})")
_LONGEST_DAYS = 3660  # ten years: longer than any panel is left alone
_SECONDS = {sign: float(scale.factor) for sign, scale in UNITS.items() if scale.kind == "duration"}.items()
_SIGNS = tuple(sign for sign, _ in _SECONDS)
_SUCH_DATES = "Write days such as '2026-12-24', '12-24' for every year, or '2026-12-20 to 2027-01-06'."
_DATE = re.compile(r"(?:(\d{4})-)?(\d{2})-(\d{2})")
_LEAP_YEAR = 2000
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


def _quantity(value: object, kind: str, *, examples: tuple[str, str]) -> Quantity:
    """A number with a unit of one kind."""
    signs = tuple(sign for sign, scale in UNITS.items() if scale.kind == kind)
    if not isinstance(value, str):
        mend = f"Write a {kind} with its unit in quotes, such as {examples[0]!r}."
        raise wrong(f"{shown(value)} has no unit", mend)
    found = _NUMBER_UNIT.fullmatch(value)
    if found is None:
        raise wrong(
            f"{value!r} is no {kind}",
            f"Write a number and a unit, such as {' or '.join(map(repr, examples))}.",
        )
    if found[2] not in signs:
        raise wrong(f"{found[2]!r} is no unit of {kind}", _unit_mend(found[2], signs, found[1]))
    return Quantity(float(found[1]), found[2])


def length(value: object) -> Quantity:
    """A length, such as ``"2 m"`` or ``"-12.5 m"``."""
    return _quantity(value, "length", examples=("2 m", "80 cm"))


def distance(value: object) -> Quantity:
    """A length of more than nothing, up to a kilometre: from a reader's eye to a panel."""
    found = length(value)
    if not 0 < found.to("m").value <= 1000:
        raise wrong(
            f"{value!r} is no distance to read from", "Write how far away the reader stands, such as '2 m'."
        )
    return found


def cell_voltage(value: object) -> Quantity:
    """The voltage of a battery, such as ``"3.3 V"`` or ``"3300 mV"``: more than none, up to 100 V."""
    found = _quantity(value, "voltage", examples=("3.3 V", "3300 mV"))
    if not 0 < found.to("V").value <= 100:
        raise wrong(
            f"{value!r} is no voltage of a battery", "Write at how many volts it is empty, such as '3.3 V'."
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


def dates(value: object) -> tuple[Dates, ...]:
    """Days of the year: one day or a range such as ``"12-20 to 01-06"``, several parted by commas, or a list of those.

    A day with its year holds once, one without in every year. A date of TOML's own is taken as well.
    """
    parts = value if isinstance(value, list) else [value]
    texts = [text for part in parts for text in (part.split(",") if isinstance(part, str) else [part])]
    if not texts:
        raise wrong("the list is empty", _SUCH_DATES)
    return tuple(_range_of_days(text) for text in texts)


def _range_of_days(value: object) -> Dates:
    if isinstance(value, date) and not isinstance(value, datetime):
        value = value.isoformat()
    if not isinstance(value, str):
        raise wrong(f"{shown(value)} is no day of the year", _SUCH_DATES)
    ends = re.split(r"\s+to\s+|\s*–\s*|\s+-\s+", value.strip())
    if len(ends) > 2:
        raise wrong(f"{value.strip()!r} is no range of days", _SUCH_DATES)
    (first_year, *first), (last_year, *last) = (_day_of_year(end) for end in (ends[0], ends[-1]))
    if (first_year is None) != (last_year is None):
        raise wrong(
            f"only one end of {value.strip()!r} has a year",
            "Write the year at both ends, or at neither for every year.",
        )
    if first_year is None or last_year is None:
        return Dates((first[0], first[1]), (last[0], last[1]))
    if (first_year, *first) > (last_year, *last):
        raise wrong(f"{value.strip()!r} ends before it begins", "Write the earlier day first.")
    return Dates((first[0], first[1]), (last[0], last[1]), (first_year, last_year))


def _day_of_year(text: str) -> tuple[int | None, int, int]:
    """Year (None: every year), month and day."""
    found = _DATE.fullmatch(text)
    if found is None:
        raise wrong(f"{text!r} is no day of the year", _SUCH_DATES)
    year, month, day = int(found[1]) if found[1] else None, int(found[2]), int(found[3])
    if not 1 <= month <= 12 or year == 0:
        raise wrong(
            f"{text!r} is no day of the year",
            "Write year, month and day in this order, such as '2026-12-24'.",
        )
    longest = monthrange(year or _LEAP_YEAR, month)[1]
    if not 1 <= day <= longest:
        raise wrong(f"there is no day {text!r}", f"Write a day from 01 to {longest}.")
    return year, month, day
