"""Amounts as upright bars from zero: over time, or side by side under their names."""

from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace

from markupsafe import Markup

from wallbill.blocks.charts.fills import PLAIN, Fill, below_zero, beneath, boxes
from wallbill.blocks.charts.frames import (
    aired,
    bar_plot,
    clear_under,
    finish,
    over_bars,
    seen,
    shortened,
    sides,
    snapped,
    time_foot,
    under_unit,
    unit_label,
    untimed,
)
from wallbill.blocks.charts.lines import nothing_known
from wallbill.blocks.charts.marks import night_tint, rows, threshold_labels
from wallbill.blocks.charts.plot import (
    GAP_PX,
    Plot,
    centred,
    exact_text,
    gutter_px,
    value_labels,
    value_scale,
)
from wallbill.blocks.charts.readings import Span, is_number
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.charts.telling import amounts_told, spans_told, told
from wallbill.blocks.drawing.grid import ACCENT, Sketch
from wallbill.blocks.drawing.labels import Align, Kind, Label, clearest, spread
from wallbill.blocks.drawing.markup import Drawing, to_markup
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.patterns import Hatch
from wallbill.blocks.drawing.shapes import Box

NO_VALUE = "–"
"""Stands where a value is not known."""


@dataclass(frozen=True, slots=True)
class Named:
    """An amount under a name, such as the energy of a room; ``value`` None, or not finite, is a gap."""

    name: str
    value: float | None

    @property
    def known(self) -> float | None:
        """The value if it can be drawn."""
        return self.value if is_number(self.value) else None


@dataclass(frozen=True, slots=True)
class Bar:
    """A bar on its plot: columns from ``left_px`` up to ``right_px``, the width of its slot, its value and its fill."""

    left_px: int
    right_px: int
    slot_px: int
    value: float
    fill: Fill = PLAIN

    @property
    def middle_px(self) -> int:
        """The column in the middle of the bar."""
        return (self.left_px + self.right_px) // 2


def bar_chart(spans: Sequence[Span], *, spec: ChartSpec) -> Markup:
    """Amounts over time as bars from zero, up or down, each as wide as its stretch of time.

    Where every bar has room for its value, all are labelled and no scale is needed; else the highest and the
    lowest are. An amount that is no finite number is a gap.
    """
    return to_markup(bar_chart_drawing(spans, spec=spec), spec.palette, label_px=spec.label_px)


def bar_columns(named: Sequence[Named], *, spec: ChartSpec, marked: str = "") -> Markup:
    """Amounts under their names as bars from zero, side by side in the order given; a gap is a dash.

    ``marked``: the name of the one that stands out.
    """
    drawing = bar_columns_drawing(named, spec=spec, marked=marked)
    return to_markup(drawing, spec.palette, label_px=spec.label_px)


def bar_chart_drawing(spans: Sequence[Span], *, spec: ChartSpec) -> Drawing:
    """The drawing behind `bar_chart`."""
    known = seen(spans, spec)
    if not known:
        return nothing_known(spec)
    plot = bar_plot(spans, spec=spec, values=_reached(known), right_px=spec.label_px)
    bare = snapped(plot, spans, left_px=spec.label_px // 2, right_px=spec.width_px - spec.label_px // 2)
    direct = spec.extremes and all_fit(bare, _over_time(bare, known, spec), spec)
    plot = under_unit(bare, spec) if direct else plot
    sketch = Sketch(*spec.size)
    labels = (*under_scale(sketch, plot, spec, direct=direct), *time_foot(sketch, plot, spans, spec=spec))
    saying = spans_told(known, spec.unit, spec=spec)
    return finished((sketch, plot), _over_time(plot, known, spec), spec=spec, labels=labels, saying=saying)


def bar_columns_drawing(named: Sequence[Named], *, spec: ChartSpec, marked: str = "") -> Drawing:
    """The drawing behind `bar_columns`."""
    values = [one.known for one in named if one.known is not None]
    if not values:
        return nothing_known(spec, [one.name for one in named])
    spec = replace(spec, now=None, nights=())
    bare = named_plot(values, spec, left_px=0, right_px=0)
    direct = spec.extremes and all_fit(bare, _side_by_side(bare, named, spec.palette, marked=marked), spec)
    plot = (
        under_unit(bare, spec)
        if direct
        else named_plot(values, spec, left_px=gutter_px(bare.scale, spec), right_px=0)
    )
    bars = _side_by_side(plot, named, spec.palette, marked=marked)
    sketch = Sketch(*spec.size)
    gaps = {number for number, one in enumerate(named) if one.known is None}
    names = name_labels(plot, [one.name for one in named], gaps=gaps, spec=spec)
    labels = (*under_scale(sketch, plot, spec, direct=direct), *names)
    sketch.fill((plot.box[0], plot.bottom_px - 1, plot.box[2], 1))
    saying = amounts_told([(one.name, one.known) for one in named], spec.unit, spec=spec)
    return finished((sketch, plot), bars, spec=spec, labels=labels, saying=saying)


def _reached(spans: Sequence[Span]) -> list[float]:
    """Values that the scale must reach; up to 1 where all are nothing."""
    values = [span.value for span in spans]
    return values if any(values) else [1.0]


def _over_time(plot: Plot, spans: Sequence[Span], spec: ChartSpec) -> list[Bar]:
    negative = below_zero(spec.palette)
    return [
        Bar(left, right, slot, span.value, PLAIN if span.value >= 0 else negative)
        for span, (left, right, slot) in zip(spans, sides(plot, spans), strict=True)
    ]


def named_plot(values: Sequence[float], spec: ChartSpec, *, left_px: int, right_px: int) -> Plot:
    """The plot of bars with names under them, with so much room left and right of it."""
    top = spec.line_height_px * (3 if spec.unit else 2) // 2
    high = max(8, spec.height_px - top - spec.line_height_px - 3)
    reached = [*values, *([] if any(values) else [1.0])]
    scale = value_scale(reached, replace(spec, include=(0.0, *spec.include)), height_px=high)
    return untimed((left_px, top, max(16, spec.width_px - left_px - right_px), high), scale)


def slots(plot: Plot, count: int) -> list[tuple[int, int]]:
    """First column of each of ``count`` slots of equal whole width and the first after it, in the plot's middle."""
    wide = max(1, plot.box[2] // count)
    first = plot.box[0] + max(0, plot.box[2] - wide * count) // 2
    return [(first + number * wide, first + (number + 1) * wide) for number in range(count)]


def _side_by_side(plot: Plot, named: Sequence[Named], palette: Palette, *, marked: str) -> list[Bar]:
    negative = below_zero(palette)
    bars = []
    for one, (first, last) in zip(named, slots(plot, len(named)), strict=True):
        if one.known is not None:
            left, right = aired(first, last)
            fill = PLAIN if one.known >= 0 else negative
            if marked:
                fill = emphasis(palette, chosen=one.name == marked)
            bars.append(Bar(left, max(right, left + 1), last - first, one.known, fill))
    return bars


def emphasis(palette: Palette, *, chosen: bool) -> Fill:
    """The fill of the one that stands out, or of the others: second ink against ink, or ink against a hatch."""
    if palette.has_accent:
        return Fill(code=ACCENT) if chosen else PLAIN
    return PLAIN if chosen else Fill(Hatch.DOTS_25 if palette.smooth else Hatch.RISING_25)


def name_labels(
    plot: Plot, names: Sequence[str], *, gaps: AbstractSet[int], spec: ChartSpec
) -> tuple[Label, ...]:
    """Names under their slots, and a dash on the base of each whose number is among the ``gaps``."""
    found, dashes = [], []
    base = plot.y(0) - spec.line_height_px
    for number, (name, (first, last)) in enumerate(zip(names, slots(plot, len(names)), strict=True)):
        middle = (first + last) // 2
        text = shortened(name, last - first - 4, spec=spec, kind=Kind.AXIS)
        if text:
            found.append(centred(text, (middle, plot.bottom_px + 3), spec=spec, kind=Kind.AXIS))
        if number in gaps and spec.text_px(NO_VALUE) <= last - first:
            dashes.append(centred(NO_VALUE, (middle, base), spec=spec))
    return spread((*found, *dashes), (), size=spec.size, gap_px=0)


def under_scale(sketch: Sketch, plot: Plot, spec: ChartSpec, *, direct: bool) -> tuple[Label, ...]:
    """Grid lines and their values; only the unit where the bars say their values themselves."""
    if direct:
        return unit_label(spec)
    rows(sketch, plot, values=plot.scale.shown())
    return value_labels(plot, spec)


def finished(
    ground: tuple[Sketch, Plot],
    bars: Sequence[Bar],
    *,
    spec: ChartSpec,
    labels: tuple[Label, ...],
    saying: str,
) -> Drawing:
    """Bars from zero with what lies under and over them, and their labels. ``saying``: what they show, in words."""
    sketch, plot = ground
    zero = plot.y(0)
    tints = boxes(sketch, [(_box(plot, bar, zero), bar.fill) for bar in bars if bar.value != 0])
    if plot.scale.low < 0:
        sketch.fill((plot.box[0], zero, plot.box[2], 1))
    floor = plot.bottom_px - 1
    rules = over_bars(sketch, plot, spec=spec, floor_px=floor)
    if spec.extremes:
        labels += bar_texts(sketch, plot, bars, spec=spec, taken=labels)
    labels += threshold_labels(sketch, plot, spec=spec, taken=labels)
    clear_under(sketch, labels, rules)
    under = beneath(night_tint(plot, spec, floor_px=floor), tints)
    return finish(sketch, labels, tints=(*under, *tints), spec=spec, title=told(spec, [saying]))


def _box(plot: Plot, bar: Bar, zero_px: int) -> Box:
    """The rows of a bar: those between its value and zero, one at the least."""
    y = plot.y(bar.value)
    wide = bar.right_px - bar.left_px
    if bar.value > 0:
        return (bar.left_px, min(y, zero_px - 1), wide, max(1, zero_px - y))
    return (bar.left_px, zero_px + 1, wide, max(1, y - zero_px))


def all_fit(plot: Plot, bars: Sequence[Bar], spec: ChartSpec) -> bool:
    """Whether each bar's value is no wider than its slot."""
    return all(spec.text_px(exact_text(plot.scale, bar.value, spec=spec)) <= bar.slot_px - 2 for bar in bars)


def bar_texts(
    sketch: Sketch, plot: Plot, bars: Sequence[Bar], *, spec: ChartSpec, taken: Sequence[Label]
) -> tuple[Label, ...]:
    """The value of every bar at its end where all have room; else of the highest, and of the lowest below zero."""
    if all_fit(plot, bars, spec):
        wanted = [_at_end(plot, bar, spec) for bar in bars]
        return spread(wanted, taken, size=spec.size, gap_px=0)
    top = max(bars, key=lambda bar: bar.value)
    bottom = min(bars, key=lambda bar: bar.value)
    ends = [bar for bar in (top, bottom) if (bar.value > 0 and bar is top) or bar.value < 0]
    drawn = sketch.solid()
    found: list[Label] = []
    for bar in dict.fromkeys(ends):
        choices = [place for place in _near(plot, bar, spec) if place.box[0] >= plot.box[0]]
        label = clearest(choices, (*taken, *found), drawn=drawn)
        if label is not None:
            found.append(label)
    return tuple(found)


def _at_end(plot: Plot, bar: Bar, spec: ChartSpec) -> Label:
    """The value over a bar that goes up, under one that goes down."""
    y = plot.y(bar.value)
    top = y - spec.line_height_px if bar.value >= 0 else y + 2
    return centred(exact_text(plot.scale, bar.value, spec=spec), (bar.middle_px, top), spec=spec)


def _near(plot: Plot, bar: Bar, spec: ChartSpec) -> list[Label]:
    """Places for a bar's value: at its end, or beside it near its end."""
    first = _at_end(plot, bar, spec)
    _, top, wide, high = first.box
    reach = (bar.right_px - bar.left_px) // 2 + GAP_PX
    inward = 1 if bar.value >= 0 else -1
    places = [first]
    for down in (high // 2, high, 3 * high // 2):
        row = top + inward * down
        places.append(Label(first.text, (bar.middle_px + reach, row, wide, high), Align.LEFT))
        places.append(Label(first.text, (bar.middle_px - reach - wide, row, wide, high), Align.RIGHT))
    return places
