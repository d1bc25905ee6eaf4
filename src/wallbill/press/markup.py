"""What is known of a page's source: where each tag stands, which element each run of text belongs to.

The source itself is never rebuilt: what the press adds is spliced into it at the places found here, so that
taking it out again gives the source back to the letter.
"""

import re
from dataclasses import dataclass
from html import unescape
from typing import NamedTuple

_ATTRIBUTE = re.compile(
    r"""([^\s/>][^\s/>=]*)(?:\s*(=)\s*(?:"([^"]*)"|'([^']*)'|([^\s>"'][^\s>]*))?)?""", re.DOTALL
)


def words(text: str) -> frozenset[str]:
    """The words of a text, as a set."""
    return frozenset(text.split())


PHRASES = words(
    "a abbr b bdi bdo cite code data dfn em i kbd label mark q s samp small span strong sub sup time u var"
)
"""Elements of phrasing content that are inline unless a style says otherwise (HTML Standard, section 15.3.4)."""


class Element(NamedTuple):
    """A start tag in the source.

    ``at``: offset of its ``<``. ``name_end``, ``close``: offsets behind the name and of the ``>``.
    ``parent``: index of the element around it, -1 for none. A body that the author left out has no tag of its
    own: its three offsets are one, the place where it begins.
    """

    tag: str
    at: int
    name_end: int
    close: int
    parent: int
    depth: int

    @property
    def implied(self) -> bool:
        """True for a body without a tag."""
        return self.close == self.at


class Run(NamedTuple):
    """A stretch of the source, ``start`` to ``end``, that belongs to the element of index ``owner``."""

    owner: int
    start: int
    end: int


class Attribute(NamedTuple):
    """An attribute: its value with references resolved, the offsets of its raw value, and the quote around it.

    ``quote``: ``"``, ``'``, empty for a bare value, ``?`` for none after the name, ``=`` for none after the sign.
    """

    value: str
    start: int
    end: int
    quote: str


@dataclass(frozen=True, slots=True)
class Markup:
    """What was read.

    ``elements``: in the order of their start tags; inside of a drawing only the outermost ``svg`` counts.
    ``texts``: runs that hold more than white space. ``styles``: contents of ``<style>``.
    ``drawn``: tags inside drawings that matter to checks, with their offsets.
    ``unclosed``: indices of elements whose end tag is missing where it may not be.
    ``ends``: end tags that end the innermost open element, each with the element it ends.
    """

    source: str
    elements: tuple[Element, ...]
    texts: tuple[Run, ...]
    styles: tuple[Run, ...]
    drawn: tuple[tuple[str, int], ...]
    unclosed: tuple[int, ...]
    ends: tuple[Run, ...] = ()

    def line(self, at: int) -> int:
        """The line of an offset into the source, from 1."""
        return self.source.count("\n", 0, at) + 1

    def attributes(self, element: Element) -> dict[str, Attribute]:
        """The attributes of a start tag by name in lower case; the first of a name counts, as the standard says."""
        found: dict[str, Attribute] = {}
        if element.close - element.name_end < 2:
            return found
        for match in _ATTRIBUTE.finditer(self.source, element.name_end, element.close):
            name, equals = match[1].lower(), match[2]
            if name in found:
                continue
            group = match.lastindex or 1
            if group > 2:
                raw = match[group]
                value = unescape(raw) if "&" in raw else raw
                found[name] = Attribute(
                    value, match.start(group), match.end(group), ("", '"', "'", "")[group - 2]
                )
            else:
                end = match.end(2) if equals else match.end(1)
                found[name] = Attribute("", end, end, "=" if equals else "?")
        return found
