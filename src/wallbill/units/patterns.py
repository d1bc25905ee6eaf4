"""Patterns of dates by what a page wants to show: width words, skeletons and patterns of the Unicode CLDR.

Source: UTS 35, Unicode Locale Data Markup Language, part 4, "Date Format Patterns" and "Matching Skeletons". Babel
takes the nearest skeleton as it stands; the widths that were asked for are set here, as the standard wants.
"""

import re
from collections.abc import Iterable
from functools import lru_cache

from babel import Locale
from babel.dates import DateTimePattern, parse_pattern

from wallbill.errors import WallbillError

WIDTHS = ("full", "long", "medium", "short")
"""The width words of a date."""

_TIME_FIELDS = frozenset("hHkKmsSaBb")
_FIELDS = frozenset("GyYuQMwWdDFEabBhHmsSzZOvVXx")
_SAME = str.maketrans({"L": "M", "c": "E", "e": "E", "q": "Q", "K": "h", "k": "H"})
_RUN = re.compile(r"'[^']*'|([A-Za-z])\1*")
_OTHER_TYPE = 10


@lru_cache(maxsize=256)  # a page asks for the same few patterns again and again
def date_pattern(pattern: str, locale: Locale) -> DateTimePattern:
    """The pattern for a width word, a skeleton such as ``MMMEd`` (letters only), or a pattern such as ``d. MMM``.

    Raises `WallbillError` for letters that are no field, and for a skeleton that the locale cannot show.
    """
    if pattern in WIDTHS:
        return parse_pattern(locale.date_formats[pattern].pattern)
    try:
        letters = re.fullmatch("[A-Za-z]*", pattern.strip())
        return parse_pattern(_from_skeleton(pattern, locale) if letters else pattern)
    except (ValueError, KeyError) as fault:
        raise WallbillError(
            f"no date can be shown as {pattern!r}",
            mend=f"Use {', '.join(WIDTHS)}, or CLDR letters such as EEEEdMMMM or 'EEE d MMM'.",
        ) from fault


def asks_time(pattern: str) -> bool:
    """Whether a pattern or skeleton asks for a time of day; letters in quotes do not count."""
    return any(run[0] in _TIME_FIELDS | {"j"} for run in (m[0] for m in _RUN.finditer(pattern)))


def _fields(skeleton: str) -> dict[str, int]:
    """Field letter to width."""
    return {run[0].translate(_SAME): len(run) for run in (m[0] for m in _RUN.finditer(skeleton))}


def _from_skeleton(skeleton: str, locale: Locale) -> str:
    wanted = _fields(skeleton)
    found = _nearest(wanted, locale)
    if found is not None:
        return found.replace(" ", "\N{NARROW NO-BREAK SPACE}") if set(wanted) <= _TIME_FIELDS else found
    if len(wanted) == 1 and set(wanted) <= _FIELDS:
        return skeleton
    clock = {letter: width for letter, width in wanted.items() if letter in _TIME_FIELDS}
    day = {letter: width for letter, width in wanted.items() if letter not in _TIME_FIELDS}
    times, days = _nearest(clock, locale), _nearest(day, locale)
    if times is None or days is None:
        raise KeyError(skeleton)
    glue = str(locale.datetime_formats["medium"])
    return glue.replace("{0}", times).replace("{1}", days)


def _nearest(wanted: dict[str, int], locale: Locale) -> str | None:
    """The pattern of the nearest skeleton with the same fields, its text widths as wanted."""
    names = [str(name) for name in locale.datetime_skeletons]
    rated = ((_distance(wanted, _fields(n)), n) for n in names if set(_fields(n)) == set(wanted))
    best = min(rated, default=None)
    if best is None:
        return None
    pattern = locale.datetime_skeletons[best[1]].pattern
    return _RUN.sub(lambda run: _widened(run[0], wanted), pattern)


def _distance(wanted: dict[str, int], offered: dict[str, int]) -> int:
    return sum(
        abs(width - offered[letter])
        + (0 if _is_text(letter, width) == _is_text(letter, offered[letter]) else _OTHER_TYPE)
        for letter, width in wanted.items()
    )


def _is_text(letter: str, width: int) -> bool:
    return letter == "E" or (letter in "MQ" and width > 2)


def _widened(run: str, wanted: dict[str, int]) -> str:
    """A run of field letters at the width that is wanted, if it is text; quoted text stays."""
    letter = run[0].translate(_SAME)
    width = wanted.get(letter)
    if run[0] == "'" or width is None or not _is_text(letter, len(run)) or not _is_text(letter, width):
        return run
    return run[0] * max(width, 3 if letter == "E" and run[0] != "E" else width)


def fraction_digits(pattern: str, digits: Iterable[int]) -> str:
    """A number pattern of the CLDR with fraction digits from ``min`` to ``max`` of ``digits``, both parts of it."""
    least, most = min(digits), max(digits)
    fraction = f".{'0' * least}{'#' * (most - least)}" if most else ""
    return re.sub(r"0(\.[#0]*)?(?=[^0#.,]|$)", "0" + fraction, pattern)
