"""Mends for misspelt words, and how values are shown in messages."""

import difflib
from collections.abc import Iterable

_LONGEST_SHOWN = 60


def closest(word: str, choices: Iterable[str]) -> str | None:
    """The choice that ``word`` was most likely meant to be, or None if none is near."""
    known = {choice.casefold(): choice for choice in choices}
    near = difflib.get_close_matches(word.casefold(), known, n=1, cutoff=0.6)
    return known[near[0]] if near else None


def did_you_mean(word: str, choices: Iterable[str], *, else_: str = "") -> str:
    """The mend for a misspelt ``word``: the nearest choice, or else all choices, or ``else_`` if given."""
    known = sorted(choices)
    if near := closest(word, known):
        return f"Did you mean {near!r}?"
    if else_ or not known:
        return else_
    return f"Use one of {', '.join(known)}."


def shown(value: object) -> str:
    """A value in a message: as it is written, or what kind of thing it is where that would be long."""
    said = repr(value)
    return said if len(said) <= _LONGEST_SHOWN else a_kind(type(value))


def a_kind(kind: type) -> str:
    """The name of a kind of value with its article: an Event, a number."""
    word = {"str": "text", "int": "number", "float": "number", "NoneType": "gap", "mappingproxy": "table",
            "dict": "table", "tuple": "list"}.get(kind.__name__, kind.__name__)  # fmt: skip
    return f"{'an' if word[0] in 'AEIOaeio' else 'a'} {word}"
