"""How often values occur: bars without air over an axis of values."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from markupsafe import Markup

from wallbill.blocks.charts.bins import Bins, bins
from wallbill.blocks.charts.fills import PLAIN, put
from wallbill.blocks.charts.fills import boxes as filled
from wallbill.blocks.charts.frames import finish, untimed
from wallbill.blocks.charts.lines import nothing_known
from wallbill.blocks.charts.marks import accent_or_ink, rows
from wallbill.blocks.charts.plot import TICK_PX, Plot, centred, gutter_px, value_labels, value_scale
from wallbill.blocks.charts.readings import is_number
from wallbill.blocks.charts.spec import ChartSpec, Threshold
from wallbill.blocks.charts.summary import finite
from wallbill.blocks.charts.telling import range_text, told
from wallbill.blocks.charts.ticks import Ticks
from wallbill.blocks.charts.valueaxis import ValueAxis, axis_foot_px, axis_labels
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import ACCENT, INK, PAPER, Sketch
from wallbill.blocks.drawing.labels import Align, Kind, Label, clearest
from wallbill.blocks.drawing.markup import Drawing, to_markup
from wallbill.blocks.drawing.shapes import Box
from wallbill.inks.impression import Mask

_FAR = 3  # times the width of all bins: what is marked further away is left out
_MOST_EDGES = 1001  # bins from label to label, one less at the most
_LEAST_BIN_PX = 4
_KEPT_SHARE = 0.88  # of the width at the least, so that bins are of equal width: judged by eye


@dataclass(frozen=True, slots=True)
class Sample:
    """Values of one kind. ``marked``: one that is pointed out, such as today's, None for none.

    ``step``: the width of the bins, None for the rule's.
    """

    values: tuple[float | None, ...]
    marked: float | None = None
    step: float | None = None


def histogram(sample: Sample, *, spec: ChartSpec) -> Markup:
    """How often the values of a sample occur, in round bins; thresholds and the marked value are upright lines.

    The unit stands at the right end of the axis of values. Values that are no finite numbers are left out.
    """
    return to_markup(histogram_drawing(sample, spec=spec), spec.palette, label_px=spec.label_px)


def histogram_drawing(sample: Sample, *, spec: ChartSpec) -> Drawing:
    """The drawing behind `histogram`. Raises `SheetError` for a width of bins that is not above 0."""
    found = bins(sample.values, most=max(1, spec.width_px // _LEAST_BIN_PX // 2), step=sample.step)
    if found is None:
        return nothing_known(spec)
    plot, axis = _places(found, sample, spec)
    sketch = Sketch(*spec.size)
    rows(sketch, plot, values=plot.scale.shown())
    labels = (*value_labels(plot, replace(spec, unit="")), *_across(sketch, plot, axis, spec))
    filled(sketch, [(box, PLAIN) for box in bin_boxes(found, plot, axis)])
    labels += _uprights(sketch, plot, axis, sample=sample, spec=spec)
    values = finite(sample.values)
    title = told(spec, [f"{range_text(values[0], values[-1], spec.unit, spec=spec)} ({len(values)}×)"])
    return finish(sketch, labels, tints=(), spec=spec, title=title)


def _places(found: Bins, sample: Sample, spec: ChartSpec) -> tuple[Plot, ValueAxis]:
    """The plot of counts and the axis of values under it; bins are of equal whole width where that loses little."""
    marks = _marks(sample, spec)
    top = spec.line_height_px + 2 if marks else spec.line_height_px // 2 + 1
    high = max(8, spec.height_px - top - axis_foot_px(spec))
    plain = replace(spec, include=(0.0,), thresholds=(), extremes=False, value_label=None)
    scale = value_scale([float(count) for count in found.counts], plain, height_px=high)
    left = gutter_px(scale, spec)
    wide = max(16, spec.width_px - left - spec.label_px)
    axis = _edge_axis(
        found, [*spec.include, *(mark.value for mark in marks)], spec, left_px=left, width_px=wide
    )
    pitch = int((wide - 1) * found.width / Fraction(axis.high - axis.low))
    snapped = round(pitch * (axis.high - axis.low) / float(found.width)) + 1
    if pitch >= 1 and snapped >= wide * _KEPT_SHARE:
        axis = replace(axis, width_px=snapped)
    return untimed((left, top, axis.width_px, high), scale), axis


def _edge_axis(
    found: Bins, others: Sequence[float], spec: ChartSpec, *, left_px: int, width_px: int
) -> ValueAxis:
    """An axis from edge to edge, also over what lies beyond the bins, with labels at edges, as many as have room."""
    far = _FAR * (found.edges[-1] - found.edges[0])
    known = [v for v in others if found.edges[0] - far <= v <= found.edges[-1] + far]
    first = min(math.floor(Fraction(value) / found.width) for value in (found.edges[0], *known))
    last = max(math.ceil(Fraction(value) / found.width) for value in (found.edges[-1], *known))
    decimals = next((n for n in range(12) if (found.width * 10**n).denominator == 1), 12)
    low, high = float(first * found.width), float(last * found.width)
    axis = ValueAxis(Ticks((), found.width, decimals), low, high, left_px, max(2, width_px))
    for every in range(1, _MOST_EDGES):
        if not _is_round(found.width * every):
            continue
        values = tuple(float(i * found.width) for i in range(first, last + 1) if i % every == 0)
        axis = replace(axis, marks=Ticks(values, found.width * every, decimals))
        widest = max((spec.text_px(axis.text(value, spec), Kind.AXIS) for value in values[:60]), default=0)
        if len(values) < 2 or axis.x(values[1]) - axis.x(values[0]) >= widest + spec.label_px // 2:
            break
    return axis


def _is_round(step: Fraction) -> bool:
    """Whether a distance between labels is 1, 2, 2.5 or 5 times a power of ten."""
    return f"{float(step):.6e}".split("e")[0].rstrip("0").rstrip(".") in {"1", "2", "2.5", "5"}


def _marks(sample: Sample, spec: ChartSpec) -> tuple[Threshold, ...]:
    """What is marked on the axis of values: thresholds, and the marked value under its own wording."""
    if sample.marked is None or not is_number(sample.marked):
        return spec.thresholds
    text = spec.value_label(sample.marked) if spec.value_label else f"{sample.marked:g}"
    return (*spec.thresholds, Threshold(sample.marked, f"{text}{' ' + spec.unit if spec.unit else ''}"))


def bin_boxes(found: Bins, plot: Plot, axis: ValueAxis) -> tuple[Box, ...]:
    """The bar of each bin that holds anything, a pixel apart from the next where it is wide enough."""
    floor = plot.bottom_px - 1
    placed = []
    for low, high, count in zip(found.edges, found.edges[1:], found.counts, strict=False):
        left, right = axis.x(low), axis.x(high)
        air = 1 if right - left >= _LEAST_BIN_PX else 0
        if count:
            top = min(plot.y(count), floor - 1)
            placed.append((left + air, top, max(1, right - left - air), floor - top))
    return tuple(placed)


def _across(sketch: Sketch, plot: Plot, axis: ValueAxis, spec: ChartSpec) -> tuple[Label, ...]:
    """The foot: a line, a mark and a label for each round value, and the unit at the right."""
    floor = plot.bottom_px - 1
    line = shapes.nothing(spec.size)
    put(line, (plot.box[0], floor, plot.box[2], 1))
    for value in axis.shown():
        put(line, (axis.x(value), floor, 1, TICK_PX))
    sketch.lay(line)
    top = floor + TICK_PX + 1
    unit: tuple[Label, ...] = ()
    wide = spec.text_px(spec.unit, Kind.AXIS)
    if spec.unit and wide < spec.width_px // 3:
        box = (spec.width_px - wide, top, wide, spec.line_height_px)
        unit = (Label(spec.unit, box, Align.RIGHT, Kind.AXIS),)
    return (*unit, *axis_labels(axis, spec, top_px=top, taken=unit))


def _uprights(
    sketch: Sketch, plot: Plot, axis: ValueAxis, *, sample: Sample, spec: ChartSpec
) -> tuple[Label, ...]:
    """Thresholds as dashed lines, the marked value as a whole one under a small triangle, each under its name."""
    dashed, whole, rim = (shapes.nothing(spec.size) for _ in range(3))
    _, top, _, _ = plot.box
    floor = plot.bottom_px - 1
    shown = [mark for mark in _marks(sample, spec) if axis.low <= mark.value <= axis.high]
    for mark in shown:
        x = axis.x(mark.value)
        if mark in spec.thresholds:
            for y in range(top, floor, 10):
                put(dashed, (x, y, 1, min(6, floor - y)))
        else:
            put(whole, (x, top, 1, floor - top))
            put(rim, (x - 1, top, 3, floor - top))
    _lay_over(sketch, dashed, accent_or_ink(spec.palette))
    sketch.erase(rim).lay(whole, accent_or_ink(spec.palette))
    found: list[Label] = []
    for mark in reversed(shown):
        if mark.name:
            choices = _beside(mark.name, axis.x(mark.value), spec)
            label = clearest(choices, found, drawn=sketch.drawn())
            found += [label] if label else []
    return tuple(found)


def _lay_over(sketch: Sketch, mask: Mask, code: int) -> None:
    """Lays a fine rule, knocked out where it crosses solid ink."""
    grid = sketch.grid()
    inked = grid.mask(INK) | grid.mask(ACCENT)
    sketch.lay(mask & ~inked, code).lay(mask & inked, PAPER)


def _beside(text: str, x: int, spec: ChartSpec) -> list[Label]:
    """Places for the name of an upright line, at the top: over it, or to one side."""
    middle = centred(text, (x, 0), spec=spec)
    _, _, wide, high = middle.box
    inside = min(max(0, middle.box[0]), max(0, spec.width_px - wide))
    return [
        Label(text, (inside, 0, wide, high), Align.CENTRE),
        Label(text, (x + 4, 0, wide, high), Align.LEFT),
        Label(text, (x - 4 - wide, 0, wide, high), Align.RIGHT),
    ]
