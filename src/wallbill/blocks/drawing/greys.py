"""Drawings on panels that show greys: what covers a part of a pixel mixes with what lies under it, in linear light."""

from collections.abc import Sequence

import numpy as np

from wallbill.blocks.drawing.cover import Cover
from wallbill.blocks.drawing.grid import ACCENT, INK, MUTED, NOTHING, PAPER, Grid
from wallbill.blocks.drawing.light import STEPS, coded, decoded, lights
from wallbill.blocks.drawing.markup import Tint, tint_rgb
from wallbill.blocks.drawing.palette import Palette
from wallbill.inks.impression import Codes, frozen_codes

_LEVELS = (STEPS - coded(1 - np.arange(256) / 255)).tobytes()
"""For each coverage of black on white, 0 to 255, how many of fifteen steps darker the pixel is."""
_SHARES = tuple(1 - decoded(255 * (STEPS - level) // STEPS) for level in range(STEPS + 1))
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
        if grey not in grounds[MUTED + 1 :] and len(grounds) <= STEPS:
            grounds.append(grey)
        place = min(range(MUTED + 1, len(grounds)), key=lambda at: abs(grounds[at] - grey))
        np.copyto(codes, np.uint8(place), where=tint.area & free)
    level = np.frombuffer(cover.tobytes().translate(_LEVELS), dtype=np.uint8).reshape(cover.shape)
    ground = np.array(grounds)[:, np.newaxis]
    table = (
        (coded(ground + (light[INK] - ground) * np.array(_SHARES)) + np.uint8(1)).tobytes().ljust(256, b"\0")
    )
    mixed = ((codes << 4) | level).tobytes().translate(b"\0" + table[1:])
    return frozen_codes(np.frombuffer(mixed, dtype=np.uint8).reshape(codes.shape))
