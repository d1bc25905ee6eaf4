"""How features of a user's map look: a small set of words that a feature or a sheet gives.

A feature says it by its properties ``map-line``, ``map-ink``, ``map-area`` and ``map-mark``; a sheet says it for all features
with a property, by the same words without ``map-``. What the feature says goes before.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, TypeVar

from wallbill.blocks.drawing.patterns import HATCHES, TINTS, Hatch
from wallbill.errors import SheetError
from wallbill.places.words import did_you_mean


class Line(StrEnum):
    """How a line, or the rim of an area, is drawn."""

    NONE = "none"
    FINE = "fine"
    PLAIN = "plain"
    BOLD = "bold"
    DASHED = "dashed"
    DOTTED = "dotted"


class Mark(StrEnum):
    """How a place is marked."""

    NONE = "none"
    DOT = "dot"
    RING = "ring"
    SQUARE = "square"
    FLAG = "flag"


class InkOf(StrEnum):
    """Which ink: the drawing's own, or the second one."""

    INK = "ink"
    ACCENT = "accent"


@dataclass(frozen=True, slots=True)
class Look:
    """How a feature is drawn. ``area``: the pattern that fills it, None for none."""

    line: Line = Line.FINE
    ink: InkOf = InkOf.INK
    area: Hatch | None = None
    mark: Mark = Mark.DOT


Word = TypeVar("Word", bound=StrEnum)

_WORDS = ("line", "ink", "area", "mark")


def look_of(properties: Mapping[str, Any], looks: Mapping[str, Mapping[str, str]]) -> Look:
    """The look that a feature's properties and the sheet's ``looks`` ask for.

    Raises `SheetError` for a word that is not known.
    """
    asked: dict[str, str] = {}
    for key, words in looks.items():
        name, _, value = key.partition("=")
        if name in properties and (not value or str(properties[name]) == value):
            _check_words(words, key)
            asked |= words
    asked |= {word: str(properties[f"map-{word}"]) for word in _WORDS if f"map-{word}" in properties}
    return Look(
        line=_one_of(Line, asked.get("line", Line.FINE), "line"),
        ink=_one_of(InkOf, asked.get("ink", InkOf.INK), "ink"),
        area=pattern_of(asked.get("area", "none")),
        mark=_one_of(Mark, asked.get("mark", Mark.DOT), "mark"),
    )


def _check_words(words: Mapping[str, str], key: str) -> None:
    for word in words:
        if word not in _WORDS:
            raise SheetError(f"a look has no {word!r} (for {key!r})", mend=did_you_mean(word, _WORDS))


def _one_of(words: type[Word], asked: str, what: str) -> Word:
    try:
        return words(asked)
    except ValueError:
        mend = did_you_mean(asked, tuple(words))
        raise SheetError(f"there is no {what} {asked!r}", mend=mend) from None


def pattern_of(asked: str) -> Hatch | None:
    """The pattern of an area: a tint, or a hatch that may be followed by ``close``; None for ``none``."""
    if asked == "none":
        return None
    if asked == "solid":
        return Hatch.SOLID
    name, _, close = asked.partition(" ")
    if not close and name in TINTS:
        return TINTS[name]
    if name in HATCHES and close in {"", "open", "close"}:
        return HATCHES[name][close == "close"]
    known = ("none", "solid", *TINTS, *HATCHES)
    raise SheetError(f"there is no area {asked!r}", mend=did_you_mean(name, known))
