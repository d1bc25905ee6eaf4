"""Flat colours: telling a tint from a smoothed edge by the room that one colour takes.

Any uniform square of 3 by 3 pixels is flat, but for one trap: fine type at half a pixel's offset makes small
fields of half tone. A colour half-way between two others must fill more room to be taken for a tint.
"""

import numpy as np

from wallbill.inks.impression import Mask
from wallbill.inks.packed import NONE, Packed, parts

_MOST = 32  # different flat colours: more than a page of tints has, fewer than a gradient
_MIDDLE = 4.0  # sRGB codes within which a colour counts as half-way
_ROOMY = ((9, 9), (25, 3), (3, 25))  # pixels across and down that a half-way colour must fill
_CELL = 8  # thirds of pixels: a flat reaches this far, and as far again, for the pixels of its colour


def flats(pixels: Packed, *, loose: Mask, inks: Packed) -> Mask:
    """Pixels of flat colours among the ``loose`` ones, which have no ink's colour; all (height, width).

    ``inks``: packed CSS colours (n,). Loose pixels of a flat's colour near to it are taken in, as in the
    counters of letters on a tint.
    """
    flat = uniform(pixels, (3, 3)) & loose
    if not flat.any():
        return flat
    some = np.where(
        flat[::3, ::3], pixels[::3, ::3], np.uint32(NONE)
    )  # each square of 3 by 3 has one of these
    colours = np.unique(some)
    colours = colours[colours != NONE]
    if not 0 < len(colours) <= _MOST:
        return flat
    doubtful = colours[_half_way(colours, inks)]
    if len(doubtful):
        roomy = uniform(pixels, _ROOMY[0]) | uniform(pixels, _ROOMY[1]) | uniform(pixels, _ROOMY[2])
        flat &= roomy | ~np.isin(pixels, doubtful)
        some = np.where(flat[::3, ::3], some, np.uint32(NONE))
    return flat | _near(pixels, some, loose=loose & ~flat)


def _half_way(colours: Packed, inks: Packed) -> Mask:
    """Which colours (n,) lie half-way between an ink and another ink or another of the colours."""
    points = parts(colours)
    ends = parts(np.concatenate((inks, colours)))
    middles = (ends[:, np.newaxis] + parts(inks)[np.newaxis]) / 2
    unlike = np.abs(ends[:, np.newaxis] - parts(inks)[np.newaxis]).max(axis=2) > 16
    middles = middles[unlike]
    distance = np.abs(points[:, np.newaxis] - middles[np.newaxis]).max(axis=2)
    found: Mask = distance.min(axis=1, initial=np.inf) <= _MIDDLE
    return found


def _all_along(equal: Mask, count: int, *, axis: int) -> Mask:
    """Where ``count`` neighbours in a row along ``axis`` are all true; shorter by count - 1."""
    held, done = equal, 1
    while done < count:
        step = min(done, count - done)
        first = [slice(None)] * 2
        second = [slice(None)] * 2
        first[axis], second[axis] = slice(None, -step), slice(step, None)
        held = held[tuple(first)] & held[tuple(second)]
        done += step
    return held


def _spread(core: Mask, shape: tuple[int, int], size_px: tuple[int, int]) -> Mask:
    """Every pixel of the rectangles whose first corners are in ``core``."""
    width, height = size_px
    wide = np.zeros((core.shape[0], shape[1]), dtype=np.bool_)
    for shift in range(width):
        wide[:, shift : shift + core.shape[1]] |= core
    found = np.zeros(shape, dtype=np.bool_)
    for shift in range(height):
        found[shift : shift + core.shape[0]] |= wide
    return found


def uniform(pixels: Packed, size_px: tuple[int, int]) -> Mask:
    """Pixels that lie in a rectangle of one colour, ``size_px`` across and down: bool, shape of ``pixels``."""
    width, height = size_px
    rows, columns = pixels.shape
    if columns < width or rows < height:
        return np.zeros(pixels.shape, dtype=np.bool_)
    across = _all_along(pixels[:, 1:] == pixels[:, :-1], width - 1, axis=1)
    block = _all_along(across, height, axis=0)
    down = _all_along(pixels[1:] == pixels[:-1], height - 1, axis=0)[:, : block.shape[1]]
    return _spread(block & down, (rows, columns), size_px)


def _near(pixels: Packed, some: Packed, *, loose: Mask) -> Mask:
    """Loose pixels that have the colour of a flat in the same or a neighbouring square of 24 pixels.

    ``some``: every third pixel of the page each way, 0 where there is no flat.
    """
    found = np.zeros(pixels.shape, dtype=np.bool_)
    colours = np.unique(some)
    y_px, x_px = np.nonzero(loose)
    own = pixels[y_px, x_px]
    rows, columns = -(-some.shape[0] // _CELL), -(-some.shape[1] // _CELL)
    padded = np.zeros((rows * _CELL, columns * _CELL), dtype=np.uint32)
    padded[: some.shape[0], : some.shape[1]] = some
    for colour in colours[colours != NONE]:
        cells = np.zeros((rows + 2, columns + 2), dtype=np.bool_)
        here = (padded == colour).reshape(rows, _CELL, columns, _CELL).any(axis=(1, 3))
        for down in range(3):
            for across in range(3):
                cells[down : down + rows, across : across + columns] |= here
        same = np.flatnonzero(own == colour)
        close = same[cells[y_px[same] // (3 * _CELL) + 1, x_px[same] // (3 * _CELL) + 1]]
        found[y_px[close], x_px[close]] = True
    return found
