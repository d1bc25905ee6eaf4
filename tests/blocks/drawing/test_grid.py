"""Grids, shapes and hatches: every pixel is where the geometry says, and the engine paints exactly those."""

import math

import blitz_py
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import ACCENT, INK, NOTHING, PAPER, Grid, Sketch, from_letters
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.patterns import Hatch, hatch
from wallbill.blocks.drawing.svg import path_data, to_svg
from wallbill.inks.impression import frozen_codes


def painted(html: str, width: int, height: int) -> np.ndarray:
    """The engine's picture, uint8 (height, width, 3)."""
    page = f'<body style="margin:0"><div style="line-height:0">{html}</div></body>'
    got_width, got_height, data = blitz_py.render_rgba(page, width=width, height=height)
    return np.frombuffer(bytes(data), dtype=np.uint8).reshape(got_height, got_width, 4)[:, :, :3]


def letters(mask: np.ndarray) -> str:
    return "\n".join("".join("#" if on else "." for on in row) for row in mask)


def drawing(text: str) -> str:
    return "\n".join(line.strip() for line in text.strip().splitlines())


def test_a_disc_of_even_width_has_no_nipples() -> None:
    assert letters(shapes.disc((8, 8), (4, 4), radius_px=4)) == drawing("""
        ..####..
        .######.
        ########
        ########
        ########
        ########
        .######.
        ..####..
    """)


def test_a_disc_of_odd_width() -> None:
    assert letters(shapes.disc((7, 7), (3.5, 3.5), radius_px=3.5)) == drawing("""
        ..###..
        .#####.
        #######
        #######
        #######
        .#####.
        ..###..
    """)


def test_a_line_of_one_pixel() -> None:
    # Worked by hand after Bresenham 1965: a rise of 3 over 7 steps, each pixel in the nearer row.
    assert letters(shapes.line((8, 4), [(0, 0), (7, 3)])) == drawing("""
        ##......
        ..##....
        ....##..
        ......##
    """)


def test_a_wide_line_keeps_its_width() -> None:
    for width in (1, 2, 3, 4, 5):
        mask = shapes.line((40, 20), [(5, 10), (34, 10)], line_px=width)
        assert set(mask[:, 10:30].sum(axis=0).tolist()) == {width}


def test_dashes() -> None:
    mask = shapes.line((10, 1), [(0, 0), (9, 0)], dash_px=(2, 1))
    assert letters(mask) == "##.##.##.#"
    with pytest.raises(ValueError, match="on and off"):
        shapes.line((10, 1), [(0, 0), (9, 0)], dash_px=(2,))


def test_a_frame_and_a_rounded_box() -> None:
    assert letters(shapes.frame((5, 4), (0, 0, 5, 4))) == "#####\n#...#\n#...#\n#####"
    assert letters(shapes.rounded((8, 6), (0, 0, 8, 6), radius_px=2)) == drawing("""
        .######.
        ########
        ########
        ########
        ########
        .######.
    """)


def test_a_polygon_with_a_hole() -> None:
    outer = [(0, 0), (6, 0), (6, 6), (0, 6)]
    hole = [(2, 2), (4, 2), (4, 4), (2, 4)]
    assert letters(shapes.polygon((6, 6), outer, hole)) == drawing("""
        ######
        ######
        ##..##
        ##..##
        ######
        ######
    """)


def test_an_arc_is_a_quarter_of_its_ring() -> None:
    whole = shapes.ring((20, 20), (10, 10), radius_px=9, line_px=2)
    quarter = shapes.arc((20, 20), (10, 10), radius_px=9, line_px=2, span_deg=(0, 90))
    assert 4 * quarter.sum() == whole.sum()
    assert quarter[:10, 10:].sum() == quarter.sum()


def test_hatches_cover_what_their_names_say() -> None:
    for pattern in Hatch:
        if "-" not in pattern.value:
            continue
        share = hatch((240, 240), pattern).mean()
        assert math.floor(share * 100) == int(pattern.value.split("-")[1]), pattern


def test_hatches_of_areas_join() -> None:
    whole = hatch((30, 30), Hatch.RISING_25)
    left, right = shapes.rectangle((30, 30), (0, 0, 13, 30)), shapes.rectangle((30, 30), (13, 0, 17, 30))
    assert np.array_equal((left & whole) | (right & whole), whole)


def test_letters_there_and_back() -> None:
    text = drawing("""
        ..#+
        -:.#
    """)
    grid = from_letters(text)
    assert grid.letters() == text
    assert grid.size == (4, 2)
    with pytest.raises(ValueError, match="line 1, column 2"):
        from_letters(".x")
    with pytest.raises(ValueError, match="equally long"):
        from_letters("..\n.")


def test_a_grid_cannot_be_written_into() -> None:
    sketch = Sketch(3, 3)
    grid = sketch.grid()
    sketch.lay(shapes.rectangle((3, 3), (0, 0, 1, 1)))
    assert not grid.drawn().any()
    with pytest.raises(ValueError, match="read-only"):
        grid.codes[0, 0] = INK
    with pytest.raises(ValueError, match="0 to 4"):
        Grid(frozen_codes(np.array([[9]])))


def test_stamps_are_cut_off_at_the_edge() -> None:
    stamp = from_letters("##\n##")
    assert Sketch(2, 2).stamp(stamp, at=(-1, 1)).grid().letters() == "..\n#."
    assert not Sketch(2, 2).stamp(stamp, at=(5, 5)).grid().drawn().any()


def test_growing_and_shrinking() -> None:
    dot = shapes.rectangle((7, 7), (3, 3, 1, 1))
    assert letters(shapes.grown(dot, 1)) == letters(shapes.rectangle((7, 7), (2, 2, 3, 3)))
    box = shapes.rectangle((9, 9), (1, 1, 7, 7))
    assert np.array_equal(shapes.shrunk(box, 2), shapes.rectangle((9, 9), (3, 3, 3, 3)))
    edge = ~shapes.nothing((4, 4))
    assert np.array_equal(shapes.shrunk(edge, 1), shapes.rectangle((4, 4), (1, 1, 2, 2)))


GRIDS = st.integers(1, 14).flatmap(
    lambda width: st.lists(
        st.lists(st.integers(0, 4), min_size=width, max_size=width), min_size=1, max_size=14
    )
)


@given(GRIDS)
@settings(max_examples=60, deadline=None)
def test_the_engine_paints_exactly_the_grid(rows: list[list[int]]) -> None:
    grid = Grid(frozen_codes(np.array(rows)))
    palette = Palette(ink="#000000", accent="#d00000", paper="#f0f0e8", muted="#707070")
    colours = np.array(
        [(255, 255, 255), (0, 0, 0), (0xD0, 0, 0), (0xF0, 0xF0, 0xE8), (0x70, 0x70, 0x70)], dtype=np.uint8
    )
    picture = painted(str(to_svg(grid, palette, title="")), grid.width_px + 4, grid.height_px + 4)
    assert np.array_equal(picture[: grid.height_px, : grid.width_px], colours[grid.codes])
    assert (picture[:, grid.width_px :] == 255).all()


@given(GRIDS)
@settings(max_examples=100, deadline=None)
def test_path_data_is_the_mask_by_the_even_odd_rule(rows: list[list[int]]) -> None:
    mask = np.array(rows) > 2
    flips = np.zeros((mask.shape[0], mask.shape[1] + 1), dtype=int)
    for ring in path_data(mask).split("M")[1:]:
        head, *steps = ring.rstrip("z").replace("h", " h").replace("v", " v").split(" h")
        x, y = (int(part) for part in head.split())
        start = (x, y)
        for step in steps:
            across, _, down = step.partition(" v")
            x += int(across)
            fall = int(down) if down else start[1] - y
            flips[min(y, y + fall) : max(y, y + fall), x] += 1
            y += fall
        assert (x, y) == start
    assert np.array_equal(np.cumsum(flips, axis=1)[:, :-1] % 2 == 1, mask)


def test_one_path_a_colour() -> None:
    grid = from_letters("#+\n-:")
    assert str(to_svg(grid, Palette(), title="a <b>")).count("<path") == 2
    svg = str(to_svg(grid, Palette(accent="#ff0000", muted="#808080"), title="a <b>"))
    assert svg.count("<path") == 4
    assert 'aria-label="a &lt;b&gt;"' in svg
    assert 'role="img"' in svg
    assert "aria-hidden" in str(to_svg(grid, Palette(), title=""))


def test_codes_without_a_colour_and_wrong_colours() -> None:
    with pytest.raises(ValueError, match="no colour"):
        Palette().css(NOTHING)
    with pytest.raises(ValueError, match="accent is a colour"):
        Palette(accent="red")
    assert Palette(accent="#ff0000").has_accent
    assert not Palette().has_accent
    assert Palette(accent="#ff0000").css(ACCENT) == "#ff0000"
    assert Palette().css(PAPER) == "#ffffff"


points = st.floats(-3, 20, allow_nan=False)


@given(st.lists(st.tuples(points, points), min_size=3, max_size=3), points)
@settings(max_examples=100, deadline=None)
def test_polygons_that_share_an_edge_leave_no_gap(corners: list[tuple[float, float]], across: float) -> None:
    a, b, c = corners
    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    whole = shapes.polygon((16, 16), [a, middle, b, c])
    parts = [shapes.polygon((16, 16), [a, middle, c]), shapes.polygon((16, 16), [middle, b, c])]
    assert np.array_equal(parts[0] ^ parts[1], whole)
