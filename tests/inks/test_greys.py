"""Panels of greys: measured levels, smoothed type kept, pictures scattered between levels."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.inks import typical
from tests.inks.typical import GREYS, SIXTEEN, still
from wallbill.inks import colour, greys
from wallbill.inks.bluenoise import lay_by_thresholds
from wallbill.inks.separation import separate
from wallbill.panels.model import Ink, Tone

# L* of sRGB greys is exact by CIE 15 and IEC 61966-2-1; the levels are typical, from memory.
LEVELS = np.array([ink.lab[0] for ink in GREYS])


def _wanted(code: int) -> float:
    """L* on the panel: the page's L*, fitted between the panel's black and white."""
    lightness = float(colour.lightness(colour.codes_to_linear([code])[0]))
    return float(LEVELS[0] + lightness / 100 * (LEVELS[-1] - LEVELS[0]))


@given(st.integers(0, 255))
def test_flat_greys_take_the_nearest_level(code: int) -> None:
    got = separate(still(np.full((4, 4, 3), code)), panel=SIXTEEN).codes
    assert len(np.unique(got)) == 1
    if any(ink.css[0] == code for ink in GREYS):
        assert GREYS[got[0, 0]].css[0] == code
    else:
        off = np.abs(LEVELS - _wanted(code))
        assert off[got[0, 0]] <= off.min() + 0.05


def test_black_and_white_are_the_panels_own() -> None:
    rgb = still(np.repeat(np.array([[0, 255]]), 3, axis=0)[..., None].repeat(3, axis=2))
    assert separate(rgb, panel=SIXTEEN).codes.tolist() == [[0, 15]] * 3


def test_smoothed_type_is_kept_pixel_by_pixel() -> None:
    codes = separate(
        still(np.array([[255, 200, 90, 0, 128, 255]])[..., None].repeat(3, axis=2)), panel=SIXTEEN
    ).codes
    assert codes[0, 0] == codes[0, -1] == 15
    assert codes[0, 3] == 0
    assert 15 > codes[0, 1] > codes[0, 4] > codes[0, 2] > 0


def test_colours_go_by_their_lightness() -> None:
    rgb = still(np.array([[[255, 0, 0], [0, 255, 0], [0, 0, 255]]]))
    red, green, blue = separate(rgb, panel=SIXTEEN).codes[0]
    # L* 53.2, 87.7 and 32.3 (see test_colour): the levels at 17 + 0.51 L*
    for got, lightness in ((red, 53.2408), (green, 87.7347), (blue, 32.2970)):
        assert got == np.abs(LEVELS - (17 + 0.51 * lightness)).argmin()


@pytest.mark.parametrize("code", range(0, 256, 15))
def test_a_picture_has_the_mean_light_of_its_lightness(code: int) -> None:
    rgb = still(np.full((64, 64, 3), code))
    codes = separate(rgb, panel=SIXTEEN, picture=np.ones((64, 64), dtype=bool)).codes
    got = colour.luminance(LEVELS)[codes].mean()
    assert got == pytest.approx(float(colour.luminance(_wanted(code))), abs=0.002)
    assert np.ptp(codes) <= 1


def test_levels_may_be_uneven_and_in_any_order() -> None:
    inks = tuple(
        Ink(f"g{n}", (n, n, n), (lightness, 0, 0))
        for n, lightness in ((255, 70), (0, 15), (100, 30), (200, 60))
    )
    panel = typical.panel(*inks, tone=Tone.GREYS)
    rgb = still(np.array([[0, 60, 100, 150, 200, 255]])[..., None].repeat(3, axis=2))
    got = [inks[code].lab[0] for code in separate(rgb, panel=panel).codes[0]]
    assert got == sorted(got)
    assert got[0] == 15
    assert got[-1] == 70
    ramp = still(np.tile(np.arange(256, dtype=np.uint8), (64, 1))[..., None].repeat(3, axis=2))
    codes = separate(ramp, panel=panel, picture=np.ones((64, 256), dtype=bool)).codes
    light = colour.luminance(np.array([ink.lab[0] for ink in inks]))[codes].mean(axis=0)
    smooth = light.reshape(32, 8).mean(axis=1)
    assert (np.diff(smooth) > 0).all()


def test_a_part_of_a_picture_has_the_dots_of_the_whole() -> None:
    rgb = still(np.random.default_rng(3).integers(0, 256, (100, 120, 3)))
    whole = separate(rgb, panel=SIXTEEN, picture=np.ones((100, 120), dtype=bool)).codes
    part = np.zeros((100, 120), dtype=bool)
    part[33:80, 51:97] = True
    np.testing.assert_array_equal(separate(rgb, panel=SIXTEEN, picture=part).codes[part], whole[part])


@pytest.mark.parametrize("inks", [GREYS, (GREYS[0], GREYS[5], GREYS[10], GREYS[15])], ids=len)
def test_the_quick_way_of_greys_is_that_of_their_coverages(inks: tuple[Ink, ...]) -> None:
    rgb = still(np.random.default_rng(4).integers(0, 256, (70, 90, 3)))
    scale = greys.grey_scale(inks)
    plainly = lay_by_thresholds(greys.grey_planes(rgb, scale), origin=(3, 9))
    np.testing.assert_array_equal(greys.lay_greys(rgb, scale, origin=(3, 9)), plainly)
