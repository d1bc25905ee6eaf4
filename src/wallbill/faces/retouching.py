"""Retouching: turning over the one or two pixels that a shape hangs on, as a designer of bitmap type would.

Where no weight around mends a glyph, the pixels that the outline covers by about half were anybody's guess. Those
whose turning brings pieces and holes nearer to the design are turned, nearest to half cover first, three moves at
most. Strokes are cut only where two pieces of the design meet, and each piece has to come out as itself.
"""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from wallbill.faces.pieces import Sketch, carried_labels, count_pieces, labelled, shape_of
from wallbill.faces.tracing import euler_numbers

_MOVES = 3
_TRIED = 64
_LONGEST_SEAM = 4

Cells = tuple[tuple[int, int], ...]


def retouched(ink: NDArray[np.bool_], cover: NDArray[np.uint8], design: Sketch) -> NDArray[np.bool_] | None:
    """The grid with at most three small moves that give it the shape of the design; None where they do not.

    ``cover``: how much of each pixel the hinted outline covers, 0 to 255, of the shape of ``ink``.
    """
    if not ink.any() or not design.labels.size:
        return None
    owners = carried_labels(design, ink)
    best, off = ink, shape_of(ink).off(design.shape)
    for _ in range(_MOVES):
        if not off:
            break
        grid, now = _nearer(best, cover, owners, design=design)
        if now >= off:
            return None
        best, off = grid, now
    return best if not off and _each_itself(best, owners) else None


def _each_itself(ink: NDArray[np.bool_], owners: NDArray[np.int_]) -> bool:
    """Whether every piece of ink is mostly of one piece of the design, and no two of the same."""
    labels = labelled(ink)
    chief = [int(np.bincount(owners[labels == piece]).argmax()) for piece in range(1, int(labels.max()) + 1)]
    return len(chief) == len(set(chief))


def _nearer(
    ink: NDArray[np.bool_], cover: NDArray[np.uint8], owners: NDArray[np.int_], *, design: Sketch
) -> tuple[NDArray[np.bool_], int]:
    """The move that brings the shape nearest, the one nearest to half cover among equals; and how far it then is."""
    joined = count_pieces(ink) < design.shape.pieces
    moves = sorted(
        _cuts(ink, owners) if joined else _touches(ink),
        key=lambda cells: (sum(abs(int(cover[cell]) - 128) for cell in cells) / len(cells), cells),
    )
    grids = []
    for cells in moves[:_TRIED]:
        grid = ink.copy()
        for cell in cells:
            grid[cell] = not grid[cell]
        grids.append(grid)
    wanted = design.shape.pieces - design.shape.holes
    off = abs(int(euler_numbers([ink])[0]) - wanted)
    changed = [
        grid for grid, euler in zip(grids, euler_numbers(grids), strict=True) if abs(euler - wanted) < off
    ]
    scored = [(shape_of(grid).off(design.shape), turn, grid) for turn, grid in enumerate(changed)]
    best = min(scored, key=lambda entry: entry[:2], default=None)
    return (best[2], best[0]) if best else (ink, shape_of(ink).off(design.shape))


def _touches(ink: NDArray[np.bool_]) -> Iterator[Cells]:
    """Single pixels: of ink, as an eye may have filled in, and of paper beside it."""
    padded = np.pad(ink, 1)
    near = ink.copy()
    for rows, columns in ((0, 1), (2, 1), (1, 0), (1, 2)):
        near |= padded[rows : rows + ink.shape[0], columns : columns + ink.shape[1]]
    yield from (((int(row), int(column)),) for row, column in zip(*np.nonzero(near), strict=True))


def _cuts(ink: NDArray[np.bool_], owners: NDArray[np.int_]) -> Iterator[Cells]:
    """Inked pixels beside ink of another piece of the design: whole seams, single pixels, and pairs."""
    meets = np.zeros(ink.shape, np.bool_)
    padded = np.pad(np.where(ink, owners, 0), 1)
    for rows in range(3):
        for columns in range(3):
            other = padded[rows : rows + ink.shape[0], columns : columns + ink.shape[1]]
            meets |= ink & (other != 0) & (other != owners)
    for owner in sorted(set(owners[meets].tolist())):
        seams = labelled(meets & (owners == owner))
        for seam in range(1, int(seams.max()) + 1):
            cells = tuple((row, column) for row, column in np.argwhere(seams == seam).tolist())
            if len(cells) <= _LONGEST_SEAM:
                yield cells
    for row, column in np.argwhere(meets).tolist():
        yield ((row, column),)
        for beside in ((row + 1, column), (row, column + 1)):
            if beside[0] < ink.shape[0] and beside[1] < ink.shape[1] and meets[beside]:
                yield ((row, column), beside)
