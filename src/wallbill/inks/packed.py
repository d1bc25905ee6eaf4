"""Pixels as single numbers, so that whole colours can be compared at once.

A packed pixel is red + 256 green + 65536 blue + 0xFF000000: never 0, so 0 can stand for "no colour here".
"""

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from wallbill.inks.colour import Floats
from wallbill.inks.impression import Codes, Mask, Rgb
from wallbill.panels.model import Ink

Packed = NDArray[np.uint32]
"""uint32, any shape: packed pixels."""

NONE = 0
"""What stands where there is no colour."""


def pack(rgb: Rgb) -> Packed:
    """Packed pixels, uint32 (height, width), of uint8 (height, width, 3)."""
    data = Image.fromarray(np.ascontiguousarray(rgb)).tobytes("raw", "RGBX")
    pixels = np.frombuffer(data, dtype="<u4").reshape(rgb.shape[:2])
    return pixels | np.uint32(0xFF000000)


def pack_ink(ink: Ink) -> int:
    """The packed pixel of an ink's CSS colour."""
    red, green, blue = ink.css
    return red | green << 8 | blue << 16 | 0xFF000000


def unpack(packed: Packed) -> NDArray[np.uint8]:
    """The sRGB codes of packed pixels: uint8, one axis of 3 more."""
    flat = np.ascontiguousarray(packed, dtype="<u4")
    return flat.view(np.uint8).reshape(*flat.shape, 4)[..., :3]


def parts(packed: Packed) -> NDArray[np.float32]:
    """As `unpack`, in float32 for reckoning."""
    return unpack(packed).astype(np.float32)


def ink_codes(pixels: Packed, inks: tuple[Ink, ...]) -> tuple[Codes, Mask]:
    """Places of the inks whose CSS colour a pixel has, and which pixels have one. Others get 0.

    Of two inks with one CSS colour the first is taken.
    """
    codes = np.zeros(pixels.shape, dtype=np.uint8)
    known = pixels == np.uint32(pack_ink(inks[0]))
    seen = {pack_ink(inks[0])}
    for place, ink in enumerate(inks[1:], 1):
        colour = pack_ink(ink)
        if colour not in seen:
            hit = pixels == np.uint32(colour)
            codes += hit.view(np.uint8) * np.uint8(place)
            known |= hit
            seen.add(colour)
    return codes, known


def fit_between(points: Floats, one: Floats, other: Floats) -> tuple[Floats, Floats]:
    """Where colours lie on the way from ``one`` to ``other``, and how far off it, all (n, 3) sRGB codes.

    Returns the share of ``other`` (n,) and the largest distance of a channel from the straight line (n,);
    for equal ends the share is 0.
    """
    way = (other - one).T
    step = (points - one).T
    square = np.maximum(way[0] * way[0] + way[1] * way[1] + way[2] * way[2], 1e-6)
    share = (step[0] * way[0] + step[1] * way[1] + step[2] * way[2]) / square
    off = np.abs(step[0] - share * way[0])
    for part in (1, 2):
        np.maximum(off, np.abs(step[part] - share * way[part]), out=off)
    return share, off
