"""Styles of the user's own drawings: attributes, ``style`` attributes and simple rules of a style sheet."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

import tinycss2  # type: ignore[import-untyped]  # ships no types
from lxml import etree
from tinycss2.color4 import parse_color  # type: ignore[import-untyped]  # ships no types

from wallbill.blocks.drawing.affine import numbers

Rgb = tuple[float, float, float]
"""sRGB parts of 0 to 1."""


@dataclass(frozen=True, slots=True)
class Paint:
    """What an area or stroke is painted with; no colour: not at all. ``server``: the name of a gradient."""

    colour: Rgb | None
    alpha: float = 1.0
    server: str = ""


_BLACK = Paint((0.0, 0.0, 0.0))


@dataclass(frozen=True, slots=True)
class Style:
    """The properties of an element that a drawing in plain inks knows. Their defaults are those of SVG 2."""

    fill: Paint = _BLACK
    stroke: Paint = Paint(None)
    colour: Rgb = (0.0, 0.0, 0.0)
    stroke_width: float = 1.0
    cap: str = "butt"
    join: str = "miter"
    miter: float = 4.0
    dash: tuple[float, ...] = ()
    even_odd: bool = False
    opacity: float = 1.0
    fill_opacity: float = 1.0
    stroke_opacity: float = 1.0
    shown: bool = True
    visible: bool = True
    stop: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 1.0)


@dataclass(frozen=True, slots=True)
class Rule:
    """One simple selector of a style sheet (``*``, a tag, ``.class`` or ``#id``) and what it declares."""

    selector: str
    declared: tuple[tuple[str, str], ...]

    @property
    def weight(self) -> int:
        """Specificity: the greater goes before the lesser."""
        return {"#": 2, ".": 1}.get(self.selector[:1], 0)

    def fits(self, element: etree._Element) -> bool:
        """Whether it is about this element."""
        kind, name = self.selector[:1], self.selector[1:]
        if kind == "#":
            return bool(element.get("id") == name)
        if kind == ".":
            return name in element.get("class", "").split()
        return self.selector == "*" or self.selector == etree.QName(element).localname


_PROPERTIES = frozenset(
    {"fill", "stroke", "color", "stroke-width", "stroke-linecap", "stroke-linejoin", "stroke-miterlimit"}
    | {"stroke-dasharray", "fill-rule", "clip-rule", "opacity", "fill-opacity", "stroke-opacity"}
    | {"display", "visibility", "stop-color", "stop-opacity"}
)


def read_rules(css: str) -> list[Rule]:
    """The rules with simple selectors of a style sheet; others, and what imports or is no CSS, are left out."""
    rules = []
    for rule in tinycss2.parse_stylesheet(css[:_MOST_CSS], skip_comments=True, skip_whitespace=True):
        if rule.type == "qualified-rule":
            declared = tuple(_declarations(tinycss2.serialize(rule.content)))
            selectors = tinycss2.serialize(rule.prelude).split(",")
            rules += [Rule(selector.strip(), declared) for selector in selectors[:_MOST_SELECTORS]]
    return rules[:_MOST_RULES]


_MOST_CSS, _MOST_SELECTORS, _MOST_RULES = 50_000, 50, 500


def _declarations(css: str) -> Iterator[tuple[str, str]]:
    for item in tinycss2.parse_blocks_contents(css[:_MOST_CSS], skip_comments=True, skip_whitespace=True):
        if item.type == "declaration" and item.lower_name in _PROPERTIES:
            yield item.lower_name, tinycss2.serialize(item.value).strip()


def styled(element: etree._Element, above: Style, rules: Sequence[Rule]) -> Style:
    """An element's style: what it inherits, then its attributes, the rules that fit, and its ``style`` attribute."""
    declared = [(name, str(value)) for name, value in element.attrib.items() if name in _PROPERTIES]
    for rule in sorted((rule for rule in rules if rule.fits(element)), key=lambda rule: rule.weight):
        declared += rule.declared
    declared += _declarations(element.get("style", ""))
    # The opacity of a group counts once more for each of its parts: exact where they do not overlap.
    style = above
    own = 1.0
    for name, value in sorted(declared, key=lambda item: item[0] != "color"):
        if name == "opacity":
            own = _share(value)
        elif value != "inherit":
            style = _with(style, name, value)
    return replace(style, opacity=above.opacity * own)


def _with(style: Style, name: str, value: str) -> Style:
    """The style with one more declaration; one that cannot be read changes nothing."""
    if name in {"fill", "stroke"}:
        paint = paint_of(value, style.colour)
        return replace(style, fill=paint) if name == "fill" else replace(style, stroke=paint)
    if name == "color":
        return replace(style, colour=_rgba(value, style.colour)[:3])
    if name in {"fill-opacity", "stroke-opacity"}:
        share = _share(value)
        return replace(style, fill_opacity=share) if name[0] == "f" else replace(style, stroke_opacity=share)
    if name == "stop-color":
        r, g, b, alpha = _rgba(value, style.colour)
        return replace(style, stop=(r, g, b, alpha * style.stop[3]))
    if name == "stop-opacity":
        return replace(style, stop=(*style.stop[:3], _share(value)))
    if name in _WORDS:
        key, words = _WORDS[name]
        return replace(style, **{key: words[value]}) if value in words else style
    return _measured(style, name, value)


_WORDS: Mapping[str, tuple[str, Mapping[str, Any]]] = MappingProxyType(
    {
        "stroke-linecap": ("cap", {"butt": "butt", "round": "round", "square": "square"}),
        "stroke-linejoin": ("join", {"miter": "miter", "round": "round", "bevel": "bevel"}),
        "fill-rule": ("even_odd", {"evenodd": True, "nonzero": False}),
        "clip-rule": ("even_odd", {"evenodd": True, "nonzero": False}),
        "display": ("shown", {"none": False}),
        "visibility": ("visible", {"hidden": False, "collapse": False, "visible": True}),
    }
)


def _measured(style: Style, name: str, value: str) -> Style:
    """The style with one more property that is a number or a list of them."""
    found = [number for number in numbers(value[:200]) if math.isfinite(number)]
    if name == "stroke-dasharray":
        good = found and min(found) >= 0 and sum(found) > 0
        return replace(style, dash=tuple(found * (1 + len(found) % 2)) if good else ())
    if not found or found[0] < 0:
        return style
    if name == "stroke-width":
        return replace(style, stroke_width=found[0])
    return replace(style, miter=max(1.0, found[0]))


def _share(value: str) -> float:
    found = numbers(value[:40])
    share = (found[0] if found else 1.0) / (100 if "%" in value else 1)
    return min(max(share, 0.0), 1.0) if math.isfinite(share) else 1.0


def paint_of(value: str, colour: Rgb) -> Paint:
    """What ``fill`` or ``stroke`` says; ``colour``: what ``currentColor`` stands for."""
    if value.startswith("url("):
        name = value[4:].partition(")")[0].strip("'\" ")
        return Paint(colour, server=name.removeprefix("#"))
    if value in {"none", "transparent"}:
        return Paint(None)
    r, g, b, alpha = _rgba(value, colour)
    return Paint((r, g, b), alpha)


def _rgba(value: str, current: Rgb) -> tuple[float, float, float, float]:
    """Any CSS colour as sRGB; what is none is the current colour."""
    found = parse_color(value[:100])
    if found is None or found == "currentcolor":
        return (*current, 1.0)
    try:
        parts = found.to("srgb").coordinates
    except NotImplementedError:  # of the newest spaces only the lightness is known: a grey of it
        first = float(found.coordinates[0] or 0.0)
        parts = (first / 100 if found.space in {"lab", "lch"} else first,) * 3
    r, g, b = (min(max(float(part or 0.0), 0.0), 1.0) for part in parts)
    return r, g, b, float(found.alpha)
