"""What an eye makes of dots at 0.7 m, for the benchmarks: the colour that is left after its blur.

In the manner of S-CIELAB (X. Zhang and B. Wandell 1996, figures from memory): opponent channels, each under a sum of
Gaussians, then CIELAB. The search for dots (`wallbill.inks.eye`) goes by a much shorter blur of the same family, so this
judge is a little kin to it; texture and tone are measured apart, with no eye in them.
"""

import math
from functools import cache

import numpy as np

from wallbill.inks import colour
from wallbill.inks.colour import Floats

PIXELS_PER_DEGREE = 64.3
"""Pixels of 0.19 mm seen from 0.7 m."""

# Opponent channels and the eye's spreads in degrees with their weights, per channel (from memory).
_OPPONENT = np.array(((0.279, 0.72, -0.107), (-0.449, 0.29, -0.077), (0.086, -0.59, 0.501)))
_SPREADS = (
    ((0.0283, 0.921), (0.133, 0.105)),
    ((0.0392, 0.531), (0.494, 0.33)),
    ((0.0536, 0.488), (0.386, 0.371)),
)


@cache
def _blur(side: int, spread_deg: float) -> Floats:
    """The matrix (side, side) that puts a line under a Gaussian exp(-r²/s²) cut at three sigma, its ends mirrored."""
    sigma = spread_deg * PIXELS_PER_DEGREE / math.sqrt(2)
    reach = min(max(1, math.ceil(3 * sigma)), side - 1)
    kernel = np.exp(-(np.arange(-reach, reach + 1) ** 2) / (2 * sigma**2))
    places = np.pad(np.arange(side), reach, mode="reflect")
    made = np.zeros((side, side))
    for step, weight in enumerate(kernel / kernel.sum()):
        np.add.at(made, (np.arange(side), places[step : step + side]), weight)
    return made


def blurred(plane: Floats, spread_deg: float) -> Floats:
    """A plane (height, width) under a Gaussian of this spread."""
    height, width = plane.shape
    result: Floats = _blur(height, spread_deg) @ plane @ _blur(width, spread_deg).T
    return result


def seen(light: Floats) -> Floats:
    """CIELAB of linear light (height, width, 3) as the eye makes it out from 0.7 m."""
    opponent = colour.linear_to_xyz(light) @ _OPPONENT.T
    planes = []
    for part, spreads in enumerate(_SPREADS):
        total = sum(weight for _, weight in spreads)
        planes.append(sum(blurred(opponent[..., part], s) * (w / total) for s, w in spreads))
    return colour.xyz_to_lab(np.stack(planes, axis=-1) @ np.linalg.inv(_OPPONENT).T)
