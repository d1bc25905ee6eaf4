"""The colours of a palette as light, and light as the even steps of a panel of sixteen greys."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wallbill.blocks.drawing.grid import ACCENT, INK, MUTED, PAPER
from wallbill.blocks.drawing.palette import Palette
from wallbill.inks.colour import LIGHT_OF_CODE, linear_to_srgb

STEPS = 15
"""The highest of sixteen equal steps from black to white."""


def rgb(css: str) -> tuple[int, int, int]:
    """The sRGB codes of a colour such as ``#1a2b3c``."""
    return int(css[1:3], 16), int(css[3:5], 16), int(css[5:7], 16)


def decoded(code: int) -> float:
    """The linear light, 0 to 1, of an sRGB code."""
    return float(LIGHT_OF_CODE[code])


def coded(light: ArrayLike) -> NDArray[np.uint8]:
    """The nearest of sixteen steps, 0 black to 15 white, to linear lights; shape kept."""
    return np.rint(np.clip(linear_to_srgb(light), 0, 1) * STEPS).astype(np.uint8)


def lights(palette: Palette) -> dict[int, float]:
    """The linear light of each ink code, 0 to 1, by its green."""
    return {code: decoded(rgb(palette.css(code))[1]) for code in (INK, ACCENT, PAPER, MUTED)}
