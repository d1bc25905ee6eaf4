"""Half a pixel off: the bitmap comes back exactly, sideways, downwards and both."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from tests.inks import typical
from tests.inks.typical import BW, BWR, SIX, still
from wallbill.inks.colour import Floats
from wallbill.inks.impression import Mask
from wallbill.inks.separation import separate
from wallbill.panels.model import Ink, Panel

Array = NDArray[np.integer] | Floats

GLYPHS = """
    .......................................
    .......................................
    ..#...#..###...#.....##...#.##.#.......
    ..##.##.#...#........#....##..#........
    ..#.#.#.#####..#....###...#...#..#..#..
    ..#...#.#......#.....#....#...#..#.##..
    ..#...#..###...#.....#....#...#..##.#..
    .......................................
    ..#########################.....#.#.#..
    ................................#.#.#..
    ..#.....###.....#.#.#...........#.#.#..
    ..#....#...#....#.#.#.....###..........
    ..#....#...#....#.#.#.....#.#....##....
    ..###...###....................##..##..
    .......................................
    .......................................
"""
SHIFTS = ((1, 0), (0, 1), (1, 1))
ROUNDINGS = (np.floor, np.ceil, lambda light: np.floor(light) + 3 * ((light > 0) & (light < 255)))


def shifted(page: Array, by: tuple[int, int]) -> Floats:
    """The page painted half a pixel to the right (by[0]) and down (by[1]), as a box filter smooths it."""
    page = np.asarray(page, dtype=np.float64)
    if by[0]:
        page = np.concatenate((page[:, :1], (page[:, 1:] + page[:, :-1]) / 2), axis=1)
    if by[1]:
        page = np.concatenate((page[:1], (page[1:] + page[:-1]) / 2), axis=0)
    return page


def type_bitmap() -> Mask:
    """Bi-level type, a frame, a rule, a slope, a dot: True where there is ink."""
    image = Image.new("1", (120, 40), 0)
    draw = ImageDraw.Draw(image)
    draw.fontmode = "1"
    font = ImageFont.load_default_imagefont()
    draw.text((6, 4), "Wallbill em=8 iRg", fill=1, font=font)
    draw.text((40, 20), "ifjst", fill=1, font=font)
    draw.rectangle((80, 20, 84, 30), outline=1)
    draw.line((10, 30, 60, 30), fill=1)
    draw.point((70, 30), fill=1)
    draw.line((90, 25, 100, 35), fill=1)
    return np.array(image)


@pytest.mark.parametrize("by", SHIFTS, ids=("sideways", "down", "both"))
@pytest.mark.parametrize("rounding", ROUNDINGS, ids=("127", "128", "130"))
@pytest.mark.parametrize(
    ("ink", "ground"),
    [
        (typical.BLACK, typical.WHITE),
        (typical.RED, typical.WHITE),
        (typical.WHITE, typical.RED),
        (typical.WHITE, typical.BLACK),
        (typical.BLACK, typical.RED),
    ],
    ids=lambda ink: ink.name,
)
def test_type_comes_back_exactly(
    by: tuple[int, int], rounding: Callable[[Floats], Floats], ink: Ink, ground: Ink
) -> None:
    bitmap = type_bitmap()
    page = np.where(bitmap[..., None], ink.css, ground.css)
    codes = separate(still(rounding(shifted(page, by))), panel=BWR).codes
    np.testing.assert_array_equal(codes == BWR.inks.index(ink), bitmap)
    np.testing.assert_array_equal(codes == BWR.inks.index(ground), ~bitmap)


@pytest.mark.parametrize("by", SHIFTS, ids=("sideways", "down", "both"))
@pytest.mark.parametrize("panel", [BW, SIX], ids=("2 inks", "6 inks"))
def test_drawn_letters_come_back_exactly(by: tuple[int, int], panel: Panel) -> None:
    page = typical.paint(GLYPHS)
    codes = separate(still(shifted(page, by)), panel=panel).codes
    assert typical.letters(codes, panel) == typical.grid(GLYPHS)


def test_every_pixel_of_a_stem_at_half_tone() -> None:
    """A stem of one pixel at half a pixel is two columns of half tone; one of them is the stem."""
    text = "......\n..aa..\n..aa..\n..aa..\n..aa..\n......"
    for code in (127, 128, 130, 131):
        got = separate(typical.paint(text, a=(code, code, code)), panel=BWR).codes
        assert typical.letters(got, BWR) == typical.grid(text.replace("aa", "#."))


def test_a_grey_bar_is_no_row_of_dots() -> None:
    """A tint half-way between black and white stays a tint where it fills some room."""
    rgb = np.full((40, 60, 3), 255, dtype=np.uint8)
    rgb[10:30, 5:55] = 128
    codes = separate(still(rgb), panel=BW).codes
    assert (codes[10:30, 5:55] == 1).mean() == pytest.approx(0.216, abs=0.02)
    rows = codes[12:28, 8:52]
    assert len({row.tobytes() for row in rows}) > 2
