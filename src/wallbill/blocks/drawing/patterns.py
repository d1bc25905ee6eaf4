"""Hatches: regular patterns that fill an area of a chart or map where a second ink is missing or already used.

Every pattern starts at the drawing's left top pixel, so that areas with the same hatch join without a seam.
"""

from enum import StrEnum
from types import MappingProxyType

import numpy as np

from wallbill.blocks.drawing.shapes import Size
from wallbill.inks.impression import Mask


class Hatch(StrEnum):
    """A pattern by name; the number is the share of pixels that it covers, in hundredths, rounded down."""

    SOLID = "solid"
    DOTS_6 = "dots-6"
    DOTS_12 = "dots-12"
    DOTS_25 = "dots-25"
    CHECKS_50 = "checks-50"
    DOTS_75 = "dots-75"
    RISING_25 = "rising-25"
    FALLING_25 = "falling-25"
    LEVEL_25 = "level-25"
    UPRIGHT_25 = "upright-25"
    CROSSED_43 = "crossed-43"
    RISING_33_WIDE = "rising-33-wide"


_TILES = MappingProxyType(
    {
        Hatch.SOLID: ("#",),
        Hatch.DOTS_6: ("#...", "....", "....", "...."),
        Hatch.DOTS_12: ("#...", "....", "..#.", "...."),
        Hatch.DOTS_25: ("#.", ".."),
        Hatch.CHECKS_50: ("#.", ".#"),
        Hatch.DOTS_75: ("##", "#."),
        Hatch.RISING_25: ("...#", "..#.", ".#..", "#..."),
        Hatch.FALLING_25: ("#...", ".#..", "..#.", "...#"),
        Hatch.LEVEL_25: ("####", "....", "....", "...."),
        Hatch.UPRIGHT_25: ("#...", "#...", "#...", "#..."),
        Hatch.CROSSED_43: ("####", "#...", "#...", "#..."),
        Hatch.RISING_33_WIDE: ("....##", "...##.", "..##..", ".##...", "##....", "#....#"),
    }
)


def hatch(size: Size, pattern: Hatch) -> Mask:
    """The pattern over the whole drawing as a mask: fill an area with it by ``area & mask``."""
    tile = np.array([[letter == "#" for letter in row] for row in _TILES[pattern]], dtype=np.bool_)
    width, height = size
    across, down = -(-width // tile.shape[1]), -(-height // tile.shape[0])
    return np.tile(tile, (down, across))[:height, :width]
