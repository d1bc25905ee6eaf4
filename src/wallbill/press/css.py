"""Reads style sheets: the one place where the CSS tokenizer is used.

Tokens come from ``tinycss2`` (CSS Syntax Module Level 3) and keep its shape: ``type``, ``value``, ``content``,
``source_line``, ``source_column``. A stylesheet is walked once into flat lists of rules and declarations.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import tinycss2  # type: ignore[import-untyped]  # ships no types; used from this module only

from wallbill.errors import PressError

Node = Any
"""A token or rule of ``tinycss2``."""

NEST_LIMIT = 64
_NEWLINE = re.compile(r"\r\n|[\r\n\f]")
_NOT_CODE = re.compile(r"""/\*.*?(?:\*/|\Z)|"(?:[^"\\\n]|\\.)*"|'(?:[^'\\\n]|\\.)*'|\\.""", re.DOTALL)
_BRACKET = re.compile(r"[\[({]|[\])}]")


class Declaration(NamedTuple):
    """One declaration: its property in lower case, its value's tokens, the selector it stands under, its line."""

    name: str
    value: Sequence[Node]
    selector: str
    line: int
    at_rule: str = ""


class Prelude(NamedTuple):
    """What stands before a block: the selector's or at-rule's tokens, the at-rule's name or nothing, the line."""

    at_rule: str
    tokens: Sequence[Node]
    line: int


@dataclass(frozen=True, slots=True)
class Style:
    """A style sheet, flat: every declaration and every prelude in the order of the source."""

    declarations: tuple[Declaration, ...]
    preludes: tuple[Prelude, ...]


def check_nesting(css: str) -> None:
    """Raises `PressError` when brackets are nested deeper than `NEST_LIMIT`, before anything recursive begins."""
    depth = 0
    for bracket in _BRACKET.findall(_NOT_CODE.sub("", css)):
        depth = depth + 1 if bracket in "[({" else max(0, depth - 1)
        if depth > NEST_LIMIT:
            raise PressError(
                f"a style is nested more than {NEST_LIMIT} deep",
                mend="look for a bracket that is opened again and again and never closed",
            )


def tokens_of(css: str) -> list[Node]:
    """The component values of a text, comments kept. Raises `PressError` for too deep nesting."""
    check_nesting(css)
    found: list[Node] = tinycss2.parse_component_value_list(css)
    return found


def text_of(nodes: Sequence[Node]) -> str:
    """Tokens as CSS again."""
    text: str = tinycss2.serialize(nodes)
    return text


def rules_of(css: str | Sequence[Node]) -> list[Node]:
    """The rules of a style sheet."""
    found: list[Node] = tinycss2.parse_stylesheet(css, skip_comments=True, skip_whitespace=True)
    return found


def contents_of(css: str | Sequence[Node]) -> list[Node]:
    """Declarations and rules of a block, or of a ``style`` attribute."""
    found: list[Node] = tinycss2.parse_blocks_contents(css, skip_comments=True, skip_whitespace=True)
    return found


def read_style(css: str) -> Style:
    """Walks a style sheet once. Raises `PressError` for too deep nesting."""
    check_nesting(css)
    return _flat(rules_of(css))


def read_inline(css: str) -> Style:
    """Walks a ``style`` attribute once."""
    check_nesting(css)
    return _flat(contents_of(css))


def _flat(nodes: Sequence[Node]) -> Style:
    declarations: list[Declaration] = []
    preludes: list[Prelude] = []
    for item in _walk(nodes, selector="", at_rule=""):
        (declarations if isinstance(item, Declaration) else preludes).append(item)  # type: ignore[arg-type]  # told apart by the test
    return Style(tuple(declarations), tuple(preludes))


# at-rules whose block holds rules; in the others it holds declarations
GROUPS = frozenset({"media", "supports", "layer", "container", "scope", "starting-style", "document"})


def _walk(nodes: Sequence[Node], *, selector: str, at_rule: str) -> Iterator[Declaration | Prelude]:
    for node in nodes:
        if node.type == "declaration":
            yield Declaration(node.lower_name, node.value, selector, node.source_line, at_rule)
        elif node.type == "qualified-rule":
            yield Prelude("", node.prelude, node.source_line)
            inner = f"{selector} {text_of(node.prelude).strip()}".strip()
            yield from _walk(contents_of(node.content), selector=inner, at_rule=at_rule)
        elif node.type == "at-rule":
            name = node.lower_at_keyword
            yield Prelude(name, node.prelude, node.source_line)
            if node.content is not None and name in GROUPS:
                inside = contents_of(node.content) if selector else rules_of(node.content)
                yield from _walk(inside, selector=selector, at_rule=at_rule)
            elif node.content is not None and name != "keyframes":
                yield from _walk(contents_of(node.content), selector=selector, at_rule=name)


def offsets(css: str) -> list[int]:
    """The offset at which each line of a style begins, for `offset_of`."""
    return [0, *(match.end() for match in _NEWLINE.finditer(css))]


def offset_of(node: Node, lines: Sequence[int]) -> int:
    """Where a token begins, as an offset into the text that `offsets` was given."""
    at: int = lines[node.source_line - 1] + node.source_column - 1
    return at


def significant(nodes: Sequence[Node]) -> list[Node]:
    """Tokens without white space and comments."""
    return [node for node in nodes if node.type not in ("whitespace", "comment")]


def split(nodes: Sequence[Node], sign: str = ",") -> list[list[Node]]:
    """Tokens parted at a literal on the top level."""
    parts: list[list[Node]] = [[]]
    for node in nodes:
        if node.type == "literal" and node.value == sign:
            parts.append([])
        else:
            parts[-1].append(node)
    return parts


def nested(nodes: Sequence[Node]) -> Iterator[Node]:
    """Every token, those inside of functions and brackets too."""
    for node in nodes:
        yield node
        inner = getattr(node, "content", None)
        if node.type == "function":
            inner = node.arguments
        if inner and not isinstance(inner, str):
            yield from nested(inner)


def without_imports(css: str) -> str:
    """A style sheet with every ``@import`` blanked out, lines kept: nothing outside of a page is ever loaded.

    ``blitz-py`` 0.5.0 panics on one whose address is relative.
    """
    if "@import" not in css.lower():
        return css
    lines, done, at = offsets(css), [], 0
    start: int | None = None
    for node in tokens_of(css):
        if node.type == "at-keyword" and node.lower_value == "import":
            start = offset_of(node, lines)
        elif start is not None and node == ";":
            end = offset_of(node, lines) + 1
            done += [css[at:start], "\n" * css.count("\n", start, end)]
            at, start = end, None
        elif node.type == "{} block":
            start = None
    return "".join([*done, css[at:] if start is None else css[at:start]])
