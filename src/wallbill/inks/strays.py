"""Strays: soft pixels in long runs both ways, as at the turn of a curve or where three colours meet.

Each goes to the nearest colour that its neighbours were settled on, if it lies among those colours.
"""

import numpy as np

from wallbill.inks.packed import NONE, Packed, fit_between, parts
from wallbill.inks.runs import Places

_ROUNDS = 3  # neighbours of pixels settled in one round are looked at in the next
_OFF = 24.0  # sRGB codes that a stray may lie off the line between the nearest and the farthest neighbour


def gather(page: Packed, places: tuple[Places, Places], *, own: Packed) -> None:
    """Writes colours into ``page`` for strays at ``places`` (y, x), where their neighbours tell.

    ``page``: packed (height, width), 0 where nothing is settled. ``own``: the strays' colours (n,).
    """
    y_px, x_px = places
    for _ in range(_ROUNDS):
        if not len(own):
            return
        around = _around(page, y_px, x_px)
        least = np.where(around == NONE, np.uint32(0xFFFFFFFF), around).min(axis=0)
        mixed = np.flatnonzero((around.max(axis=0) != least) & (around.max(axis=0) != NONE))
        colours = _nearest(own[mixed], around[:, mixed])
        page[y_px[mixed], x_px[mixed]] = colours
        left = np.ones(len(own), dtype=np.bool_)
        left[mixed[colours != NONE]] = False
        own, y_px, x_px = own[left], y_px[left], x_px[left]


def _around(page: Packed, y_px: Places, x_px: Places) -> Packed:
    """Colours of a stray and its eight neighbours (9, n), 0 where nothing is settled; at the page's edge the edge's own."""
    rows = [np.clip(y_px + step, 0, page.shape[0] - 1) for step in (-1, 0, 1)]
    columns = [np.clip(x_px + step, 0, page.shape[1] - 1) for step in (-1, 0, 1)]
    return np.stack([page[row, column] for row in rows for column in columns])


def _nearest(own: Packed, around: Packed) -> Packed:
    """The neighbours' colour (n,) nearest to each stray; 0 where the stray does not lie among them."""
    point = parts(own).astype(np.float64)
    ends = parts(around).astype(np.float64)
    distance = np.abs(ends - point).sum(axis=2)
    near = np.where(around == NONE, np.inf, distance).argmin(axis=0)
    far = np.where(around == NONE, -1.0, distance).argmax(axis=0)
    rows = np.arange(len(own))
    share, off = fit_between(point, ends[near, rows], ends[far, rows])
    one, other = around[near, rows], around[far, rows]
    third = ((around != NONE) & (around != one) & (around != other)).any(axis=0)
    among = third | ((off <= _OFF) & (share > -0.1) & (share < 1.1))
    return np.where(among, one, np.uint32(NONE))
