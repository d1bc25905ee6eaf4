"""CSS and markup that the press cannot do justice to, as findings with the way round.

Each rule has a heading in ``docs/reference/css.md``. What the default engine lacks was measured against headless
Chromium; ``tests/press/test_engines_agree.py`` tells when a new version mends or breaks one.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from wallbill.errors import Place
from wallbill.findings import Finding, Weight
from wallbill.press.css import Declaration, Node, Prelude, Style, nested, read_inline, text_of

_FLEX_OR_GRID = "lay the parts out with flex or grid, or press this sheet with the Chromium engine"


@dataclass(frozen=True, slots=True)
class Rule:
    """What is wrong in words, how to mend it, how much it matters, and whether it holds for every engine."""

    what: str
    mend: str
    weight: Weight = Weight.WARN
    every_engine: bool = False


RULES = MappingProxyType(
    {
        "press.float": Rule(
            "a float beside text that wraps makes the engine run for ever", _FLEX_OR_GRID, Weight.STOP
        ),
        "press.subgrid": Rule(
            "subgrid is not known to the engine", "repeat the outer grid's columns in the inner one"
        ),
        "press.line-clamp": Rule(
            "line clamping is ignored", "cut the text in the sheet, or give the box a height and overflow: hidden"
        ),
        "press.dashes": Rule(
            "dashes and dots are spaced otherwise than in browsers",
            "use a repeating gradient of whole pixels where the rhythm matters", Weight.NOTE,
        ),
        "press.writing-mode": Rule(
            "vertical writing is ignored", "turn the box with transform: rotate(90deg), or use the Chromium engine"
        ),
        "press.columns": Rule("text columns are ignored", "part the text into a grid of boxes"),
        "press.container": Rule(
            "container queries are ignored", "use media queries: the page's size is the panel's size"
        ),
        "press.has": Rule(":has() never matches", "give the element a class in the sheet"),
        "press.nth-of": Rule(
            "':nth-child(… of …)' never matches", "give the elements a class in the sheet, or use :nth-of-type()"
        ),
        "press.collapse": Rule(
            "collapsed table borders are drawn a little otherwise than in browsers",
            "set border-spacing: 0 and draw one side of each cell", Weight.NOTE,
        ),
        "press.pseudo-size": Rule(
            "generated text has another font than its element, and so is not fitted to the pixel grid",
            "write the text into the sheet in an element of its own", every_engine=True,
        ),
        "press.outside": Rule(
            "the page asks for something outside of it, which is never loaded",
            "put it into the page as a data: address", every_engine=True,
        ),
        "press.svg-pattern": Rule(
            "patterns in drawings are left out", "draw the pattern's lines themselves, or use a background gradient"
        ),
        "press.svg-text": Rule("text inside of a drawing is not drawn", "lay HTML text over the drawing"),
        "press.form-control": Rule(
            "the text of a form control is not fitted to the pixel grid",
            "show the value in an ordinary element", every_engine=True,
        ),
        "press.script": Rule("scripts are not run", "work it out in the sheet or in a source", every_engine=True),
        "press.markup": Rule("the element is never closed", "write its end tag", Weight.NOTE, every_engine=True),
        "press.duplicate-id": Rule(
            "the id is used twice, so only the last element's box is known", "give each element its own id",
            Weight.NOTE, every_engine=True,
        ),
        "press.own-face": Rule(
            "a face of the page's own @font-face is not fitted to the pixel grid",
            "put the font file where the wall keeps its faces and leave @font-face out", every_engine=True,
        ),
        "press.overflow": Rule(
            "text leaves the page", "shorten the text, set it smaller, or give its box more room", every_engine=True
        ),
        "press.empty-picture": Rule(
            "the engine gave the picture no size, so its own size was set", "write width and height on the img",
            Weight.NOTE,
        ),
    }
)  # fmt: skip
"""Every rule of the room by its name."""

_CLAMPS = frozenset({"-webkit-line-clamp", "line-clamp"})
_COLUMNS = frozenset({"columns", "column-count", "column-width"})
_FONT = frozenset({"font", "font-size", "font-family", "font-weight", "font-style"})
_PSEUDO = re.compile(r"::?(before|after|first-line|first-letter|marker)\b", re.IGNORECASE)
_DASHES = re.compile(r"\b(dashed|dotted)\b")
_OUTSIDE = re.compile(
    r"(?!data:|#|about:)[a-z][a-z0-9+.-]*:|//|[^#]*\.(?:png|jpe?g|gif|svg|webp|css|ttf|otf|woff2?)$",
    re.IGNORECASE,
)
_SUSPECT = re.compile(r"float|writing-mode|column|clamp|subgrid|dashed|dotted|collapse|url\(|container")


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


def lint_inline(css: str, *, engine: str) -> tuple[str, ...]:
    """The rules that a ``style`` attribute breaks. Raises `PressError` for too deep nesting."""
    if not _SUSPECT.search(css):
        return ()
    return tuple(dict.fromkeys(fault.rule for fault in lint_style(read_inline(css), 0, engine=engine)))


def is_outside(address: str) -> bool:
    """Whether an address in a page leads out of it."""
    return bool(_OUTSIDE.match(address.strip()))


def _words(declaration: Declaration) -> list[str]:
    return [node.lower_value for node in nested(declaration.value) if node.type == "ident"]


def _declaration(declaration: Declaration) -> Iterator[str]:
    yield from _border_rules(declaration.name, _words(declaration))
    name, words = declaration.name, _words(declaration)
    if name == "float" and {"left", "right", "inline-start", "inline-end"} & set(words):
        yield "press.float"
    if name.startswith("grid") and "subgrid" in words:
        yield "press.subgrid"
    if name in _CLAMPS and words != ["none"]:
        yield "press.line-clamp"
    if name == "writing-mode" and words != ["horizontal-tb"]:
        yield "press.writing-mode"
    if name in _COLUMNS and words != ["auto"]:
        yield "press.columns"
    if name in ("container", "container-type") and words != ["normal"]:
        yield "press.container"
    if name in _FONT and _PSEUDO.search(declaration.selector):
        yield "press.pseudo-size"
    if any(is_outside(address) for address in _addresses(declaration.value)):
        yield "press.outside"


def _border_rules(name: str, words: list[str]) -> Iterator[str]:
    if name.startswith(("border", "outline")) and _DASHES.search(" ".join(words)):
        yield "press.dashes"
    if name == "border-collapse" and "collapse" in words:
        yield "press.collapse"


def _addresses(tokens: Sequence[Node]) -> Iterator[str]:
    for node in nested(tokens):
        if node.type == "url":
            yield node.value
        elif node.type == "function" and node.lower_name in ("url", "image-set", "src"):
            yield from (inner.value for inner in node.arguments if inner.type == "string")


def _prelude(prelude: Prelude) -> Iterator[str]:
    if prelude.at_rule == "container":
        yield "press.container"
    if prelude.at_rule == "import":
        yield "press.outside"
    for node in nested(prelude.tokens) if not prelude.at_rule else ():
        if node.type == "function" and node.lower_name == "has":
            yield "press.has"
        if (
            node.type == "function"
            and node.lower_name.startswith("nth-")
            and any(inner == "of" or getattr(inner, "value", "") == "of" for inner in node.arguments)
        ):
            yield "press.nth-of"
