"""Line work in letter grids: edges, thin strokes, hairlines, never a third ink."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests.inks import typical
from tests.inks.typical import BW, BWR, BWRY, SEVEN, SIX, grid, letters, paint, still
from wallbill.inks.separation import separate
from wallbill.panels.model import Ink, Panel


def grey(code: int) -> tuple[int, int, int]:
    return (code, code, code)


def drawn(text: str, panel: Panel = BWR, **colours: tuple[int, int, int]) -> str:
    return letters(separate(paint(text, **colours), panel=panel).codes, panel)


def test_a_mid_grey_edge_between_black_and_white_never_turns_red() -> None:
    assert drawn(
        """
        ................
        ...a######b.....
        ..a########b....
        ..a########b....
        ...a######b.....
        ................
        """,
        a=grey(100),
        b=grey(180),
    ) == grid("""
        ................
        ...#######......
        ..#########.....
        ..#########.....
        ...#######......
        ................
    """)


def test_red_on_white_keeps_red_edges() -> None:
    assert drawn(
        """
        ............
        ..prrrrrrq..
        ..prrrrrrq..
        ..prrrrrrq..
        ............
        """,
        p=(255, 100, 100),
        q=(255, 180, 180),
    ) == grid("""
        ............
        ..rrrrrrr...
        ..rrrrrrr...
        ..rrrrrrr...
        ............
    """)


def test_white_on_red_keeps_white_edges() -> None:
    assert drawn(
        """
        rrrrrrrrrrrr
        rrq......prr
        rrq......prr
        rrq......prr
        rrrrrrrrrrrr
        """,
        p=(255, 100, 100),
        q=(255, 180, 180),
    ) == grid("""
        rrrrrrrrrrrr
        rr.......rrr
        rr.......rrr
        rr.......rrr
        rrrrrrrrrrrr
    """)


def test_a_dark_mix_of_red_and_black_is_red_or_black() -> None:
    assert drawn("##########\n##prrrrq##\n##prrrrq##\n##########", p=(100, 0, 0), q=(180, 0, 0)) == grid("""
        ##########
        ###rrrrr##
        ###rrrrr##
        ##########
    """)


def test_an_edge_between_an_ink_and_a_tint_takes_the_tints_pattern() -> None:
    text = """
        tttttttttttttttt
        tttttttttttttttt
        ttttta####bttttt
        ttttta####bttttt
        ttttta####bttttt
        tttttttttttttttt
        tttttttttttttttt
        tttttttttttttttt
    """
    sharp = text.replace("a", "#").replace("b", "t")
    assert drawn(text, t=grey(200), a=grey(70), b=grey(150)) == drawn(sharp, t=grey(200))


def test_letters_on_a_tint_keep_the_tint_in_their_counters() -> None:
    text = """
        tttttttttttttt
        tttttttttttttt
        ttt####ttttttt
        ttt#tt#ttttttt
        ttt#tt#ttttttt
        ttt####ttttttt
        tttttttttttttt
        tttttttttttttt
        tttttttttttttt
    """
    flat = separate(paint(text.replace("#", "t"), t=grey(170)), panel=BWR).codes
    got = separate(paint(text, t=grey(170)), panel=BWR).codes
    ink = (paint(text, t=grey(170)) == 0).all(axis=2)
    np.testing.assert_array_equal(got, np.where(ink, 0, flat))


@pytest.mark.parametrize(
    ("code", "line"),
    [
        (238, "#..#..#..#..#..#"),
        (221, ".#.#.#.#.#.#.#.#"),
        (196, ".#.#.#.#.#.#.#.#"),
        (153, "################"),
        (128, "################"),
        (102, "################"),
    ],
)
def test_a_hairline_in_grey_never_vanishes(code: int, line: str) -> None:
    across = drawn(f"{'.' * 18}\n{'.' * 18}\n.{'a' * 16}.\n{'.' * 18}\n{'.' * 18}", a=grey(code)).split("\n")
    assert across[2].count("#") == line.count("#")
    assert across[2].strip(".") == line.strip(".")
    assert all(set(row) == {"."} for place, row in enumerate(across) if place != 2)
    tall = typical.still(
        np.transpose(paint(f"{'.' * 18}\n.{'a' * 16}.\n{'.' * 18}", a=grey(code)), (1, 0, 2))
    )
    down = letters(separate(tall, panel=BWR).codes, BWR).split("\n")
    assert "".join(row[1] for row in down).count("#") >= 5


def test_a_hairline_in_two_inks_colours_shows_its_colour() -> None:
    got = drawn(".......\n.......\nooooooo\n.......\n.......", panel=BWRY)
    assert got.split("\n")[2] == "rrrrrrr"
    lime = drawn(".......\n.......\naaaaaaa\n.......\n.......", panel=SIX, a=(180, 255, 0))
    assert set(lime.split("\n")[2]) <= {"y", "g"}


def test_a_tick_on_an_axis_does_not_vanish() -> None:
    assert drawn("......\n..a...\n..a...\n..a...\n######\n######\n######", a=grey(140)) == grid("""
        ......
        ..#...
        ..#...
        ..#...
        ######
        ######
        ######
    """)


def test_a_smoothed_thin_stroke_does_not_vanish() -> None:
    text = """
        ..........
        ..ab......
        ..ba......
        ...ab.....
        ...ba.....
        ..........
    """
    rows = drawn(text, a=grey(150), b=grey(170)).split("\n")
    assert all("#" in row for row in rows[1:5])


def test_where_three_colours_meet_one_of_them_stands() -> None:
    text = """
        #####rrrrr
        #####rrrrr
        #####rrrrr
        aaaaajbbbb
        ..........
        ..........
    """
    got = drawn(text, panel=SIX, a=grey(150), b=(255, 150, 150), j=(190, 80, 80))
    assert set(got) <= set("#r.\n")


def test_thin_line_work_in_no_ink_is_noticed() -> None:
    text = "......\n.aaaa.\n......"
    (finding,) = separate(paint(text, a=grey(150)), panel=BW).findings
    assert finding.rule == "inks.thin-tint"
    assert finding.measured == "4"
    assert not separate(paint(text.replace("a", "#")), panel=BW).findings


PAIRS = [(one, other) for one in SEVEN.inks for other in SEVEN.inks if one is not other]


@settings(max_examples=200, deadline=None)
@given(
    st.sampled_from(PAIRS),
    st.lists(st.floats(0, 1), min_size=2, max_size=2),
    st.sampled_from((0, 1)),
    st.sampled_from((0, 1, 2)),
)
def test_a_smoothed_edge_yields_only_its_two_inks_and_the_nearer_one(
    pair: tuple[Ink, Ink], shares: list[float], turn: int, wide: int
) -> None:
    """Source of the rule: docs/explanation/inks.md."""
    one, other = (np.array(ink.css, dtype=float) for ink in pair)
    shares = sorted(shares)[:wide]
    line = np.array([one] * 5 + [one + (other - one) * s for s in shares] + [other] * 5)
    rgb = np.repeat(np.rint(line)[None], 9, axis=0).astype(np.uint8)
    rgb = rgb.transpose(1, 0, 2) if turn else rgb
    codes = separate(still(rgb), panel=SEVEN).codes
    codes = codes.T if turn else codes
    places = (SEVEN.inks.index(pair[0]), SEVEN.inks.index(pair[1]))
    between = {tuple(colour) for colour in np.rint(line[5:-5]).astype(int)}
    assume(not between & {ink.css for ink in SEVEN.inks if ink not in pair})  # such a colour is that ink
    assert set(np.unique(codes)) <= set(places)
    for place, share in enumerate(shares):
        if abs(share - 0.5) > 0.04:
            assert set(codes[1:-1, 5 + place]) == {places[int(share > 0.5)]}


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from((BW, BWR, SIX)))
def test_a_smoothed_drawing_has_no_colour_that_it_was_not_drawn_in(seed: int, panel: Panel) -> None:
    """Discs in black and white on white, eightfold smoothed: no other ink comes in."""
    chance = np.random.default_rng(seed)
    y, x = np.mgrid[0 : 60 * 8, 0 : 60 * 8] / 8
    big = np.full(x.shape, 255.0)
    for _ in range(5):
        cx, cy, r = chance.uniform((5, 5, 1), (55, 55, 15))
        big[(x - cx) ** 2 + (y - cy) ** 2 < r * r] = chance.choice((0, 255))
    page = np.rint(big.reshape(60, 8, 60, 8).mean(axis=(1, 3)))
    rgb = np.repeat(page[..., None], 3, axis=2)
    codes = separate(still(rgb), panel=panel).codes
    assert {panel.inks[code].name for code in np.unique(codes)} <= {"black", "white"}
    sure = (page <= 20) | (page >= 235)
    wrong = (codes == 0) != (page < 128)
    assert (wrong & sure).sum() <= 0.02 * sure.sum()
