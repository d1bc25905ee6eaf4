"""Drawings on panels that show greys: what covers a part of a pixel mixes with what lies under it, in linear light."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from wallbill.blocks.drawing.cover import Cover
from wallbill.blocks.drawing.grid import ACCENT, INK, MUTED, NOTHING, PAPER, Grid
from wallbill.blocks.drawing.markup import Tint, tint_rgb
from wallbill.blocks.drawing.palette import Palette
from wallbill.inks.impression import Codes, frozen_codes

_FINE = 4095
_TOP = 15  # the highest of sixteen equal steps from black to white


def decoded(code: int) -> float:
    """The linear light, 0 to 1, of an sRGB code. IEC 61966-2-1."""
    share = code / 255
    return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4


def lights(palette: Palette) -> dict[int, float]:
    """The linear light of each ink code, 0 to 1, by its green."""
    return {code: decoded(int(palette.css(code)[3:5], 16)) for code in (INK, ACCENT, PAPER, MUTED)}


def _steps() -> NDArray[np.uint8]:
    """The step of sixteen (0 to 15) for each of 4096 linear lights. IEC 61966-2-1, the encoding of sRGB."""
    light = np.linspace(0, 1, _FINE + 1)
    coded = np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055)
    steps = np.asarray(np.round(coded * _TOP), dtype=np.uint8)
    steps.setflags(write=False)
    return steps


_TABLE = _steps()


def greys_of(grid: Grid, cover: Cover, tints: Sequence[Tint], palette: Palette) -> Codes:
    """A drawing in greys: 0 where the page shows through, else 1 (black) to 16 (white); frozen.

    ``cover``: how much of each pixel ink covers, over grid and tints.
    """
    light = lights(palette)
    ground = np.full(cover.shape, light[PAPER], dtype=np.float32)
    empty = (grid.codes == NOTHING) & (cover == 0)
    for tint in tints:
        np.copyto(ground, np.float32(decoded(tint_rgb(palette, tint.pattern)[1])), where=tint.area)
        empty &= ~tint.area
    for code, value in light.items():
        np.copyto(ground, np.float32(value), where=grid.codes == code)
    ground += (np.float32(light[INK]) - ground) * (cover * np.float32(1 / 255))
    shown = _TABLE[(ground * np.float32(_FINE) + np.float32(0.5)).astype(np.int16)] + 1
    shown[empty] = 0
    return frozen_codes(shown)
