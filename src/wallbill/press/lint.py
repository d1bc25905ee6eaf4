"""CSS that the press cannot do justice to, found in style sheets and ``style`` attributes."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from wallbill.errors import Place
from wallbill.findings import Finding
from wallbill.press.css import Declaration, Node, Prelude, Style, nested, read_inline, text_of
from wallbill.press.rules import RULES

# property, value, rule: both patterns must match, the property as a whole
_DECLARED = tuple(
    (re.compile(prop), re.compile(value, re.IGNORECASE), rule)
    for prop, value, rule in (
        (r"float", r"left|right|inline-", "press.float"),
        (r"grid.*", r"\bsubgrid\b", "press.subgrid"),
        (r"columns|column-count|column-width", r"\d", "press.columns"),
        (r"container|container-type", r"size", "press.container"),
        (r"writing-mode", r"vertical|sideways|tb", "press.writing-mode"),
        (r"direction", r"rtl", "press.direction"),
        (r"vertical-align", r"^(?!\s*(baseline|top|inherit|initial|unset)\s*$)", "press.vertical-align"),
        (r"z-index", r"^\s*-", "press.z-index"),
        (r"position", r"fixed", "press.fixed"),
        (r"(-webkit-)?line-clamp", r"\d", "press.line-clamp"),
        (r"text-overflow", r"ellipsis|[\"']", "press.ellipsis"),
        (r"text-transform", r"capitalize", "press.capitalize"),
        (r"text-shadow|-webkit-text-stroke.*", r"\d", "press.text-shadow"),
        (r"text-underline-offset|text-decoration-thickness", r"\d", "press.underline"),
        (r"text-decoration", r"\d+(\.\d+)?(px|em|%)", "press.underline"),
        (r"content", r"\bcounters?\(", "press.counter"),
        (r"content", r"^\s*[\"']( |\xa0|\\\\a0)|( |\xa0|\\\\a0)[\"']\s*$", "press.generated-space"),
        (r"content", r"(open|close)-quote", "press.quotes"),
        (r"border.*|outline|outline-style", r"\b(dashed|dotted)\b", "press.dashes"),
        (r"outline-offset", r"[1-9]", "press.outline-offset"),
        (r"filter|backdrop-filter", r"\(", "press.filter"),
        (
            r"mix-blend-mode|background-blend-mode",
            r"^(?!\s*(normal|inherit|initial|unset)\s*$)",
            "press.filter",
        ),
        (
            r"background|background-image",
            r"gradient\([^;]*[\d)a-z%]\s*,[^,]*\s0(?:%|px)?\s*[,)]",
            "press.gradient-stop",
        ),
        (r"background|background-image", r"url\(.{0,3}data:image/svg", "press.background-svg"),
        (r"fill|stroke|stroke-width|stroke-.*|fill-.*", r".", "press.svg-style"),
        (r"border-collapse", r"collapse", "press.collapse"),
        (r"caption-side", r".", "press.caption"),
    )
)
_KNOWN_MARKERS = frozenset(
    (
        *("decimal", "lower-alpha", "upper-alpha", "lower-latin", "upper-latin", "none", "inside", "outside"),
        *("inherit", "initial", "unset", "revert"),
    )
)
_BULLETS = frozenset(["disc", "circle", "square"])
_FONT = frozenset({"font", "font-size", "font-family", "font-weight", "font-style"})
_PSEUDO = re.compile(r"::?(before|after|marker)\b", re.IGNORECASE)
_COLUMN = re.compile(r"(^|[\s>+~,])col(group)?\b(?![\w-])", re.IGNORECASE)
_OUTSIDE = re.compile(
    r"(?!data:|#|about:)[a-z][a-z0-9+.-]*:|//|[^#]*\.(?:png|jpe?g|gif|svg|webp|css|ttf|otf|woff2?)$",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class CssFault:
    """A rule's breach in a style sheet: which sheet of the page, the line in it (from 1), and what it was."""

    rule: str
    sheet: int
    line: int
    field: str


def finding(rule: str, where: Place) -> Finding:
    """A finding of one of the `RULES`."""
    known = RULES[rule]
    return Finding(rule, where, known.what, mend=known.mend, weight=known.weight)


def holds_for(rule: str, engine: str) -> bool:
    """Whether a rule matters with an engine of this name."""
    return engine == "blitz" or RULES[rule].every_engine


def lint_style(style: Style, sheet: int, *, engine: str) -> tuple[CssFault, ...]:
    """The breaches in one style sheet, each rule once a line."""
    seen: dict[tuple[str, int], str] = {}
    for declaration in style.declarations:
        for rule in _declaration(declaration):
            seen.setdefault((rule, declaration.line), f"{declaration.selector} {declaration.name}".strip())
    for prelude in style.preludes:
        for rule in _prelude(prelude):
            seen.setdefault((rule, prelude.line), text_of(prelude.tokens).strip())
    return tuple(
        CssFault(rule, sheet, line, field) for (rule, line), field in seen.items() if holds_for(rule, engine)
    )


@lru_cache(maxsize=2048)
def lint_inline(css: str, *, engine: str) -> tuple[str, ...]:
    """The rules that a ``style`` attribute breaks. Raises `PressError` for too deep nesting.

    Most attributes set a length or a colour, which is told by their properties' names without a full reading; and most
    are those of the page before, so what was said of them is kept.
    """
    if not any(_is_suspect(part.partition(":")[0].strip().lower()) for part in css.split(";")):
        return ()
    return tuple(dict.fromkeys(fault.rule for fault in lint_style(read_inline(css), 0, engine=engine)))


def _is_suspect(name: str) -> bool:
    return name.startswith(("list-style", "background")) or any(
        prop.fullmatch(name) for prop, _, _ in _DECLARED
    )


def is_outside(address: str) -> bool:
    """Whether an address in a page leads out of it."""
    return bool(_OUTSIDE.match(address.strip()))


def _declaration(declaration: Declaration) -> Iterator[str]:
    name, value = declaration.name, text_of(declaration.value)
    for prop, pattern, rule in _DECLARED:
        if prop.fullmatch(name) and pattern.search(value):
            yield rule
    if name in ("list-style", "list-style-type"):
        yield from _marker_rules(declaration.value)
    if name in _FONT and _PSEUDO.search(declaration.selector):
        yield "press.pseudo-size"
    if "url" in value.lower() and any(is_outside(address) for address in _addresses(declaration.value)):
        yield "press.outside"


def _marker_rules(value: Sequence[Node]) -> Iterator[str]:
    words = {node.lower_value for node in value if node.type == "ident"}
    if words & _BULLETS:
        yield "press.bullet"
    if words - _KNOWN_MARKERS - _BULLETS:
        yield "press.list-style"


def _addresses(tokens: Sequence[Node]) -> Iterator[str]:
    for node in nested(tokens):
        if node.type == "url":
            yield node.value
        elif node.type == "function" and node.lower_name in ("url", "image-set", "src"):
            yield from (inner.value for inner in node.arguments if inner.type == "string")


_AT_RULES = (("container", "press.container"), ("import", "press.outside"), ("scope", "press.scope"))


def _prelude(prelude: Prelude) -> Iterator[str]:
    if prelude.at_rule:
        yield from (rule for name, rule in _AT_RULES if name == prelude.at_rule)
        return
    if _COLUMN.search(text_of(prelude.tokens)):
        yield "press.col"
    for node in nested(prelude.tokens):
        if node.type == "ident" and node.lower_value in ("first-letter", "first-line"):
            yield "press.first-letter"
        elif node.type == "function":
            yield from _functional(node)


def _functional(node: Node) -> Iterator[str]:
    name = node.lower_name
    if name in ("has", "lang"):
        yield "press.has" if name == "has" else "press.lang"
    if name.startswith("nth-") and any(getattr(inner, "value", "") == "of" for inner in node.arguments):
        yield "press.nth-of"
