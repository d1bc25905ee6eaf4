"""The SVG of a laid-out chart as shapes and texts, each with its place on the page."""

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from lxml import etree

from wallbill.blocks.drawing.affine import UNMOVED, Affine, read_transform
from wallbill.blocks.drawing.shapes import Point
from wallbill.blocks.grammar.outline import Stretch, stretches
from wallbill.errors import SheetError

MOST_POINTS = 150_000
MOST_SHAPES = 12_000
"""More than these nobody could tell apart on a panel."""

_KIND = re.compile(r"\bmark-(\w+)\s+role-([\w-]+)")
_NO_NUMBER = re.compile(r"NaN|undefined|null|[-+]?Infinity")
REFERENCE = re.compile(r"url\(#([\w-]+)\)")
"""A name that stands elsewhere in the SVG."""
_NONE = "none"

Corners = tuple[float, float, float, float]
"""Left, top, right, bottom."""


@dataclass(frozen=True, slots=True)
class Style:
    """How a shape is filled and stroked. Colours as CSS, "" for none; ``*_alpha``: 0 to 1."""

    fill: str = ""
    stroke: str = ""
    stroke_px: float = 1.0
    dash_px: tuple[float, ...] = ()
    fill_alpha: float = 1.0
    stroke_alpha: float = 1.0


@dataclass(frozen=True, slots=True)
class Shape:
    """One drawn thing. ``mark``: line, rect, symbol, …; ``role``: mark, axis-grid, legend-symbol, …; ``clip``: or None."""

    stretches: tuple[Stretch, ...]
    style: Style
    mark: str
    role: str
    clip: Corners | None


@dataclass(frozen=True, slots=True)
class Words:
    """A line of text. ``at``: its anchor on the base line; ``anchor``: start, middle or end; ``turned_deg``: clockwise."""

    text: str
    at: Point
    anchor: str
    size_px: float
    bold: bool
    fill: str
    turned_deg: float
    role: str


@dataclass(frozen=True, slots=True)
class Blend:
    """A gradient: along y if ``upright``, else along x; stops (share, colour) in that direction."""

    upright: bool
    stops: tuple[tuple[float, str], ...]


@dataclass(frozen=True, slots=True)
class Scene:
    """A laid-out chart: its size in pixels, its shapes from the ground up, its texts, its gradients by name."""

    width_px: int
    height_px: int
    shapes: tuple[Shape, ...]
    words: tuple[Words, ...]
    blends: Mapping[str, Blend]


@dataclass(frozen=True, slots=True)
class _State:
    """What an element inherits."""

    turn: Affine = UNMOVED
    clip: Corners | None = None
    alpha: float = 1.0
    mark: str = "group"
    role: str = ""


def scene_of(svg: str) -> Scene:
    """The scene in an SVG as the library writes it. Raises `SheetError` for one with too much in it."""
    if (count := svg.count("<path")) > MOST_SHAPES:
        raise _too_much(f"{count} shapes, the most are {MOST_SHAPES}")
    parser = etree.XMLParser(resolve_entities=False, no_network=True, huge_tree=False)
    try:
        root = etree.fromstring(svg.encode(), parser)
    except etree.XMLSyntaxError as fault:
        raise _too_much(str(fault)) from fault
    clips = {clip.get("id", ""): _clip_corners(clip) for clip in root.iter("{*}clipPath") if clip.get("id")}
    found = list(_walk(root, _State(), clips))
    points = sum(len(part.points) for one in found if isinstance(one, Shape) for part in one.stretches)
    if points > MOST_POINTS:
        raise _too_much(f"{points} points, the most are {MOST_POINTS}")
    return Scene(
        math.ceil(_number(root.get("width"))),
        math.ceil(_number(root.get("height"))),
        tuple(one for one in found if isinstance(one, Shape)),
        tuple(one for one in found if isinstance(one, Words)),
        MappingProxyType({g.get("id", ""): _blend(g) for g in root.iter("{*}linearGradient")}),
    )


def _too_much(why: str) -> SheetError:
    return SheetError(
        f"the chart holds too much to be drawn: {why}",
        mend="Hand it fewer rows, or let a transform aggregate them.",
    )


def _walk(
    element: etree._Element, state: _State, clips: Mapping[str, Corners | None]
) -> Iterator[Shape | Words]:
    """The shapes and texts in an element, from the ground up."""
    if not isinstance(element.tag, str) or element.get("display") == _NONE:
        return
    tag = etree.QName(element).localname
    if tag == "defs":
        return
    state = _entered(element, state, clips)
    if tag == "text":
        yield from _texts(element, state)
        return
    parts = _parts(tag, element)
    if parts:
        moved = tuple(replace(part, points=tuple(map(state.turn.at, part.points))) for part in parts)
        yield Shape(moved, _style(element, state), state.mark, state.role, state.clip)
    for child in element:
        yield from _walk(child, state, clips)


def _entered(element: etree._Element, state: _State, clips: Mapping[str, Corners | None]) -> _State:
    turn = state.turn.after(_transform(element.get("transform", "")))
    kind = _KIND.search(element.get("class", ""))
    mark, role = (kind[1], kind[2]) if kind else (state.mark, state.role)
    clip = state.clip
    named = REFERENCE.match(element.get("clip-path", ""))
    if named and (inner := clips.get(named[1])) is not None:
        left, top = turn.at(inner[:2])
        right, bottom = turn.at(inner[2:])
        clip = (left, top, right, bottom)
    return _State(turn, clip, state.alpha * _number(element.get("opacity"), 1.0), mark, role)


def _transform(text: str) -> Affine:
    """The map of a ``transform`` attribute; what the library could not reckon in it counts as nought."""
    try:
        return read_transform(_NO_NUMBER.sub("0", text))
    except ValueError:
        return UNMOVED


def _parts(tag: str, element: etree._Element) -> tuple[Stretch, ...]:
    """The outline that an element of a kind draws."""
    if tag == "path":
        data = element.get("d", "")
        return stretches(data) if data else ()
    number = {
        name: _number(element.get(name)) for name in ("x", "y", "x1", "y1", "x2", "y2", "width", "height")
    }
    if tag == "line":
        return (Stretch(((number["x1"], number["y1"]), (number["x2"], number["y2"])), closed=False),)
    if tag == "rect":
        return (_box(number["x"], number["y"], number["width"], number["height"]),)
    return ()


def _box(x: float, y: float, width: float, height: float) -> Stretch:
    return Stretch(((x, y), (x + width, y), (x + width, y + height), (x, y + height)), closed=True)


def _style(element: etree._Element, state: _State) -> Style:
    dashes = element.get("stroke-dasharray") or ""
    return Style(
        fill=_colour(element.get("fill")),
        stroke=_colour(element.get("stroke")),
        stroke_px=_number(element.get("stroke-width"), 1.0),
        dash_px=tuple(_number(part) for part in re.split(r"[\s,]+", dashes.strip()) if part),
        fill_alpha=state.alpha * _number(element.get("fill-opacity"), 1.0),
        stroke_alpha=state.alpha * _number(element.get("stroke-opacity"), 1.0),
    )


def _colour(given: str | None) -> str:
    return "" if given in {None, _NONE, "transparent"} else str(given)


def _texts(element: etree._Element, state: _State) -> Iterator[Words]:
    """The lines of a text; those after the first lie in parts that say how far below."""
    fill = _colour(element.get("fill"))
    if not fill or state.alpha * _number(element.get("fill-opacity"), 1.0) < 0.05:
        return
    size = _number(element.get("font-size", "").removesuffix("px"), 11.0)
    bold = element.get("font-weight", "normal") in {"bold", "bolder", "600", "700", "800", "900"}
    down = 0.0
    lines = [(element.text or "", 0.0), *((part.text or "", _number(part.get("dy"))) for part in element)]
    for text, step in lines:
        down += step
        if text.strip():
            yield Words(
                text.strip(),
                state.turn.at((_number(element.get("x")), _number(element.get("y")) + down)),
                element.get("text-anchor", "start"),
                size * state.turn.scale,
                bold,
                fill,
                state.turn.turned_deg,
                state.role,
            )


def _clip_corners(clip: etree._Element) -> Corners | None:
    """The box around what a clip path lets through."""
    points = [
        point
        for child in clip
        if isinstance(child.tag, str)
        for part in _parts(etree.QName(child).localname, child)
        for point in part.points
    ]
    if not points:
        return None
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def _blend(gradient: etree._Element) -> Blend:
    ends = [_number(gradient.get(name)) for name in ("x1", "x2", "y1", "y2")]
    upright = abs(ends[3] - ends[2]) > abs(ends[1] - ends[0])
    backwards = (ends[3] < ends[2]) if upright else (ends[1] < ends[0])
    stops = [(_number(stop.get("offset")), str(stop.get("stop-color"))) for stop in gradient]
    if backwards:
        stops = [(1 - share, colour) for share, colour in reversed(stops)]
    return Blend(upright, tuple(stops))


def _number(given: str | None, otherwise: float = 0.0) -> float:
    """A number of the SVG; the other where there is none, or none that is finite."""
    try:
        value = float(given) if given else otherwise
    except ValueError:
        return otherwise
    return value if math.isfinite(value) else otherwise
