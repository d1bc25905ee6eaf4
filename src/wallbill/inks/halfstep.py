"""Undoing half a step: type and rules that were painted half a pixel off the grid, given back whole.

A bi-level shape B painted half a pixel to the right comes out as P(x) = (B(x) + B(x - 1)) / 2: every upright
edge is at half tone, and a stem of one pixel becomes two half-toned ones, which no threshold can mend. But
along a run of soft pixels each follows from the one before: B(x) = 2 P(x) - B(x - 1). The same holds
downwards; where a shape is off both ways, quarters are undone along rows, then halves along columns. A run
is undone only if the reckoning ends where its far side says that it must.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wallbill.inks.colour import Floats
from wallbill.inks.impression import Mask
from wallbill.inks.packed import NONE, Packed
from wallbill.inks.runs import Places, Runs, Soft, per_run, soft_runs

_NEAR = 0.12  # quarters: 125 to 131 of 255 all count as half (engines differ in rounding)
_LINE_PX = 4  # shortest run of half tones that is a hairline if it is one pixel wide
_CELL_PX = 24  # a cell and those around it vote on the direction where one pixel cannot tell
_HINT = 1e-3  # what a shorter run weighs against a pixel that only one direction explains
_AGREED = 0.9  # share of a neighbourhood's soft pixels that must be explained before quarters are undone


@dataclass(frozen=True, slots=True, eq=False)
class Reading:
    """How soft pixels read along one direction, one item a pixel.

    ``ground``, ``other``: packed colours of the side before the run and of the other colour in it.
    ``share``: of the other colour, 0 to 1. ``sound``: false where the colour does not lie between the two.
    """

    ground: Packed
    other: Packed
    share: Floats
    sound: Mask


def undo(soft: Soft, across: Reading, down: Reading, *, settled: Packed) -> tuple[Mask, Packed]:
    """Which soft pixels are explained by half a step (n,), and the packed colour that each of them takes (n,).

    ``across``, ``down``: readings along rows and columns. ``settled``: as for `soft_runs`.
    """
    if not any((way.sound & (np.abs(way.share - 0.5) * 4 <= _NEAR)).any() for way in (across, down)):
        return np.zeros(len(across.share), dtype=np.bool_), across.ground
    sideways, row_sums = _reckon(soft.across, across, finest=4)
    smooth = ~(_stepped(across) | _stepped(down))
    sideways &= ~(_hairline(soft.across, soft.down) | per_run(soft.down, smooth))
    row_colours = np.where(row_sums == 2, across.other, across.ground)
    odd = per_run(soft.across, sideways & (row_sums == 1))
    if odd.any():
        mended = _columns_of_ones(soft, (sideways, row_sums), (across, row_colours), settled)
        ones = sideways & (row_sums == 1)
        row_colours = np.where(ones, mended, row_colours)
        sideways &= ~per_run(soft.across, ones & (mended == NONE))
    downwards, sums = _reckon(soft.down, down, finest=2)
    downwards &= ~(_hairline(soft.down, soft.across) | per_run(soft.across, smooth))
    cells = _Cells.of(soft)
    explained = cells.total((sideways | downwards).astype(np.float64))
    sideways &= ~odd | (explained >= _AGREED * cells.total(np.ones(len(odd))))
    chosen_down = downwards & ~_prefer_across(soft, sideways, downwards, cells)
    return sideways | downwards, np.where(
        chosen_down, np.where(sums == 1, down.other, down.ground), row_colours
    )


def _stepped(reading: Reading) -> Mask:
    """Pixels whose share is a whole number of quarters. Others belong to a gradient or a smoothed curve."""
    quarters = reading.share * 4
    stepped: Mask = reading.sound & (np.abs(quarters - np.rint(quarters)) <= _NEAR)
    return stepped


def _hairline(runs: Runs, cross: Runs) -> Mask:
    """Pixels of a run that is long and one pixel wide: a hairline in half tone, not a row of single dots."""
    return (runs.length >= _LINE_PX) & ~per_run(runs, cross.length > 1)


def _reckon(runs: Runs, reading: Reading, *, finest: int) -> tuple[Mask, Places]:
    """Undoes each run pixel after pixel; returns the pixels whose run is sound, and the sums reached.

    ``finest``: 4 takes quarters, and a sum of 1 of 2 is left for the columns; 2 takes halves only, sum 0 or 1.
    """
    order = runs.order
    most = finest // 2
    exact = reading.share[order] * finest
    whole = np.rint(exact).astype(np.int64)
    position = runs.position[order]
    sign = 1 - 2 * (position & 1)
    signed = sign * whole
    total = np.cumsum(signed)
    heads = np.flatnonzero(position == 0)
    run = np.cumsum(position == 0) - 1
    sums = np.empty(len(order), dtype=np.int64)
    sums[order] = sign * (total - (total - signed)[heads][run])
    off = np.empty(len(order))
    off[order] = np.abs(exact - whole) * (4 / finest)
    one_other = np.empty(len(order), dtype=np.bool_)
    one_other[order] = reading.other[order] == reading.other[order][heads][run]
    last = runs.position == runs.length - 1
    wanted = np.where(runs.before != runs.after, most, 0)
    bad = ~reading.sound | (off > _NEAR) | (sums < 0) | (sums > most) | ~one_other | (last & (sums != wanted))
    return ~per_run(runs, bad), sums


def _columns_of_ones(
    soft: Soft, rows: tuple[Mask, Places], read: tuple[Reading, Packed], settled: Packed
) -> Packed:
    """Colours (n,) of the pixels whose row sum is 1, from the pixels above and below; 0 where they disagree."""
    sideways, sums = rows
    across, colours = read
    page = settled.copy()
    whole = sideways & (sums != 1)
    page[soft.y_px[whole], soft.x_px[whole]] = colours[whole]
    ones = np.flatnonzero(sideways & (sums == 1))
    mask = np.zeros(page.shape, dtype=np.bool_)
    mask[soft.y_px[ones], soft.x_px[ones]] = True
    down = soft_runs(mask, page).down
    ground, other = across.ground[ones], across.other[ones]
    opposite = np.where(down.before == ground, other, ground)
    turned = (down.position & 1) == 0
    taken = np.where(turned, opposite, down.before)
    last = down.position == down.length - 1
    bad = (down.before != ground) & (down.before != other)
    bad |= last & (taken != down.after)
    result = np.zeros(len(sums), dtype=np.uint32)
    result[ones] = np.where(per_run(down, bad), np.uint32(NONE), taken)
    return result


def _prefer_across(soft: Soft, sideways: Mask, downwards: Mask, cells: "_Cells") -> Mask:
    """Where both directions explain a pixel, which one does.

    A shape that is off sideways is explained sideways everywhere, so the pixels around that only one direction
    explains decide; failing those, the shorter runs; failing those, sideways.
    """
    longer = np.sign(soft.across.length - soft.down.length)
    both = (sideways & downwards).astype(np.float64)
    across = cells.total((sideways & ~downwards) + _HINT * both * (longer < 0))
    down = cells.total((downwards & ~sideways) + _HINT * both * (longer > 0))
    return sideways & (~downwards | (across >= down))


@dataclass(frozen=True, slots=True, eq=False)
class _Cells:
    """Soft pixels by squares of the page: ``place`` (n,) in a grid of ``shape`` with a free rim."""

    place: NDArray[np.int64]
    shape: tuple[int, int]

    @classmethod
    def of(cls, soft: Soft) -> "_Cells":
        """The cells of soft pixels."""
        row, column = soft.y_px // _CELL_PX + 1, soft.x_px // _CELL_PX + 1
        height = int(row.max(initial=0)) + 2
        width = int(column.max(initial=0)) + 2
        return cls(row * width + column, (height, width))

    def total(self, weights: Floats) -> Floats:
        """Sum of ``weights`` (n,) over each pixel's cell and the eight around it."""
        grid = np.bincount(self.place, weights=weights, minlength=self.shape[0] * self.shape[1])
        grid = grid.reshape(self.shape)
        padded = np.pad(grid, 1)
        tall = padded[:-2] + padded[1:-1] + padded[2:]
        wide: Floats = tall[:, :-2] + tall[:, 1:-1] + tall[:, 2:]
        return wide.reshape(-1)[self.place]
