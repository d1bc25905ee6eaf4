"""Elements that have no text of their own but a space between, or at the edges of, the elements in their lines.

Such a space is set in the face of the element around, as in ``<p><b>Low</b> <i>3°</i></p>``, so that face is fitted too.
"""

from collections.abc import Iterator, Mapping, Sequence

from wallbill.press.boxing import Boxing, Says, may_be
from wallbill.press.markup import PHRASES, Attribute, Markup, words

_IN_LINE = PHRASES | words("img svg")
_OUT = words("html head body table thead tbody tfoot tr ul ol dl")


def holds_spaces(
    markup: Markup, attributes: Sequence[Mapping[str, Attribute]], *, boxing: Boxing
) -> frozenset[int]:
    """Indices of the elements in whose lines a space may stand that is no part of a text."""
    source, elements = markup.source, markup.elements
    lines = _in_lines(markup, attributes, boxing=boxing)
    ends = {run.end: run.owner for run in markup.ends}
    found: set[int] = set()
    for index in lines:
        at, parent = elements[index].at, elements[index].parent
        if source[at - 1 : at].isspace() and _closes(markup, ends, lines, at=len(source[:at].rstrip())):
            found.add(parent)
    for run in markup.ends:
        first = elements[run.owner].close + 1
        edged = run.start > first and (source[first].isspace() or source[run.start - 1].isspace())
        if run.owner in lines and edged:
            found.update(_around(markup, lines, run.owner))
    return frozenset(index for index in found if index >= 0 and elements[index].tag not in _OUT)


def _in_lines(
    markup: Markup, attributes: Sequence[Mapping[str, Attribute]], *, boxing: Boxing
) -> frozenset[int]:
    """The elements that may stand in a line: not those that flex or grid lays out, nor those placed freely."""
    elements = markup.elements

    def says(what: Says, index: int) -> bool:
        return may_be(what, elements[index].tag, attributes[index], boxing=boxing)

    return frozenset(
        index
        for index, element in enumerate(elements)
        if (element.tag in _IN_LINE or says(Says.IN_LINE, index))
        and element.parent >= 0
        and not says(Says.FREE, index)
        and not says(Says.LAYS_OUT, element.parent)
    )


def _closes(markup: Markup, ends: Mapping[int, int], lines: frozenset[int], *, at: int) -> bool:
    """Whether an element that stands in a line ends at an offset."""
    if at in ends:
        return ends[at] in lines
    return markup.source.endswith(("</svg>", "/>"), 0, at) or any(
        markup.elements[index].close + 1 == at and markup.elements[index].tag == "img" for index in lines
    )


def _around(markup: Markup, lines: frozenset[int], index: int) -> Iterator[int]:
    """The element around, and those around that as long as they stand in a line themselves."""
    while index in lines:
        index = markup.elements[index].parent
        yield index
