"""Reads values off a finished chart as a person would: by its labels and its line, not by the code that drew it."""

from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray

from wallbill.blocks.drawing.grid import ACCENT, INK
from wallbill.blocks.drawing.labels import Kind, Label
from wallbill.blocks.drawing.markup import Drawing


def number(text: str) -> float:
    """The number in a label."""
    return float(text.replace("−", "-"))


def middle_row(label: Label) -> float:
    """The row of a label's middle."""
    return label.box[1] + label.box[3] / 2


def middle_column(label: Label) -> float:
    """The column of a label's middle."""
    return label.box[0] + label.box[2] / 2


@dataclass(frozen=True)
class ReadOff:
    """A line chart of one series drawn with ``line_px=1`` and no marks, and the moments of its first and last reading."""

    drawing: Drawing
    first: datetime
    last: datetime

    @property
    def axis_row(self) -> int:
        """The row of the axis of time: the lowest that is inked over more than half of the chart."""
        inked = (self.drawing.grid.codes == INK).sum(axis=1)
        return int(np.nonzero(inked > self.drawing.grid.width_px / 2)[0][-1])

    @property
    def plot_columns(self) -> tuple[int, int]:
        """The first and the last column of the axis."""
        columns = np.nonzero(self.drawing.grid.codes[self.axis_row] == INK)[0]
        return int(columns[0]), int(columns[-1])

    def line(self) -> NDArray[np.bool_]:
        """The line's pixels, rows above the axis."""
        codes = self.drawing.grid.codes[: self.axis_row]
        return np.asarray((codes == INK) | (codes == ACCENT))

    def scale(self) -> tuple[float, float]:
        """Rows for one unit of the value, and the row of zero: by the outermost labels of the scale."""
        left = self.plot_columns[0]
        marks = [
            (number(label.text), middle_row(label))
            for label in self.drawing.labels
            if label.kind is Kind.AXIS and label.box[0] + label.box[2] <= left
        ]
        (low, low_row), (high, high_row) = min(marks), max(marks)
        slope = (high_row - low_row) / (high - low)
        return slope, low_row - slope * low

    def row(self, value: float) -> float:
        """The row at which a value must be, by the labels."""
        slope, zero = self.scale()
        return slope * value + zero

    def column(self, moment: datetime) -> float:
        """The column at which a moment must be, by elapsed time from the first reading to the last."""
        first, last = self.plot_columns
        share = (moment - self.first) / (self.last - self.first)
        return first + share * (last - first)

    def month_labels(self) -> list[tuple[str, float]]:
        """The labels below the axis, with their middle columns."""
        return [
            (label.text, middle_column(label))
            for label in self.drawing.labels
            if label.kind is Kind.AXIS and label.box[1] >= self.axis_row
        ]


def utc(year: int, month: int, day: int) -> datetime:
    """Midnight in Greenwich."""
    return datetime(year, month, day, tzinfo=UTC)
