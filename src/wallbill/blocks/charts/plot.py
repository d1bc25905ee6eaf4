"""The plot of a chart: where it lies on the drawing, its two scales, and the marks and labels along them."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import MAXYEAR, UTC, datetime, timedelta

import numpy as np

from wallbill.blocks.charts.readings import micros
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.charts.ticks import Ticks, ticks, worded
from wallbill.blocks.charts.timeaxis import Step, Tick, TimeAxis
from wallbill.blocks.drawing.labels import Align, Kind, Label, spread
from wallbill.blocks.drawing.shapes import Box, Reals, Wholes

TICK_PX = 4
"""How far a mark reaches below the axis."""

GAP_PX = 5
"""Between a label and what it belongs to."""

_FAR_PX = 1e5  # rows further away than this are as good as any: no line is followed out there
_MOST_GUTTER = 0.4  # of a chart's width: wider labels are left out
_LEAST_ROWS = (
    1.35  # heights of a label from one grid line to the next, wherever the scale ends: judged by eye
)
_ROWS_PER_TICK = 1.9  # heights of a label from one grid line to the next, at the least: judged by eye


@dataclass(frozen=True, slots=True)
class Scale:
    """The values' axis: round values to label, and the range that the plot's height stands for."""

    marks: Ticks
    low: float
    high: float

    def shown(self) -> tuple[float, ...]:
        """The round values inside the range."""
        return tuple(value for value in self.marks.values if self.low <= value <= self.high)


@dataclass(frozen=True, slots=True)
class Plot:
    """A box on the drawing with an axis of time across and a scale of values up.

    The box's lowest row stands for the scale's low end, its highest row for the high end.
    """

    box: Box
    axis: TimeAxis
    scale: Scale

    @property
    def right_px(self) -> int:
        """The first column right of the plot."""
        return self.box[0] + self.box[2]

    @property
    def bottom_px(self) -> int:
        """The first row below the plot."""
        return self.box[1] + self.box[3]

    def x(self, moment: datetime) -> int:
        """The column of a moment (aware); outside the plot for a moment outside the axis."""
        return self.box[0] + self.axis.x_px(moment)

    def y(self, value: float) -> int:
        """The row of a value."""
        share = (self.scale.high - value) / (self.scale.high - self.scale.low)
        return self.box[1] + math.floor(share * (self.box[3] - 1) + 0.5)

    def columns(self, at_us: Wholes) -> Wholes:
        """As `x`, of moments in microseconds since 1970 (UTC): int64, shape (n,)."""
        return self.box[0] + self.axis.columns(at_us)

    def rows(self, values: Reals) -> Wholes:
        """As `y`, of many values: int64, shape (n,)."""
        share = (self.scale.high - values) / (self.scale.high - self.scale.low)
        far = np.clip(share * (self.box[3] - 1) + 0.5, -_FAR_PX, _FAR_PX)
        return self.box[1] + np.floor(far).astype(np.int64)

    def points(self, at_us: Wholes, values: Reals) -> tuple[Reals, Reals]:
        """The x and y of readings as points, unrounded: the middle of a pixel is at its number and a half."""
        across = (at_us - micros(self.axis.start)) / 1e6 / self.axis.length_s * (self.axis.width_px - 1)
        share = (self.scale.high - values) / (self.scale.high - self.scale.low)
        return self.box[0] + 0.5 + across, self.box[1] + 0.5 + share * (self.box[3] - 1)


def value_scale(values: Sequence[float], spec: ChartSpec, *, height_px: int) -> Scale:
    """A scale for ``values`` and what the spec includes, with room below for the label of the lowest.

    ``height_px``: that of the plot. Values must be finite; an empty list gives the scale of 0 to 1.
    """
    reached = [*values, *spec.include, *(threshold.value for threshold in spec.thresholds)] or [0.0, 1.0]
    low, high = min(reached), max(reached)
    most = max(2, min(6, int(height_px / (spec.line_height_px * _ROWS_PER_TICK)) + 1))
    scale = _scale(low, high, spec, height_px=height_px, count=most)
    for count in range(most - 1, 1, -1):
        apart_px = float(scale.marks.step) / (scale.high - scale.low) * height_px
        if apart_px >= spec.line_height_px * _LEAST_ROWS:
            break
        scale = _scale(low, high, spec, height_px=height_px, count=count)
    return scale


def _scale(low: float, high: float, spec: ChartSpec, *, height_px: int, count: int) -> Scale:
    """The scale with about so many round values."""
    marks = ticks(low, high, count=count, whole=high - low >= 3)
    if high == low:
        return Scale(marks, marks.values[0], marks.values[-1])
    first, last = (marks.values[0], marks.values[-1]) if marks.values else (low, high)
    room = 0.0
    if spec.extremes:
        share = min(0.4, (spec.line_height_px + reach_px(spec) + 2) / max(height_px, 1))
        room = (max(high, last) - low) * share / (1 - share)
    if low in spec.include or low - first >= room:
        return Scale(marks, min(low, first), max(high, last))
    return Scale(marks, low - room, max(high, last))


def reach_px(spec: ChartSpec) -> int:
    """How far a marked point reaches from its middle, with a little air."""
    return spec.line_px + 2


def time_axis(shown: tuple[datetime, datetime], spec: ChartSpec, *, width_px: int) -> TimeAxis:
    """The axis from the spec's start and end, or the stretch ``shown`` where it names none."""
    start, end = stretch_shown(shown, spec)
    return TimeAxis(start.astimezone(UTC), end.astimezone(UTC), spec.zone, width_px)


def stretch_shown(shown: tuple[datetime, datetime], spec: ChartSpec) -> tuple[datetime, datetime]:
    """The spec's start and end, or those of ``shown``; an hour from the start if the end does not lie after it."""
    start, end = spec.start or shown[0], spec.end or shown[1]
    return start, end if end > start else start + timedelta(hours=1)


def value_text(scale: Scale, value: float, *, spec: ChartSpec) -> str:
    """A value as the spec words it, or with the scale's own decimals."""
    places = scale.marks.decimals
    return spec.value_label(round(value, places) + 0.0) if spec.value_label else scale.marks.label(value)


def exact_text(scale: Scale, value: float, *, spec: ChartSpec) -> str:
    """A reading as the spec words it, or with up to one place more than the scale's, without closing zeros."""
    places = scale.marks.decimals + 1
    if spec.value_label:
        return spec.value_label(round(value, places) + 0.0)
    text = worded(value, decimals=places)
    return text.rstrip("0").rstrip(".") if "." in text else text


def value_labels(plot: Plot, spec: ChartSpec) -> tuple[Label, ...]:
    """Round values beside the grid lines, right-aligned to the plot's left edge."""
    height, half = spec.line_height_px, _half_px(spec)
    wide = plot.box[0] - GAP_PX
    labels = [
        Label(text, (0, plot.y(value) - half, wide, 2 * half), Align.RIGHT, Kind.AXIS)
        for value in plot.scale.shown()
        if spec.text_px(text := value_text(plot.scale, value, spec=spec), Kind.AXIS) <= wide
    ]
    if spec.unit and labels:
        across = spec.text_px(spec.unit, Kind.AXIS)
        unit = Label(spec.unit, (0, 0, max(wide, across), height), Align.RIGHT, Kind.AXIS)
        labels.append(unit if across <= wide else replace(unit, align=Align.LEFT))
    return spread(labels, (), size=spec.size, gap_px=0)


def gutter_px(scale: Scale, spec: ChartSpec) -> int:
    """Width of the room left of the plot that its labels need; even."""
    texts = (value_text(scale, value, spec=spec) for value in scale.shown())
    widest = max((spec.text_px(text, Kind.AXIS) for text in texts), default=0)
    return min((widest + GAP_PX + 1) // 2 * 2, int(spec.width_px * _MOST_GUTTER))


def time_step(axis: TimeAxis, spec: ChartSpec) -> Step:
    """The step whose labels have room: hours where they fit, else days and more."""
    noon = axis.start.astimezone(spec.zone).replace(hour=12, minute=0)
    hours = axis.step(round(spec.text_px(spec.hour_label(noon), Kind.AXIS) + spec.label_px * 0.9))
    if hours.within_day:
        return hours
    step = Step.DAY
    for distance in (timedelta(days=1), timedelta(days=7), timedelta(days=31), timedelta(days=366)):
        every = (tick_text(step, noon + distance * i, spec) for i in range(7) if noon.year + i < MAXYEAR)
        widest = max(spec.text_px(text, Kind.AXIS) for text in every)
        wanted = max(axis.step(widest + spec.label_px // 2), step, key=lambda one: one.usual_s)
        if wanted.wording == step.wording:
            return wanted
        step = wanted
    return step


def tick_text(step: Step, local: datetime, spec: ChartSpec) -> str:
    """A local time as a mark of that step is worded: by its hour, its day, its date, its month, or its year.

    Of months the first of a year stands for that.
    """
    if step.within_day:
        return spec.hour_label(local)
    if step.wording == "month" and local.month == 1:
        return spec.year_label(local)
    words = {
        "day": spec.day_label,
        "date": spec.date_label,
        "month": spec.month_label,
        "year": spec.year_label,
    }
    return words[step.wording](local)


def foot_px(step: Step, spec: ChartSpec) -> int:
    """Height of the room below the plot: the marks, and one row of labels, or two where hours are shown."""
    return row_top_px(spec) + 1 + spec.line_height_px * (2 if step.within_day else 1)


def row_top_px(spec: ChartSpec) -> int:
    """From the axis to the first row of labels: past the marks, and past the label of a value that stands at the axis."""
    return max(TICK_PX, _half_px(spec))


def _half_px(spec: ChartSpec) -> int:
    """Half of a figure's height with a little air: less than half a line of type, which has room for descenders."""
    return spec.line_height_px // 2 - spec.line_height_px // 6


def day_row_px(step: Step, spec: ChartSpec) -> tuple[int, int]:
    """Where a rule that begins a day starts below the axis, and its height: beside the day's name."""
    row = spec.line_height_px
    if step.within_day:
        return row_top_px(spec) + row + 2, row - 3
    return (0, row_top_px(spec) + row - 2) if step is Step.DAY else (0, TICK_PX)


@dataclass(frozen=True, slots=True)
class TimeMarks:
    """What stands along an axis of time: marks, the instants where a local day begins, and the labels."""

    ticks: tuple[Tick, ...]
    midnights: tuple[datetime, ...]
    labels: tuple[Label, ...]


def time_marks(plot: Plot, spec: ChartSpec, *, step: Step, top_px: int) -> TimeMarks:
    """Marks and labels for ``step``, the first row of labels beginning at ``top_px``."""
    marks = plot.axis.ticks(step)
    if not step.within_day and step is not Step.DAY:  # a scale of centuries has a hundred thousand days
        labels = spread(
            _centred(plot, spec, step=step, marks=marks, top_px=top_px), (), size=spec.size, gap_px=3
        )
        return TimeMarks(marks, tuple(tick.at for tick in marks), labels)
    midnights = tuple(begin for _, begin, _ in plot.axis.days() if begin > plot.axis.start)
    if step.within_day:
        hours = spread(
            _centred(plot, spec, step=step, marks=marks, top_px=top_px), (), size=spec.size, gap_px=3
        )
        labels = (*hours, *_day_row(plot, spec, top_px=top_px + spec.line_height_px))
        return TimeMarks(marks, midnights, labels)
    marks = tuple(tick for tick in marks if tick.at > plot.axis.start)
    return TimeMarks(marks, midnights, _day_names(plot, spec, top_px=top_px))


def _centred(
    plot: Plot, spec: ChartSpec, *, step: Step, marks: Sequence[Tick], top_px: int
) -> tuple[Label, ...]:
    labels = []
    for tick in marks:
        text = tick_text(step, tick.local, spec)
        labels.append(centred(text, (plot.x(tick.at), top_px), spec=spec, kind=Kind.AXIS))
    return tuple(labels)


def _day_row(plot: Plot, spec: ChartSpec, *, top_px: int) -> tuple[Label, ...]:
    """Each day's name at its beginning, where the part of it that is shown has room."""
    labels = []
    for _, begin, finish in plot.axis.days():
        text = spec.day_label(begin.astimezone(spec.zone))
        wide = _even(spec.text_px(text, Kind.AXIS))
        left = plot.x(begin) + GAP_PX if begin > plot.axis.start else plot.box[0]
        room = min(plot.x(finish), spec.width_px) - left
        if wide <= room:
            labels.append(Label(text, (left, top_px, wide, spec.line_height_px), Align.LEFT, Kind.AXIS))
    return spread(labels, (), size=spec.size, gap_px=3)


def _day_names(plot: Plot, spec: ChartSpec, *, top_px: int) -> tuple[Label, ...]:
    """Each day's name in the middle of the part of it that is shown, where it has room."""
    labels = []
    for _, begin, finish in plot.axis.days():
        text = spec.day_label(begin.astimezone(spec.zone))
        left, right = plot.x(begin), plot.x(finish)
        if spec.text_px(text, Kind.AXIS) <= right - left:
            labels.append(centred(text, ((left + right) // 2, top_px), spec=spec, kind=Kind.AXIS))
    return spread(labels, (), size=spec.size, gap_px=3)


def centred(text: str, at: tuple[int, int], *, spec: ChartSpec, kind: Kind = Kind.LABEL) -> Label:
    """A label whose box is even and has its middle at the column ``at[0]``; its top is the row ``at[1]``."""
    wide = _even(spec.text_px(text, kind))
    return Label(text, (at[0] - wide // 2, at[1], wide, spec.line_height_px), Align.CENTRE, kind)


def _even(number: int) -> int:
    return (number + 1) // 2 * 2
