"""Basic shapes of the user's own drawings as path data. Source: SVG 2, chapter 10."""

import math

from lxml import etree

from wallbill.blocks.drawing.affine import numbers
from wallbill.blocks.icons.own_paths import Outline


def length(element: etree._Element, name: str, otherwise: float = 0.0) -> float:
    """A length in user units; a unit after it is ignored but %, which no shape of a sign should need."""
    found = numbers(element.get(name, "")[:60])
    value = found[0] if found else otherwise
    return value if math.isfinite(value) else otherwise


def path_data(element: etree._Element) -> str:
    """Path data of any basic shape; "" for what is none, or has no size. Source: SVG 2, chapter 10."""
    name = etree.QName(element).localname
    if name == "path":
        return str(element.get("d", ""))
    if name in {"polyline", "polygon"}:
        points = numbers(element.get("points", ""))
        pairs = [f"{x},{y}" for x, y in zip(points[::2], points[1::2], strict=False)]
        return f"M{' L'.join(pairs)}{'Z' if name == 'polygon' else ''}" if len(pairs) > 1 else ""
    if name == "line":
        x1, y1, x2, y2 = (length(element, key) for key in ("x1", "y1", "x2", "y2"))
        return f"M{x1},{y1} L{x2},{y2}"
    if name == "rect":
        return _rect_data(element)
    if name in {"circle", "ellipse"}:
        x, y = length(element, "cx"), length(element, "cy")
        rx, ry = _radii(element, name)
        if min(rx, ry) <= 0:
            return ""
        return f"M{x + rx},{y} A{rx},{ry} 0 0 1 {x - rx},{y} A{rx},{ry} 0 0 1 {x + rx},{y} Z"
    return ""


def _radii(element: etree._Element, name: str) -> tuple[float, float]:
    if name == "circle":
        return (length(element, "r"),) * 2
    rx, ry = length(element, "rx"), length(element, "ry")
    return rx or ry, ry or rx


def _rect_data(element: etree._Element) -> str:
    x, y, wide, high = (length(element, key) for key in ("x", "y", "width", "height"))
    if min(wide, high) <= 0:
        return ""
    rx, ry = _radii(element, "rect")
    rx, ry = min(max(rx, 0), wide / 2), min(max(ry, 0), high / 2)
    if rx == 0 or ry == 0:
        return f"M{x},{y} H{x + wide} V{y + high} H{x} Z"
    turn = f"A{rx},{ry} 0 0 1"
    return (
        f"M{x + rx},{y} H{x + wide - rx} {turn} {x + wide},{y + ry} V{y + high - ry} {turn} {x + wide - rx},{y + high} "
        f"H{x + rx} {turn} {x},{y + high - ry} V{y + ry} {turn} {x + rx},{y} Z"
    )


def round_box(
    element: etree._Element, outlines: tuple[Outline, ...]
) -> tuple[float, float, float, float] | None:
    """Left, top, right and bottom of a circle or ellipse, whose edges go onto the grid like those of a box."""
    if etree.QName(element).localname not in {"circle", "ellipse"}:
        return None
    xs = [x for outline in outlines for x, _ in outline.points]
    ys = [y for outline in outlines for _, y in outline.points]
    return min(xs), min(ys), max(xs), max(ys)
