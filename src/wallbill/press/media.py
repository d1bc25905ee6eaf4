"""Media features that only the panel can answer, resolved before a page reaches an engine.

Engines know the size of the page (``width``, ``height``, ``orientation``, ``aspect-ratio``); those stay as they
are. What follows from the panel (its inks, its slow update, that nobody points at it) is worked out here, so
that ``@media (update: slow)`` or ``(color-index >= 3)`` mean what Media Queries Level 4 and 5 say.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

from wallbill.panels.model import Panel, Tone
from wallbill.press.css import Node, offset_of, offsets, significant, split, text_of, tokens_of

Answer = bool | str
"""True, false, or the part of a query that is left for the engine, as text."""

_DPPX = MappingProxyType(
    {"dppx": Fraction(1), "x": Fraction(1), "dpi": Fraction(1, 96), "dpcm": Fraction(254, 9600)}
)
_SAYS = MappingProxyType(
    {
        "update": "slow",
        "hover": "none",
        "any-hover": "none",
        "pointer": "none",
        "any-pointer": "none",
        "scripting": "none",
        "prefers-reduced-motion": "reduce",
        "overflow-block": "none",
        "overflow-inline": "none",
    }
)
_OFF = frozenset({"none", "no-preference"})


@dataclass(frozen=True, slots=True)
class Features:
    """What a panel answers: keywords by feature, and numbers by feature (whole numbers, and dots per pixel)."""

    words: Mapping[str, str]
    numbers: Mapping[str, Fraction]


def features_of(panel: Panel) -> Features:
    """What a panel answers.

    Media Queries Level 4: ``update`` is slow ("e-ink screens", 5.4); ``monochrome`` is bits per pixel of a panel
    without colour, else 0 (6.3); ``color-index`` is the number of entries of the table that a coloured panel's
    pixels point into, which is its number of inks (6.2); ``color`` is the bits per component in that table (6.1):
    an ink is laid or it is not, so 1. ``resolution`` is 1dppx: one pixel of a page is one pixel of the panel.
    """
    coloured = any(len(set(ink.css)) > 1 for ink in panel.inks)
    levels = len(panel.inks)
    bits = 0 if coloured else (levels - 1).bit_length() if panel.tone is Tone.GREYS else 1
    numbers = {
        "monochrome": Fraction(bits),
        "color": Fraction(int(coloured)),
        "color-index": Fraction(levels if coloured else 0),
        "resolution": Fraction(1),
        "grid": Fraction(0),
    }
    return Features(_SAYS, MappingProxyType(numbers))


def resolve_css(css: str, features: Features) -> str:
    """A style sheet with every ``@media`` that the panel answers resolved; line breaks and all else stay.

    A query that holds becomes ``all``, one that does not ``not all``; parts for the engine are kept.
    """
    if "@" not in css:
        return css
    lines = offsets(css)
    edits = [
        (offset_of(prelude[0], lines), offset_of(block, lines), resolve_query(prelude, features))
        for prelude, block in _media_rules(tokens_of(css))
    ]
    done, at = [], 0
    for start, end, text in sorted(edits):
        breaks = css.count("\n", start, end)
        done += [css[at:start], " ", text, " ", "\n" * breaks]
        at = end
    return "".join([*done, css[at:]])


def _media_rules(nodes: Sequence[Node]) -> list[tuple[list[Node], Node]]:
    """Every ``@media`` on any level: the tokens before its block, and its block."""
    found: list[tuple[list[Node], Node]] = []
    prelude: list[Node] | None = None
    for node in nodes:
        if node.type == "at-keyword":
            prelude = [] if node.lower_value == "media" else None
        elif node.type == "{} block":
            if prelude:
                found.append((prelude, node))
            prelude = None
            found += _media_rules(node.content)
        elif prelude is not None:
            prelude.append(node)
    return found


def resolve_query(query: str | Sequence[Node], features: Features) -> str:
    """A list of media queries, as it stands in ``@media`` or ``media=``, resolved for a panel."""
    nodes = tokens_of(query) if isinstance(query, str) else query
    if not significant(nodes):
        return "all"
    left = []
    for part in split(nodes):
        answer = _query(significant(part), features)
        if answer is True:
            return "all"
        if answer is not False:
            left.append(answer)
    return ", ".join(left) or "not all"


def _query(nodes: list[Node], features: Features) -> Answer:
    """One query: a media type with or without conditions, or a condition alone."""
    words = [node.lower_value if node.type == "ident" else "" for node in nodes]
    negated = bool(words) and words[0] == "not"
    start = 1 if words and words[0] in ("not", "only") else 0
    if start >= len(nodes) or not words[start]:  # no media type: a condition
        return _condition(nodes, features)
    kind, rest = words[start], nodes[start + 1 :]
    if rest and not (rest[0].type == "ident" and rest[0].lower_value == "and"):
        return text_of(nodes)
    answer = _condition(rest[1:], features) if rest else True
    if answer is True:
        whole: Answer = True if kind == "all" else kind
    elif answer is False:
        whole = False
    else:
        whole = f"{kind} and {answer if answer.startswith('(') else f'({answer})'}"
    if not negated:
        return whole
    return not whole if isinstance(whole, bool) else f"not {whole}"


def _condition(nodes: list[Node], features: Features) -> Answer:
    """A media condition: features joined by ``and`` or ``or``, or one behind ``not`` (Level 4, section 3)."""
    if nodes and nodes[0].type == "ident" and nodes[0].lower_value == "not":
        answer = _one(nodes[1:], features)
        return not answer if isinstance(answer, bool) else f"not {_bracketed(answer)}"
    parts: list[list[Node]] = [[]]
    joint = ""
    for node in nodes:
        word = node.lower_value if node.type == "ident" else ""
        if word in ("and", "or"):
            if joint not in ("", word):
                return _spaced(nodes)  # mixed without brackets: wrong by the standard, the engine says so
            joint = word
            parts.append([])
        else:
            parts[-1].append(node)
    return _joined([_one(part, features) for part in parts], joint)


def _joined(answers: list[Answer], joint: str) -> Answer:
    stops = joint == "or"  # what decides the whole on its own
    left: list[str] = []
    for answer in answers:
        if answer is stops and joint:
            return stops
        if not isinstance(answer, bool):
            left.append(_bracketed(answer) if joint else answer)
        elif not joint:
            return answer
    return f" {joint} ".join(left) if left else not stops


def _one(nodes: list[Node], features: Features) -> Answer:
    """One pair of brackets: a feature, or a condition again."""
    if len(nodes) != 1 or nodes[0].type != "() block":
        return _spaced(nodes)
    inner = significant(nodes[0].content)
    if inner and (
        inner[0].type == "() block" or (inner[0].type == "ident" and inner[0].lower_value == "not")
    ):
        inside = _condition(inner, features)
        return inside if isinstance(inside, bool) else f"({inside})"
    answer = _feature(inner, features)
    return text_of(nodes) if answer is None else answer


def _spaced(nodes: Sequence[Node]) -> str:
    return " ".join(text_of([node]) for node in nodes)


def _bracketed(text: str) -> str:
    whole = text.startswith("(") and text.endswith(")") and _balanced(text[1:-1])
    return text if whole else f"({text})"


def _balanced(text: str) -> bool:
    depth = 0
    for sign in text:
        depth += (sign == "(") - (sign == ")")
        if depth < 0:
            return False
    return depth == 0


def _feature(nodes: list[Node], features: Features) -> bool | None:
    """What a panel says to the inside of a pair of brackets; None for what is the engine's to answer."""
    names = [node.lower_value for node in nodes if node.type == "ident"]
    if not names:
        return None
    if nodes[0].type == "ident" and (len(nodes) == 1 or nodes[1] == ":"):
        return _plain(nodes[0].lower_value, nodes[2:], features)
    name = next((name for name in names if name in features.numbers), None)
    return None if name is None else _range(nodes, name, features.numbers[name])


def _plain(name: str, value: list[Node], features: Features) -> bool | None:
    """``(name)`` and ``(name: value)``, with ``min-`` and ``max-`` (Level 4, sections 2.4.1 and 2.4.4)."""
    bound, bare = name[:4], name[4:] if name[:4] in ("min-", "max-") else name
    if bare in features.words and bare == name:
        if not value:
            return features.words[name] not in _OFF
        return len(value) == 1 and value[0].type == "ident" and value[0].lower_value == features.words[name]
    if bare not in features.numbers:
        return None
    mine = features.numbers[bare]
    if not value:
        return bare == name and mine != 0
    asked = _number(value)
    if asked is None:
        return False
    if bare == name:
        return mine == asked
    return mine >= asked if bound == "min-" else mine <= asked


def _range(nodes: list[Node], name: str, mine: Fraction) -> bool:
    """The range forms of Level 4, section 2.4.3: ``(name >= 3)``, ``(3 <= name)``, ``(1 < name <= 7)``."""
    sides: list[list[Node]] = [[]]
    signs: list[str] = []
    for node in nodes:
        if node.type == "literal" and node.value in ("<", ">", "=", "<=", ">="):
            if node.value == "=" and signs and not sides[-1]:
                signs[-1] += "="
                continue
            signs.append(node.value)
            sides.append([])
        else:
            sides[-1].append(node)
    values: list[Fraction | None] = [
        mine if len(side) == 1 and side[0].type == "ident" and side[0].lower_value == name else _number(side)
        for side in sides
    ]
    if not signs or None in values or (len(signs) == 2 and signs[0][0] != signs[1][0]):
        return False
    return all(
        _holds(left, sign, right) for left, sign, right in zip(values, signs, values[1:], strict=False)
    )


def _holds(left: Fraction | None, sign: str, right: Fraction | None) -> bool:
    assert left is not None
    assert right is not None
    return {
        "<": left < right,
        ">": left > right,
        "=": left == right,
        "<=": left <= right,
        ">=": left >= right,
    }[sign]


def _number(nodes: list[Node]) -> Fraction | None:
    """A number, a ratio-less resolution in dots per pixel, or None for what is neither."""
    if len(nodes) != 1:
        return None
    node = nodes[0]
    if node.type == "number":
        return Fraction(node.representation)
    if node.type == "dimension" and node.lower_unit in _DPPX:
        return Fraction(node.representation) * _DPPX[node.lower_unit]
    return None
