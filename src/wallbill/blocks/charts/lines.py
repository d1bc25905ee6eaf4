"""Charts for sheets: lines, bands, bars and sparklines, each as HTML that lies on the pixel grid."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from markupsafe import Markup

from wallbill.blocks.charts.marks import (
    LineStyle,
    composed,
    draw_dot,
    draw_line,
    draw_markers,
    foot,
    line_styles,
    marked,
    night_tint,
    now_mark,
    rows,
    sparse,
    threshold_labels,
    threshold_rules,
    trace,
)
from wallbill.blocks.charts.plot import (
    GAP_PX,
    Plot,
    Scale,
    day_row_px,
    exact_text,
    foot_px,
    gutter_px,
    reach_px,
    row_top_px,
    stretch_shown,
    time_axis,
    time_marks,
    time_step,
    value_labels,
    value_scale,
)
from wallbill.blocks.charts.pointing import LEADER_PX, end_labels, extreme_labels
from wallbill.blocks.charts.readings import Runs, reach, runs
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.charts.telling import nothing_told, series_told, told
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import MUTED, Sketch
from wallbill.blocks.drawing.labels import Label
from wallbill.blocks.drawing.markup import Drawing, Tint, to_markup
from wallbill.blocks.drawing.patterns import Hatch
from wallbill.blocks.drawing.shapes import Pixel, Reals
from wallbill.facts.series import Reading, Series
from wallbill.inks.impression import Mask

_MOST_NAMES = 0.4  # of a chart's width: longer names are cut


@dataclass(frozen=True, slots=True)
class Band:
    """A range over time, such as the spread of a forecast, and the line that runs in it; all in one unit."""

    low: Series
    high: Series
    middle: Series | None = None


def line_chart(series: Sequence[Series], *, spec: ChartSpec) -> Markup:
    """One or more series as lines over time.

    Gaps stay gaps. Several lines differ by weight, dash and second ink, and carry their names at their right
    ends. The highest and lowest value are marked and labelled. Series must be in one unit.
    """
    return to_markup(line_drawing(series, spec=spec), spec.palette, label_px=spec.label_px)


def band_chart(band: Band, *, spec: ChartSpec) -> Markup:
    """A band between two series under a hatch, with the middle as a line in it."""
    return to_markup(band_drawing(band, spec=spec), spec.palette, label_px=spec.label_px)


def spark(series: Series, *, spec: ChartSpec) -> Markup:
    """A line alone, without axes or labels: the last value is dotted, the extremes are marked if the spec asks."""
    return to_markup(spark_drawing(series, spec=spec), spec.palette, label_px=spec.label_px)


def in_one_unit(
    series: Sequence[Series], spec: ChartSpec
) -> tuple[list[Runs], tuple[datetime, datetime] | None]:
    """The runs of each series and the stretch of time that they take. Raises ValueError for different units."""
    if len({one.unit for one in series}) > 1:
        raise ValueError(f"one scale shows one unit, got {[one.unit for one in series]}")
    parts = [runs(one.readings, gap_after=spec.gap_after) for one in series]
    return parts, reach(parts)


def line_drawing(series: Sequence[Series], *, spec: ChartSpec) -> Drawing:
    """The drawing behind `line_chart`. Raises ValueError for series of different units."""
    parts, shown = in_one_unit(series, spec)
    if shown is None:
        return nothing_known(spec, [one.name for one in series])
    names = [one.name for one in series] if len(series) > 1 else []
    plot = plain_plot(known(parts, spec), shown, spec=spec, end_names=names)
    sketch, labels, tints = ground(plot, spec)
    styles = line_styles(spec, count=len(series))
    sketch.begin_data()
    for part, style in reversed(list(zip(parts, styles, strict=True))):
        draw_line(sketch, plot, part, style=style, casing_px=1 if len(parts) > 1 else 0)
    if len(parts) > 1:
        draw_markers(sketch, plot, parts, styles=styles)
    ends = _ends_of(plot, parts, names)
    labels += end_labels(sketch, plot, ends, spec=spec, taken=labels)
    if spec.extremes:
        labels += extremes(sketch, plot, parts=parts, spec=spec, taken=labels)
    labels += threshold_labels(sketch, plot, spec=spec, taken=labels)
    named = [(one.name, part) for one, part in zip(series, parts, strict=True)]
    title = told(spec, series_told(named, series[0].unit, spec=spec))
    return composed(sketch, labels, tints=tints, spec=spec, title=title)


def band_drawing(band: Band, *, spec: ChartSpec) -> Drawing:
    """The drawing behind `band_chart`. Raises ValueError for series of different units."""
    members = [band.low, band.high, *([band.middle] if band.middle else [])]
    parts, shown = in_one_unit(members, spec)
    if shown is None:
        return nothing_known(spec, [one.name for one in members])
    plot = plain_plot(known(parts, spec), shown, spec=spec)
    sketch, labels, tints = ground(plot, spec)
    area = band_area(plot, low=parts[0], high=parts[1], size=spec.size)
    sketch.erase(area)
    tints = tuple(Tint(tint.area & ~area, tint.pattern) for tint in tints)
    for edge in parts[:2]:
        draw_line(sketch, plot, edge, style=LineStyle(1))
    tints = (*tints, Tint(area, Hatch.RISING_25))
    if band.middle:
        style = line_styles(spec, count=1)[0]
        line = trace(plot, parts[2], style=style, size=spec.size)
        casing = shapes.grown(line, 2)
        tints = tuple(Tint(tint.area & ~casing, tint.pattern) for tint in tints)
        draw_line(sketch, plot, parts[2], style=style)
    if spec.extremes:
        labels += rims(sketch, plot, parts=parts[:2], spec=spec, taken=labels)
    labels += threshold_labels(sketch, plot, spec=spec, taken=labels)
    named = [(one.name, part) for one, part in zip(members, parts, strict=True)]
    title = told(spec, series_told(named, band.low.unit, spec=spec))
    return composed(sketch, labels, tints=tints, spec=spec, title=title)


def spark_drawing(series: Series, *, spec: ChartSpec) -> Drawing:
    """The drawing behind `spark`."""
    sketch = Sketch(*spec.size, smooth=spec.palette.smooth)
    part = runs(series.readings, gap_after=spec.gap_after)
    shown = reach([part])
    title = told(spec, series_told([(series.name, part)], series.unit, spec=spec))
    if shown is None:
        return Drawing(sketch.grid(), title=title)
    values = [float(edge) for run in part for edge in (run.values.min(), run.values.max())]
    pad = spec.line_px + 3
    box = (pad, pad, spec.width_px - 2 * pad, spec.height_px - 2 * pad)
    flat = value_scale(values, spec, height_px=box[3])
    low, high = min([*values, *spec.include]), max([*values, *spec.include])
    scale = Scale(flat.marks, low, high) if high > low else flat
    plot = Plot(box, time_axis(shown, spec, width_px=box[2]), scale)
    style = line_styles(spec, count=1)[0]
    draw_line(sketch, plot, part, style=style)
    last = part[-1][-1]
    if last.value is not None and plot.axis.start <= last.at <= plot.axis.end:
        end = (plot.x(last.at), plot.y(last.value))
        draw_dot(sketch, end, across_px=2 * spec.line_px + 1, code=style.code)
    return composed(sketch, (), tints=(), spec=spec, title=title)


def plain_plot(
    values: Sequence[float],
    shown: tuple[datetime, datetime],
    *,
    spec: ChartSpec,
    end_names: Sequence[str] = (),
) -> Plot:
    """The plot of a chart with labels at the left and below, room for names at the right, and for marks on top."""
    top = spec.line_height_px // 2 + 1
    if spec.extremes:
        top = spec.line_height_px + reach_px(spec)
    if spec.unit:
        top = max(top, spec.line_height_px * 3 // 2)
    right = max([spec.label_px, *(spec.text_px(name) + 2 * GAP_PX + LEADER_PX for name in end_names)])
    right = min(right, int(spec.width_px * _MOST_NAMES))
    room = _Room(values, shown, top, right)
    # What stands below hangs on the width, the scale on the height, and the width on the scale: tried in turn.
    plot = room.plot(3 * spec.label_px, spec)
    for _ in range(2):
        left = gutter_px(plot.scale, spec)
        if left != plot.box[0]:
            plot = room.plot(left, spec, before=plot)
    return plot


@dataclass(frozen=True, slots=True)
class _Room:
    """What a plot must hold, and the room that it leaves on top and at its right."""

    values: Sequence[float]
    shown: tuple[datetime, datetime]
    top_px: int
    right_px: int

    def plot(self, left_px: int, spec: ChartSpec, *, before: Plot | None = None) -> Plot:
        """The plot with so much room at its left; of one ``before`` that is as high the scale is kept."""
        wide = max(16, spec.width_px - left_px - self.right_px)
        axis = time_axis(self.shown, spec, width_px=wide)
        height = max(8, spec.height_px - self.top_px - foot_px(time_step(axis, spec), spec))
        if before is not None and before.box[3] == height:
            scale = before.scale
        else:
            scale = value_scale(self.values, spec, height_px=height)
        return Plot((left_px, self.top_px, wide, height), axis, scale)


def ground(plot: Plot, spec: ChartSpec) -> tuple[Sketch, tuple[Label, ...], tuple[Tint, ...]]:
    """What lies under the data: nights, grid lines, thresholds, the axis of time with its labels, and now."""
    sketch = Sketch(*spec.size, smooth=spec.palette.smooth)
    floor = plot.bottom_px - 1
    rows(sketch, plot, values=plot.scale.shown())
    step = time_step(plot.axis, spec)
    marks = time_marks(plot, spec, step=step, top_px=plot.bottom_px + row_top_px(spec))
    foot(sketch, plot, marks=marks, floor_px=floor, day_row_px=day_row_px(step, spec))
    labels = (*value_labels(plot, spec), *marks.labels)
    threshold_rules(sketch, plot, spec=spec)
    now_mark(sketch, plot, now=spec.now, floor_px=floor)
    return sketch, labels, night_tint(plot, spec, floor_px=floor)


def band_area(plot: Plot, *, low: Runs, high: Runs, size: tuple[int, int]) -> Mask:
    """The pixels between two lines, column by column, where both are known."""
    floor, roof = _rows_by_column(plot, low), _rows_by_column(plot, high)
    unknown = np.isnan(floor) | np.isnan(roof)
    first = np.where(unknown, size[1], np.fmin(floor, roof)).clip(0, size[1]).astype(np.int16)
    last = np.where(unknown, -1, np.fmax(floor, roof)).clip(-1, size[1] - 1).astype(np.int16)
    area = shapes.nothing(size)
    if not unknown.all():
        top, bottom = int(first.min()), int(last.max()) + 1
        y = np.arange(top, bottom, dtype=np.int16)[:, np.newaxis]
        area[top:bottom, plot.box[0] : plot.right_px] = (y >= first) & (y <= last)
    return area


def _rows_by_column(plot: Plot, parts: Runs) -> Reals:
    """The row of a line in every column of the plot, shape (plot's width,); not a number where it is unknown."""
    columns = np.arange(plot.box[0], plot.right_px)
    found = np.full(columns.shape, np.nan)
    for run in parts:
        x, y = plot.columns(run.at_us), plot.rows(run.values)
        within = (columns >= x[0]) & (columns <= x[-1])
        found[within] = np.round(np.interp(columns[within], x, y))
    return found


def nothing_known(spec: ChartSpec, names: Iterable[str] = ()) -> Drawing:
    """A chart without data: a dotted line where it would be, so that nobody takes it for a missing part."""
    sketch = Sketch(*spec.size)
    middle = np.zeros((spec.height_px, spec.width_px), dtype=np.bool_)
    middle[spec.height_px // 2, ::4] = True
    return Drawing(sketch.lay(middle, MUTED).grid(), title=told(spec, nothing_told(names)))


def known(parts: Sequence[Runs], spec: ChartSpec) -> list[float]:
    """The lowest and the highest value in the stretch shown, where lines enter and leave it too; of all where none is.

    Empty without any.
    """
    every = [run for part in parts for run in part]
    whole = reach(parts)
    stretch = stretch_shown(whole, spec) if whole else (None, None)
    shown = [run.cut(*stretch)[1] for run in every]
    found = np.concatenate([*shown, np.empty(0)])
    if not len(found):
        found = np.concatenate([*(run.values for run in every), np.empty(0)])
    return [float(value) for value in (found.min(), found.max())] if len(found) else []


def _ends_of(plot: Plot, parts: Sequence[Runs], names: Sequence[str]) -> list[tuple[str, Pixel]]:
    """The name and the last pixel of each line that has one."""
    lasts = [(name, _last_shown(part, plot)) for part, name in zip(parts, names, strict=False)]
    return [
        (name, (plot.x(last.at), plot.y(last.value)))
        for name, last in lasts
        if last is not None and last.value is not None
    ]


def _last_shown(part: Runs, plot: Plot) -> Reading | None:
    for run in reversed(part):
        shown = run.places(plot.axis.start, plot.axis.end)
        if shown.stop > shown.start:
            last: Reading = run.readings[shown.stop - 1]
            return last
    return None


def extremes(
    sketch: Sketch,
    plot: Plot,
    *,
    parts: Sequence[Runs],
    spec: ChartSpec,
    taken: tuple[Label, ...],
) -> tuple[Label, ...]:
    """Marks and labels of the highest and the lowest value that are shown."""
    styles = line_styles(spec, count=len(parts))
    ends = _ends(plot, parts)
    across = max(style.marker_px for style in styles)
    if len(parts) == 1 or not sparse(parts, plot, across_px=across):  # else each reading has its marker
        for _, at, _, number in ends:
            marked(sketch, at, style=styles[number])
    return _end_texts(sketch, plot, ends, spec=spec, taken=taken)


def rims(
    sketch: Sketch, plot: Plot, *, parts: Sequence[Runs], spec: ChartSpec, taken: tuple[Label, ...]
) -> tuple[Label, ...]:
    """Labels of the highest and the lowest value, without marks."""
    return _end_texts(sketch, plot, _ends(plot, parts), spec=spec, taken=taken)


_End = tuple[float, tuple[int, int], bool, int]
"""A value, its pixel, whether its label stands above it, and the number of its line."""


def _ends(plot: Plot, parts: Sequence[Runs]) -> list[_End]:
    shown: list[tuple[float, datetime, int]] = []
    for number, part in enumerate(parts):
        for run in part:
            places = run.places(plot.axis.start, plot.axis.end)
            values = run.values[places]
            if len(values):
                ends = (int(values.argmax()), int(values.argmin()))
                shown += [(float(values[one]), run[places.start + one].at, number) for one in ends]
    if not shown:
        return []
    high, low = max(shown, key=lambda one: one[0]), min(shown, key=lambda one: one[0])
    found = [(high, True), (low, False)] if high[0] != low[0] else [(high, True)]
    return [(value, (plot.x(at), plot.y(value)), above, number) for (value, at, number), above in found]


def _end_texts(
    sketch: Sketch,
    plot: Plot,
    ends: Sequence[_End],
    *,
    spec: ChartSpec,
    taken: tuple[Label, ...],
) -> tuple[Label, ...]:
    texts = [(exact_text(plot.scale, value, spec=spec), at, above) for value, at, above, _ in ends]
    floor = plot.bottom_px - 1
    return extreme_labels(sketch, texts, spec=spec, taken=taken, floor_px=floor)
