"""What the eye makes of dots: three opponent channels, each blurred as far as an eye blurs it.

Everything here is in whole numbers, so that whoever adds them up, in whatever order, gets the same sum, and a
picture has the same dots on every machine.
"""

from functools import cache
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from wallbill.inks import colour, halftone
from wallbill.inks.colour import Floats
from wallbill.inks.inkset import InkSet

PIXELS_PER_DEGREE = 64.3
"""Pixels of 0.19 mm seen from 0.7 m. Farther away all ways of scattering dots converge."""

RADIUS: int = 2
"""Reach of the blur, pixels. A blur that is cut here and then laid over itself is still the blur of some eye;
one that is laid over itself and then cut is not, and drifts in hue."""

REACH: int = 2 * RADIUS
"""Pixels over which two dots are seen together."""

# Of light, red-green and blue-yellow in the error: tuned by CIEDE2000 on pictures (docs/decisions/0151).
_WEIGHTS = (1.0, 1.5, 1.0)
_BLUR_SUM = 138  # whole-number weights of a blur sum to about this: as fine as sums of 32 bits allow
_RANGE = 400  # the widest distance of two inks in any channel, in whole numbers
SHARES = 255
"""A whole pixel of one ink, in the shares that `targets` is given."""

# X. Zhang and B. Wandell, S-CIELAB, 1996 (figures from memory): XYZ to opponent channels; spreads in degrees
# with their weights. The broad negative spread of the first channel is left out.
_OPPONENT = np.array(((0.279, 0.72, -0.107), (-0.449, 0.29, -0.077), (0.086, -0.59, 0.501)))
_OPPONENT.setflags(write=False)
_SPREADS = MappingProxyType(
    {
        0: ((0.0283, 0.921), (0.133, 0.105)),
        1: ((0.0392, 0.531), (0.494, 0.33)),
        2: ((0.0536, 0.488), (0.386, 0.371)),
    }
)

Whole = NDArray[np.int32]


def opponent(xyz: Floats) -> Floats:
    """Light, red-green and blue-yellow of XYZ, shape (..., 3)."""
    seen: Floats = xyz @ _OPPONENT.T
    return seen


def points(inks: InkSet) -> Whole:
    """The inks as the search for dots sees them: int32, shape (inks, 3), the widest distance about 400.

    They lie in the mixing space (light to the power 1/n), where coverages mix in a straight line.
    """
    mixing = halftone.to_mixing(inks.shown, n=inks.n)
    seen = opponent(colour.linear_to_xyz(colour.lms_to_linear(mixing))) * _WEIGHTS
    scale = _RANGE / max(float(np.ptp(seen, axis=0).max()), 1e-9)
    whole: Whole = np.rint((seen - seen[inks.white]) * scale).astype(np.int32)
    return whole


@cache
def blurs() -> Whole:
    """Each channel's blur: int32, shape (3, 2 RADIUS + 1, 2 RADIUS + 1), read-only, symmetric."""
    across = np.arange(-RADIUS, RADIUS + 1) / PIXELS_PER_DEGREE
    square = across[:, np.newaxis] ** 2 + across**2
    made = []
    for spreads in _SPREADS.values():
        spread, weight = np.array(spreads).T[:, :, np.newaxis, np.newaxis]
        total = (weight / spread**2 * np.exp(-square / spread**2)).sum(axis=0)
        made.append(np.rint(total * (_BLUR_SUM / total.sum())))
    whole: Whole = np.array(made, dtype=np.int32)
    whole.setflags(write=False)
    return whole


@cache
def together() -> Whole:
    """How much of the error two dots share, by their distance: int32, shape (3, 2 REACH + 1, 2 REACH + 1).

    The blur's autocorrelation, read-only; the middle is at (REACH, REACH).
    """
    side = 2 * REACH + 1
    made = np.zeros((3, side, side), dtype=np.int32)
    for part, blur in enumerate(blurs()):
        for y in range(2 * RADIUS + 1):
            for x in range(2 * RADIUS + 1):
                made[part, y : y + 2 * RADIUS + 1, x : x + 2 * RADIUS + 1] += blur[y, x] * blur
    made.setflags(write=False)
    return made


def seen_error(error: Whole, part: int) -> Whole:
    """The error of one channel (int32, shape (height, width)), blurred twice; nothing lies beyond the edges."""
    for _ in range(2):
        error = _blurred(error, blurs()[part])
    return error


def _blurred(plane: Whole, blur: Whole) -> Whole:
    height, width = plane.shape
    padded = np.pad(plane, RADIUS)
    total = np.zeros_like(plane)
    # The blur is the same mirrored both ways: rows at the same distance are added before they are weighed.
    for down in range(RADIUS + 1):
        rows = padded[RADIUS + down : RADIUS + down + height]
        if down:
            rows = rows + padded[RADIUS - down : RADIUS - down + height]
        for along in range(RADIUS + 1):
            line = rows[:, RADIUS + along : RADIUS + along + width]
            if along:
                line = line + rows[:, RADIUS - along : RADIUS - along + width]
            total += blur[RADIUS + down, RADIUS + along] * line
    return total
