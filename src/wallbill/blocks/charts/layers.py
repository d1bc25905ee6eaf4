"""Values by column of a plot, alone or stacked, and the pixels between them."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from wallbill.blocks.charts.marks import within
from wallbill.blocks.charts.plot import Plot
from wallbill.blocks.charts.readings import Runs, micros, telling
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.shapes import Reals, Wholes
from wallbill.inks.impression import Mask


@dataclass(frozen=True, slots=True, eq=False)
class Layers:
    """Stacked values by column of the plot.

    ``values``: float64, shape (parts, plot's width), not a number in the columns where any part is unknown.
    """

    values: Reals

    @property
    def known(self) -> Mask:
        """True in the columns where every part is known; bool, shape (plot's width,)."""
        return np.asarray(np.isfinite(self.values).all(axis=0))

    def edges(self, plot: Plot, *, above: bool) -> Wholes:
        """The rows between the parts' areas above or below zero, from zero outwards: shape (parts + 1, plot's width).

        Unknown columns have the row of zero.
        """
        one_way = np.clip(np.nan_to_num(self.values), *((0, None) if above else (None, 0)))
        sums = np.vstack((np.zeros(one_way.shape[1]), np.cumsum(one_way, axis=0)))
        return np.asarray(plot.rows(sums.ravel()).reshape(sums.shape), dtype=np.int64)


def by_column(plot: Plot, parts: Runs) -> Reals:
    """The value of a line in every column of the plot, the outermost of a column's readings; not a number at gaps."""
    columns = np.arange(plot.box[0], plot.right_px)
    found = np.full(columns.shape, np.nan)
    for run in parts:
        at_us, values = within(run, plot)
        if not len(values):
            continue
        x = plot.columns(at_us)
        kept = telling(x, values)
        covered = (columns >= x[0]) & (columns <= x[-1])
        found[covered] = np.interp(columns[covered], x[kept], values[kept])
    return found


def stacked_layers(plot: Plot, parts: Sequence[Runs]) -> Layers:
    """The parts of a stack by column. Where several moments share one, that of the greatest total stands for it."""
    columns = np.arange(plot.box[0], plot.right_px)
    values = np.full((len(parts), len(columns)), np.nan)
    at_us = np.unique(np.concatenate([run.at_us for part in parts for run in part]))
    edges = np.array([micros(plot.axis.start), micros(plot.axis.end)], dtype=np.int64)
    at_us = np.unique(np.concatenate((at_us, edges)))
    at_us = at_us[(at_us >= edges[0]) & (at_us <= edges[1])]
    table, numbers = _at_moments(parts, at_us)
    for begin, end in _stretches(numbers):
        x = plot.columns(at_us[begin:end])
        order = np.lexsort((np.abs(table[:, begin:end]).sum(axis=0), x))
        last = order[np.flatnonzero(np.diff(x[order], append=x[-1] + 1))]
        covered = (columns >= x[0]) & (columns <= x[-1])
        for row, part in zip(values, table[:, begin:end], strict=True):
            row[covered] = np.interp(columns[covered], x[last], part[last])
    return Layers(values)


def _at_moments(parts: Sequence[Runs], at_us: Wholes) -> tuple[Reals, Wholes]:
    """Each part's value at each moment, and the number of the run that it is in, -1 outside: shape (parts, n)."""
    table = np.full((len(parts), len(at_us)), np.nan)
    numbers = np.full(table.shape, -1, dtype=np.int64)
    for row, part in enumerate(parts):
        for number, run in enumerate(part):
            inside = (at_us >= run.at_us[0]) & (at_us <= run.at_us[-1])
            table[row, inside] = np.interp(at_us[inside], run.at_us, run.values)
            numbers[row, inside] = number
    return table, numbers


def _stretches(numbers: Wholes) -> list[tuple[int, int]]:
    """The stretches of moments in which every part stays in one run: first place and the place after the last."""
    known = np.asarray((numbers >= 0).all(axis=0))
    same = np.asarray((np.diff(numbers, axis=1) == 0).all(axis=0))
    found: list[tuple[int, int]] = []
    start = None
    for place in range(len(known)):
        if start is not None and (not known[place] or not same[place - 1]):
            found.append((start, place))
            start = None
        if known[place] and start is None:
            start = place
    return [*found, (start, len(known))] if start is not None else found


def band(plot: Plot, layers: Layers, *, above: bool, size: tuple[int, int]) -> list[Mask]:
    """The pixels of each part's area above or below zero, each from its inner edge up to, not at, the next."""
    rows = layers.edges(plot, above=above)
    top, left = plot.box[1], plot.box[0]
    y = np.arange(top, plot.bottom_px)[:, np.newaxis]
    if above:
        beyond = [y >= edge for edge in rows]  # at or below each edge
        parts = [outer & ~inner for inner, outer in pairwise(beyond)]
    else:
        beyond = [y > edge for edge in rows]
        parts = [inner & ~outer for inner, outer in pairwise(beyond)]
    masks = []
    for part in parts:
        mask = shapes.nothing(size)
        mask[top : plot.bottom_px, left : plot.right_px] = part[
            : max(0, size[1] - top), : max(0, size[0] - left)
        ]
        masks.append(mask)
    return masks


def edge(plot: Plot, rows: Wholes, there: Mask, *, size: tuple[int, int]) -> Mask:
    """A line of one pixel along the rows of those columns of the plot that are ``there``, joined from one to the next."""
    before = np.where(np.roll(there, 1), np.roll(rows, 1), rows)
    before[0] = rows[0]
    first, last = np.minimum(rows, before)[there], np.maximum(rows, before)[there]
    counts = last - first + 1
    columns = np.repeat(np.flatnonzero(there) + plot.box[0], counts)
    down = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts) + np.repeat(first, counts)
    inside = (columns < size[0]) & (down >= 0) & (down < size[1])
    mask = shapes.nothing(size)
    mask[down[inside], columns[inside]] = True
    return mask
