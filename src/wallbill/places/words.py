"""Mends for misspelt words."""

import difflib
from collections.abc import Iterable


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
