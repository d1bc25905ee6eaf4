"""Blue noise: the mask, and pictures scattered with it."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.inks import typical
from wallbill.inks import bluenoise, colour, gamut
from wallbill.inks.inkset import ink_set
from wallbill.panels.model import Panel

PANELS = (typical.BW, typical.BWR, typical.BWRY, typical.SIX, typical.SEVEN)


def test_the_mask_fills_each_place_once() -> None:
    assert sorted(bluenoise.ranks().ravel().tolist()) == list(range(64 * 64))


def test_the_mask_is_blue() -> None:
    """Energy at low frequencies is far below white noise, at every filling (Ulichney 1987: blue noise)."""
    across = np.minimum(np.arange(64), 64 - np.arange(64))
    radius = np.hypot(across[:, None], across[None])
    for share in (0.1, 0.25, 0.5, 0.75, 0.9):
        dots = (bluenoise.ranks() < share * 4096).astype(float)
        power = np.abs(np.fft.fft2(dots - dots.mean())) ** 2 / dots.size / (share * (1 - share))
        low = power[(radius > 0) & (radius <= 32 * 0.3 * np.sqrt(min(share, 1 - share) * 2))]
        assert low.mean() < 0.15  # white noise: 1


@pytest.mark.parametrize("panel", PANELS, ids=lambda p: f"{len(p.inks)} inks")
def test_a_flat_picture_has_the_mean_of_its_mix(panel: Panel) -> None:
    inks = ink_set(panel.inks)
    for code in ((200, 180, 160), (90, 120, 200), (40, 40, 40), (250, 240, 30)):
        rgb = typical.still(np.broadcast_to(np.array(code, dtype=np.uint8), (64, 64, 3)))
        codes = bluenoise.scatter(rgb, typical.tables(panel.inks))
        got = np.bincount(codes.ravel(), minlength=len(panel.inks)) / codes.size
        wanted = gamut.picture_coverages(colour.codes_to_linear([code]), inks)[0]
        assert np.abs(got - wanted).max() < 0.02  # the table's corners are 8 codes apart


@settings(max_examples=30, deadline=None)
@given(
    st.integers(0, 90), st.integers(0, 70), st.integers(1, 40), st.integers(1, 40), st.sampled_from(PANELS)
)
def test_outside_a_changed_box_nothing_changes(x: int, y: int, width: int, height: int, panel: Panel) -> None:
    chance = np.random.default_rng(x)
    before = chance.integers(0, 256, (80, 100, 3), dtype=np.uint8)
    after = before.copy()
    after[y : y + height, x : x + width] = chance.integers(0, 256, 3)
    tables = typical.tables(panel.inks)
    differs = bluenoise.scatter(before, tables) != bluenoise.scatter(after, tables)
    differs[y : y + height, x : x + width] = False
    assert not differs.any()


def test_a_part_has_the_dots_of_the_whole() -> None:
    rgb = np.random.default_rng(1).integers(0, 256, (150, 170, 3), dtype=np.uint8)
    tables = typical.tables(typical.SIX.inks)
    whole = bluenoise.scatter(rgb, tables)
    part = bluenoise.scatter(rgb[37:120, 71:160], tables, origin=(71, 37))
    np.testing.assert_array_equal(part, whole[37:120, 71:160])


@pytest.mark.parametrize("panel", PANELS[1:], ids=lambda p: f"{len(p.inks)} inks")
def test_no_coloured_specks_in_greys(panel: Panel) -> None:
    ramp = np.repeat(np.tile(np.arange(256, dtype=np.uint8), (64, 1))[..., None], 3, axis=2)
    codes = bluenoise.scatter(ramp, typical.tables(panel.inks))
    assert {panel.inks[code].name for code in np.unique(codes)} == {"black", "white"}


def test_scattering_a_picture_of_no_colour_gives_solid_ink() -> None:
    for code, place in ((0, 0), (255, 1)):
        rgb = np.full((70, 70, 3), code, dtype=np.uint8)
        assert (bluenoise.scatter(rgb, typical.tables(typical.BWR.inks)) == place).all()


@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from(PANELS), st.integers(1, 90), st.integers(1, 70), st.integers(0, 99), st.integers(0, 200)
)
def test_sums_put_off_change_no_dot(panel: Panel, width: int, height: int, seed: int, left: int) -> None:
    rgb = typical.still(np.random.default_rng(seed).integers(0, 256, (height, width, 3)))
    tables = typical.tables(panel.inks)
    plainly = bluenoise.lay_by_thresholds(bluenoise.coverage_planes(rgb, tables), origin=(left, 7))
    np.testing.assert_array_equal(bluenoise.lay(rgb, tables, origin=(left, 7)), plainly)
