"""Readings as markers: over time, or two series against each other."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from itertools import pairwise
from statistics import median

import numpy as np
from markupsafe import Markup

from wallbill.blocks.charts.frames import finish, names_above, untimed
from wallbill.blocks.charts.lines import extremes, ground, in_one_unit, known, nothing_known, plain_plot
from wallbill.blocks.charts.marks import rows, threshold_labels, threshold_rules
from wallbill.blocks.charts.plot import TICK_PX, Plot, gutter_px, value_labels, value_scale
from wallbill.blocks.charts.readings import Run, is_number
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.charts.telling import range_text, series_told, told
from wallbill.blocks.charts.valueaxis import ValueAxis, axis_foot_px, axis_labels, value_axis
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import ACCENT, INK, MUTED, NOTHING, Sketch
from wallbill.blocks.drawing.labels import Align, Kind, Label, spread
from wallbill.blocks.drawing.markup import Drawing, to_markup
from wallbill.blocks.drawing.shapes import Wholes
from wallbill.facts.series import Series
from wallbill.inks.impression import Mask

_CROWD = 4  # markers for every ten columns of the plot, above which they are small: judged by eye
_SMALL_PX = 3


@dataclass(frozen=True, slots=True)
class Marker:
    """How the markers of one series look: a shape by name, its whole odd width in pixels, and its ink."""

    shape: str
    across_px: int
    code: int = INK

    def mask(self) -> Mask:
        """The marker's own pixels: bool, shape (across, across)."""
        side = self.across_px
        half, line = side // 2, max(1, round(side / 5))
        y, x = np.abs(np.mgrid[-half : half + 1, -half : half + 1])
        round_ = np.hypot(x, y) <= half + 0.3
        if side <= _SMALL_PX:
            return np.asarray(round_ if self.shape != "cross" else (x == 0) | (y == 0))
        if self.shape == "ring":
            return np.asarray(round_ & ~(np.hypot(x, y) <= half - line + 0.3))
        if self.shape == "square":
            return np.asarray(np.maximum(x, y) >= half - line + 1)
        if self.shape == "cross":
            return np.asarray(np.abs(x - y) < line)
        return np.asarray(round_)


def markers(spec: ChartSpec, *, count: int, crowded: bool) -> tuple[Marker, ...]:
    """A marker for each of ``count`` series: disc, ring, cross, square; the second in the second ink where there is one."""
    side = _SMALL_PX if crowded else 2 * spec.line_px + 1
    second = ACCENT if spec.palette.has_accent else INK
    every = (
        Marker("disc", side, INK if count > 1 else second),
        Marker("disc" if second == ACCENT else "ring", side, second),
        Marker("cross", side),
        Marker("square", side),
    )
    return tuple(every[i % len(every)] for i in range(count))


@dataclass(frozen=True, slots=True)
class Cloud:
    """Points of two values each. ``name``: what they are; ``last``: whether the last one is pointed out."""

    name: str
    points: tuple[tuple[float, float], ...]
    last: bool = False


@dataclass(frozen=True, slots=True)
class Names:
    """What the two axes of a scatter show, with their units: across, and up."""

    across: str = ""
    up: str = ""


def dot_chart(series: Sequence[Series], *, spec: ChartSpec) -> Markup:
    """The readings of one or more series of one unit as markers over time, told apart by shape and second ink."""
    return to_markup(dot_drawing(series, spec=spec), spec.palette, label_px=spec.label_px)


def scatter(clouds: Sequence[Cloud], *, spec: ChartSpec, names: Names = Names()) -> Markup:
    """Points of two values over two axes; thresholds lie across. A point that is not finite is left out."""
    return to_markup(scatter_drawing(clouds, spec=spec, names=names), spec.palette, label_px=spec.label_px)


def paired(across: Series, up: Series) -> Cloud:
    """Two series against each other: each reading of the first with the nearest of the second.

    They count as of one moment if they are at most half of the usual distance of the second's readings apart.
    """
    first = [r for r in sorted(across.readings, key=lambda r: r.at) if is_number(r.value)]
    second = [r for r in sorted(up.readings, key=lambda r: r.at) if is_number(r.value)]
    steps = [(b.at - a.at).total_seconds() for a, b in pairwise(second)]
    near = timedelta(seconds=median(steps) / 2 if steps else 0)
    points, place = [], 0
    for reading in first:
        while place + 1 < len(second) and abs(second[place + 1].at - reading.at) <= abs(
            second[place].at - reading.at
        ):
            place += 1
        if second and abs(second[place].at - reading.at) <= near:
            points.append((float(reading.value or 0.0), float(second[place].value or 0.0)))
    return Cloud(up.name, tuple(points), last=True)


def dot_drawing(series: Sequence[Series], *, spec: ChartSpec) -> Drawing:
    """The drawing behind `dot_chart`. Raises ValueError for series of different units."""
    parts, shown = in_one_unit(series, spec)
    if shown is None:
        return nothing_known(spec, [one.name for one in series])
    names = [one.name for one in series] if len(series) > 1 else []
    plot = plain_plot(known(parts, spec), shown, spec=spec)
    key = names_above(names, spec=spec, left_px=plot.box[0])
    if names:
        head = max(label.box[1] + label.box[3] for label in key.labels)
        plot = _lowered(plot, spec, head_px=head)
    sketch, labels, tints = ground(plot, spec)
    at = [_pixels(plot, part) for part in parts]
    crowd = max(len(pixels) for pixels in at) * 10 > _CROWD * plot.box[2]
    styles = markers(spec, count=len(series), crowded=crowd)
    for pixels, style in reversed(list(zip(at, styles, strict=True))):
        stamp(sketch, pixels, style, plot=plot)
    if names:
        labels = (*spread(key.labels, (), size=spec.size, gap_px=0), *labels)
        for box, style in zip(key.patches, styles, strict=True):
            middle = np.array([[box[0] + box[2] // 2, box[1] + box[3] // 2]], dtype=np.int64)
            stamp(sketch, middle, replace(style, across_px=min(box[2], 2 * spec.line_px + 1) | 1))
    if spec.extremes and not names:
        labels += extremes(sketch, plot, parts=parts, spec=spec, taken=labels)
    labels += threshold_labels(sketch, plot, spec=spec, taken=labels)
    named = [(one.name, part) for one, part in zip(series, parts, strict=True)]
    title = told(spec, series_told(named, series[0].unit, spec=spec))
    return finish(sketch, labels, tints=tints, spec=spec, title=title)


def _lowered(plot: Plot, spec: ChartSpec, *, head_px: int) -> Plot:
    """The plot with a head over it for a key, under the row of the unit."""
    left, top, wide, high = plot.box
    new = max(top, head_px + spec.line_height_px // 2)
    return replace(plot, box=(left, new, wide, max(8, high - (new - top))))


def _pixels(plot: Plot, part: Sequence[Run]) -> Wholes:
    """The pixel of each reading on the axis: int64, shape (n, 2)."""
    at_us = np.concatenate([run.at_us for run in part]) if part else np.empty(0, dtype=np.int64)
    values = np.concatenate([run.values for run in part]) if part else np.empty(0)
    columns = plot.columns(at_us)
    inside = (columns >= plot.box[0]) & (columns < plot.right_px)
    return np.stack((columns[inside], plot.rows(values[inside])), axis=1)


def stamp(sketch: Sketch, pixels: Wholes, style: Marker, *, plot: Plot | None = None) -> None:
    """Markers about pixels (int64, shape (n, 2)), with a clear rim; where ``plot`` is given, only within its sides."""
    if not len(pixels):
        return
    form = style.mask()
    half = style.across_px // 2
    whole = np.pad(np.ones_like(form) if style.shape == "square" else _round(style.across_px), 1)
    rim = shapes.grown(whole, 1) if style.across_px > _SMALL_PX else whole
    for shape, back, code in ((rim, half + 1, NOTHING), (form, half, style.code)):
        mask = shapes.nothing(sketch.size)
        offsets = np.argwhere(shape) - back  # rows first
        x = (pixels[:, :1] + offsets[:, 1]).ravel()
        y = (pixels[:, 1:] + offsets[:, 0]).ravel()
        inside = (x >= (plot.box[0] if plot else 0)) & (y >= 0) & (x < sketch.size[0]) & (y < sketch.size[1])
        mask[y[inside], x[inside]] = True
        sketch.lay(mask, code)


def _round(side_px: int) -> Mask:
    half = side_px // 2
    y, x = np.mgrid[-half : half + 1, -half : half + 1]
    return np.asarray(np.hypot(x, y) <= half + 0.3)


def scatter_drawing(clouds: Sequence[Cloud], *, spec: ChartSpec, names: Names = Names()) -> Drawing:
    """The drawing behind `scatter`."""
    every = [[point for point in cloud.points if all(is_number(v) for v in point)] for cloud in clouds]
    points = [point for one in every for point in one]
    if not points:
        return nothing_known(spec, [cloud.name for cloud in clouds])
    spec = replace(spec, now=None, nights=(), start=None, end=None, unit="", extremes=False)
    plot, axis, head = _field(points, spec, names, [cloud.name for cloud in clouds])
    sketch = Sketch(*spec.size)
    rows(sketch, plot, values=plot.scale.shown())
    for value in axis.shown():
        sketch.fill((axis.x(value), plot.box[1], 1, plot.box[3]), MUTED, every=(1, 4))
        sketch.fill((axis.x(value), plot.bottom_px - 1, 1, TICK_PX))
    sketch.fill((plot.box[0], plot.bottom_px - 1, plot.box[2], 1))
    threshold_rules(sketch, plot, spec=spec)
    labels = (*_axis_names(plot, names, spec, top_px=head), *value_labels(plot, spec))
    labels = spread(labels, (), size=spec.size, gap_px=0)
    labels += axis_labels(axis, spec, top_px=plot.bottom_px + TICK_PX, taken=labels)
    crowded = max(len(one) for one in every) > plot.box[2] * plot.box[3] // 150
    styles = markers(spec, count=len(clouds), crowded=crowded)
    for one, style in reversed(list(zip(every, styles, strict=True))):
        pixels = np.array([(axis.x(x), plot.y(y)) for x, y in one], dtype=np.int64).reshape(-1, 2)
        stamp(sketch, pixels, style)
    for cloud, one, style in zip(clouds, every, styles, strict=True):
        if cloud.last and one:
            _point_out(sketch, (axis.x(one[-1][0]), plot.y(one[-1][1])), style, spec)
    labels += _scatter_key(sketch, plot, clouds, styles, spec) if len(clouds) > 1 else ()
    labels += threshold_labels(sketch, plot, spec=spec, taken=labels)
    title = told(spec, _clouds_told(points, names, spec))
    return finish(sketch, labels, tints=(), spec=spec, title=title)


def _clouds_told(points: Sequence[tuple[float, float]], names: Names, spec: ChartSpec) -> Iterator[str]:
    """The range of both values."""
    for place, name in enumerate((names.across, names.up)):
        values = [point[place] for point in points]
        text = range_text(min(values), max(values), "", spec=spec)
        yield f"{name}: {text}" if name else text


def _field(
    points: Sequence[tuple[float, float]], spec: ChartSpec, names: Names, clouds: Sequence[str]
) -> tuple[Plot, ValueAxis, int]:
    """The plot of values up, the axis of values across, and the height of the key over them."""
    high = spec.line_height_px
    head = high if len(clouds) > 1 else 0
    top = head + (high + 2 if names.up else high // 2 + 1)
    foot = axis_foot_px(spec) + (high if names.across else 0)
    tall = max(8, spec.height_px - top - foot)
    scale = value_scale([y for _, y in points], spec, height_px=tall)
    left = gutter_px(scale, spec)
    wide = max(16, spec.width_px - left - spec.label_px)
    air = spec.line_px + 1  # half a marker, so that none stands on the scale
    axis = value_axis([x for x, _ in points], spec, left_px=left + air, width_px=wide - 2 * air)
    return untimed((left, top, wide, tall), scale), axis, head


def _axis_names(plot: Plot, names: Names, spec: ChartSpec, *, top_px: int) -> tuple[Label, ...]:
    """What goes up over the scale at the left, what goes across under the axis at the right."""
    high = spec.line_height_px
    up = Label(names.up, (0, top_px, spec.text_px(names.up, Kind.AXIS), high), Align.LEFT, Kind.AXIS)
    wide = spec.text_px(names.across, Kind.AXIS)
    below = plot.bottom_px + axis_foot_px(spec) - 1
    across = Label(names.across, (plot.right_px - wide, below, wide, high), Align.RIGHT, Kind.AXIS)
    return tuple(label for label in (up, across) if label.text)


def _point_out(sketch: Sketch, at: tuple[int, int], style: Marker, spec: ChartSpec) -> None:
    """A larger disc with a ring about it on the point that matters."""
    side = 2 * spec.line_px + 3
    pixel = np.array([at], dtype=np.int64)
    code = ACCENT if spec.palette.has_accent else style.code
    stamp(sketch, pixel, Marker("ring", side + 6 | 1, code))
    stamp(sketch, pixel, Marker("disc", side - 2 | 1, code))


def _scatter_key(
    sketch: Sketch, plot: Plot, clouds: Sequence[Cloud], styles: Sequence[Marker], spec: ChartSpec
) -> tuple[Label, ...]:
    """The clouds' names in a row at the top beside their markers."""
    key = names_above([cloud.name for cloud in clouds], spec=spec, left_px=plot.box[0])
    found = spread([label for label in key.labels if label.box[1] == 0], (), size=spec.size, gap_px=0)
    for box, style in list(zip(key.patches, styles, strict=True))[: len(found)]:
        middle = np.array([[box[0] + box[2] // 2, box[1] + box[3] // 2]], dtype=np.int64)
        stamp(sketch, middle, style)
    return found
