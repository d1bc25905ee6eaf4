"""Ranges as rows over one axis of values: from a low to a high, or a sample's five-number summary."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from markupsafe import Markup

from wallbill.blocks.charts.amounts import NO_VALUE
from wallbill.blocks.charts.fills import PLAIN, Fill, put
from wallbill.blocks.charts.fills import boxes as filled
from wallbill.blocks.charts.frames import finish
from wallbill.blocks.charts.lines import nothing_known
from wallbill.blocks.charts.marks import accent_or_ink
from wallbill.blocks.charts.plot import GAP_PX, TICK_PX, Scale, centred, exact_text
from wallbill.blocks.charts.readings import is_number
from wallbill.blocks.charts.rows import Rows, placed_rows, row_labels
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.charts.summary import Quartiles, Summary, summary
from wallbill.blocks.charts.telling import amounts_told, range_text, told
from wallbill.blocks.charts.valueaxis import ValueAxis, axis_foot_px, axis_labels, value_axis
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import MUTED, Sketch
from wallbill.blocks.drawing.labels import Align, Kind, Label, spread
from wallbill.blocks.drawing.markup import Drawing, Tint, to_markup
from wallbill.blocks.drawing.patterns import Hatch


@dataclass(frozen=True, slots=True)
class Range:
    """A low and a high value under a name, such as a day's temperatures; ``mark``: a value in it that is pointed out.

    None, or what is not finite, is a gap; the ends may come in either order.
    """

    name: str
    low: float | None
    high: float | None
    mark: float | None = None

    @property
    def known(self) -> tuple[float, float] | None:
        """Both ends in rising order, if both are finite numbers."""
        if self.low is None or self.high is None or not (is_number(self.low) and is_number(self.high)):
            return None
        return min(self.low, self.high), max(self.low, self.high)


@dataclass(frozen=True, slots=True)
class Group:
    """Values under a name, to be summed up."""

    name: str
    values: tuple[float | None, ...]


def range_rows(ranges: Sequence[Range], *, spec: ChartSpec) -> Markup:
    """Ranges as rows of a name and a bar from low to high with both values at its ends, all on one scale."""
    return to_markup(range_rows_drawing(ranges, spec=spec), spec.palette, label_px=spec.label_px)


def box_rows(groups: Sequence[Group], *, spec: ChartSpec, method: Quartiles = Quartiles.HINGES) -> Markup:
    """The five-number summary of each group as a row: box, median, whiskers, and dots beyond these.

    ``method``: how quartiles are found. The median is printed at the right.
    """
    drawing = box_rows_drawing(groups, spec=spec, method=method)
    return to_markup(drawing, spec.palette, label_px=spec.label_px)


def range_rows_drawing(ranges: Sequence[Range], *, spec: ChartSpec) -> Drawing:
    """The drawing behind `range_rows`."""
    ends = [value for one in ranges if one.known for value in one.known]
    if not ends:
        return nothing_known(spec, [one.name for one in ranges])
    scale = Scale(value_axis(ends, spec, left_px=0, width_px=spec.width_px).marks, min(ends), max(ends))
    pairs = [tuple(exact_text(scale, v, spec=spec) for v in one.known) if one.known else () for one in ranges]
    place = placed_rows([one.name for one in ranges], [], spec=spec)
    room = max(spec.text_px(text) for pair in pairs for text in pair) + GAP_PX
    left, right = place.bars_px[0] + room, place.bars_px[1] - room
    low, high = min(ends), max(ends)
    axis = ValueAxis(scale.marks, low, high if high > low else low + 1, left, max(8, right - left))
    sketch = Sketch(*spec.size)
    labels = row_labels([one.name for one in ranges], [], place, spec=spec)
    placed, marks = [], shapes.nothing(spec.size)
    for number, (one, pair) in enumerate(zip(ranges[: place.count], pairs, strict=False)):
        top, tall = place.bar(number)
        if not one.known:
            labels += (centred(NO_VALUE, (left + axis.width_px // 2, top - 2), spec=spec),)
            continue
        first, last = axis.x(one.known[0]), axis.x(one.known[1]) + 1
        placed.append(((first, top, max(3, last - first), tall), PLAIN))
        labels += _range_ends(pair, (first, last), place.middle_px(number), spec)
        if one.mark is not None and is_number(one.mark):
            put(marks, (axis.x(min(max(one.mark, low), high)) - 1, top - 3, 3, tall + 6))
    filled(sketch, placed)
    sketch.erase(shapes.grown(marks, 1)).lay(marks, accent_or_ink(spec.palette))
    labels = spread(labels, (), size=spec.size, gap_px=0)
    sayings = (
        f"{one.name}: {range_text(*one.known, spec.unit, spec=spec) if one.known else NO_VALUE}"
        for one in ranges
    )
    return finish(sketch, labels, tints=(), spec=spec, title=told(spec, sayings))


def _range_ends(
    pair: Sequence[str], ends: tuple[int, int], middle_px: int, spec: ChartSpec
) -> tuple[Label, ...]:
    """The low value left of a bar, the high one right of it."""
    high = spec.line_height_px
    top = middle_px - high // 2
    below, above = (spec.text_px(text) for text in pair)
    return (
        Label(pair[0], (ends[0] - GAP_PX - below, top, below, high), Align.RIGHT),
        Label(pair[1], (ends[1] + GAP_PX, top, above, high), Align.LEFT),
    )


def box_rows_drawing(
    groups: Sequence[Group], *, spec: ChartSpec, method: Quartiles = Quartiles.HINGES
) -> Drawing:
    """The drawing behind `box_rows`."""
    sums = [summary(group.values, method) for group in groups]
    reached = [v for one in sums if one for v in (one.least, one.greatest)]
    if not reached:
        return nothing_known(spec, [group.name for group in groups])
    reached += [*spec.include, *(threshold.value for threshold in spec.thresholds)]
    names = [group.name for group in groups]
    marks = value_axis(reached, spec, left_px=0, width_px=spec.width_px).marks
    scale = Scale(marks, min(reached), max(reached))
    texts = [exact_text(scale, one.middle, spec=spec) if one else NO_VALUE for one in sums]
    head = spec.line_height_px + 2 if spec.unit or any(t.name for t in spec.thresholds) else 0
    place = placed_rows(names, texts, spec=spec, head_px=head, foot_px=axis_foot_px(spec) + 2)
    left, right = place.bars_px
    axis = value_axis(reached, spec, left_px=left + GAP_PX, width_px=right - left - 2 * GAP_PX)
    sketch = Sketch(*spec.size)
    foot_labels = _scale_under(sketch, place, axis, spec)
    tints: tuple[Tint, ...] = ()
    for number, one in enumerate(sums[: place.count]):
        if one:
            tints += _box(sketch, place, axis, (number, one), spec)
    labels = (*foot_labels, *row_labels(names, texts, place, spec=spec))
    labels = spread(labels, (), size=spec.size, gap_px=0)
    medians = [(name, one.middle if one else None) for name, one in zip(names, sums, strict=True)]
    title = told(spec, [amounts_told(medians, spec.unit, spec=spec)])
    return finish(sketch, labels, tints=tints, spec=spec, title=title)


def _box(
    sketch: Sketch, place: Rows, axis: ValueAxis, numbered: tuple[int, Summary], spec: ChartSpec
) -> tuple[Tint, ...]:
    """One summary in its row: whiskers with caps, a box of the middle half, a heavy median, dots outside."""
    number, one = numbered
    top, tall = place.bar(number)
    middle = top + tall // 2
    lines, dots = shapes.nothing(spec.size), shapes.nothing(spec.size)
    low, high = axis.x(one.whiskers[0]), axis.x(one.whiskers[1])
    put(lines, (low, middle, high - low + 1, 1))
    cap = max(3, tall // 2) | 1
    for x in (low, high):
        put(lines, (x, middle - cap // 2, 1, cap))
    sketch.lay(lines)
    first, last = axis.x(one.lower), axis.x(one.upper)
    tint = filled(sketch, [((first, top, last - first + 1, tall), Fill(Hatch.DOTS_12))])
    median = shapes.nothing(spec.size)
    wide = max(3, spec.line_px)
    put(median, (axis.x(one.middle) - wide // 2, top, wide, tall))
    for value in one.outside:
        x = axis.x(value)
        put(dots, (x - 1, middle - 2, 3, 5))
        put(dots, (x - 2, middle - 1, 5, 3))
    sketch.lay(dots).lay(median, accent_or_ink(spec.palette))
    return tint


def _scale_under(sketch: Sketch, place: Rows, axis: ValueAxis, spec: ChartSpec) -> tuple[Label, ...]:
    """Grid lines down the rows, the axis of values under them, thresholds and their names over them."""
    bottom = place.top_px + place.count * place.pitch_px
    dots, line, dashed = (shapes.nothing(spec.size) for _ in range(3))
    put(line, (axis.left_px, bottom, axis.width_px, 1))
    for value in axis.shown():
        dots[place.top_px : bottom : 4, axis.x(value)] = True
        put(line, (axis.x(value), bottom, 1, TICK_PX))
    names = []
    for threshold in spec.thresholds:
        x = axis.x(threshold.value)
        for y in range(place.top_px, bottom, 10):
            put(dashed, (x, y, 1, min(6, bottom - y)))
        if threshold.name:
            names.append(centred(threshold.name, (x, 0), spec=spec))
    sketch.lay(dots, MUTED).lay(line).lay(dashed, accent_or_ink(spec.palette))
    unit: tuple[Label, ...] = ()
    if spec.unit:
        wide = spec.text_px(spec.unit, Kind.AXIS)
        unit = (
            Label(spec.unit, (spec.width_px - wide, 0, wide, spec.line_height_px), Align.RIGHT, Kind.AXIS),
        )
    return (*unit, *names, *axis_labels(axis, replace(spec, unit=""), top_px=bottom + TICK_PX + 1))
