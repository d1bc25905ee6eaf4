"""A chart of a Vega-Lite spec as HTML for a sheet: laid out by the library, painted on whole pixels, its texts fitted."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from markupsafe import Markup

from wallbill.blocks.drawing.grid import ACCENT, PAPER
from wallbill.blocks.drawing.labels import Align, Kind, Label, apart, inside
from wallbill.blocks.drawing.markup import Drawing, to_markup
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.ruler import Ruler
from wallbill.blocks.drawing.shapes import Box
from wallbill.blocks.grammar.canvas import Canvas, edge
from wallbill.blocks.grammar.inking import fill_paint
from wallbill.blocks.grammar.painting import paint_shapes
from wallbill.blocks.grammar.rows import Row
from wallbill.blocks.grammar.scene import Scene, Words, scene_of
from wallbill.blocks.grammar.spec import Engrave, Look, Request, alternative, composed
from wallbill.errors import Place, SheetError
from wallbill.findings import Finding

_CAPITALS = 0.36  # half of a capital's height in sizes of the type: common practice, no source
_TURNED_DEG = 20.0
_BOLD = 1.12  # bold type runs wider: judged by common faces


@dataclass(frozen=True, slots=True)
class Setting:
    """What a chart is set with: the display's colours and ruler, the wall's language and zone.

    ``file``: the spec's, for messages; "" for one that stands in the sheet.
    """

    palette: Palette
    ruler: Ruler
    language: str
    zone: str
    file: str = ""


@dataclass(frozen=True, slots=True)
class Engraved:
    """A finished chart, and what there is to say about it."""

    drawing: Drawing
    findings: tuple[Finding, ...]


def vega_lite_drawing(
    spec: Mapping[str, Any],
    data: list[Row] | Mapping[str, list[Row]] | None,
    *,
    look: Look,
    setting: Setting,
    engrave: Engrave,
) -> Engraved:
    """The chart of ``spec`` on a ground of the size of ``look``. Raises `SheetError` for what cannot be drawn."""
    text = composed(spec, data, look=look, file=setting.file)
    scene = scene_of(engrave(Request(text, setting.language, setting.zone)))
    if scene.width_px > look.width_px or scene.height_px > look.height_px:
        raise SheetError(
            f"the chart came out {scene.width_px} x {scene.height_px} pixels, it has {look.width_px} x {look.height_px}",
            where=Place(setting.file),
            mend="Give its parts a smaller width and height in the spec, or the chart more room.",
        )
    scene = replace(scene, width_px=look.width_px, height_px=look.height_px)
    canvas = paint_shapes(scene, setting.palette)
    labels, lost = _labels(scene, canvas, setting)
    drawing = Drawing(canvas.grid(), labels, canvas.tints(), alternative(spec))
    return Engraved(drawing, _remarks(lost, scene.words, file=setting.file))


def vega_lite(engraved: Engraved, *, palette: Palette, label_px: int) -> Markup:
    """The chart as a positioned ``<div>`` of class ``wb-chart``."""
    return to_markup(engraved.drawing, palette, label_px=label_px)


def _labels(scene: Scene, canvas: Canvas, setting: Setting) -> tuple[tuple[Label, ...], list[Words]]:
    """The texts that have room, and those that have none; texts that lie on hatches get a clear ground."""
    kept: list[Label] = []
    lost: list[Words] = []
    for words in sorted(scene.words, key=_matters):
        label = _label(words, scene, setting)
        letters = _letters(label.box)
        if inside(label.box, canvas.size) and all(
            apart(letters, _letters(other.box), gap_px=2) for other in kept
        ):
            kept.append(label)
        else:
            lost.append(words)
    for label in kept:
        if label.kind is Kind.LABEL:
            canvas.clear(label.box)
    return tuple(kept), lost


def _letters(box: Box) -> Box:
    """The part of a label's box that letters fill: a line of type has room above and below them."""
    left, top, width, height = box
    air = height // 6
    return left, top + air, width, height - 2 * air


def _matters(words: Words) -> int:
    """Order in which texts take their places: titles, then legends, then axes, then what stands in the chart."""
    order = ("title", "legend", "axis", "header")
    return next((i for i, name in enumerate(order) if words.role.startswith(name)), len(order))


def _label(words: Words, scene: Scene, setting: Setting) -> Label:
    """A text as a label: level, in a box of whole pixels, about its anchor, moved onto the drawing where it just leaves it."""
    size = max(1, edge(words.size_px))
    kind = Kind.AXIS if words.role.startswith("axis-label") else Kind.LABEL
    height = round(size * 0.59) * 2
    wide = math.ceil(
        setting.ruler.width_px(words.text, size_px=size, role=kind.value) * (_BOLD if words.bold else 1)
    )
    wide += wide % 2
    x, y = words.at
    align = {"start": Align.LEFT, "end": Align.RIGHT}.get(words.anchor, Align.CENTRE)
    if abs(words.turned_deg) > _TURNED_DEG:
        align = Align.CENTRE if abs(abs(words.turned_deg) - 90) < _TURNED_DEG else align
    left = {Align.LEFT: edge(x), Align.RIGHT: edge(x) - wide, Align.CENTRE: edge(x) - wide // 2}[align]
    top = edge(y - size * _CAPITALS) - height // 2
    left = _onto(left, wide, scene.width_px)
    top = _onto(top, height, scene.height_px)
    colour = {PAPER: setting.palette.paper, ACCENT: setting.palette.accent}.get(
        fill_paint(words.fill, 1.0, setting.palette).code, ""
    )
    style = (f"font-size:{size}px;" if size else "") + ("font-weight:bold;" if words.bold else "")
    return Label(
        words.text, (left, top, wide, height), align, kind, style + (f"color:{colour};" if colour else "")
    )


def _onto(start: int, length: int, room: int) -> int:
    """Where a box begins so that it lies on the drawing, if it fits there at all."""
    return max(0, min(start, room - length))


def _remarks(lost: list[Words], words: tuple[Words, ...], *, file: str) -> tuple[Finding, ...]:
    found = []
    if lost:
        told = ", ".join(repr(one.text) for one in lost[:3])
        found.append(
            Finding(
                rule="blocks.vega-labels",
                where=Place(file),
                what=f"{len(lost)} texts of a chart have no room and are left out: {told}",
                measured=str(len(words) - len(lost)),
                limit=str(len(words)),
                mend="Give the chart more room, shorter texts, or fewer ticks.",
            )
        )
    if any(abs(one.turned_deg) > _TURNED_DEG for one in words):
        found.append(
            Finding(
                rule="blocks.vega-turned",
                where=Place(file),
                what="a turned text of a chart is set level: turned type does not lie on the pixel grid",
                mend="Leave labelAngle and titleAngle out; the theme sets them to 0.",
            )
        )
    return tuple(found)
