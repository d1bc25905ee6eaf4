"""Cutting a text to a width, and breaking it into lines: at the boundaries that Unicode gives, measured by a ruler.

Letters are extended grapheme clusters (Unicode Standard Annex 29), lines break as in Annex 14 with the tailorings of
the CLDR, through ICU. See ``docs/decisions/0117-breaking-lines.md``.
"""

import re
import unicodedata
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import chain, repeat

from icu4py.breakers import CharacterBreaker, LineBreaker

Measure = Callable[[str], int]
"""Width of a text on one line, pixels."""

DOTS = "…"
SOFT_HYPHEN = "\N{SOFT HYPHEN}"
_SPACES = re.compile("[ \t\n\r\f\v\x00-\x1f\x85\u2028\u2029]+")
_LOOSE_END = " \N{NO-BREAK SPACE}\N{NARROW NO-BREAK SPACE},;:–—-\N{SOFT HYPHEN}/·"
_WORD_SHARE = 0.75
_LEFTWARDS = "\N{RIGHT-TO-LEFT MARK}"
_MOST_LETTERS = 20_000  # of one text: more than any panel shows


class Cut(StrEnum):
    """Where a text that is too long loses letters: the middle for paths and numbers of things, else the end."""

    END = "end"
    MIDDLE = "middle"


@dataclass(frozen=True, slots=True)
class Type:
    """How a text is measured and broken. ``language``: a BCP 47 tag."""

    measure: Measure
    language: str = "en"

    def fits(self, text: str, width_px: int) -> bool:
        """Whether the text is no wider."""
        return self.measure(text) <= width_px

    def pieces(self, text: str) -> tuple[str, ...]:
        """The stretches of a text that are not broken, as they are set on a line of their own."""
        parts = (one_line(part) for part in text[:_MOST_LETTERS].splitlines())
        return tuple(_shown(piece) for part in parts if part for piece in LineBreaker(part, self.language))


def one_line(text: str) -> str:
    """A text from outside with its white space and line breaks as single spaces; no-break spaces stay."""
    return _SPACES.sub(" ", text[:_MOST_LETTERS]).strip(" ")


def graphemes(text: str) -> tuple[str, ...]:
    """What a reader takes for letters: a letter with its marks, a flag, a joined picture are one each."""
    return tuple(text) if text.isascii() else tuple(CharacterBreaker(text, "en"))


def runs_left(text: str) -> bool:
    """Whether the first letter that has a direction runs from right to left (Unicode Standard Annex 9, rule P2)."""
    ways = (unicodedata.bidirectional(sign) for sign in text)
    return next((way for way in ways if way in ("L", "R", "AL")), "L") != "L"


def cut(text: str, width_px: int, kind: Type, *, at: Cut = Cut.END) -> str:
    """The text, or as much of it as the width holds with an ellipsis; nothing where not even that has room."""
    if kind.fits(text, width_px):
        return text
    letters = graphemes(text.replace(SOFT_HYPHEN, ""))
    dots = DOTS + (_LEFTWARDS if runs_left(text) else "")
    shorten = _without_middle if at is Cut.MIDDLE else _without_end
    kept = _most(len(letters) - 1, lambda count: kind.fits(shorten(letters, count, dots), width_px))
    if kept > 0:
        return _at_word(letters, kept, dots) if at is Cut.END else shorten(letters, kept, dots)
    return dots if kind.fits(dots, width_px) else ""


def _most(most: int, fits: Callable[[int], bool]) -> int:
    """The greatest count up to ``most`` that fits, 0 for none: halved, then down to what truly fits."""
    low, high = 0, max(0, most)
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if fits(middle) else (low, middle - 1)
    while low > 0 and not fits(low):  # widths grow with every letter but for kerning
        low -= 1
    return low


def _without_end(letters: Sequence[str], count: int, dots: str) -> str:
    return "".join(letters[:count]).rstrip(_LOOSE_END) + dots


def _without_middle(letters: Sequence[str], count: int, dots: str) -> str:
    head = (count + 1) // 2
    tail = count - head
    return "".join(letters[:head]).rstrip(" ") + dots + "".join(letters[len(letters) - tail :]).lstrip(" ")


def _at_word(letters: Sequence[str], count: int, dots: str) -> str:
    """Cut behind a whole word where that leaves three quarters of the letters, else behind a letter."""
    if letters[count] == " ":
        return _without_end(letters, count, dots)
    ends = [at for at in range(1, count) if letters[at] == " "]
    whole = ends[-1] if ends and ends[-1] >= count * _WORD_SHARE else count
    return _without_end(letters, whole, dots)


def lines_of(
    text: str, width_px: int, kind: Type, *, most: int | None = None, first_px: int | None = None
) -> tuple[str, ...]:
    """The lines of a text that is broken to a width; the last of ``most`` is cut where there are more.

    ``first_px``: the width of the first line, where something stands beside it. A line feed breaks a line for good. A word breaks at its soft hyphens, and where it has none, between letters.
    """
    lines: list[str] = []
    first = width_px if first_px is None else first_px
    paragraphs = [one_line(part) for part in text[:_MOST_LETTERS].splitlines()] or [""]
    for number, paragraph in enumerate(paragraphs):
        widths = chain([width_px if lines else first], repeat(width_px))
        for raw, rest in _broken(paragraph, widths, kind):
            here = width_px if lines else first
            if most is not None and len(lines) == most - 1 and (rest or number + 1 < len(paragraphs)):
                return (*lines, _last(raw + rest, here, kind))
            line = _shown(raw)
            lines.append(line if kind.fits(line, here) else cut(line, here, kind))
    return tuple(lines)


def _last(text: str, width_px: int, kind: Type) -> str:
    """A line that has to stand for all that follows, and so ends with an ellipsis."""
    whole = _shown(one_line(text))
    found = cut(whole, width_px, kind)
    if found != whole or not whole:
        return found
    return cut(f"{whole} {DOTS}{_LEFTWARDS if runs_left(whole) else ''}", width_px, kind)


def _broken(text: str, widths_px: Iterator[int], kind: Type) -> Iterator[tuple[str, str]]:
    """Each line as it stands in the text, with what is still to come. ``widths_px``: of one line after the other."""
    pieces = list(LineBreaker(text, kind.language)) if text else []
    line, at, width_px = "", 0, next(widths_px)
    while at < len(pieces):
        piece = pieces[at]
        if kind.fits(_shown(line + piece), width_px):
            line, at = line + piece, at + 1
            continue
        if not line:
            line, rest = _split(piece, width_px, kind)
            pieces[at : at + 1] = [rest] if rest else []
        yield line, "".join(pieces[at:])
        line, width_px = "", next(widths_px)
    if line or not text:
        yield line, ""


def _shown(line: str) -> str:
    """A line as it is set: no spaces at its end, and a hyphen for a soft one there."""
    end = line.rstrip(" ")
    hyphen = "-" if end.endswith(SOFT_HYPHEN) else ""
    return end.replace(SOFT_HYPHEN, "") + hyphen


def _split(piece: str, width_px: int, kind: Type) -> tuple[str, str]:
    """A word too long for a line, split between letters; one letter at least is taken, so that it comes to an end."""
    letters = graphemes(piece)
    count = max(1, _most(len(letters), lambda many: kind.fits("".join(letters[:many]), width_px)))
    return "".join(letters[:count]), "".join(letters[count:])
