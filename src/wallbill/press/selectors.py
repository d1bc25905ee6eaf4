"""Whom a selector may reach, of those elements whose type has to be known before a page is made."""

from collections.abc import Sequence
from enum import Enum
from itertools import pairwise

from wallbill.press.css import Node, nested, significant, split

_AROUND = frozenset({"main", "section", "article", "aside", "header", "footer", "nav", "div", "figure"})
"""Elements that a block commonly lies in, by their names in HTML."""

_COMBINATORS = frozenset({">", "+", "~"})


class Reach(Enum):
    """Which element a selector's subject is, seen from an element of a class."""

    NONE = "none"
    EVERY = "every"
    ROOT = "root"
    BODY = "body"
    BODY_PERHAPS = "body, under a condition"
    AROUND = "a box that may lie around it"
    ROLE = "the class itself"
    ROLE_PERHAPS = "the class, under a condition"


def reach_of(selector: Sequence[Node], role: str) -> Reach:
    """Whom a complex selector (tokens, no commas) reaches. ``role``: the class, "" for none."""
    compounds = _compounds(selector)
    if not compounds:
        return Reach.NONE
    last = compounds[-1]
    names = [node.lower_value for node in last if node.type == "ident"]
    if any(node == ":" for node in last[:-1]) and _is_pseudo_element(last):
        return Reach.NONE
    if role and _has_class(last, role):
        return Reach.ROLE if len(last) == 2 and len(compounds) == 1 else Reach.ROLE_PERHAPS
    if role and _may_have_class(last, role):
        return Reach.ROLE_PERHAPS
    plain = len(last) == 1
    if plain and last[0] == "*":
        return Reach.EVERY if len(compounds) == 1 else Reach.AROUND
    if names == ["html"] or _is_root(last):
        return Reach.ROOT if plain or _is_root(last) else Reach.NONE
    if names[:1] == ["body"]:
        sure = plain and all(_is_root(part) or _is_html(part) for part in compounds[:-1])
        return Reach.BODY if sure else Reach.BODY_PERHAPS
    bare = len(compounds) == 1 and names == ["span"]
    return Reach.AROUND if plain and names and (names[0] in _AROUND or bare) else Reach.NONE


def specificity(selector: Sequence[Node]) -> tuple[int, int, int]:
    """Ids, classes and element names of a complex selector (Selectors Level 4, section 17)."""
    ids = classes = names = 0
    before: Node = None
    for node in selector:
        if node.type == "hash":
            ids += 1
        elif node.type == "[] block" or (node.type == "ident" and before in (".", ":")):
            classes += 1
        elif node.type == "ident":
            names += 1
        elif node.type == "function":
            inner = _of_function(node)
            ids, classes, names = ids + inner[0], classes + inner[1], names + inner[2]
        before = node
    return ids, classes, names


def _of_function(node: Node) -> tuple[int, int, int]:
    """Of a pseudo-class with brackets: the most of its arguments, nothing, or that of a class."""
    if node.lower_name in ("is", "not", "has", "matches"):
        return max((specificity(part) for part in split(node.arguments)), default=(0, 0, 0))
    return (0, 0, 0) if node.lower_name == "where" else (0, 1, 0)


def _compounds(selector: Sequence[Node]) -> list[list[Node]]:
    """The compound selectors from left to right; what nests (``&``) counts as one."""
    parts: list[list[Node]] = [[]]
    for node in selector:
        if node.type in ("whitespace", "comment") or (node.type == "literal" and node.value in _COMBINATORS):
            if parts[-1]:
                parts.append([])
        else:
            parts[-1].append(node)
    return [part for part in parts if part]


def _has_class(compound: Sequence[Node], role: str) -> bool:
    return any(
        before == "." and node.type == "ident" and node.value == role for before, node in pairwise(compound)
    )


def _may_have_class(compound: Sequence[Node], role: str) -> bool:
    """Whether the class is named in brackets, as in ``:is(.a, .b)`` or ``[class~=a]``; not in ``:not()``."""
    return any(
        (node.type == "function" and node.lower_name in ("is", "where", "matches"))
        and any(part.type == "ident" and part.value == role for part in nested(node.arguments))
        for node in compound
    ) or any(
        node.type == "[] block"
        and any(part.type in ("ident", "string") and part.value == role for part in significant(node.content))
        for node in compound
    )


def _is_root(compound: Sequence[Node]) -> bool:
    return (
        len(compound) == 2
        and compound[0] == ":"
        and compound[1].type == "ident"
        and compound[1].lower_value == "root"
    )


def _is_html(compound: Sequence[Node]) -> bool:
    return len(compound) == 1 and compound[0].type == "ident" and compound[0].lower_value == "html"


def _is_pseudo_element(compound: Sequence[Node]) -> bool:
    return any(
        before == ":" and node == ":" for before, node in pairwise(compound)
    ) or any(
        before == ":" and node.type == "ident" and node.lower_value in ("before", "after", "first-line", "first-letter")
        for before, node in pairwise(compound)
    )  # fmt: skip
