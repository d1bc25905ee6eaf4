"""Panels of greys: each level by its own measured lightness.

A page's lightness is fitted between the panel's black and white, so that #000 and #fff are just those.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wallbill.inks import colour, halftone
from wallbill.inks.bluenoise import thresholds
from wallbill.inks.impression import Codes, Rgb
from wallbill.inks.inkset import measured_xyz
from wallbill.inks.packed import Packed, ink_codes, unpack
from wallbill.panels.model import Ink

_STEPS = 4096  # steps of luminance in the tables
_WEIGHTS = (
    0.21263900587151027,
    0.715168678767756,
    0.07219231536073371,
)  # luminance of linear sRGB: IEC 61966-2-1


@dataclass(frozen=True, slots=True, eq=False)
class GreyScale:
    """The tables of a panel of greys; arrays are read-only.

    ``nearest``: uint8 (4096,), ink by luminance. ``lower``: uint16 (4096,), for pictures: 256 times the place
    in ``order`` of the next darker level, plus the share of the next lighter one in 255ths.
    ``order``: uint8 (inks,), places of the inks from darkest to lightest.
    """

    nearest: NDArray[np.uint8]
    lower: NDArray[np.uint16]
    order: NDArray[np.uint8]


def grey_scale(inks: tuple[Ink, ...], *, n: float = 1.0) -> GreyScale:
    """The tables for a panel's greys. ``n``: the Yule-Nielsen factor, for pictures."""
    light = measured_xyz(inks)[:, 1]
    order = np.argsort(light, kind="stable").astype(np.uint8)
    levels = colour.lightness(light[order])
    page = colour.lightness((np.arange(_STEPS) + 0.5) / _STEPS)
    page = np.clip((page - page[0]) / (page[-1] - page[0]), 0, 1)
    wanted = levels[0] + page * (levels[-1] - levels[0])
    middles = (levels[1:] + levels[:-1]) / 2
    nearest = order[np.searchsorted(middles, wanted, side="right")]
    mixing = halftone.to_mixing(light[order], n=n)
    aim = halftone.to_mixing(colour.luminance(wanted), n=n)
    below = np.clip(np.searchsorted(mixing, aim, side="right") - 1, 0, len(order) - 2)
    share = np.clip((aim - mixing[below]) / np.maximum(mixing[below + 1] - mixing[below], 1e-9), 0, 1)
    lower = (below * 256 + np.rint(share * 255)).astype(np.uint16)
    for array in (nearest, lower, order):
        array.setflags(write=False)
    return GreyScale(nearest, lower, order)


def _luminance_steps(rgb: Rgb) -> NDArray[np.uint16]:
    """Luminance of sRGB pixels (..., 3) in steps of the tables: 0 to 4095."""
    tables = [colour.LIGHT_OF_CODE * weight * (_STEPS - 1) for weight in _WEIGHTS]
    total = np.full(rgb.shape[:-1], 0.5, dtype=np.float32)
    for part, table in enumerate(tables):
        total += table.astype(np.float32)[rgb[..., part]]
    return total.astype(np.uint16)


def nearest_greys(pixels: Packed, *, inks: tuple[Ink, ...], scale: GreyScale) -> Codes:
    """The nearest grey for each pixel, packed (height, width). A level's own CSS colour is that level."""
    red = pixels & np.uint32(0xFF)
    plain = pixels == red * np.uint32(0x010101) + np.uint32(0xFF000000)
    greys = np.arange(256, dtype=np.uint8)
    grey_rgb = np.repeat(greys[:, np.newaxis], 3, axis=1)
    table = scale.nearest[_luminance_steps(grey_rgb)]
    for place, ink in reversed(tuple(enumerate(inks))):
        if ink.css[0] == ink.css[1] == ink.css[2]:
            table[ink.css[0]] = place
    codes = table[red.astype(np.uint8)]
    coloured = ~plain
    if coloured.any():
        some = pixels[coloured]
        found, exact = ink_codes(some, inks)
        codes[coloured] = np.where(exact, found, scale.nearest[_luminance_steps(unpack(some))])
    return codes


def grey_planes(rgb: Rgb, scale: GreyScale) -> NDArray[np.uint8]:
    """Running sums of the levels' coverages, darkest first, in 255ths: uint8, shape (levels - 1, height, width)."""
    packed = scale.lower[_luminance_steps(rgb)]
    darker, share = packed >> 8, (255 - (packed & 0xFF)).astype(np.uint8)
    places = np.arange(len(scale.order) - 1)[:, np.newaxis, np.newaxis]
    return np.where(places < darker, np.uint8(0), np.where(places == darker, share, np.uint8(255)))


def lay_greys(rgb: Rgb, scale: GreyScale, *, origin: tuple[int, int] = (0, 0)) -> Codes:
    """The quick way's dots, uint8 (height, width), places in ``scale.order``: of the two levels around each pixel's light.

    ``origin``: the picture's left and top pixel on the page.
    """
    packed = scale.lower[_luminance_steps(rgb)]
    limits = thresholds(rgb.shape[1], rgb.shape[0], origin=origin)
    step = (packed >> np.uint16(8)).astype(np.uint8)
    step += limits >= np.uint8(255) - packed.astype(np.uint8)
    return step
