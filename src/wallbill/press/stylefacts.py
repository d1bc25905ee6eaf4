"""What the press needs to know of a page's style sheets, read once and kept as long as they do not change."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from wallbill.press.boxing import Boxing, boxing_of
from wallbill.press.css import Declaration, Style, nested, read_style, without_imports
from wallbill.press.edges import Spaces, spaces_of
from wallbill.press.lint import CssFault, lint_style
from wallbill.press.media import Features, resolve_css, resolve_query

_LETTERS = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
COUNTED = frozenset("0123456789.-")
MARKERS = frozenset("•◦▪▸▾") | COUNTED
HYPHENS = frozenset("-‐")
QUOTES = frozenset("“”‘’\"'«»„‚‹›")
_LETTERED = re.compile(r"alpha|latin|roman|greek|armenian|georgian|hebrew|kana|cjk", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class StyleFacts:
    """What style sheets say.

    ``resolved``: each sheet with the panel's media features resolved; a sheet whose own ``media=`` does not hold
    for the panel is empty. ``attributes``: attribute names that selectors ask for. ``spaced``: whether letter
    spacing is set. ``generated``: characters that ``content`` writes. ``generates``: whether it writes at all.
    ``markers``: characters of list markers. ``transforms``: whether letters change case. ``everywhere``:
    characters that may turn up in any text. ``own_faces``: families of the page's own ``@font-face``, in lower
    case. ``faults``: what the checks saw. ``spaces``: where white space is preserved, or text generated beside it.
    ``boxing``: which boxes may cut what they hold, are turned, placed freely, or stand in a line.
    """

    resolved: tuple[str, ...]
    attributes: frozenset[str] = frozenset()
    spaced: bool = False
    generates: bool = False
    generated: frozenset[str] = frozenset()
    markers: frozenset[str] = MARKERS
    transforms: bool = False
    everywhere: frozenset[str] = frozenset()
    own_faces: frozenset[str] = frozenset()
    faults: tuple[CssFault, ...] = ()
    spaces: Spaces = field(default_factory=Spaces)
    boxing: Boxing = ()


def style_facts(
    sheets: Sequence[str], media: Sequence[str], features: Features, *, engine: str
) -> StyleFacts:
    """Reads style sheets for a panel; ``media`` is each sheet's ``media`` attribute, empty for none.

    Raises `PressError` for too deep nesting.
    """
    resolved = tuple(_for_panel(css, query, features) for css, query in zip(sheets, media, strict=True))
    styles = [read_style(css) for css in resolved]
    resolved = tuple(without_imports(css) for css in resolved)
    declarations = [declaration for style in styles for declaration in style.declarations]
    written = [d for d in declarations if d.name == "content"]
    return StyleFacts(
        resolved=resolved,
        attributes=_attribute_names(styles),
        spaced=_sets(declarations, "letter-spacing"),
        generates=any(_writes(d) for d in written),
        generated=_characters(written) | (QUOTES if any(_word(d, "quote") for d in written) else frozenset()),
        markers=_marker_characters(declarations),
        transforms=_sets(declarations, "text-transform", "font-variant", "font-variant-caps"),
        everywhere=_everywhere(declarations),
        own_faces=frozenset(
            _family(d) for d in declarations if d.at_rule == "font-face" and d.name == "font-family"
        ),
        faults=tuple(
            fault for at, style in enumerate(styles) for fault in lint_style(style, at, engine=engine)
        ),
        spaces=spaces_of(declarations),
        boxing=boxing_of(declarations),
    )


def _for_panel(css: str, query: str, features: Features) -> str:
    """A sheet for the panel; its ``media`` attribute, where the panel does not decide it, becomes a rule."""
    answer = resolve_query(query, features) if query else "all"
    text = resolve_css(css, features)
    if answer == "all":
        return text
    return "" if answer == "not all" else f"@media {answer} {{{text}}}"


def _attribute_names(styles: Sequence[Style]) -> frozenset[str]:
    return frozenset(
        node.content[0].lower_value
        for style in styles
        for prelude in style.preludes
        for node in nested(prelude.tokens)
        if node.type == "[] block" and node.content and node.content[0].type == "ident"
    )


def _sets(declarations: Sequence[Declaration], *names: str) -> bool:
    return any(d.name in names for d in declarations)


def _word(declaration: Declaration, part: str) -> bool:
    return any(node.type == "ident" and part in node.lower_value for node in nested(declaration.value))


def _writes(declaration: Declaration) -> bool:
    """True for ``content`` that puts characters on the page."""
    return any(
        (node.type == "string" and node.value)
        or (node.type == "function" and node.lower_name in ("counter", "counters", "attr", "var"))
        or (node.type == "ident" and node.lower_value.endswith("-quote"))
        for node in declaration.value
    )


def _characters(declarations: Sequence[Declaration]) -> frozenset[str]:
    found: set[str] = set()
    for declaration in declarations:
        for node in nested(declaration.value):
            if node.type == "string":
                found.update(node.value)
            elif node.type == "function" and node.lower_name.startswith("counter"):
                found |= COUNTED
    return frozenset(found)


def _marker_characters(declarations: Sequence[Declaration]) -> frozenset[str]:
    lists = [d for d in declarations if d.name.startswith("list-style")]
    found = MARKERS | _characters(lists)
    lettered = any(node.type == "ident" and _LETTERED.search(node.value) for d in lists for node in d.value)
    return found | frozenset(_LETTERS) if lettered else found


def _everywhere(declarations: Sequence[Declaration]) -> frozenset[str]:
    found: frozenset[str] = frozenset()
    if _sets(declarations, "hyphens", "-webkit-hyphens", "hyphenate-character"):
        found |= HYPHENS | _characters([d for d in declarations if d.name == "hyphenate-character"])
    if _sets(declarations, "text-overflow"):
        found |= frozenset("…") | _characters([d for d in declarations if d.name == "text-overflow"])
    if _sets(declarations, "quotes"):
        found |= _characters([d for d in declarations if d.name == "quotes"])
    return found


def _family(declaration: Declaration) -> str:
    words = [node.value for node in declaration.value if node.type in ("string", "ident")]
    return " ".join(words).casefold()
