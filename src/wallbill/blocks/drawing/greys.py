"""Drawings on panels that show greys: what covers a part of a pixel mixes with what lies under it, in linear light."""

from collections.abc import Sequence

import numpy as np

from wallbill.blocks.drawing.cover import Cover
from wallbill.blocks.drawing.grid import ACCENT, INK, MUTED, NOTHING, PAPER, Grid
from wallbill.blocks.drawing.markup import Tint, tint_rgb
from wallbill.blocks.drawing.palette import Palette
from wallbill.inks.impression import Codes, frozen_codes

_TOP = 15  # the highest of sixteen equal steps from black to white


def decoded(code: int) -> float:
    """The linear light, 0 to 1, of an sRGB code. IEC 61966-2-1."""
    share = code / 255
    return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4


def lights(palette: Palette) -> dict[int, float]:
    """The linear light of each ink code, 0 to 1, by its green."""
    return {code: decoded(int(palette.css(code)[3:5], 16)) for code in (INK, ACCENT, PAPER, MUTED)}


def coded(light: float) -> int:
    """The nearest of sixteen steps, 0 black to 15 white, to a linear light. IEC 61966-2-1, the encoding of sRGB."""
    share = light * 12.92 if light <= 0.0031308 else 1.055 * light ** (1 / 2.4) - 0.055
    return round(min(max(share, 0), 1) * _TOP)


def _levels() -> bytes:
    """For each coverage of black on white, 0 to 255, how many of fifteen steps darker the pixel is."""
    return bytes(_TOP - coded(1 - cover / 255) for cover in range(256))


_LEVELS = _levels()
_SHARES = tuple(1 - decoded(255 * (_TOP - level) // _TOP) for level in range(_TOP + 1))
"""The coverage that each level stands for."""


def greys_of(grid: Grid, cover: Cover, tints: Sequence[Tint], *, palette: Palette) -> Codes:
    """A drawing in greys: 0 where the page shows through, else 1 (black) to 16 (white); frozen.

    ``cover``: how much of each pixel ink covers, over grid and tints. Sixteen levels of it are told apart, so the
    whole picture is looked up in one table.
    """
    light = lights(palette)
    grounds = [light[PAPER], *(light[code] for code in (INK, ACCENT, PAPER, MUTED))]
    codes = grid.codes.copy()
    free = codes == NOTHING
    for tint in tints:
        grey = decoded(tint_rgb(palette, tint.pattern)[1])
        if grey not in grounds[MUTED + 1 :] and len(grounds) <= _TOP:
            grounds.append(grey)
        place = min(range(MUTED + 1, len(grounds)), key=lambda at: abs(grounds[at] - grey))
        np.copyto(codes, np.uint8(place), where=tint.area & free)
    level = np.frombuffer(cover.tobytes().translate(_LEVELS), dtype=np.uint8).reshape(cover.shape)
    table = bytes(
        coded(ground + (light[INK] - ground) * share) + 1 for ground in grounds for share in _SHARES
    ).ljust(256, b"\0")
    mixed = ((codes << 4) | level).tobytes().translate(b"\0" + table[1:])
    return frozen_codes(np.frombuffer(mixed, dtype=np.uint8).reshape(codes.shape))
