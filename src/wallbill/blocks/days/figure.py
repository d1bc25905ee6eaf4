"""One large figure with its unit, what it is, where it is heading, and a small line of how it came there."""

from dataclasses import dataclass, replace

from markupsafe import Markup

from wallbill.blocks.charts.lines import spark_drawing
from wallbill.blocks.charts.spec import LEAST_HEIGHT_PX as LEAST_SPARK_PX
from wallbill.blocks.charts.spec import LEAST_WIDTH_PX as LEAST_SPARK_WIDTH_PX
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.days.look import Look
from wallbill.blocks.days.trend import Heading
from wallbill.blocks.days.type import FIGURE_EM, Composed, Role, Text, composed_markup, line_px
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import INK, Grid, Sketch
from wallbill.blocks.drawing.labels import Align
from wallbill.facts.series import Series

_UNIT_SHARE = 0.36  # of the figure's size, for its unit: judged by eye
_SPARK_SHARE = 0.24
_LEAST_ARROW_PX = 9
_MOST_ARROW_PX = 64


@dataclass(frozen=True, slots=True)
class Figure:
    """What a large figure says.

    ``like``: a text whose size the figure takes, so that a dash, or 9 after 10, is as large as what stood there;
    "" for its own. ``below``: a line under it, such as how much it changed. ``spark``: drawn at the foot.
    """

    text: str
    unit: str = ""
    label: str = ""
    below: str = ""
    heading: Heading | None = None
    spark: Series | None = None
    like: str = ""
    align: Align = Align.LEFT


@dataclass(frozen=True, slots=True)
class _Sizes:
    """Sizes of type of the figure and its unit, the widths of both, the arrow's size, and all across, pixels."""

    figure_px: int
    unit_px: int
    wide_px: int
    beside_px: int
    arrow_px: int

    @property
    def gap_px(self) -> int:
        """Between the figure and what stands beside it."""
        return max(2, self.figure_px // 12) if self.beside_px else 0

    @property
    def across_px(self) -> int:
        """Figure, gap and what stands beside it."""
        return self.wide_px + self.gap_px + self.beside_px


def big_number(figure: Figure, *, look: Look) -> Markup:
    """The figure as HTML, as large as its box allows, its unit at the figure's head and an arrow of its trend at the foot.

    The label stands above, what changed below, the spark at the foot of the box; what finds no room is left out, the
    spark first.
    """
    return composed_markup(figure_composed(figure, look=look), look.palette)


def figure_composed(figure: Figure, *, look: Look) -> Composed:
    """What is behind `big_number`."""
    sketch = Sketch(*look.size)
    label, below, spark_px = _rows(figure, look)
    top = label
    room = look.height_px - label - below - spark_px
    sizes = _sizes(figure, look, room_px=room)
    high = min(room, round(sizes.figure_px * FIGURE_EM))
    row = top + (room - high) // 2
    left = _left(figure, look, sizes.across_px)
    beside = left + sizes.wide_px + sizes.gap_px
    if look.runs_left:  # what is read after the figure stands to its left
        left, beside = left + sizes.beside_px + sizes.gap_px, left
    texts = [
        Text(figure.text, (left, row, sizes.wide_px, high), sizes.figure_px, _inner(figure), Role.FIGURE)
    ]
    texts += _beside(sketch, figure, look, at=(beside, row), sizes=sizes)
    if label:
        text = look.measure.cut(figure.label, room_px=look.width_px, size_px=look.label_px)
        texts.append(_line(text, 0, figure=figure, look=look))
    if below:
        text = look.measure.cut(figure.below, room_px=look.width_px, size_px=look.label_px)
        texts.append(_line(text, top + room, figure=figure, look=look))
    if spark_px and figure.spark is not None:
        spec = ChartSpec(
            look.width_px,
            spark_px - 4,
            look.palette,
            line_px=max(1, min(4, spark_px // 14)),
            zone=look.wording.zone,
        )
        sketch.stamp(spark_drawing(figure.spark, spec=spec).grid, at=(0, look.height_px - spark_px + 4))
    return Composed(
        sketch.grid(), tuple(text for text in texts if text.text), (), look.title or _words(figure)
    )


def _rows(figure: Figure, look: Look) -> tuple[int, int, int]:
    """Heights of the label's row, the row below, and the spark, each 0 where it is not there."""
    line = look.line_height_px
    left = look.height_px - line_px(look.label_px)
    label = line if figure.label and line <= left else 0
    left -= label
    below = line if figure.below and line <= left else 0
    left -= below
    spark = round(look.height_px * _SPARK_SHARE)
    fits = (
        left - spark >= look.label_px
        and spark - 4 >= LEAST_SPARK_PX
        and look.width_px >= LEAST_SPARK_WIDTH_PX
    )
    return label, below, spark if figure.spark is not None and fits else 0


def _sizes(figure: Figure, look: Look, *, room_px: int) -> _Sizes:
    """The largest sizes that fit the width of the box and ``room_px`` in height."""
    whole = look.measure.largest_px(figure.like or figure.text, room=(look.width_px, room_px))
    sizes = _at(figure, look, whole)
    for _ in range(4):
        if sizes.across_px <= look.width_px or sizes.figure_px <= 1:
            break
        sizes = _at(
            figure, look, max(1, min(sizes.figure_px - 1, sizes.figure_px * look.width_px // sizes.across_px))
        )
    while sizes.across_px > look.width_px and sizes.figure_px > 1:
        sizes = _at(figure, look, sizes.figure_px - 1)
    if sizes.across_px > look.width_px:
        return replace(sizes, beside_px=0, arrow_px=0, unit_px=0)
    return sizes


def _at(figure: Figure, look: Look, figure_px: int) -> _Sizes:
    unit_px = min(figure_px, max(look.label_px, round(figure_px * _UNIT_SHARE))) if figure.unit else 0
    measure = look.measure
    wide = max(
        measure.width_px(text, size_px=figure_px, role=Role.FIGURE)
        for text in {figure.text, figure.like or figure.text}
    )
    beside = measure.width_px(figure.unit, size_px=unit_px) if figure.unit else 0
    arrow = 0
    if figure.heading is not None:
        free = round((figure_px - unit_px) * 0.7 - figure_px * 0.06)
        arrow = min(free, _MOST_ARROW_PX, round(figure_px * 0.4)) | 1
        arrow = arrow if arrow >= _LEAST_ARROW_PX else 0
    return _Sizes(figure_px, unit_px, wide, max(beside, arrow), arrow)


def _left(figure: Figure, look: Look, across_px: int) -> int:
    free = max(0, look.width_px - across_px)
    return {Align.LEFT: 0, Align.CENTRE: free // 2, Align.RIGHT: free}[figure.align]


def _inner(figure: Figure) -> Align:
    """How the figure stands in its own box, which may be wider where ``like`` is."""
    return Align.RIGHT if figure.align is Align.RIGHT else Align.LEFT


def _beside(sketch: Sketch, figure: Figure, look: Look, *, at: tuple[int, int], sizes: _Sizes) -> list[Text]:
    """The unit, its head level with the figure's (or on its line, if no arrow needs that place), and the arrow."""
    x, top = at
    larger = sizes.figure_px - sizes.unit_px
    if sizes.arrow_px and figure.heading is not None:
        base = top + round(sizes.figure_px * _LINE_EM)
        sketch.stamp(
            arrow(figure.heading, size_px=sizes.arrow_px, code=look.accent),
            at=(x + (sizes.beside_px - sizes.arrow_px if look.runs_left else 0), base - sizes.arrow_px),
        )
    if not sizes.unit_px:
        return []
    raised = bool(sizes.arrow_px) or figure.unit.startswith("°")
    row = top + round(larger * (_HEAD_EM if raised else _LINE_EM))
    box = (x, row, sizes.beside_px, round(sizes.unit_px * FIGURE_EM))
    return [Text(figure.unit, box, sizes.unit_px, Align.RIGHT if look.runs_left else Align.LEFT)]


# Where capitals begin and end in a box `FIGURE_EM` high, in sizes of type, for common text faces: measured on the
# packaged faces, whose capitals are 0.714 high.
_HEAD_EM = 0.074
_LINE_EM = 0.788


def _line(text: str, top_px: int, *, figure: Figure, look: Look) -> Text:
    return Text(text, (0, top_px, look.width_px, look.line_height_px), look.label_px, figure.align)


def arrow(heading: Heading, *, size_px: int, code: int = INK) -> Grid:
    """An arrow up, along or down to the right, ``size_px`` square (odd), its strokes as heavy as type of that size."""
    size = (size_px, size_px)
    pen = max(2, size_px // 6)
    last = size_px - 1
    if heading is Heading.STEADY:
        middle = size_px / 2
        reach = size_px * 0.34
        shape = shapes.rectangle(size, (0, (size_px - pen) // 2, size_px - pen, pen + (size_px - pen) % 2))
        head = [
            (last - reach, middle - reach),
            (last + 0.5 - pen / 2, middle),
            (last - reach, middle + reach),
        ]
        shape |= shapes.stroke(size, head, line_px=pen + 0.5)
        return Sketch(*size).lay(shape, code).grid()
    arm = round(size_px * 0.62)
    shape = shapes.rectangle(size, (size_px - arm, 0, arm, pen)) | shapes.rectangle(
        size, (size_px - pen, 0, pen, arm)
    )
    shape |= shapes.stroke(
        size, [(pen / 2, size_px - pen / 2), (size_px - pen / 2, pen / 2)], line_px=pen + 0.5
    )
    grid = Sketch(*size).lay(shape, code).grid()
    return grid.turned(1) if heading is Heading.FALLING else grid


def _words(figure: Figure) -> str:
    """The text alternative: label, figure and unit, and what changed."""
    value = f"{figure.text} {figure.unit}".strip()
    return ", ".join(part for part in (figure.label, value, figure.below) if part)
