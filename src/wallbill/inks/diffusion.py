"""Error diffusion among ink coverages: what a pixel's ink is too much or too little goes to its neighbours.

The inks stand as corners of a regular simplex, each a colour of its own, so no ink is nearer to another than it
should be and the error never piles up on one side. R. Floyd and L. Steinberg's weights of 1976: 7, 3, 5 and 1
sixteenths to the right, below left, below, and below right.

All pixels of a slanting front (column + 2 x row) depend on earlier fronts only and are done at once. That is the
raster's own order: the result is the same to the pixel.
"""

import numpy as np
from numpy.lib.stride_tricks import as_strided
from numpy.typing import NDArray

from wallbill.inks.impression import Codes, Mask

_SLANT = 2
_RIGHT, _BELOW_LEFT, _BELOW, _BELOW_RIGHT = (np.float32(part / 16) for part in (7, 3, 5, 1))


def diffuse(shares: NDArray[np.uint8], *, live: Mask | None = None) -> Codes:
    """One ink for each pixel: uint8 (height, width), places in the order of ``shares``.

    ``shares``: uint8, shape (inks, height, width), coverage of each ink in 255ths. ``live``: bool (height, width), true
    where the picture shows; no error goes through the other pixels.
    """
    inks, height, width = shares.shape
    wanted = np.ascontiguousarray(np.moveaxis(shares, 0, -1))
    codes = np.zeros((height, width), dtype=np.uint8)
    shown = np.ones((height, width), dtype=np.uint8) if live is None else live.astype(np.uint8)
    # Errors of the last three fronts by row, one row of nothing above the first.
    last, before, earlier = (np.zeros((height + 1, inks), dtype=np.float32) for _ in range(3))
    for front in range(width + _SLANT * (height - 1)):
        top = max(0, -(-(front - width + 1) // _SLANT))
        bottom = min(height - 1, front // _SLANT) + 1
        here, above = slice(top + 1, bottom + 1), slice(top, bottom)
        value = _on_front(wanted, front, (top, bottom)).astype(np.float32)
        value += _RIGHT * last[here]
        value += _BELOW_LEFT * last[above]
        value += _BELOW * before[above]
        value += _BELOW_RIGHT * earlier[above]
        ink = value.argmax(axis=1)
        _on_front(codes[..., np.newaxis], front, (top, bottom))[:, 0] = ink
        value[np.arange(len(ink)), ink] -= 255
        value *= _on_front(shown[..., np.newaxis], front, (top, bottom))
        last, before, earlier = earlier, last, before
        last[:] = 0
        last[here] = value
    return codes


def _on_front(array: NDArray[np.uint8], front: int, rows: tuple[int, int]) -> NDArray[np.uint8]:
    """The pixels of one front as they lie in ``array`` (height, width, parts): shape (rows, parts)."""
    top, bottom = rows
    down, along, part = array.strides
    begin = array[top, front - _SLANT * top]
    return as_strided(begin, shape=(bottom - top, array.shape[2]), strides=(down - _SLANT * along, part))
