"""In what type a class of elements is set, read from a sheet's styles with no page laid out.

A modest cascade for texts whose place on the page is known beforehand: those that blocks set under a class of their own.
Rules for ``html``, ``:root``, ``body``, ``*`` and the bare class are certain. Those that ask for more (an ancestor, a
second class, a condition) or that reach a box that may lie around a block are possible: a class then has several types.
CSS Cascading and Inheritance Level 4, sections 6 and 7; weights: CSS Fonts Level 4, section 2.2.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import IntEnum

from wallbill.errors import WallbillError
from wallbill.press.css import Node, check_nesting, contents_of, nested, rules_of, significant, split, text_of
from wallbill.press.media import Features, resolve_css
from wallbill.press.roletype import PLAIN, RoleType, changed, type_size
from wallbill.press.selectors import Reach, reach_of, specificity

_COMMAND = re.compile(r"\{%.*?%\}|\{#.*?#\}", re.DOTALL)
_VALUE = re.compile(r"\{\{.*?\}\}", re.DOTALL)
_MOST_TYPES = 6
_INITIAL_PX = 16.0
_SPOKEN = re.compile(r"font(-.*)?|letter-spacing|word-spacing|text-transform")


class _Level(IntEnum):
    """From the root to the element: where a rule's type comes in, and is inherited from there."""

    ROOT = 0
    BODY = 1
    AROUND = 2
    ELEMENT = 3


@dataclass(frozen=True, slots=True)
class _Said:
    """One declaration that reaches a level: its rank in the cascade, and whether it is certain to."""

    level: _Level
    rank: tuple[bool, tuple[int, int, int], int]
    name: str
    value: tuple[Node, ...]
    certain: bool


def static_style(text: str) -> str:
    """The style of a template as far as it stands before the template is filled in: what is filled in is no value."""
    return _VALUE.sub("wb-unknown", _COMMAND.sub(" ", text))


@dataclass(frozen=True, slots=True)
class RoleStyles:
    """The styles of one sheet, read. ``rules``: selector lists with their declarations, in order of the source.

    ``own_faces``: families of the page's own ``@font-face``, in lower case.
    """

    rules: tuple[tuple[Sequence[Node], tuple[Node, ...], bool], ...]
    own_faces: frozenset[str] = frozenset()

    def types(self, role: str) -> tuple[RoleType, ...]:
        """The types that an element of the class ``role`` may be set in; "" for the text of the page itself.

        The first follows from what is certain. Never empty, and at most six.
        """
        said = sorted(self._said(role), key=lambda one: (one.level, one.rank))
        custom = _custom(said)
        types: tuple[RoleType, ...] = (PLAIN,)
        size_px: float | None = _INITIAL_PX
        root_px = size_px
        for level in _Level:
            here = [(one, _resolved(one.value, custom)) for one in said if one.level is level]
            types = _changed(types, here)
            if level is not _Level.ELEMENT:  # a block says its own size, and its class may say another
                size_px = _size_px(here, size_px, root_px=root_px)
                root_px = size_px if level is _Level.ROOT else root_px
                types = tuple(dict.fromkeys(made.handed_on(size_px, root_px=root_px) for made in types))
        return tuple(dict.fromkeys(made.rooted(root_px) for made in types))

    def _said(self, role: str) -> Iterator[_Said]:
        for order, (prelude, declarations, sure) in enumerate(self.rules):
            for selector in split(prelude):
                for level, certain in _levels(reach_of(selector, role), role):
                    for node in declarations:
                        rank = (bool(node.important), specificity(selector), order)
                        name, value = node.lower_name, tuple(significant(node.value))
                        yield _Said(level, rank, name, value, certain and sure)


_Here = Sequence[tuple[_Said, tuple[Node, ...]]]
"""The declarations of one level with their values."""


def _changed(types: tuple[RoleType, ...], here: _Here) -> tuple[RoleType, ...]:
    """The types with the declarations of one level put on them; what is not certain leaves the old ones there."""
    for one, value in here:
        new = tuple(changed(known, one.name, value) for known in types)
        types = tuple(dict.fromkeys(new if one.certain else types + new))[:_MOST_TYPES]
    return types


def _size_px(here: _Here, size_px: float | None, *, root_px: float | None) -> float | None:
    """The size of an element on the way, pixels, from that of its parent; None where it cannot be told."""
    for one, value in here:
        if one.name in ("font", "font-size"):
            length = type_size(one.name, value)
            length = length and length.rooted(root_px)
            lacks = length is None or (length.em and size_px is None) or not one.certain
            size_px = None if lacks or length is None else length.at(size_px or 0)
    return size_px


def _levels(reach: Reach, role: str) -> Iterator[tuple[_Level, bool]]:
    """Where a selector comes in on the way from the root to an element of the role, and whether it surely does."""
    last = _Level.ELEMENT if role else _Level.BODY
    if reach is Reach.EVERY:
        yield from ((level, True) for level in (_Level.ROOT, _Level.BODY, _Level.ELEMENT) if level <= last)
    for kind, level, certain in (
        (Reach.ROOT, _Level.ROOT, True),
        (Reach.BODY, _Level.BODY, True),
        (Reach.AROUND, _Level.AROUND, False),
        (Reach.ROLE, _Level.ELEMENT, True),
        (Reach.ROLE_PERHAPS, _Level.ELEMENT, False),
        (Reach.BODY_PERHAPS, _Level.BODY, False),
    ):
        if reach is kind and level <= last:
            yield level, certain


def read_roles(styles: Iterable[str], features: Features) -> RoleStyles:
    """Reads the styles of a sheet in their order, for a panel. Raises `PressError` for too deep nesting."""
    rules: list[tuple[Sequence[Node], tuple[Node, ...], bool]] = []
    own: set[str] = set()
    for css in styles:
        resolved = resolve_css(css, features)
        check_nesting(resolved)
        for at_rule, prelude, declarations, sure in _walk(rules_of(resolved), (), sure=True):
            if at_rule == "font-face":
                own.update(_face_names(declarations))
            elif not at_rule and any(_speaks(node.lower_name) for node in declarations):
                rules.append((prelude, declarations, sure))
    return RoleStyles(tuple(rules), frozenset(own))


def _speaks(name: str) -> bool:
    return name.startswith("--") or _SPOKEN.fullmatch(name) is not None


_Block = tuple[str, Sequence[Node], tuple[Node, ...], bool]


def _walk(nodes: Sequence[Node], outer: Sequence[Node], *, sure: bool) -> Iterator[_Block]:
    """Every block of declarations with its at-rule or its selector, and whether no condition stands around it."""
    for node in nodes:
        if node.type == "qualified-rule":
            inner = contents_of(node.content)
            prelude = [*outer, *node.prelude] if outer else node.prelude
            own = tuple(part for part in inner if part.type == "declaration")
            yield "", prelude, own, sure
            yield from _walk([part for part in inner if part.type != "declaration"], prelude, sure=sure)
        elif node.type == "at-rule" and node.content is not None:
            yield from _at_rule(node, outer, sure=sure)


def _at_rule(node: Node, outer: Sequence[Node], *, sure: bool) -> Iterator[_Block]:
    name, query = node.lower_at_keyword, text_of(node.prelude).strip().lower()
    if name == "font-face":
        yield name, (), tuple(contents_of(node.content)), sure
    elif name == "layer" or (name == "media" and query in ("", "all", "screen")):
        yield from _inside(node, outer, sure=sure)
    elif name in ("supports", "container") or (name == "media" and query not in ("not all", "print")):
        yield from _inside(node, outer, sure=False)


def _inside(node: Node, outer: Sequence[Node], *, sure: bool) -> Iterator[_Block]:
    if not outer:
        return _walk(rules_of(node.content), outer, sure=sure)
    inner = contents_of(node.content)
    own = tuple(part for part in inner if part.type == "declaration")
    rest = [part for part in inner if part.type != "declaration"]
    return iter([("", outer, own, sure), *_walk(rest, outer, sure=sure)])


def _face_names(declarations: Sequence[Node]) -> Iterator[str]:
    for node in declarations:
        if node.type == "declaration" and node.lower_name == "font-family":
            words = [part.value for part in node.value if part.type in ("string", "ident")]
            yield " ".join(words).casefold()


def _custom(said: Sequence[_Said]) -> dict[str, tuple[Node, ...]]:
    """The custom properties as they are inherited; only those that are certain."""
    return {one.name: one.value for one in said if one.name.startswith("--") and one.certain}


def _resolved(
    value: tuple[Node, ...], custom: dict[str, tuple[Node, ...]], *, depth: int = 8
) -> tuple[Node, ...]:
    """A value with each ``var()`` put in, or its fallback; one that is not known stays, and is no value."""
    if not any(node.type == "function" and node.lower_name == "var" for node in nested(value)):
        return value
    found: list[Node] = []
    for node in value:
        if node.type != "function" or node.lower_name != "var" or not depth:
            found.append(node)
            continue
        name, *rest = split(node.arguments)
        names = significant(name)
        known = custom.get(str(names[0].value)) if names and names[0].type == "ident" else None
        if known is None and rest:
            known = tuple(significant(rest[0]))  # of a list its first
        found += [node] if known is None else _resolved(known, custom, depth=depth - 1)
    return tuple(found)


def readable(styles: Iterable[str], features: Features) -> RoleStyles:
    """As `read_roles`; a style that cannot be read says nothing, as the press will tell of it."""
    try:
        return read_roles(styles, features)
    except WallbillError:
        return RoleStyles(())
