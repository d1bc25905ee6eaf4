"""Tints: flat colours that are no ink, as regular patterns of inks.

A tint's mean light is the light of the colour that the author wrote, as a mix of the lights of the inks that
the author knows, the CSS colours, all linear: #808080 between #000 and #fff is 22 % white dots. The pattern
is an ordered one, locked to the page, so equal colours match wherever they lie and gradients join smoothly.
"""

import numpy as np
from numpy.typing import NDArray

from wallbill.inks import colour, halftone, simplex
from wallbill.inks.colour import Floats
from wallbill.inks.inkset import CHROMA_COST, InkSet, calm_costs

SIDE = 16
"""The matrix repeats after so many pixels, each way."""

LEVELS = SIDE * SIDE
TOLERANCE = 0.009
"""How far a tint's mean may be from the colour, as a share of full light in each channel."""

_GRIDS = (16, 8, 4, 2, 1)  # steps of coverage in 256ths, coarsest first: a coarse step is a calm pattern


def bayer(side: int) -> NDArray[np.uint8]:
    """The ordered matrix of B. E. Bayer (IEEE ICC 1973), shape (side, side), values 0 to side² - 1.

    ``side``: a power of two, 2 to 16.
    """
    matrix = np.zeros((1, 1), dtype=np.int64)
    while len(matrix) < side:
        matrix = np.block([[4 * matrix, 4 * matrix + 2], [4 * matrix + 3, 4 * matrix + 1]])
    return matrix.astype(np.uint8)


def shares_of(colours: NDArray[np.uint8], inks: InkSet) -> Floats:
    """Share of each ink (n, inks) that mixes to sRGB colours, uint8 (n, 3).

    A colour that the inks' CSS colours cannot mix goes to the nearest that they can.
    """
    light = colour.codes_to_linear(colours)
    mixer = simplex.Mixer(inks.written, calm_costs(inks.written, chroma=CHROMA_COST))
    shares = simplex.coverages(colour.linear_to_oklab(light), mixer)
    return shares if inks.n == 1 else _against_gain(shares, inks)


def _against_gain(shares: Floats, inks: InkSet) -> Floats:
    """Coverages that give the light of ``shares`` on a panel whose dots look larger than they are.

    Each mix keeps its own inks, so a grey stays black and white. Source: see `halftone.mix`.
    """
    oklab = colour.lms_to_oklab(halftone.mix(shares, inks.shown))
    used = (shares > 1e-9) @ (1 << np.arange(shares.shape[1]))
    result = shares.copy()
    for kind in np.unique(used):
        places = np.flatnonzero([kind >> place & 1 for place in range(shares.shape[1])])
        rows = np.flatnonzero(used == kind)
        if len(places) > 1:
            lights = inks.shown[places]
            mixer = simplex.Mixer(lights, calm_costs(lights, chroma=CHROMA_COST), inks.n)
            result[np.ix_(rows, places)] = simplex.coverages(oklab[rows], mixer)
    return result


def levels_of(colours: NDArray[np.uint8], inks: InkSet) -> NDArray[np.int16]:
    """Thresholds (n, inks - 1) for colours (n, 3): of the darkest ink, the two darkest, ... in 256ths.

    The coarsest grid is taken whose mean light is within `TOLERANCE` in every channel; the finest otherwise.
    """
    shares = shares_of(colours, inks)
    order = list(inks.order)
    lights = colour.lms_to_linear(inks.written)[order]
    sums = np.cumsum(shares[:, order], axis=1)[:, :-1] * LEVELS
    mean = shares[:, order] @ lights
    levels = np.rint(sums)
    open_ = np.arange(len(colours))
    for grid in _GRIDS:
        trial = np.rint(sums[open_] / grid) * grid
        steps = np.diff(trial, axis=1, prepend=0, append=LEVELS) / LEVELS
        good = np.abs(steps @ lights - mean[open_]).max(axis=1) <= TOLERANCE
        levels[open_[good]] = trial[good]
        open_ = open_[~good]
    return levels.astype(np.int16)


def matrix_at(x_px: NDArray[np.int64], y_px: NDArray[np.int64]) -> NDArray[np.int16]:
    """The ordered matrix at places on the page: int16, 0 to 255, same shape."""
    values: NDArray[np.int16] = bayer(SIDE).astype(np.int16)[y_px % SIDE, x_px % SIDE]
    return values


def lay(levels: NDArray[np.int16], which: NDArray[np.int64], *, at: NDArray[np.int16]) -> NDArray[np.int64]:
    """How many inks, from the darkest, each pixel has passed: a place in the ink set's order, shape (n,).

    ``levels``: from `levels_of`. ``which``: row of ``levels`` for each pixel. ``at``: from `matrix_at`.
    """
    step = np.zeros(len(which), dtype=np.int64)
    for place in range(levels.shape[1]):
        step += at >= levels[:, place][which]
    return step
