"""Weather icons: each part of the weather shows, nothing leaves its box, and every picture is as accepted."""

from dataclasses import replace
from itertools import product

import blitz_py
import numpy as np
import pytest
from tests.golden import check_golden

from wallbill.blocks.drawing.grid import ACCENT, INK, NOTHING, Grid, from_letters
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.icons.sizes import SIZES
from wallbill.blocks.icons.weather import describe, fitting, icon, icon_grid
from wallbill.blocks.icons.words import Cover, cover
from wallbill.errors import SheetError
from wallbill.facts.forecast import Falling, Phenomenon, Strength, Weather

PAPER_BLACK_RED = ((222, 222, 214), (20, 20, 20), (180, 30, 30), (235, 235, 228), (120, 120, 120))
FALLING = [falling for falling in Falling if falling is not Falling.NONE]
EVERY = [
    (Weather(cloud, falling, strength, showers, thunder, fog), is_day)
    for cloud, falling, strength, showers, thunder, fog, is_day in product(
        (0.0, 0.2, 0.45, 0.8, 1.0),
        Falling,
        Strength,
        (False, True),
        (False, True),
        (False, True),
        (True, False),
    )
]


AIR = [
    (Weather(cloud, fog=kind is Phenomenon.FREEZING_FOG, phenomenon=kind), is_day)
    for kind, cloud, is_day in product(Phenomenon, (0.2, 1.0), (True, False))
    if kind is not Phenomenon.NONE
]
AIR_BESIDE = [
    (Weather(1, falling, Strength.HEAVY, showers, thunder, fog, kind), True)
    for falling, showers, thunder, fog, kind in product(
        (Falling.NONE, Falling.RAIN, Falling.SNOW), (False, True), (False, True), (False, True), Phenomenon
    )
]


def ink(grid: Grid) -> int:
    return int(grid.drawn().sum())


@pytest.mark.parametrize("size_px", SIZES)
def test_every_weather_can_be_drawn(size_px: int) -> None:
    for weather, is_day in EVERY[:: 1 if size_px <= 32 else 7]:
        grid = icon_grid(weather, size_px=size_px, is_day=is_day)
        assert grid.size == (size_px, size_px)
        assert ink(grid) > size_px, (weather, is_day)


@pytest.mark.parametrize("size_px", SIZES)
@pytest.mark.parametrize("falling", FALLING)
@pytest.mark.parametrize(
    ("showers", "thunder", "fog"), [(0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1), (1, 1, 0), (0, 1, 1)]
)
def test_the_stronger_it_falls_the_more_is_drawn(
    size_px: int, falling: Falling, *, showers: int, thunder: int, fog: int
) -> None:
    weather = Weather(1, falling, showers=bool(showers), thunder=bool(thunder), fog=bool(fog))
    drawings = [icon_grid(replace(weather, strength=strength), size_px=size_px) for strength in Strength]
    amounts = [ink(grid) for grid in drawings]
    if falling is Falling.SLEET:  # there, heavy means more crystals, not always more ink
        assert len(set(drawings)) == 3 or (len(set(drawings)) == 2 and thunder and (showers or fog))
        assert drawings[0] != drawings[2]
    else:
        assert amounts[0] < amounts[1] < amounts[2]


def pieces(mask: np.ndarray) -> int:
    """How many parts do not touch one another, not even by a corner."""
    left = set(zip(*np.nonzero(mask), strict=True))
    count = 0
    while left:
        count += 1
        heap = [left.pop()]
        while heap:
            y, x = heap.pop()
            near = {(y + dy, x + dx) for dy, dx in product((-1, 0, 1), repeat=2)} & left
            left -= near
            heap += near
    return count


@pytest.mark.parametrize(("showers", "fog"), [(False, False), (True, False), (False, True)])
@pytest.mark.parametrize("size_px", [size for size in SIZES if size > 16])
def test_heavy_snow_beside_a_flash_does_not_run_together(size_px: int, *, showers: bool, fog: bool) -> None:
    if fog and size_px == 24:
        return  # the six rows between cloud and fog are too few for two of crystals
    light, heavy = (
        icon_grid(Weather(1, Falling.SNOW, s, showers, thunder=True, fog=fog), size_px=size_px).mask(INK)
        for s in (Strength.LIGHT, Strength.HEAVY)
    )
    assert pieces(heavy) - pieces(light) == 2


@pytest.mark.parametrize("size_px", SIZES)
@pytest.mark.parametrize("falling", FALLING)
def test_what_falls_stays_clear_of_the_fog(size_px: int, falling: Falling) -> None:
    measures = SIZES[size_px]
    for strength, thunder in product(Strength, (False, True)):
        drawn = icon_grid(Weather(1, falling, strength, thunder=thunder, fog=True), size_px=size_px).drawn()
        above = size_px - measures.low_fog - measures.pen - 1
        assert not drawn[above].any(), (strength, thunder)
        assert drawn[above + 1].any()
        assert drawn[-1].any()


@pytest.mark.parametrize("size_px", SIZES)
def test_every_kind_of_falling_looks_different(size_px: int) -> None:
    for strength, showers, thunder, fog in product(Strength, (False, True), (False, True), (False, True)):
        drawings = {
            icon_grid(Weather(1, falling, strength, showers, thunder, fog), size_px=size_px)
            for falling in FALLING
        }
        assert len(drawings) == len(FALLING)


@pytest.mark.parametrize("size_px", SIZES)
def test_equal_keys_are_equal_pictures_and_other_keys_others(size_px: int) -> None:
    by_key: dict[str, set[Grid]] = {}
    for weather, is_day in EVERY[:: 1 if size_px == 24 else 11]:
        key = describe(weather, is_day).key
        by_key.setdefault(key, set()).add(icon_grid(weather, size_px=size_px, is_day=is_day))
    assert {key: len(grids) for key, grids in by_key.items() if len(grids) != 1} == {}
    # Beside a flash there is little room: two strengths may share a picture there, never two kinds.
    calm = [next(iter(grids)) for key, grids in by_key.items() if "thunder" not in key]
    assert len(set(calm)) == len(calm)


@pytest.mark.parametrize("size_px", SIZES)
def test_what_the_air_does_has_one_picture_a_key(size_px: int) -> None:
    by_key: dict[str, set[Grid]] = {}
    for weather, is_day in [*AIR, *AIR_BESIDE]:
        grid = icon_grid(weather, size_px=size_px, is_day=is_day)
        by_key.setdefault(describe(weather, is_day).key, set()).add(grid)
        assert describe(weather, is_day).words
        assert 0.06 < grid.drawn().mean() < 0.4, weather
    assert {key: len(grids) for key, grids in by_key.items() if len(grids) != 1} == {}
    alone = [next(iter(by_key[describe(weather, is_day).key])) for weather, is_day in AIR]
    keys = {describe(weather, is_day).key for weather, is_day in AIR}
    assert (
        len(set(alone)) == len(keys) == len(Phenomenon) - 1 + 4
    )  # mist and haze: by day, by night, under cloud


def test_names_of_what_the_air_does() -> None:
    named = [
        (Weather(0.2, phenomenon=Phenomenon.HAZE), "haze-day", "haze"),
        (Weather(1, phenomenon=Phenomenon.MIST), "mist-cloudy", "mist"),
        (Weather(1, fog=True, phenomenon=Phenomenon.FREEZING_FOG), "freezing-fog", "freezing fog"),
        (Weather(1, fog=True, phenomenon=Phenomenon.SMOKE), "fog", "fog"),
        (Weather(1, Falling.RAIN, phenomenon=Phenomenon.MIST), "rain-moderate", "rain"),
        (Weather(1, Falling.SNOW, Strength.HEAVY, phenomenon=Phenomenon.BLOWING_SNOW), "snow-heavy-wind", "heavy snow with blowing snow"),
        (Weather(1, thunder=True, phenomenon=Phenomenon.SANDSTORM), "thunder-dust", "thunder with sandstorm"),
        (Weather(1, Falling.HAIL, thunder=True, phenomenon=Phenomenon.FUNNEL), "funnel", "funnel cloud"),
        (Weather(1, Falling.RAIN, thunder=True, phenomenon=Phenomenon.SQUALL), "rain-moderate-thunder-wind", "rain with thunder and squalls"),
        (Weather(1, Falling.ICE_PELLETS, Strength.LIGHT), "ice-pellets-light", "light ice pellets"),
    ]  # fmt: skip
    assert [(describe(w).key, describe(w).words) for w, _, _ in named] == [
        (key, words) for _, key, words in named
    ]


@pytest.mark.parametrize("size_px", SIZES)
def test_the_clear_sun_is_symmetric(size_px: int) -> None:
    codes = icon_grid(Weather(), size_px=size_px).codes
    rows, columns = np.nonzero(codes)
    sun = codes[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1]
    assert sun.shape[0] == sun.shape[1]
    for other in (sun[::-1], sun[:, ::-1], sun.T):
        assert np.array_equal(sun, other)
    assert abs(columns.min() - (size_px - 1 - columns.max())) <= 1
    assert abs(rows.min() - (size_px - 1 - rows.max())) <= 1


@pytest.mark.parametrize("size_px", SIZES)
def test_strokes_are_as_wide_as_the_pen(size_px: int) -> None:
    pen = SIZES[size_px].pen
    codes = icon_grid(Weather(0.8), size_px=size_px).codes
    middle = codes[:, size_px // 2] == INK
    base = int(np.nonzero(middle)[0].max())
    assert middle[base - pen + 1 : base + 1].all()
    assert not middle[base - pen]
    rain = icon_grid(Weather(1, Falling.RAIN), size_px=size_px).codes[
        SIZES[size_px].base_wet + SIZES[size_px].fall
    ]
    edges = np.flatnonzero(np.diff(np.concatenate([[0], (rain == INK).astype(int), [0]])))
    # A stroke that leans one in two is wider along a row than across itself by half the root of five.
    assert set((edges[1::2] - edges[::2]).tolist()) == {round(pen * 5**0.5 / 2)}


@pytest.mark.parametrize("size_px", SIZES)
def test_a_cloud_keeps_its_baseline(size_px: int) -> None:
    def base(weather: Weather, column: int) -> int:
        codes = icon_grid(weather, size_px=size_px).codes
        return int(np.nonzero(codes[: SIZES[size_px].base_wet + 1, column])[0].max())

    wet = {base(Weather(1, f, s), size_px // 2) for f, s in product(FALLING, Strength) if f != Falling.SNOW}
    assert len(wet) <= 2  # the base itself, and what begins on the next row
    dry = {
        int(np.nonzero(icon_grid(Weather(c), size_px=size_px).codes[:, size_px // 3])[0].max())
        for c in (0.45, 0.8, 1)
    }
    assert dry == {SIZES[size_px].base_dry - 1}


def test_a_sun_of_its_own_ink_is_a_full_disc() -> None:
    ring = icon_grid(Weather(), size_px=48)
    full = icon_grid(Weather(), size_px=48, solid=True)
    assert set(np.unique(ring.codes).tolist()) == {NOTHING, INK}
    assert set(np.unique(full.codes).tolist()) == {NOTHING, ACCENT}
    assert ink(full) > ink(ring)
    red = str(icon(Weather(), size_px=48, palette=Palette(accent="#cc0000")))
    assert 'fill="#cc0000"' in red
    assert 'fill="#000000"' not in red


def test_thunder_is_in_the_accent() -> None:
    grid = icon_grid(Weather(1, Falling.RAIN, thunder=True), size_px=48)
    assert grid.mask(ACCENT).any()
    assert not icon_grid(Weather(1, Falling.RAIN), size_px=48).mask(ACCENT).any()


def test_the_moon_follows_its_phase() -> None:
    drawings = [
        icon_grid(Weather(), size_px=48, is_day=False, moon_phase=p) for p in (None, 0.1, 0.25, 0.5, 0.75)
    ]
    assert len(set(drawings)) == len(drawings)
    day = icon_grid(Weather(), size_px=48, moon_phase=0.25)
    assert day == icon_grid(Weather(), size_px=48)
    with pytest.raises(SheetError, match="0 to 1"):
        icon_grid(Weather(), size_px=48, is_day=False, moon_phase=1.2)


@pytest.mark.parametrize(
    ("size_px", "drawn", "times"),
    [
        (16, 16, 1),
        (23, 16, 1),
        (40, 32, 1),
        (63, 48, 1),
        (95, 64, 1),
        (100, 96, 1),
        (127, 96, 1),
        (128, 128, 1),
        (137, 128, 1),
        (150, 128, 1),
        (160, 160, 1),
        (191, 160, 1),
        (192, 96, 2),
        (256, 128, 2),
        (288, 96, 3),
        (320, 160, 2),
    ],
)
def test_sizes_between_take_a_drawing_with_whole_pixels(size_px: int, drawn: int, times: int) -> None:
    measures, enlarged = fitting(size_px)
    assert (measures.size, enlarged) == (drawn, times)
    assert icon_grid(Weather(0.8), size_px=size_px).size == (size_px, size_px)


def test_too_small_a_box_is_refused() -> None:
    with pytest.raises(SheetError, match="an icon is at least 16 pixels wide, got 15") as caught:
        icon(Weather(), size_px=15, palette=Palette())
    assert "size_px=16" in caught.value.mend
    with pytest.raises(SheetError, match="at most 8192"):
        icon(Weather(), size_px=10_000, palette=Palette())


# Oktas from memory: ICAO Annex 3, appendix 3: few 1-2, scattered 3-4, broken 5-7, overcast 8.
@pytest.mark.parametrize(
    ("eighths", "name"),
    list(
        enumerate(
            [
                "clear",
                "fair",
                "fair",
                "partly-cloudy",
                "partly-cloudy",
                "cloudy",
                "cloudy",
                "cloudy",
                "overcast",
            ]
        )
    ),
)
def test_cover_by_eighths(eighths: int, name: str) -> None:
    assert cover(Weather(eighths / 8)) is Cover(name)


@pytest.mark.parametrize(
    ("weather", "is_day", "key", "words"),
    [
        (Weather(), True, "clear-day", "sunny"),
        (Weather(), False, "clear-night", "clear night"),
        (Weather(0.2), True, "fair-day", "mostly sunny"),
        (Weather(0.4), False, "partly-cloudy-night", "partly cloudy night"),
        (Weather(0.8), False, "cloudy", "cloudy"),
        (Weather(1), True, "overcast", "overcast"),
        (Weather(1, fog=True), True, "fog", "fog"),
        (Weather(1, Falling.RAIN), True, "rain-moderate", "rain"),
        (Weather(1, Falling.FREEZING_RAIN, Strength.HEAVY), True, "freezing-rain-heavy", "heavy freezing rain"),
        (Weather(0.5, Falling.SNOW, Strength.LIGHT, showers=True), False, "snow-light-showers-night", "light snow showers"),
        (Weather(1, Falling.HAIL, thunder=True, fog=True), True, "hail-moderate-thunder-fog", "hail with thunder and fog"),
        (Weather(1, thunder=True), True, "thunder", "thunder"),
        (Weather(1, thunder=True, fog=True), True, "thunder-fog", "thunder with fog"),
        (Weather(0.5, Falling.RAIN, showers=True, fog=True), True, "rain-moderate-fog", "rain showers with fog"),
    ],
)  # fmt: skip
def test_names_and_words(weather: Weather, *, is_day: bool, key: str, words: str) -> None:
    described = describe(weather, is_day)
    assert (described.key, described.words) == (key, words)
    assert f'aria-label="{words}"' in str(icon(weather, size_px=32, is_day=is_day, palette=Palette()))


def sheet(shown: list[tuple[Weather, bool]], size_px: int, *, solid: bool) -> np.ndarray:
    """Pictures in rows of nine."""
    rows = -(-len(shown) // 9)
    codes = np.zeros((rows * size_px, 9 * size_px), dtype=np.uint8)
    for number, (weather, is_day) in enumerate(shown):
        y, x = divmod(number, 9)
        part = icon_grid(weather, size_px=size_px, is_day=is_day, solid=solid).codes
        codes[y * size_px : (y + 1) * size_px, x * size_px : (x + 1) * size_px] = part
    return codes


SHEETS = {
    "sky": [(Weather(cloud), is_day) for is_day in (True, False) for cloud in (0, 0.2, 0.45, 0.8)]
    + [(Weather(1), True), (Weather(fog=True), True)],
    "steady": [(Weather(1, falling, strength), True) for falling, strength in product(FALLING, Strength)],
    "showers": [(Weather(0.5, falling, s, showers=True), s is not Strength.LIGHT) for falling, s in product(FALLING, Strength)],
    "thunder": [(Weather(1, falling, s, thunder=True), True) for falling, s in product(FALLING, Strength)],
    "fog": [(Weather(1, falling, s, fog=True), True) for falling, s in product(FALLING, Strength)],
    "air": [
        *((weather, is_day) for weather, is_day in AIR if is_day and weather.cloud < 1),
        *(pair for pair in AIR if pair[0].phenomenon in {Phenomenon.MIST, Phenomenon.HAZE} and pair not in AIR[::4]),
        (Weather(1, Falling.SNOW, Strength.HEAVY, phenomenon=Phenomenon.BLOWING_SNOW), True),
        (Weather(1, Falling.RAIN, thunder=True, phenomenon=Phenomenon.SQUALL), True),
        (Weather(1, thunder=True, phenomenon=Phenomenon.SANDSTORM), True),
    ],
}  # fmt: skip


def every(name: str, size_px: int) -> int:
    """A golden picture is small: of the large drawings every second, third or fourth one does."""
    return 1 + (size_px >= 128) + (size_px > 128) + (name == "air" and size_px >= 96)


@pytest.mark.parametrize("size_px", SIZES)
@pytest.mark.parametrize("name", SHEETS)
def test_the_set_looks_as_accepted(size_px: int, name: str) -> None:
    shown = SHEETS[name][:: every(name, size_px)]
    codes = sheet(shown, size_px, solid=size_px in (32, 64, 160))
    check_golden(f"icons-{name}-{size_px}", codes, PAPER_BLACK_RED)


@pytest.mark.parametrize("size_px", SIZES)
def test_the_engine_paints_no_pixel_between_two_inks(size_px: int) -> None:
    palette = Palette(ink="#141414", accent="#b41e1e", paper="#ffffff")
    shown = [
        Weather(0.2),
        Weather(0.45),
        Weather(1, Falling.SNOW),
        Weather(0.5, Falling.RAIN, showers=True, thunder=True),
    ]
    icons = "".join(str(icon(weather, size_px=size_px, palette=palette)) for weather in shown)
    page = (
        f'<body style="margin:7px;background:#deded6"><div style="display:flex;gap:5px">{icons}</div></body>'
    )
    width, height, data = blitz_py.render_rgba(page, width=4 * size_px + 40, height=size_px + 20)
    picture = np.frombuffer(bytes(data), dtype=np.uint8).reshape(height, width, 4)[:, :, :3]
    off = {tuple(colour) for colour in picture.reshape(-1, 3).tolist()} - {
        (0xDE, 0xDE, 0xD6),
        (20, 20, 20),
        (180, 30, 30),
    }
    assert off == set()
    grids = [icon_grid(weather, size_px=size_px, solid=True) for weather in shown]
    inked = int((picture == (20, 20, 20)).all(axis=2).sum())
    assert inked == sum(int(grid.mask(INK).sum()) for grid in grids)


def test_the_smallest_rain_in_letters() -> None:
    assert icon_grid(Weather(1, Falling.RAIN), size_px=16) == from_letters("""
        ................
        ....####........
        ...#....#.......
        ..#......####...
        .##......#...#..
        ##............#.
        #.............#.
        #.............#.
        ##...........#..
        .############...
        ................
        ...#...#...#....
        ...#...#...#....
        ..#...#...#.....
        ..#...#...#.....
        ................
    """)


def test_the_smallest_sun_in_letters() -> None:
    assert icon_grid(Weather(), size_px=16) == from_letters("""
        ................
        .......#........
        .......#........
        ...#.......#....
        ......###.......
        .....#...#......
        ....#.....#.....
        .##.#.....#.##..
        ....#.....#.....
        .....#...#......
        ......###.......
        ...#.......#....
        .......#........
        .......#........
        ................
        ................
    """)
