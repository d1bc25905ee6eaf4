"""An axis of values across: for rows of bars, scatters and histograms."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from wallbill.blocks.charts.plot import TICK_PX, centred
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.charts.ticks import Ticks, ticks
from wallbill.blocks.drawing.labels import Kind, Label, spread


@dataclass(frozen=True, slots=True)
class ValueAxis:
    """Values from ``low`` to ``high`` on the columns from ``left_px`` on, ``width_px`` of them; round ``marks``."""

    marks: Ticks
    low: float
    high: float
    left_px: int
    width_px: int

    @property
    def right_px(self) -> int:
        """The first column right of the axis."""
        return self.left_px + self.width_px

    def x(self, value: float) -> int:
        """The column of a value, the first for the low end, the last for the high end; outside for others."""
        share = (value - self.low) / (self.high - self.low)
        return self.left_px + math.floor(share * (self.width_px - 1) + 0.5)

    def shown(self) -> tuple[float, ...]:
        """The round values inside the range."""
        return tuple(value for value in self.marks.values if self.low <= value <= self.high)

    def text(self, value: float, spec: ChartSpec) -> str:
        """A round value as the spec words it, or with the axis' own decimals."""
        places = self.marks.decimals
        return spec.value_label(round(value, places) + 0.0) if spec.value_label else self.marks.label(value)


def value_axis(values: Sequence[float], spec: ChartSpec, *, left_px: int, width_px: int) -> ValueAxis:
    """An axis that reaches every value, with as many round values as their labels have room for, two at the least.

    ``values``: finite, one or more. A range of no length is opened up.
    """
    low, high = min(values), max(values)
    whole = high - low >= 3
    marks = ticks(low, high, count=2, whole=whole)
    for count in range(max(2, min(8, width_px // (2 * spec.label_px))), 1, -1):
        marks = ticks(low, high, count=count, whole=whole)
        axis = _axis(marks, low, high, left_px=left_px, width_px=width_px)
        shown = axis.shown()
        widest = max((spec.text_px(axis.text(value, spec), Kind.AXIS) for value in shown), default=0)
        if len(shown) < 2 or (axis.x(shown[1]) - axis.x(shown[0])) >= widest + spec.label_px:
            break
    return _axis(marks, low, high, left_px=left_px, width_px=width_px)


def _axis(marks: Ticks, low: float, high: float, *, left_px: int, width_px: int) -> ValueAxis:
    first, last = (marks.values[0], marks.values[-1]) if marks.values else (low, high)
    low, high = (first, last) if low == high else (min(low, first), max(high, last))
    return ValueAxis(marks, low, high, left_px, max(2, width_px))


def axis_labels(
    axis: ValueAxis, spec: ChartSpec, *, top_px: int, taken: Sequence[Label] = ()
) -> tuple[Label, ...]:
    """The round values centred under their columns, kept on the drawing."""
    labels = []
    for value in axis.shown():
        label = centred(axis.text(value, spec), (axis.x(value), top_px), spec=spec, kind=Kind.AXIS)
        left, top, wide, high = label.box
        left = min(max(0, left), max(0, spec.width_px - wide))
        labels.append(Label(label.text, (left, top, wide, high), label.align, label.kind))
    return spread(labels, taken, size=spec.size, gap_px=3)


def axis_foot_px(spec: ChartSpec) -> int:
    """Height of the room that the marks and labels of a value axis need under the plot."""
    return TICK_PX + 1 + spec.line_height_px
