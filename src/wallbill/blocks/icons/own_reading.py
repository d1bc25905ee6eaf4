"""The user's own SVG as shapes: elements, styles and transforms of a file that nobody has checked.

No entity is expanded, nothing outside the file is read, no script runs, and what a file may hold is limited, so that a
hostile one ends in an error as soon as any other. Source of the meaning of elements and attributes: Scalable Vector
Graphics 2, W3C Candidate Recommendation of 4 October 2018.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from lxml import etree

from wallbill.blocks.drawing.affine import UNMOVED, Affine, numbers, read_transform
from wallbill.blocks.icons.own_paths import Outline, TooLargeError, flattened
from wallbill.blocks.icons.own_shapes import length, path_data, round_box
from wallbill.blocks.icons.own_styles import Paint, Rule, Style, read_rules, styled
from wallbill.errors import PictureError, Place

MOST_BYTES = 1_000_000
MOST_COMMANDS = 40_000
MOST_SHAPES = 2_000
MOST_ELEMENTS = 20_000
MOST_DEPTH = 64

_REFUSED: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "script": ("a script", "Save the drawing without scripts."),
        "foreignObject": ("a page inside the drawing", "Take it out."),
        "image": ("a picture", "Trace it, or use picture() for photographs."),
        "text": (
            "text",
            "Turn text into paths in your drawing program; type is set best by the sheet itself.",
        ),
        "filter": ("a filter", "Flatten the effect in your drawing program."),
        "mask": ("a mask", "Cut the shapes in your drawing program."),
        "pattern": ("a pattern", "Use plain colours."),
        "animate": ("an animation", "Save one moment of it."),
        "animateTransform": ("an animation", "Save one moment of it."),
        "animateMotion": ("an animation", "Save one moment of it."),
        "set": ("an animation", "Save one moment of it."),
    }
)
_NEVER = frozenset({"script", "foreignObject", "animate", "animateTransform", "animateMotion", "set"})
"""Refused wherever they stand; the others may lie unused among the definitions."""

_GROUPS = frozenset({"svg", "g", "a", "switch", "symbol"})
_UNSEEN = frozenset(
    {
        "defs",
        "symbol",
        "clipPath",
        "linearGradient",
        "radialGradient",
        "marker",
        "style",
        "title",
        "desc",
        "metadata",
        "namedview",
        "view",
    }
)


@dataclass(frozen=True, slots=True)
class Shape:
    """One thing to paint, in the drawing's own units. ``stroke_width``: after its transforms. ``clips``: cut to these."""

    outlines: tuple[Outline, ...]
    style: Style
    stroke_width: float
    round_box: tuple[float, float, float, float] | None = None
    clips: tuple[tuple["Shape", ...], ...] = ()


@dataclass(frozen=True, slots=True)
class Read:
    """A whole drawing. ``view``: left, top, width, height of what is shown, in its own units."""

    shapes: tuple[Shape, ...]
    view: tuple[float, float, float, float]


@dataclass(slots=True)
class _Reader:
    """One file on its way in; counts what has been read."""

    file: str
    rules: tuple[Rule, ...]
    named: Mapping[str, etree._Element]
    commands: int = MOST_COMMANDS
    shapes: int = MOST_SHAPES
    elements: int = MOST_ELEMENTS
    using: list[str] = field(default_factory=list)

    def fault(self, element: etree._Element, what: str, mend: str) -> PictureError:
        """An error at an element."""
        return PictureError(what, where=Place(self.file, element.sourceline), mend=mend)


def read_svg(data: bytes, *, file: str) -> Read:
    """The shapes of an SVG file. ``file``: its name, for messages.

    Raises `PictureError` with file and line for what is no SVG, what is too large or too deep, and what cannot be drawn in
    plain inks: text, pictures, filters, masks, patterns, scripts, animations, and whatever lies outside the file.
    """
    root = _root(data, file)
    named: dict[str, etree._Element] = {}
    rules: list[Rule] = []
    for element in root.iter(etree.Element):
        if element.get("id"):
            named.setdefault(element.get("id", ""), element)
        if _name(element) in _NEVER:
            raise _refused(element, file)
        if _name(element) == "style":
            rules += read_rules("".join(element.itertext()))
    reader = _Reader(file, tuple(rules), named)
    shapes = tuple(_walk(reader, root, Style(), UNMOVED, 0))
    return Read(shapes, _view(root, shapes, reader))


def _refused(element: etree._Element, file: str) -> PictureError:
    what, mend = _REFUSED[_name(element)]
    what = f"the drawing holds {what}, which cannot be drawn in plain inks"
    return PictureError(what, where=Place(file, element.sourceline), mend=mend)


def _root(data: bytes, file: str) -> etree._Element:
    if len(data) > MOST_BYTES:
        raise PictureError(
            f"the drawing has {len(data):,} bytes, the most is {MOST_BYTES:,}",
            where=Place(file),
            mend="Simplify its paths in your drawing program.",
        )
    if b"<!entity" in data.lower():
        raise PictureError(
            "the drawing declares entities, which are not read",
            where=Place(file),
            mend="Save it as plain SVG in your drawing program.",
        )
    parser = etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        huge_tree=False,
        remove_comments=True,
        remove_pis=True,
    )
    try:
        root = etree.fromstring(data, parser)
    except etree.XMLSyntaxError as fault:
        raise PictureError(
            f"this is no SVG: {str(fault.msg).split(', line')[0]}",
            where=Place(file, fault.lineno or 1),
            mend="Save it as plain SVG in your drawing program.",
        ) from None
    if _name(root) != "svg":
        raise PictureError(
            f"this is no SVG: it begins with <{_name(root)}>",
            where=Place(file, 1),
            mend="Save it as plain SVG.",
        )
    return root


def _name(element: etree._Element) -> str:
    return etree.QName(element).localname if isinstance(element.tag, str) else ""


def _walk(
    reader: _Reader, element: etree._Element, above: Style, transform: Affine, depth: int
) -> Iterator[Shape]:
    """The shapes of an element and of all within it, in the order they are painted."""
    name = _name(element)
    if name in _REFUSED:
        raise _refused(element, reader.file)
    reader.elements -= 1
    if reader.elements < 0:
        raise reader.fault(element, f"the drawing has more than {MOST_ELEMENTS:,} elements", "Simplify it.")
    if depth > MOST_DEPTH:
        raise reader.fault(element, f"elements stand more than {MOST_DEPTH} deep", "Ungroup them.")
    style = styled(element, above, reader.rules)
    if not style.shown:
        return
    _check_effects(reader, element)
    try:
        transform = transform.after(read_transform(element.get("transform", "")))
    except ValueError as fault:
        raise reader.fault(element, str(fault), "Save it as plain SVG.") from None
    clips = _clips(reader, element, transform, depth)
    for shape in _inner(reader, element, style, transform, depth):
        yield replace(shape, clips=(*shape.clips, *clips)) if clips else shape


def _inner(
    reader: _Reader, element: etree._Element, style: Style, transform: Affine, depth: int
) -> Iterator[Shape]:
    """The shapes of an element whose own attributes have been read."""
    name = _name(element)
    if name == "use":
        yield from _used(reader, element, style, transform, depth)
    elif name in _GROUPS and (name != "symbol" or reader.using):
        if name == "svg" and depth > 0:
            transform = transform.after(_inset(element))
        for child in element.iterchildren(etree.Element):
            yield from _walk(reader, child, style, transform, depth + 1)
    elif name not in _UNSEEN:
        outlines = _outlines(reader, element, transform)
        if outlines:
            reader.shapes -= 1
            if reader.shapes < 0:
                raise reader.fault(
                    element, f"the drawing has more than {MOST_SHAPES:,} shapes", "Simplify it."
                )
            width = style.stroke_width * transform.scale
            yield Shape(outlines, _painted(reader, element, style), width, round_box(element, outlines))


def _check_effects(reader: _Reader, element: etree._Element) -> None:
    for effect in ("filter", "mask"):
        given = element.get(effect, "none")
        if given != "none":
            what, mend = _REFUSED[effect]
            raise reader.fault(element, f"a shape has {what}, which cannot be drawn in plain inks", mend)


def _used(
    reader: _Reader, element: etree._Element, style: Style, transform: Affine, depth: int
) -> Iterator[Shape]:
    target = element.get("href") or element.get("{http://www.w3.org/1999/xlink}href") or ""
    name = target[1:]
    if not target.startswith("#"):
        raise reader.fault(
            element, f"the drawing takes {target[:60]!r} from outside", "Put it into the file itself."
        )
    if name not in reader.named or name in reader.using:
        why = "refers to itself" if name in reader.using else "is not in the file"
        raise reader.fault(element, f"#{name[:60]} {why}", "Save it as plain SVG.")
    x, y = length(element, "x"), length(element, "y")
    reader.using.append(name)
    yield from _walk(reader, reader.named[name], style, transform.after(Affine(e=x, f=y)), depth + 1)
    reader.using.pop()


def _clips(
    reader: _Reader, element: etree._Element, transform: Affine, depth: int
) -> tuple[tuple[Shape, ...], ...]:
    """What an element is cut to: the shapes of its clip path, if it has one."""
    target = element.get("clip-path", "none").strip()
    if not target.startswith("url("):
        return ()
    name = target[4:].rstrip(")").strip("'\" ").removeprefix("#")
    clip = reader.named.get(name)
    if clip is None or name in reader.using or _name(clip) != "clipPath":
        raise reader.fault(element, f"the clip path #{name[:60]} is not in the file", "Save it as plain SVG.")
    if clip.get("clipPathUnits") == "objectBoundingBox":
        raise reader.fault(clip, "a clip path in shares of a shape is not read", "Cut the shapes themselves.")
    reader.using.append(name)
    inner = transform.after(read_transform(clip.get("transform", "")))
    shapes = tuple(
        s
        for child in clip.iterchildren(etree.Element)
        for s in _walk(reader, child, Style(), inner, depth + 1)
    )
    reader.using.pop()
    return (shapes,)


def _painted(reader: _Reader, element: etree._Element, style: Style) -> Style:
    """The style with its gradients made plain: the mean of their stops."""
    fill, stroke = (_plain(reader, element, paint) for paint in (style.fill, style.stroke))
    return replace(style, fill=fill, stroke=stroke)


def _plain(reader: _Reader, element: etree._Element, paint: Paint) -> Paint:
    if not paint.server:
        return paint
    server = reader.named.get(paint.server)
    for _ in range(8):  # a gradient may take its stops from another
        href = (
            ""
            if server is None
            else server.get("href") or server.get("{http://www.w3.org/1999/xlink}href") or ""
        )
        if server is None or len(server) or not href.startswith("#"):
            break
        server = reader.named.get(href[1:])
    if server is None or not _name(server).endswith("Gradient"):
        raise reader.fault(
            element, f"the colour url(#{paint.server[:60]}) is no gradient", "Use plain colours."
        )
    stops = [styled(stop, Style(), reader.rules).stop for stop in server.iterchildren(etree.Element)]
    if not stops:
        return Paint(None)
    mean = [sum(stop[i] for stop in stops) / len(stops) for i in range(4)]
    return Paint((mean[0], mean[1], mean[2]), mean[3] * paint.alpha)


def _outlines(reader: _Reader, element: etree._Element, transform: Affine) -> tuple[Outline, ...]:
    """A basic shape or path as outlines."""
    data = path_data(element)
    if not data:
        return ()
    try:
        found = flattened(data, transform=transform, most=reader.commands)
    except TooLargeError:
        raise reader.fault(
            element, f"the drawing has more than {MOST_COMMANDS:,} path commands", "Simplify its paths."
        ) from None
    except ValueError as fault:
        raise reader.fault(element, f"the path cannot be read: {fault}", "Save it as plain SVG.") from None
    reader.commands -= sum(len(outline.points) for outline in found) // 8 + 1
    return found


def _inset(element: etree._Element) -> Affine:
    """Where a drawing inside the drawing stands: its place, and its own units in its own size."""
    x, y = length(element, "x"), length(element, "y")
    box = numbers(element.get("viewBox", ""))
    wide, high = length(element, "width"), length(element, "height")
    if len(box) != 4 or min(box[2:]) <= 0 or min(wide, high) <= 0:
        return Affine(e=x, f=y)
    scale = min(wide / box[2], high / box[3])
    return Affine(
        scale,
        0,
        0,
        scale,
        x + (wide - scale * box[2]) / 2 - scale * box[0],
        y + (high - scale * box[3]) / 2 - scale * box[1],
    )


def _view(
    root: etree._Element, shapes: tuple[Shape, ...], reader: _Reader
) -> tuple[float, float, float, float]:
    """What the file shows: its view box, else its size, else all that is drawn."""
    box = numbers(root.get("viewBox", ""))
    if len(box) == 4 and min(box[2:]) > 0:
        return box[0], box[1], box[2], box[3]
    wide, high = length(root, "width"), length(root, "height")
    if min(wide, high) > 0 and "%" not in root.get("width", "") + root.get("height", ""):
        return 0.0, 0.0, wide, high
    points = [point for shape in shapes for outline in shape.outlines for point in outline.points]
    if not points:
        raise reader.fault(root, "the drawing is empty", "Draw something with paths, lines or shapes.")
    left, top = min(x for x, _ in points), min(y for _, y in points)
    wide = max(x for x, _ in points) - left
    high = max(y for _, y in points) - top
    return left, top, max(wide, 1e-6), max(high, 1e-6)
