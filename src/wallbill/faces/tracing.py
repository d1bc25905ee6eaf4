"""From pixels to outlines: the exact boundary of the ink, with a point at each corner only.

The boundary runs along pixel edges. A point where one or three of the four pixels around it hold ink is a
corner; where two diagonal pixels do, two corners fall together and the loops are kept apart. Along each grid
line corners pair off in order, which is enough to join them without following the boundary pixel by pixel.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

_MOST_CELLS = 4_000_000

Loop = list[tuple[int, int]]
"""Corner points (x, y) of one closed loop, y downwards from the top edge of the grid."""


@dataclass(frozen=True, slots=True, eq=False)
class Tracing:
    """What the boundaries of several grids hold.

    ``loops``: per grid, its loops, ink on the right hand of the direction (clockwise on screen outside, counter-
    clockwise around holes). ``euler``: per grid, ink components (joined over corners) less holes.
    """

    loops: tuple[list[Loop], ...]
    euler: NDArray[np.int_]


@dataclass(frozen=True, slots=True, eq=False)
class _Sheet:
    """Grids side by side with an empty column between them, and where each one's first column stands."""

    ink: NDArray[np.bool_]
    starts: NDArray[np.int_]


def _lay_out(grids: Sequence[NDArray[np.bool_]]) -> _Sheet:
    widths = np.array([grid.shape[1] + 2 for grid in grids])
    starts = np.concatenate(([1], 1 + np.cumsum(widths)[:-1])) if len(grids) else np.zeros(0, np.int_)
    tallest = max((grid.shape[0] for grid in grids), default=0)
    ink = np.zeros((tallest + 2, int(widths.sum()) + 1), np.bool_)
    for grid, start in zip(grids, starts, strict=True):
        ink[1 : 1 + grid.shape[0], start : start + grid.shape[1]] = grid
    return _Sheet(ink, starts)


def _corners(ink: NDArray[np.bool_]) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Where one or three of the four pixels around a point hold ink, and where two diagonal ones do."""
    upper = ink[:-1, :-1] ^ ink[:-1, 1:]
    lower = ink[1:, :-1] ^ ink[1:, 1:]
    left = ink[:-1, :-1] ^ ink[1:, :-1]
    return upper ^ lower, upper & lower & left


def euler_numbers(grids: Sequence[NDArray[np.bool_]], *, specks: bool = True) -> NDArray[np.int_]:
    """Ink components (pixels that touch at a corner are joined) less holes, of each grid.

    Without ``specks``, single pixels of ink or paper that are alone among their eight neighbours do not count.

    By counting 2 by 2 quads (S. B. Gray, "Local properties of binary images in two dimensions", IEEE
    Transactions on Computers C-20, 1971): (Q1 - Q3 - 2 QD) / 4.
    """
    found = [np.zeros(0, np.int_)]
    for some in _batches(grids):
        sheet = _lay_out(some)
        if not specks:
            sheet = _Sheet(without_specks(sheet.ink), sheet.starts)
        found.append(_euler(sheet, *_corners(sheet.ink)))
    return np.concatenate(found)


def piece_counts(grids: Sequence[NDArray[np.bool_]]) -> NDArray[np.int_]:
    """How many pieces of ink each grid has, pixels that touch at a corner joined. For small grids.

    Every pixel takes the greatest number among its neighbours until none changes; then each piece has one number.
    """
    if not grids:
        return np.zeros(0, np.int_)
    sheet = _lay_out(grids)
    numbers = np.where(
        sheet.ink, np.arange(1, sheet.ink.size + 1, dtype=np.int32).reshape(sheet.ink.shape), 0
    )
    first = numbers.copy()
    while True:
        before = numbers.copy()
        rows = np.maximum(np.maximum(numbers[:-2], numbers[1:-1]), numbers[2:])
        inner = np.maximum(np.maximum(rows[:, :-2], rows[:, 1:-1]), rows[:, 2:])
        numbers[1:-1, 1:-1] = np.where(sheet.ink[1:-1, 1:-1], inner, 0)
        if np.array_equal(before, numbers):
            break
    heads = ((numbers == first) & sheet.ink).sum(0, dtype=np.int_)
    return np.add.reduceat(heads, sheet.starts - 1)


def without_specks(ink: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """The grid with single pixels of ink or paper, alone among their eight neighbours, turned over.

    The contours of a variable face overlap, and along the seams rasterisers leave such specks. Border cells stay.
    """
    rows = ink.astype(np.int8)
    rows = rows[:-2] + rows[1:-1] + rows[2:]
    around = rows[:, :-2] + rows[:, 1:-1] + rows[:, 2:] - ink[1:-1, 1:-1]
    cleaned = ink.copy()
    cleaned[1:-1, 1:-1] = (cleaned[1:-1, 1:-1] | (around == 8)) & (around != 0)
    return cleaned


def _euler(sheet: _Sheet, odd: NDArray[np.bool_], double: NDArray[np.bool_]) -> NDArray[np.int_]:
    ink = sheet.ink
    three = odd & ((ink[:-1, :-1] & ink[1:, 1:]) | (ink[:-1, 1:] & ink[1:, :-1]))
    by_column = odd.sum(0, dtype=np.int_) - 2 * three.sum(0, dtype=np.int_) - 2 * double.sum(0, dtype=np.int_)
    return np.add.reduceat(by_column, sheet.starts - 1) // 4


def trace(grids: Sequence[NDArray[np.bool_]]) -> Tracing:
    """The boundary loops and the Euler number of each grid of booleans (rows, columns), row 0 on top."""
    parts = [_trace(some) for some in _batches(grids)]
    euler = np.concatenate([np.zeros(0, np.int_), *(part.euler for part in parts)])
    return Tracing(tuple(loops for part in parts for loops in part.loops), euler)


def _batches(grids: Sequence[NDArray[np.bool_]]) -> Iterator[Sequence[NDArray[np.bool_]]]:
    """Grids in groups that fit on a sheet of some million cells, so that large type does not fill the memory."""
    start, tallest, wide = 0, 0, 0
    for place, grid in enumerate(grids):
        tallest, wide = max(tallest, grid.shape[0]), wide + grid.shape[1]
        if tallest * wide > _MOST_CELLS and place > start:
            yield grids[start:place]
            start, tallest, wide = place, grid.shape[0], grid.shape[1]
    if len(grids) > start:
        yield grids[start:]


def _trace(grids: Sequence[NDArray[np.bool_]]) -> Tracing:
    loops: tuple[list[Loop], ...] = tuple([] for _ in grids)
    sheet = _lay_out(grids)
    odd, double = _corners(sheet.ink)
    euler = _euler(sheet, odd, double)
    rows, columns, after = _successors(sheet.ink, odd, double)
    owner = np.searchsorted(sheet.starts, columns + 1, side="right") - 1
    xs = (columns + 1 - sheet.starts[owner]).tolist()
    ys = rows.tolist()
    for start, chain in _chains(after):
        loops[owner[start]].append([(xs[node], ys[node]) for node in chain])
    return Tracing(loops, euler)


def _chains(after: list[int]) -> list[tuple[int, list[int]]]:
    """The cycles of a permutation, each with its first node."""
    seen = bytearray(len(after))
    found = []
    for start in range(len(after)):
        if seen[start]:
            continue
        chain = []
        node = start
        while not seen[node]:
            seen[node] = 1
            chain.append(node)
            node = after[node]
        found.append((start, chain))
    return found


def _successors(
    ink: NDArray[np.bool_], odd: NDArray[np.bool_], double: NDArray[np.bool_]
) -> tuple[NDArray[np.int_], NDArray[np.int_], list[int]]:
    """Corner nodes as (rows, columns) in reading order, double ones twice, and the node that follows each."""
    rows, columns = np.nonzero(odd | double)
    twice = double[rows, columns]
    copies = 1 + twice
    rows, columns, twice = np.repeat(rows, copies), np.repeat(columns, copies), np.repeat(twice, copies)
    count = len(rows)
    # In reading order the first of a double pair closes the edge on its left, the second opens the one on its
    # right. Down a column the first closes the upper edge. Where the ink lies at the upper left and lower right
    # the first node owns left and upper edge; otherwise it owns left and lower edge, so the two swap places.
    second = np.zeros(count, np.bool_)
    second[1:] = twice[1:] & (rows[1:] == rows[:-1]) & (columns[1:] == columns[:-1])
    falling = ink[rows, columns]  # the pixel at the upper left of the point
    turn = np.where(twice & ~falling, ~second, second)
    down = np.lexsort((turn, rows, columns))
    across = np.arange(count)
    after = np.empty(count, np.int_)
    for order, side in (
        (across, 1),  # ink below a level edge: rightwards
        (down, 0),  # ink left of an upright edge: downwards
    ):
        first, last = order[0::2], order[1::2]
        forward = ink[rows[first] + 1, columns[first] + side]
        after[np.where(forward, first, last)] = np.where(forward, last, first)
    return rows, columns, after.tolist()
