"""Plots for amounts: over time with whole-pixel bars, and without time; what lies over bars; texts cut to their room."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from statistics import median

import numpy as np

from wallbill.blocks.charts.fills import put, swatch_px
from wallbill.blocks.charts.lines import plain_plot
from wallbill.blocks.charts.marks import accent_or_ink, composed, foot, now_mark
from wallbill.blocks.charts.plot import (
    GAP_PX,
    Plot,
    Scale,
    centred,
    day_row_px,
    row_top_px,
    time_marks,
    time_step,
)
from wallbill.blocks.charts.readings import Span, is_number
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.charts.timeaxis import TimeAxis
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import ACCENT, INK, NOTHING, PAPER, Sketch
from wallbill.blocks.drawing.labels import Align, Kind, Label, spread, stacked
from wallbill.blocks.drawing.markup import Drawing, Tint
from wallbill.blocks.drawing.shapes import Box, Wholes
from wallbill.inks.impression import Mask

_LOST_SHARE = 0.12  # of the width may be given up so that bars are of equal width: judged by eye
_AIR_SHARE = 0.25  # of the distance between bars: judged by eye
_SAMPLE = 14  # days whose labels tell how wide labels are: two weeks
_ABOUT_A_DAY_S = 20 * 3600  # a day of 23 hours counts, half a day does not
_TIGHT_PX = 4  # bars nearer than this to one another stand without air
_NO_TIME = datetime(2000, 1, 1, tzinfo=UTC), datetime(2000, 1, 2, tzinfo=UTC)


def untimed(box: Box, scale: Scale) -> Plot:
    """A plot whose columns stand for no moments: only its rows and its box may be asked for."""
    return Plot(box, TimeAxis(*_NO_TIME, UTC, max(2, box[2])), scale)


def bar_plot(spans: Sequence[Span], *, spec: ChartSpec, values: Sequence[float], right_px: int) -> Plot:
    """A plot for bars from zero over time, with ``right_px`` of room at its right at the least.

    ``values``: what the scale must reach beside zero.
    """
    shown = (min(span.start for span in spans), max(span.end for span in spans))
    plot = plain_plot(values, shown, spec=replace(spec, include=(0.0, *spec.include)))
    return snapped(plot, spans, left_px=plot.box[0], right_px=spec.width_px - right_px)


def snapped(plot: Plot, spans: Sequence[Span], *, left_px: int, right_px: int) -> Plot:
    """The plot between two columns, as wide as lets bars of equal time be equally wide.

    It keeps all of its width where too much of it were lost.
    """
    wide = max(16, right_px - left_px)
    usual_s = median((span.end - span.start).total_seconds() for span in spans)
    count = max(1, round(plot.axis.length_s / max(usual_s, 1)))
    pitch = (wide - 1) // count
    if pitch >= 1 and wide - 1 - pitch * count <= wide * _LOST_SHARE:
        wide = pitch * count + 1
    _, top, _, high = plot.box
    return replace(plot, box=(left_px, top, wide, high), axis=replace(plot.axis, width_px=wide))


def sides(plot: Plot, spans: Sequence[Span]) -> list[tuple[int, int, int]]:
    """For each bar its first column, the first after it, and the width of its slot.

    There is air around a bar where there is room; it is cut at the plot's sides.
    """
    starts, ends = columns_of(plot, spans)
    found = []
    for first, last in zip(starts.tolist(), ends.tolist(), strict=True):
        left, right = aired(first, last)
        found.append((max(left, plot.box[0]), min(max(right, left + 1), plot.right_px), last - first))
    return found


def columns_of(plot: Plot, spans: Sequence[Span]) -> tuple[Wholes, Wholes]:
    """The columns at which spans start and end, outside the plot too: int64, shape (n,) each."""
    moments = [moment.timestamp() for span in spans for moment in (span.start, span.end)]
    columns = plot.columns(np.rint(np.array(moments) * 1e6).astype(np.int64))
    return columns[::2], columns[1::2]


def aired(left_px: int, right_px: int) -> tuple[int, int]:
    """A stretch of columns with the usual air taken off both of its sides."""
    pitch = right_px - left_px
    air = 0 if pitch < _TIGHT_PX else max(1, round(pitch * _AIR_SHARE))
    return left_px + (air + 1) // 2, right_px - air // 2


def seen(spans: Sequence[Span], spec: ChartSpec) -> tuple[Span, ...]:
    """The spans that any part of the stretch shown touches, and that hold a finite amount."""
    return tuple(
        span
        for span in spans
        if is_number(span.value)
        and (spec.start is None or span.end > spec.start)
        and (spec.end is None or span.start < spec.end)
    )


def time_foot(sketch: Sketch, plot: Plot, spans: Sequence[Span], *, spec: ChartSpec) -> tuple[Label, ...]:
    """The foot of bars over time: each bar of a day or more has its day under it, as far as there is room.

    Shorter ones, and a year of days, get the usual axis of time, without lines between the days: bars part them.
    """
    days = _day_names(plot, spans, spec)
    if days:
        sketch.fill((plot.box[0], plot.bottom_px - 1, plot.box[2], 1))
        return spread(days, (), size=spec.size, gap_px=0)
    step = time_step(plot.axis, spec)
    marks = time_marks(plot, spec, step=step, top_px=plot.bottom_px + row_top_px(spec))
    begin, high = day_row_px(step, spec)
    bare = replace(marks, midnights=())
    foot(sketch, plot, marks=bare, floor_px=plot.bottom_px - 1, day_row_px=(begin, high))
    for midnight in marks.midnights:
        sketch.fill((plot.x(midnight), plot.bottom_px - 1 + begin, 1, high))
    return marks.labels


def _day_names(plot: Plot, spans: Sequence[Span], spec: ChartSpec) -> list[Label]:
    """The day of every bar, or of every second, third, fourth or seventh, in its middle; none for shorter bars."""
    shown = [span for span in spans if span.start >= plot.axis.start and span.end <= plot.axis.end]
    usual_s = median((span.end - span.start).total_seconds() for span in shown) if shown else 0.0
    if usual_s < _ABOUT_A_DAY_S:
        return []
    pitch = plot.axis.width_px * usual_s / plot.axis.length_s
    sample = [spec.day_label(span.start.astimezone(spec.zone)) for span in shown[:_SAMPLE]]
    widest = max(spec.text_px(text, Kind.AXIS) for text in sample)
    every = next((count for count in (1, 2, 3, 4, 7) if count * pitch >= widest + 4), 0)
    if not every:
        return []
    mondays = (i for i, span in enumerate(shown[:7]) if span.start.astimezone(spec.zone).weekday() == 0)
    chosen = shown[next(mondays, 0) if every == 7 else 0 :: every]
    starts, ends = columns_of(plot, chosen)
    top = plot.bottom_px + row_top_px(spec)
    return [
        centred(spec.day_label(span.start.astimezone(spec.zone)), (middle, top), spec=spec, kind=Kind.AXIS)
        for span, middle in zip(chosen, ((starts + ends) // 2).tolist(), strict=True)
    ]


def over_bars(sketch: Sketch, plot: Plot, *, spec: ChartSpec, floor_px: int) -> Mask:
    """Thresholds and the moment now over bars: on solid ink a rule is knocked out, and now has a clear rim.

    Gives the pixels of these rules, which make way for labels.
    """
    rules, knocked = shapes.nothing(sketch.size), shapes.nothing(sketch.size)
    left, top, width, _ = plot.box
    right = min(left + width, spec.width_px)
    dashes = np.arange(max(0, right - left)) % 10 < 6
    levels = [y for threshold in spec.thresholds if top <= (y := plot.y(threshold.value)) < plot.bottom_px]
    codes = sketch.grid().codes if levels else None
    for y in levels:
        if codes is not None and y < spec.height_px:
            row = codes[y, left:right]
            inked = (row == INK) | (row == ACCENT)
            rules[y, left:right], knocked[y, left:right] = dashes & ~inked, dashes & inked
    if levels:
        sketch.lay(rules, accent_or_ink(spec.palette)).lay(knocked, PAPER)
    if spec.now is not None and plot.axis.start <= spec.now <= plot.axis.end:
        sketch.fill((plot.x(spec.now) - 1, top, 3, floor_px - top), NOTHING)
        now_mark(sketch, plot, now=spec.now, floor_px=floor_px)
        put(rules, (plot.x(spec.now), top, 1, floor_px - top))
    return rules


def finish(
    sketch: Sketch, labels: Sequence[Label], *, tints: Sequence[Tint], spec: ChartSpec, title: str
) -> Drawing:
    """The finished drawing, with those labels that have something to say and room for it, the first given first."""
    kept = spread([label for label in labels if label.text], (), size=spec.size, gap_px=0)
    return composed(sketch, kept, tints=tints, spec=spec, title=title)


def clear_under(sketch: Sketch, labels: Sequence[Label], rules: Mask) -> None:
    """Takes rules away from under the labels of values and names."""
    ground = shapes.nothing(sketch.size)
    for label in labels:
        if label.kind is Kind.LABEL:
            x, y, width, height = label.box
            put(ground, (x, y + 1, width, height - 2))
    sketch.erase(ground & rules)


def shortened(text: str, room_px: int, *, spec: ChartSpec, kind: Kind = Kind.LABEL) -> str:
    """The text, or its beginning with an ellipsis, not wider than ``room_px``; "" where not even one letter fits."""
    return spec.shortened(text, room_px, kind)


def under_unit(plot: Plot, spec: ChartSpec) -> Plot:
    """The plot so low that the value over its highest bar stands clear of the unit in the corner."""
    left, top, wide, high = plot.box
    low = max(top, 2 * spec.line_height_px) if spec.unit else top
    return replace(plot, box=(left, low, wide, max(8, high - (low - top))))


def unit_label(spec: ChartSpec) -> tuple[Label, ...]:
    """The unit in the left top corner, for a chart that has no scale to stand over."""
    if not spec.unit or spec.text_px(spec.unit, Kind.AXIS) > spec.width_px:
        return ()
    box = (0, 0, spec.text_px(spec.unit, Kind.AXIS), spec.line_height_px)
    return (Label(spec.unit, box, Align.LEFT, Kind.AXIS),)


@dataclass(frozen=True, slots=True)
class Key:
    """Names beside little patches of their fills: labels, and the boxes of the patches in the same order."""

    labels: tuple[Label, ...]
    patches: tuple[Box, ...]


def names_room_px(names: Sequence[str], spec: ChartSpec) -> int:
    """Room that names with patches need right of a plot, a third of the chart's width at the most."""
    widest = max((spec.text_px(name) for name in names), default=0)
    return min(widest + swatch_px(spec) + 2 * GAP_PX + 2, spec.width_px // 3)


def names_beside(
    names: Sequence[str], middles_px: Sequence[int], *, spec: ChartSpec, left_px: int, floor_px: int
) -> Key:
    """Names in a column from ``left_px`` on, each as near as can be to its height in ``middles_px``, with its patch.

    In their order from the bottom up; the last are left out where they find no room above ``floor_px``.
    """
    high, patch = spec.line_height_px, swatch_px(spec)
    start = left_px + patch + GAP_PX
    room = max(0, spec.width_px - start)
    wanted = [
        Label(shortened(name, room, spec=spec), (start, middle - high // 2, room, high), Align.LEFT)
        for name, middle in zip(names, middles_px, strict=True)
    ]
    found = stacked(wanted[: floor_px // high][::-1], top_px=0, bottom_px=floor_px)[::-1]
    return Key(found, tuple((left_px, label.box[1] + (high - patch) // 2, patch, patch) for label in found))


def names_at_ends(
    plot: Plot, names: Sequence[str], ends_px: Sequence[int | None], *, spec: ChartSpec
) -> tuple[Label, ...]:
    """The name of each line right of the plot at the row where the line ends; None for one that is not shown."""
    high, left = spec.line_height_px, plot.right_px + GAP_PX
    room = max(0, spec.width_px - left)
    labels = [
        Label(shortened(name, room, spec=spec), (left, row - high // 2, room, high), Align.LEFT)
        for name, row in zip(names, ends_px, strict=True)
        if row is not None
    ]
    return stacked(labels, top_px=0, bottom_px=plot.bottom_px + row_top_px(spec)) if room else ()


def names_above(names: Sequence[str], *, spec: ChartSpec, left_px: int) -> Key:
    """Names in a row at the top from ``left_px`` on, each with its patch; on further rows where one is full."""
    high, patch = spec.line_height_px, swatch_px(spec)
    labels: list[Label] = []
    patches: list[Box] = []
    x, top = left_px, 0
    for name in names:
        text = shortened(name, max(0, spec.width_px - left_px - patch - GAP_PX), spec=spec)
        wide = spec.text_px(text)
        if x > left_px and x + patch + GAP_PX + wide > spec.width_px:
            x, top = left_px, top + high
        patches.append((x, top + (high - patch) // 2, patch, patch))
        labels.append(Label(text, (x + patch + GAP_PX, top, wide, high), Align.LEFT))
        x += patch + 2 * GAP_PX + wide + spec.label_px
    return Key(tuple(labels), tuple(patches))
