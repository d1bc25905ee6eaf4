"""Draws the contact sheet of icons and signs for the documents: docs/pictures/icons.png.

Run it after a change to any of them: ``python scripts/make_icon_sheet.py``. Pixels are doubled, inks as a
reflective panel of black, white and red shows them.
"""

from itertools import product
from pathlib import Path

import numpy as np
from PIL import Image

from wallbill.blocks.drawing.grid import Grid
from wallbill.blocks.icons.moon import moon_grid
from wallbill.blocks.icons.signs import SIGN_NAMES, sign_grid
from wallbill.blocks.icons.weather import icon_grid
from wallbill.blocks.icons.wind import wind_grid
from wallbill.facts.forecast import Falling, Strength, Weather

TARGET = Path(__file__).parents[1] / "docs" / "pictures" / "icons.png"
COLOURS = ((222, 222, 214), (24, 24, 24), (176, 32, 36), (240, 240, 234), (128, 128, 128))
WIDTH_PX = 600
MARGIN_PX = 24
Sky = tuple[Weather, bool]

CLOUDS = (0.0, 0.2, 0.45, 0.8, 1.0)
DRY: list[Sky] = [
    *((Weather(cloud), True) for cloud in CLOUDS),
    *((Weather(cloud), False) for cloud in CLOUDS[:3]),
    (Weather(fog=True), True),
]
STEADY: list[Sky] = [
    (Weather(1, falling, strength), True)
    for falling, strength in product(Falling, Strength)
    if falling is not Falling.NONE
]
BROKEN: list[Sky] = [
    *((Weather(0.5, Falling.RAIN, strength, showers=True), True) for strength in Strength),
    *((Weather(0.5, falling, showers=True), True) for falling in (Falling.SLEET, Falling.SNOW, Falling.HAIL)),
    *((Weather(0.5, Falling.RAIN, strength, showers=True), False) for strength in Strength),
    (Weather(1, thunder=True), True),
    *((Weather(1, Falling.RAIN, strength, thunder=True), True) for strength in Strength),
    *((Weather(1, falling, thunder=True), True) for falling in (Falling.SLEET, Falling.SNOW, Falling.HAIL)),
    *((Weather(0.5, Falling.RAIN, showers=True, thunder=True), is_day) for is_day in (True, False)),
    *((Weather(1, Falling.RAIN, strength, fog=True), True) for strength in Strength),
    *(
        (Weather(1, falling, fog=True), True)
        for falling in Falling
        if falling not in {Falling.NONE, Falling.RAIN}
    ),
    (Weather(1, Falling.RAIN, thunder=True, fog=True), True),
]
LARGE: list[Sky] = [
    (Weather(0.45), True),
    (Weather(1, Falling.RAIN, Strength.HEAVY), True),
    (Weather(0.2), False),
    (Weather(1, Falling.SNOW), True),
]
SAMPLE: list[Sky] = [
    (Weather(0.2), True),
    (Weather(0.45), False),
    (Weather(1, Falling.RAIN, Strength.HEAVY), True),
    (Weather(1, Falling.RAIN, thunder=True), True),
]


def skies(rows: list[Sky], size_px: int) -> list[Grid]:
    """The pictures of some weathers."""
    return [icon_grid(weather, size_px=size_px, is_day=is_day, solid=True) for weather, is_day in rows]


def band(grids: list[Grid], columns: int) -> np.ndarray:
    """Drawings in rows, spread evenly over the width of the sheet; codes, uint8."""
    high = max(grid.height_px for grid in grids)
    wide = max(grid.width_px for grid in grids)
    gap = (WIDTH_PX - 2 * MARGIN_PX - columns * wide) // max(1, columns - 1)
    rows = -(-len(grids) // columns)
    leading = max(6, high // 4)
    codes = np.zeros((rows * (high + leading) - leading, WIDTH_PX), dtype=np.uint8)
    for number, grid in enumerate(grids):
        row, column = divmod(number, columns)
        y = row * (high + leading) + high - grid.height_px
        x = MARGIN_PX + column * (wide + gap) + (wide - grid.width_px) // 2
        codes[y : y + grid.height_px, x : x + grid.width_px] = grid.codes
    return codes


def row(grids: list[Grid]) -> np.ndarray:
    """Drawings of several sizes on one base line, spread evenly over the width of the sheet; codes, uint8."""
    high = max(grid.height_px for grid in grids)
    gap = (WIDTH_PX - 2 * MARGIN_PX - sum(grid.width_px for grid in grids)) // (len(grids) - 1)
    codes = np.zeros((high, WIDTH_PX), dtype=np.uint8)
    x = MARGIN_PX
    for grid in grids:
        codes[high - grid.height_px :, x : x + grid.width_px] = grid.codes
        x += grid.width_px + gap
    return codes


def sizes() -> list[np.ndarray]:
    """A sky or more at every size, in two rows."""
    large = [
        grid
        for size_px, sky in zip((160, 128, 128, 96), LARGE, strict=True)
        for grid in skies([sky], size_px)
    ]
    counts = ((64, 2), (48, 2), (32, 2), (24, 3), (16, 4))
    small = [grid for size_px, count in counts for grid in skies(SAMPLE[-count:], size_px)]
    return [row(large), row(small)]


def sheet() -> np.ndarray:
    """The whole contact sheet; codes, uint8, shape (height, width)."""
    bands = [
        band(skies(DRY, 48), 9),
        band(skies(STEADY, 48), 9),
        band(skies(BROKEN, 48), 9),
        *sizes(),
        band([moon_grid(number / 12, size_px=32) for number in range(13)], 13),
        band(
            [wind_grid(22.5 * number, size_px=24) for number in range(16)] + [wind_grid(None, size_px=24)], 17
        ),
        band([sign_grid(name, size_px=32) for name in SIGN_NAMES], 8),
        band([sign_grid(name, size_px=24) for name in SIGN_NAMES[:16]], 16),
    ]
    rule = np.zeros((33, WIDTH_PX), dtype=np.uint8)
    rule[16, MARGIN_PX:-MARGIN_PX] = 4
    edge = np.zeros((MARGIN_PX, WIDTH_PX), dtype=np.uint8)
    parts = [edge]
    for number, part in enumerate(bands):
        parts += [part] if number == 0 else [rule, part]
    return np.concatenate([*parts, edge])


def picture() -> Image.Image:
    """The sheet with its pixels doubled, as a palette picture."""
    codes = np.repeat(np.repeat(sheet(), 2, axis=0), 2, axis=1)
    image = Image.frombytes("P", (codes.shape[1], codes.shape[0]), codes.tobytes())
    image.putpalette([part for colour in COLOURS for part in colour])
    return image


if __name__ == "__main__":
    TARGET.parent.mkdir(parents=True, exist_ok=True)
    picture().save(TARGET, optimize=True)
    print(TARGET)
