"""Tints: the right mean, regular, locked to the page, calm."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import ArrayLike

from tests.inks import typical
from wallbill.inks import colour, halftone, tints
from wallbill.inks.colour import Floats
from wallbill.inks.impression import Codes, Rgb
from wallbill.inks.inkset import ink_set
from wallbill.inks.separation import separate
from wallbill.panels.model import Panel

PANELS = (typical.BW, typical.BWR, typical.BWRY, typical.SIX, typical.SEVEN)
CODES = st.tuples(*[st.integers(0, 255)] * 3)


def _flat(code: ArrayLike, size: tuple[int, int] = (48, 48)) -> Rgb:
    return typical.still(np.broadcast_to(np.array(code, dtype=np.uint8), (*size, 3)))


def _mean(codes: Codes, panel: Panel) -> Floats:
    mean: Floats = colour.codes_to_linear([ink.css for ink in panel.inks])[codes].mean(axis=(0, 1))
    return mean


def test_bayer_is_as_published() -> None:
    """B. E. Bayer, IEEE ICC 1973: the matrices of 2 and 4, and the rule that doubles them."""
    assert tints.bayer(2).tolist() == [[0, 2], [3, 1]]
    assert tints.bayer(4).tolist() == [[0, 8, 2, 10], [12, 4, 14, 6], [3, 11, 1, 9], [15, 7, 13, 5]]
    assert sorted(tints.bayer(16).ravel().tolist()) == list(range(256))


@settings(max_examples=150, deadline=None)
@given(st.integers(0, 255), st.sampled_from(PANELS))
def test_greys_have_their_mean_within_one_per_cent(grey: int, panel: Panel) -> None:
    codes = separate(_flat((grey, grey, grey)), panel=panel).codes
    assert np.abs(_mean(codes, panel) - colour.codes_to_linear([grey])[0]).max() <= 0.01
    assert {panel.inks[code].name for code in np.unique(codes)} <= {"black", "white"}


@settings(max_examples=150, deadline=None)
@given(st.data(), st.sampled_from(PANELS))
def test_mixes_of_the_inks_have_their_mean_within_one_per_cent(data: st.DataObject, panel: Panel) -> None:
    shares = np.array(
        data.draw(st.lists(st.integers(0, 9), min_size=len(panel.inks), max_size=len(panel.inks)))
    )
    if not shares.sum():
        shares = shares + 1
    light = colour.codes_to_linear([ink.css for ink in panel.inks])
    code = colour.linear_to_codes(shares / shares.sum() @ light)
    codes = separate(_flat(code), panel=panel).codes
    # rounding to sRGB codes can put a colour just outside of what the inks can mix: half a code's light
    assert np.abs(_mean(codes, panel) - colour.codes_to_linear(code)).max() <= 0.01 + 0.0025


@settings(max_examples=60, deadline=None)
@given(CODES, st.sampled_from(PANELS))
def test_any_colour_has_the_mean_of_its_nearest_mix(code: tuple[int, int, int], panel: Panel) -> None:
    inks = ink_set(panel.inks)
    wanted = (tints.shares_of(np.array([code], dtype=np.uint8), inks) @ colour.lms_to_linear(inks.written))[0]
    got = _mean(separate(_flat(code), panel=panel).codes, panel)
    assert np.abs(got - wanted).max() <= 0.0101


@given(st.integers(0, 255))
@settings(max_examples=40, deadline=None)
def test_a_tint_repeats(grey: int) -> None:
    codes = separate(_flat((grey, grey, grey)), panel=typical.BW).codes
    np.testing.assert_array_equal(codes[16:32, 16:32], codes[:16, :16])


def test_half_light_is_a_chequerboard() -> None:
    codes = separate(_flat((188, 188, 188), (6, 6)), panel=typical.BW).codes  # 0.503 of the light
    assert typical.letters(codes, typical.BW) == typical.grid("""
        #.#.#.
        .#.#.#
        #.#.#.
        .#.#.#
        #.#.#.
        .#.#.#
    """)


def test_equal_colours_match_wherever_they_lie() -> None:
    rgb = np.full((64, 64, 3), 255, dtype=np.uint8)
    rgb[5:30, 3:20] = rgb[20:60, 33:61] = 170
    codes = separate(typical.still(rgb), panel=typical.BW).codes
    whole = separate(_flat((170, 170, 170), (64, 64)), panel=typical.BW).codes
    same = (rgb == 170).all(axis=2)
    np.testing.assert_array_equal(codes[same], whole[same])


def test_colours_next_to_an_ink_are_that_ink() -> None:
    for code in ((254, 254, 254), (3, 3, 3), (254, 0, 0), (255, 4, 4)):
        assert len(np.unique(separate(_flat(code), panel=typical.BWR).codes)) == 1


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 255), st.sampled_from(PANELS))
def test_a_darker_grey_never_loses_a_dark_dot(grey: int, panel: Panel) -> None:
    """Levels are nested, so a gradient does not crawl."""
    inks = ink_set(panel.inks)
    pair = np.repeat(np.array([[grey - 1], [grey]], dtype=np.uint8), 3, axis=1)
    darker, lighter = tints.levels_of(pair, inks)
    assert (darker >= lighter).all()


def test_a_gradient_keeps_its_mean_line_by_line() -> None:
    rgb = np.repeat(np.repeat(np.arange(256, dtype=np.uint8)[None, :, None], 256, axis=0), 3, axis=2)
    codes = separate(typical.still(rgb), panel=typical.BW).codes
    wanted = colour.codes_to_linear(np.arange(256))
    got = (codes == 1).mean(axis=0)
    blocks = np.abs(got.reshape(16, 16).mean(axis=1) - wanted.reshape(16, 16).mean(axis=1))
    assert blocks.max() < 0.02


def test_tints_allow_for_dot_gain() -> None:
    """With Yule and Nielsen's n the light that leaves the panel is the mix of the inks' lights."""
    panel = typical.panel(typical.BLACK, typical.WHITE, n=1.6)
    inks = ink_set(panel.inks, n=1.6)
    code = np.array([[150, 150, 150]], dtype=np.uint8)
    share = colour.codes_to_linear(code)[0, 0]
    got = halftone.mix(tints.shares_of(code, inks), inks.shown, n=1.6)[0]
    wanted = (1 - share) * inks.shown[0] + share * inks.shown[1]
    np.testing.assert_allclose(got, wanted, rtol=0.03)


def test_a_large_page_of_one_tint_is_that_tint_throughout() -> None:
    codes = separate(_flat((99, 99, 99), (200, 300)), panel=typical.BWRY).codes
    assert (codes == 1).mean() == pytest.approx(colour.codes_to_linear([99])[0], abs=0.01)
