"""Draws the contact sheets of icons and signs for the documents: docs/pictures/icons.png and icons-….png.

Run it after a change to any of them: ``python scripts/make_icon_sheet.py``. The first shows a choice of all, its pixels
doubled; the others every weather, warning and sign at every size, with its name. Inks are as a reflective panel of black,
white and red shows them.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial
from itertools import product
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from wallbill.blocks.drawing.grid import Grid
from wallbill.blocks.icons.alerts import alert_grid
from wallbill.blocks.icons.moon import moon_grid
from wallbill.blocks.icons.signs import PENS, SIGN_NAMES, sign_grid
from wallbill.blocks.icons.weather import describe, icon_grid
from wallbill.blocks.icons.wind import wind_grid
from wallbill.facts.alerts import Severity
from wallbill.facts.forecast import Falling, Phenomenon, Strength, Weather
from wallbill.facts.hazards import Hazard

FOLDER = Path(__file__).parents[1] / "docs" / "pictures"
COLOURS = ((222, 222, 214), (24, 24, 24), (176, 32, 36), (240, 240, 234), (128, 128, 128))
WIDTH_PX = 600
MARGIN_PX = 24
Sky = tuple[Weather, bool]
Drawn = Callable[[int], Grid]
GRADES = (Severity.MINOR, Severity.MODERATE, Severity.SEVERE, Severity.EXTREME)

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
AIR: list[Sky] = [
    *(
        (Weather(0.2, fog=kind is Phenomenon.FREEZING_FOG, phenomenon=kind), True)
        for kind in Phenomenon
        if kind is not Phenomenon.NONE
    ),
    (Weather(1, Falling.SNOW, Strength.HEAVY, phenomenon=Phenomenon.BLOWING_SNOW), True),
    (Weather(1, Falling.RAIN, Strength.HEAVY, thunder=True, phenomenon=Phenomenon.SQUALL), True),
    (Weather(1, thunder=True, phenomenon=Phenomenon.SANDSTORM), True),
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
        band(skies(AIR, 48), 9),
        *sizes(),
        band([moon_grid(number / 12, size_px=32) for number in range(13)], 13),
        band(
            [wind_grid(22.5 * number, size_px=24) for number in range(16)] + [wind_grid(None, size_px=24)], 17
        ),
        band([alert_grid(hazard, severity=grade, size_px=32) for grade in GRADES for hazard in Hazard], 14),
        band([sign_grid(name, size_px=32) for name in SIGN_NAMES], 12),
        band([sign_grid(name, size_px=24) for name in SIGN_NAMES[:60]], 15),
    ]
    rule = np.zeros((33, WIDTH_PX), dtype=np.uint8)
    rule[16, MARGIN_PX:-MARGIN_PX] = 4
    edge = np.zeros((MARGIN_PX, WIDTH_PX), dtype=np.uint8)
    parts = [edge]
    for number, part in enumerate(bands):
        parts += [part] if number == 0 else [rule, part]
    return np.concatenate([*parts, edge])


def chosen() -> Image.Image:
    """The sheet with its pixels doubled, as a palette picture."""
    return inked(np.repeat(np.repeat(sheet(), 2, axis=0), 2, axis=1))


def inked(codes: np.ndarray) -> Image.Image:
    """Ink codes as a palette picture."""
    image = Image.frombytes("P", (codes.shape[1], codes.shape[0]), np.ascontiguousarray(codes).tobytes())
    image.putpalette([part for colour in COLOURS for part in colour])
    return image


def named(drawings: Mapping[str, Drawn], *, columns: int) -> Image.Image:
    """Each drawing at every size on one base line, its name below; as a palette picture."""
    sizes_px = tuple(PENS)
    wide, high = sum(sizes_px) + 8 * len(sizes_px) + 2 * MARGIN_PX, max(sizes_px) + 34
    rows = -(-len(drawings) // columns)
    codes = np.zeros((rows * high + MARGIN_PX, columns * wide), dtype=np.uint8)
    for number, draw in enumerate(drawings.values()):
        row, column = divmod(number, columns)
        x, foot = column * wide + MARGIN_PX, row * high + MARGIN_PX // 2 + max(sizes_px)
        for size_px in sizes_px:
            grid = draw(size_px)
            codes[foot - size_px : foot, x : x + size_px] = grid.codes
            x += size_px + 8
    image = inked(codes)
    pencil, font = ImageDraw.Draw(image), ImageFont.load_default_imagefont()
    for number, name in enumerate(drawings):
        row, column = divmod(number, columns)
        at = (column * wide + MARGIN_PX, row * high + MARGIN_PX // 2 + max(sizes_px) + 4)
        pencil.text(at, name, fill=1, font=font)
    return image


def weather_at(weather: Weather, is_day: bool, size_px: int) -> Grid:  # noqa: FBT001  an argument to be bound
    return icon_grid(weather, size_px=size_px, is_day=is_day, solid=True)


def warning_at(hazard: Hazard, grade: Severity, size_px: int) -> Grid:
    return alert_grid(hazard, severity=grade, size_px=size_px)


def sign_at(name: str, size_px: int) -> Grid:
    return sign_grid(name, size_px=size_px)


def weathers() -> dict[str, Drawn]:
    """Every picture of a weather, by its key."""
    found: dict[str, Drawn] = {}
    both = (False, True)
    skies = [
        (replace(Weather(cloud, falling, strength), showers=showers, thunder=thunder, fog=fog), is_day)
        for cloud, falling, strength in product(CLOUDS, Falling, Strength)
        for showers, thunder, fog, is_day in product(both, both, both, both)
    ]
    hazy = [
        (Weather(cloud, phenomenon=kind), is_day)
        for kind, cloud, is_day in product((Phenomenon.HAZE, Phenomenon.MIST), (0.2, 1.0), both)
    ]
    for weather, is_day in [*skies, *hazy, *AIR]:
        found.setdefault(describe(weather, is_day).key, partial(weather_at, weather, is_day))
    return found


def warnings() -> dict[str, Drawn]:
    """Every family of warnings in every frame."""
    grades = (*GRADES, Severity.UNKNOWN)
    return {f"{hazard}, {grade}": partial(warning_at, hazard, grade) for hazard in Hazard for grade in grades}


def signs() -> dict[str, Drawn]:
    """Every sign."""
    return {name: partial(sign_at, name) for name in SIGN_NAMES}


PICTURES: Mapping[str, Callable[[], Image.Image]] = {
    "icons": chosen,
    "icons-weather": lambda: named(weathers(), columns=4),
    "icons-alerts": lambda: named(warnings(), columns=5),
    "icons-signs": lambda: named(signs(), columns=4),
}
"""The pictures of the documents, by name."""

if __name__ == "__main__":
    FOLDER.mkdir(parents=True, exist_ok=True)
    for title, make in PICTURES.items():
        make().save(FOLDER / f"{title}.png", optimize=True)
        print(FOLDER / f"{title}.png")
