"""Pictures into dots: each in its own way, what did not change on the page before left as it stands."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from wallbill.inks.diffusion import diffuse
from wallbill.inks.eye import REACH, Whole
from wallbill.inks.impression import Codes, Mask, Rgb
from wallbill.inks.manner import Manner, Standing, Way
from wallbill.inks.search import StepFor, Wanted, refine

Planes = NDArray[np.uint8]
"""uint8, shape (inks - 1, height, width): running sums of the inks' coverages from the darkest up, in 255ths."""

Box = tuple[slice, slice]


class Quick(Protocol):
    """The quick way of one panel."""

    def __call__(self, rgb: Rgb, *, origin: tuple[int, int]) -> Codes:
        """Places of inks from the darkest up, uint8 (height, width), of a part of a page whose left top pixel is ``origin``."""
        ...


@dataclass(frozen=True, slots=True, eq=False)
class Dotter:
    """What turns a picture into dots of one panel.

    ``planes``: gives the running sums of coverages of a raster (height, width, 3). ``quick``: gives the quick way's dots of a
    raster, as places in ``order``. ``order``: uint8 (inks,), places of the inks
    from darkest to lightest. ``points``: the inks in that order as the eye sees them, from `wallbill.inks.eye.points`.
    ``step_for``: the maker of the search's moves for so many pixels, if not NumPy's.
    """

    planes: Callable[[Rgb], Planes]
    quick: Quick
    order: NDArray[np.uint8]
    points: Whole
    step_for: StepFor | None = None


def shares_of(planes: Planes) -> NDArray[np.uint8]:
    """Coverage of each ink in 255ths, shape (inks, height, width); each pixel's sum is 255."""
    inks, height, width = len(planes) + 1, *planes.shape[1:]
    sums = np.empty((inks, height, width), dtype=np.uint8)
    sums[:-1] = planes
    sums[-1] = 255
    np.maximum.accumulate(sums, axis=0, out=sums)  # rounding may let a sum fall by one
    sums[1:] -= sums[:-1].copy()
    return sums


def scatter_pictures(codes: Codes, rgb: Rgb, picture: Mask, *, dotter: Dotter, manner: Manner) -> None:
    """Writes the inks of all pictures of a page into ``codes``, uint8 (height, width).

    ``rgb``: the page (height, width, 3). ``picture``: true where pictures show.
    """
    ways = np.full(picture.shape, list(Way).index(manner.way), dtype=np.uint8)
    for (left, top, width, height), way in manner.areas:
        ways[max(0, top) : max(0, top + height), max(0, left) : max(0, left + width)] = list(Way).index(way)
    for number, way in enumerate(Way):
        mask = picture & (ways == number)
        if not mask.any():
            continue
        if way is Way.FINE:
            _finely(codes, rgb, mask, dotter=dotter, standing=manner.standing)
            continue
        box = cut(mask)
        if way is Way.QUICK:
            steps = dotter.quick(rgb[box], origin=(box[1].start, box[0].start))
        else:
            steps = diffuse(shares_of(dotter.planes(rgb[box])), live=mask[box])
        np.copyto(codes[box], dotter.order.take(steps), where=mask[box])


def _finely(codes: Codes, rgb: Rgb, mask: Mask, *, dotter: Dotter, standing: Standing | None) -> None:
    """The fine way; what is as it was on the page ``standing`` keeps its dots."""
    free = mask
    if standing is not None and standing.rgb.shape == rgb.shape:
        np.copyto(codes, standing.codes, where=mask)
        free = _moved(rgb, mask, standing)
    if free.any():
        _anew(codes, rgb, mask, dotter=dotter, free=free)


def _moved(rgb: Rgb, mask: Mask, standing: Standing) -> Mask:
    """Pixels of pictures that changed since the page before: these alone get new dots."""
    changed: Mask = (rgb != standing.rgb).any(axis=2) | (mask != standing.picture)
    changed &= mask
    return changed


def _anew(codes: Codes, rgb: Rgb, mask: Mask, *, dotter: Dotter, free: Mask) -> None:
    """The fine way for the pixels that are ``free``; other pixels of the picture keep their dots and are heeded."""
    box = _wider(cut(free), rgb.shape)
    free, shown = free[box], mask[box]
    shares = shares_of(dotter.planes(np.ascontiguousarray(rgb[box])))
    place = np.zeros(len(dotter.order), dtype=np.uint8)
    place[dotter.order] = np.arange(len(dotter.order), dtype=np.uint8)
    start = np.where(free, diffuse(shares, live=free), place[codes[box]])
    wanted = Wanted(shares, dotter.points, shown, origin=(box[1].start, box[0].start))
    step = dotter.step_for(int(np.count_nonzero(free))) if dotter.step_for else None
    np.copyto(codes[box], dotter.order[refine(start, wanted, locked=~free, step=step)], where=free)


def cut(mask: Mask) -> Box:
    """The smallest box around a mask that holds something: its rows and columns."""
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    return slice(int(rows[0]), int(rows[-1]) + 1), slice(int(columns[0]), int(columns[-1]) + 1)


def _wider(box: Box, shape: tuple[int, ...]) -> Box:
    """A box with all pixels whose error a move in it can change."""
    rows, columns = (
        slice(max(0, side.start - REACH), min(limit, side.stop + REACH))
        for side, limit in zip(box, shape, strict=False)
    )
    return rows, columns
