"""Paragraphs run as ``dir`` says, for an engine that does not heed it.

``blitz-py`` 0.5.0 takes the direction of a paragraph from its first letter (Unicode Standard Annex 9, rules P2 and P3), also where
the page says it. So "21.3°C בחוץ" runs from the left, and a line of figures stands at the left. A mark of direction in front, which
shows nothing, is that first letter.
"""

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType

from wallbill.press.boxing import Boxing, Says, may_be
from wallbill.press.markup import PHRASES, Attribute, Markup

_MARKS = MappingProxyType({"rtl": "\N{RIGHT-TO-LEFT MARK}", "ltr": "\N{LEFT-TO-RIGHT MARK}"})
_LEFTWARD = re.compile(
    "[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc]|&#"
)  # blocks of the Unicode Standard, or perhaps so
_STRONG = frozenset({"L", "R", "AL"})
_SPACE = " \t\n\r\f"


def direction_marks(
    markup: Markup,
    attributes: Sequence[Mapping[str, Attribute]],
    *,
    inline: frozenset[int],
    boxing: Boxing,
) -> Iterator[tuple[int, str]]:
    """Where a paragraph needs a mark of its direction, behind the spaces in front of it, and which.

    ``inline``: the elements that stand in a line. What stands there in one piece is a paragraph of its own and ends none.
    """
    if not (
        any(_said(has) == "rtl" for has in attributes)
        or any(_LEFTWARD.search(markup.source, run.start, run.end) for run in markup.texts)
    ):
        return
    begun: list[int] = []  # blocks whose paragraphs go on, each in a line of the one before
    for owner, start, end in markup.texts:
        chain = _chain(markup, attributes, _block(markup, owner, inline), inline=inline, boxing=boxing)
        same = 0
        while same < min(len(chain), len(begun)) and chain[same] == begun[same]:
            same += 1
        for block in chain[same:]:
            text, direction = markup.source[start:end], _direction(markup, attributes, block)
            if direction not in _MARKS:
                continue
            if block != chain[-1]:  # its paragraph begins with what stands in its line in one piece
                yield markup.elements[chain[chain.index(block) + 1]].at, _MARKS[direction]
            elif direction != _first_letter(text):
                yield start + len(text) - len(text.lstrip(_SPACE)), _MARKS[direction]
        begun = chain


def _chain(
    markup: Markup,
    attributes: Sequence[Mapping[str, Attribute]],
    block: int,
    *,
    inline: frozenset[int],
    boxing: Boxing,
) -> list[int]:
    """A block, and before it those in whose lines it stands in one piece."""
    chain = [block]
    while in_one_piece(markup, attributes, chain[0], boxing=boxing):
        chain.insert(0, _block(markup, markup.elements[chain[0]].parent, inline))
    return chain


def in_one_piece(
    markup: Markup, attributes: Sequence[Mapping[str, Attribute]], index: int, *, boxing: Boxing
) -> bool:
    """Whether an element that is neither inline nor hidden surely stands in a line in one piece."""
    tag, has, parent = markup.elements[index].tag, attributes[index], markup.elements[index].parent
    if parent < 0 or not (tag in PHRASES or may_be(Says.ONE_PIECE, tag, has, boxing=())):
        return False
    return (
        may_be(Says.ONE_PIECE, tag, has, boxing=boxing)
        and not may_be(Says.FREE, tag, has, boxing=boxing)
        and not may_be(Says.LAYS_OUT, markup.elements[parent].tag, attributes[parent], boxing=boxing)
    )


def _block(markup: Markup, index: int, inline: frozenset[int]) -> int:
    """The element itself, or the first around it that is not inline."""
    while index in inline:
        index = markup.elements[index].parent
    return index


def _said(has: Mapping[str, Attribute]) -> str:
    return has["dir"].value.lower() if "dir" in has else ""


def _direction(markup: Markup, attributes: Sequence[Mapping[str, Attribute]], index: int) -> str:
    """What ``dir`` says for an element; ``ltr`` where it says nothing (HTML Standard, section 15.3.2)."""
    while index >= 0:
        if said := _said(attributes[index]):
            return said
        index = markup.elements[index].parent
    return "ltr"


def _first_letter(text: str) -> str:
    """The direction of the first letter of a text; nothing where it has none."""
    kinds = (unicodedata.bidirectional(sign) for sign in text)
    first = next((kind for kind in kinds if kind in _STRONG), "")
    return {"L": "ltr", "": ""}.get(first, "rtl")
