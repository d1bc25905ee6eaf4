"""White space inside the edge of an inline element, which the default engine drops.

CSS Text Level 3, section 4.1.1 keeps one space of ``<b>Low </b>3°``. ``blitz-py`` 0.5.0 trims what an inline
element begins and ends with, every kind of space (Unicode's property White_Space), but collapses spaces across
elements as it should. So each such space is written once more outside of the element: where the engine trims the
inner one the outer stands in, and a space that was there already is collapsed with it. An element that is not inline loses its
edge spaces in browsers too, so it is left alone; so is one whose white space is preserved, which the engine does
not trim, and one that may begin or end with generated content.
"""

import re
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from html import unescape
from itertools import takewhile
from typing import NamedTuple

from wallbill.press.css import Declaration
from wallbill.press.markup import Attribute, Markup, words
from wallbill.press.subjects import Subject, names_of, subjects_of

_COLLAPSED = frozenset(" \t\n\r\f")
_SPACES_ONLY = r"(?:\s|&(?:[A-Za-z]+|#\d+|#[xX][0-9a-fA-F]+);)+"
_AT_START = re.compile(_SPACES_ONLY)
_AT_END = re.compile(rf"{_SPACES_ONLY}\Z")
_SIGN = re.compile(r"&[^;]+;|.", re.DOTALL)
_WHITE_SPACE = re.compile(r"white-space(?:-collapse)?\s*:\s*([^;]*)", re.IGNORECASE)
_COLLAPSES = words("normal nowrap collapse wrap balance stable pretty initial inherit unset revert important")
_WORD = re.compile(r"[\w-]+")
_PRESERVED = words("pre listing xmp plaintext textarea")
_NEVER = words(
    """html body title base link meta style script noscript template option optgroup select textarea xmp iframe
    img input br hr wbr col colgroup area source track embed object video audio canvas svg math
    table caption thead tbody tfoot tr td th"""
)


class Spaces(NamedTuple):
    """What style sheets say of spaces: subjects that may have text before or after, or that preserve white space."""

    before: tuple[Subject, ...] = ()
    after: tuple[Subject, ...] = ()
    preserved: tuple[Subject, ...] = ()


class Edges(NamedTuple):
    """Indices of the inline elements whose first and whose last space is dropped."""

    first: frozenset[int] = frozenset()
    last: frozenset[int] = frozenset()


class Outer(NamedTuple):
    """A space to be written at an offset, inside of the element ``owner``."""

    at: int
    text: str
    owner: int


def spaces_of(declarations: Sequence[Declaration]) -> Spaces:
    """What style sheets say of spaces. A subject may hold for more elements than its selector, never for fewer."""
    written = [d.selector.lower() for d in declarations if d.name == "content"]
    return Spaces(
        tuple(s for text in written if ":before" in text for s in subjects_of(text)),
        tuple(s for text in written if ":after" in text for s in subjects_of(text)),
        tuple(
            subject
            for d in declarations
            if d.name in ("white-space", "white-space-collapse")
            and not _collapses(" ".join(str(node.serialize()) for node in d.value))
            for subject in subjects_of(d.selector.lower())
        ),
    )


def _collapses(value: str) -> bool:
    """Whether a value surely leaves white space to collapse; ``var()`` may hold anything."""
    return _COLLAPSES.issuperset(_WORD.findall(value.lower()))


def probe_ids(markup: Markup, attributes: Sequence[Mapping[str, Attribute]]) -> dict[int, str | None]:
    """The elements to be asked whether they are inline, and the id that each is to be given, None for its own."""
    own = Counter(a["id"].value for a in attributes if "id" in a)
    found: dict[int, str | None] = {}
    for index, (element, has) in enumerate(zip(markup.elements, attributes, strict=True)):
        if element.implied or element.tag in _NEVER:
            continue
        if "id" not in has:
            found[index] = None
        elif has["id"].value and own[has["id"].value] == 1:
            found[index] = has["id"].value
    return found


def edges_of(
    markup: Markup,
    attributes: Sequence[Mapping[str, Attribute]],
    *,
    inline: Collection[int],
    spaces: Spaces,
) -> Edges:
    """Whose edge spaces are dropped, out of the elements that the engine found to be inline."""
    first, last, preserved = set(), set(), set()
    for index, (element, has) in enumerate(zip(markup.elements, attributes, strict=True)):
        names = names_of(element.tag, has)
        if element.parent in preserved or _preserves(element.tag, has, names, spaces.preserved):
            preserved.add(index)
        elif index in inline:
            if not any(subject <= names for subject in spaces.before):
                first.add(index)
            if not any(subject <= names for subject in spaces.after):
                last.add(index)
    return Edges(frozenset(first), frozenset(last))


def _preserves(
    tag: str, has: Mapping[str, Attribute], names: frozenset[str], preserved: Sequence[Subject]
) -> bool:
    style = has["style"].value if "style" in has else ""
    return (
        tag in _PRESERVED
        or any(subject <= names for subject in preserved)
        or any(not _collapses(match[1]) for match in _WHITE_SPACE.finditer(style))
    )


def outer_spaces(markup: Markup, edges: Edges) -> tuple[Outer, ...]:
    """The spaces to be written outside of inline elements, through all edges that lie side by side."""
    source, elements = markup.source, markup.elements
    begins = {elements[index].close + 1: index for index in edges.first}
    ends = {run.start: run for run in markup.ends if run.owner in edges.last}
    found = []
    for start, index in begins.items():
        if text := _first(source, start):
            outer = elements[index]
            while (around := begins.get(outer.at)) is not None:
                outer = elements[around]
            found.append(Outer(outer.at, text, outer.parent))
    for end, run in ends.items():
        if text := _last(source, elements[run.owner].close + 1, end):
            outmost = run
            while (around_end := ends.get(outmost.end)) is not None:
                outmost = around_end
            found.append(Outer(outmost.end, text, elements[outmost.owner].parent))
    return tuple(found)


def _first(source: str, start: int) -> str:
    """The spaces that begin at ``start``, as they are to be written outside; empty for none."""
    here = source[start : start + 2]
    if here[:1] == " " and here[1:].isalnum():  # the usual case, quickly
        return " "
    if not (here[:1].isspace() or here[:1] == "&"):
        return ""
    match = _AT_START.match(source, start)
    return _written(takewhile(_is_space, _SIGN.findall(match[0]))) if match else ""


def _last(source: str, start: int, end: int) -> str:
    """The spaces that end at ``end``; empty for none, and where the element from ``start`` on holds nothing else."""
    here = source[max(start, end - 2) : end]
    if here[1:] == " " and here[0].isalnum():
        return " "
    if not (here[-1:].isspace() or here[-1:] == ";"):
        return ""
    match = _AT_END.search(source, max(start, source.rfind(">", start, end) + 1), end)
    if match is None or (match.start() == start and unescape(match[0]).isspace()):
        return ""
    spaces = list(takewhile(_is_space, reversed(_SIGN.findall(match[0]))))
    return _written(reversed(spaces))


def _is_space(sign: str) -> bool:
    return unescape(sign).isspace()


def _written(spaces: Iterable[str]) -> str:
    """One space for spaces that collapse; others as they stand in the source."""
    text = "".join(spaces)
    return " " if text and _COLLAPSED.issuperset(unescape(text)) else text
