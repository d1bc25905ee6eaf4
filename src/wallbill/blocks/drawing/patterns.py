"""Hatches and tints: regular patterns that fill an area where a second ink is missing or already used.

Every pattern starts at the drawing's left top pixel, so that areas with the same pattern join without a seam. All
repeat within `PERIOD_PX` strokes. A *tint* is made to be seen as an even tone, a *hatch* to be seen as lines or dots:
the named ones of a sheet are `TINTS` and `HATCHES`.
"""

from enum import StrEnum
from types import MappingProxyType

import numpy as np

from wallbill.blocks.drawing.shapes import Size
from wallbill.errors import SheetError
from wallbill.inks.impression import Mask
from wallbill.places.words import did_you_mean

PERIOD_PX = 24
"""Every pattern with strokes of one pixel repeats after so many pixels, each way."""


class Hatch(StrEnum):
    """A pattern by name; the number is the share of pixels that it covers, in hundredths, rounded down."""

    SOLID = "solid"
    DOTS_6 = "dots-6"
    DOTS_12 = "dots-12"
    DOTS_16 = "dots-16"
    DOTS_25 = "dots-25"
    CHECKS_50 = "checks-50"
    DOTS_75 = "dots-75"
    RISING_12 = "rising-12"
    RISING_25 = "rising-25"
    FALLING_12 = "falling-12"
    FALLING_25 = "falling-25"
    LEVEL_12 = "level-12"
    LEVEL_25 = "level-25"
    UPRIGHT_12 = "upright-12"
    UPRIGHT_25 = "upright-25"
    CROSSED_23 = "crossed-23"
    CROSSED_43 = "crossed-43"
    DOTTED_12 = "dotted-12"
    DOTTED_25 = "dotted-25"
    RISING_33_WIDE = "rising-33-wide"
    FALLING_33_WIDE = "falling-33-wide"


_RISING_12 = tuple("." * (7 - row) + "#" + "." * row for row in range(8))
_RISING_33 = ("....##", "...##.", "..##..", ".##...", "##....", "#....#")
_LEVEL_12 = ("########", *("........",) * 7)

_TILES = MappingProxyType(
    {
        Hatch.SOLID: ("#",),
        Hatch.DOTS_6: ("#...", "....", "....", "...."),
        Hatch.DOTS_12: ("#...", "....", "..#.", "...."),
        Hatch.DOTS_16: ("#.....", "....#.", "..#..."),
        Hatch.DOTS_25: ("#.", ".."),
        Hatch.CHECKS_50: ("#.", ".#"),
        Hatch.DOTS_75: ("##", "#."),
        Hatch.RISING_12: _RISING_12,
        Hatch.RISING_25: ("...#", "..#.", ".#..", "#..."),
        Hatch.FALLING_12: _RISING_12[::-1],
        Hatch.FALLING_25: ("#...", ".#..", "..#.", "...#"),
        Hatch.LEVEL_12: _LEVEL_12,
        Hatch.LEVEL_25: ("####", "....", "....", "...."),
        Hatch.UPRIGHT_12: ("#.......",) * 8,
        Hatch.UPRIGHT_25: ("#...", "#...", "#...", "#..."),
        Hatch.CROSSED_23: ("########", *("#.......",) * 7),
        Hatch.CROSSED_43: ("####", "#...", "#...", "#..."),
        Hatch.DOTTED_12: ("##......", "##......", "........", "........", "....##..", "....##..", "........", "........"),
        Hatch.DOTTED_25: ("##......", "##......", "....##..", "....##.."),
        Hatch.RISING_33_WIDE: _RISING_33,
        Hatch.FALLING_33_WIDE: _RISING_33[::-1],
    }
)  # fmt: skip

TINTS = MappingProxyType(
    {
        "highlight": Hatch.DOTS_6,
        "light": Hatch.DOTS_16,
        "quarter": Hatch.DOTS_25,
        "half": Hatch.CHECKS_50,
        "three-quarter": Hatch.DOTS_75,
    }
)
"""The named tints, from light to dark. Highlight, quarter, half and three-quarter tone are the print trade's words."""

HATCHES = MappingProxyType(
    {
        "rising": (Hatch.RISING_12, Hatch.RISING_33_WIDE),
        "falling": (Hatch.FALLING_12, Hatch.FALLING_33_WIDE),
        "level": (Hatch.LEVEL_12, Hatch.LEVEL_25),
        "upright": (Hatch.UPRIGHT_12, Hatch.UPRIGHT_25),
        "crossed": (Hatch.CROSSED_23, Hatch.CROSSED_43),
        "dotted": (Hatch.DOTTED_12, Hatch.DOTTED_25),
    }
)
"""The named hatches, each open and close."""

CLOSENESS = ("open", "close")
"""How far a hatch's strokes stand apart: the two columns of `HATCHES`."""

STROKE_ARCMIN = 0.8
"""How wide a hatch's stroke is seen at least, so that any two of the named patterns differ by CIEDE2000 of
`LEAST_DIFFERENCE` after a filter that does what the eye does: measured in ``tests/blocks/drawing/test_patterns.py``."""

LEAST_DIFFERENCE = 2.0
"""CIEDE2000 at which two areas side by side are told apart at a glance; common practice, no source."""


def tile(pattern: Hatch) -> Mask:
    """One repeat of the pattern, true where it has ink: bool, sides 1 to 8."""
    return np.array([[letter == "#" for letter in row] for row in _TILES[pattern]], dtype=np.bool_)


def share_of(pattern: Hatch) -> float:
    """The share of pixels that the pattern covers, 0 to 1, exact: ink's share of the area."""
    return float(tile(pattern).mean())


def pattern_of_tint(name: str) -> Hatch:
    """The pattern of a named tint. Raises `SheetError` for a name that is none."""
    if name not in TINTS:
        raise SheetError(f"there is no tint {name!r}", mend=did_you_mean(name, tuple(TINTS)))
    return TINTS[name]


def pattern_of_hatch(name: str, *, closeness: str = "open") -> Hatch:
    """The pattern of a named hatch, ``open`` or ``close``. Raises `SheetError` for a name that is none."""
    if name not in HATCHES:
        raise SheetError(f"there is no hatch {name!r}", mend=did_you_mean(name, tuple(HATCHES)))
    if closeness not in CLOSENESS:
        raise SheetError(
            f"a hatch is open or close, not {closeness!r}", mend=did_you_mean(str(closeness), CLOSENESS)
        )
    return HATCHES[name][CLOSENESS.index(closeness)]


def hatch(size: Size, pattern: Hatch, *, stroke_px: int = 1) -> Mask:
    """The pattern over the whole drawing as a mask: fill an area with it by ``area & mask``.

    ``stroke_px``: each of the pattern's pixels is a square of so many, 1 or more; its share stays the same.
    """
    one = np.repeat(np.repeat(tile(pattern), stroke_px, axis=0), stroke_px, axis=1)
    width, height = size
    across, down = -(-width // one.shape[1]), -(-height // one.shape[0])
    return np.tile(one, (down, across))[:height, :width]
