"""Whole separation: properties that hold for any page."""

import hashlib

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.inks import typical
from tests.inks.typical import BW, BWR, BWRY, SEVEN, SIX, SIXTEEN, still
from wallbill.inks import gamut
from wallbill.inks.gamut import Tables
from wallbill.inks.impression import Impression, Mask, Rgb
from wallbill.inks.inkset import ink_set
from wallbill.inks.plates import plates
from wallbill.inks.separation import separate
from wallbill.panels.model import Panel, Tone

PANELS = (BW, BWR, BWRY, SIX, SEVEN, SIXTEEN)
REACH_PX = (
    80  # the near surroundings that may sway a pixel of line work: cells of 24 pixels and their neighbours
)


def _tables(panel: Panel) -> Tables | None:
    return typical.tables(panel.inks) if panel.tone is Tone.INKS else None


def pages(seed: int, panel: Panel, size: tuple[int, int] = (70, 90)) -> tuple[Rgb, Mask]:
    """A page of all that there is: inks, tints, smoothed edges, gradients, noise; and a picture mask."""
    chance = np.random.default_rng(seed)
    rgb = np.full((*size, 3), 255.0)
    for _ in range(8):
        y, x = chance.integers(0, size[0]), chance.integers(0, size[1])
        h, w = chance.integers(1, 40, 2)
        kind = chance.integers(0, 4)
        box = rgb[y : y + h, x : x + w]
        if kind == 0:
            box[:] = panel.inks[chance.integers(0, len(panel.inks))].css
        elif kind == 1:
            box[:] = chance.integers(0, 256, 3)
        elif kind == 2:
            box[:] = np.linspace(0, 255, box.shape[1])[None, :, None]
        else:
            box[:] = chance.integers(0, 256, box.shape)
    if seed % 2:
        rgb[1:] = (rgb[1:] + rgb[:-1]) / 2
    mask = np.zeros(size, dtype=bool)
    mask[10:30, 20:60] = bool(seed % 3)
    return still(rgb), mask


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from(PANELS), st.sampled_from((0, 1)))
def test_every_code_is_an_ink_and_plates_partition_the_page(seed: int, panel: Panel, pictured: int) -> None:
    rgb, mask = pages(seed, panel)
    before = hashlib.sha256(rgb.tobytes()).digest()
    mask.setflags(write=False)
    result = separate(rgb, panel=panel, picture=mask if pictured else None, tables=_tables(panel))
    assert result.codes.dtype == np.uint8
    assert result.codes.shape == rgb.shape[:2]
    assert not result.codes.flags.writeable
    impression = Impression(result.codes, panel.inks)
    planes = np.stack([plate.unpack() for plate in plates(impression)])
    assert (planes.sum(axis=0) == 1).all()
    assert hashlib.sha256(rgb.tobytes()).digest() == before
    again = separate(rgb, panel=panel, picture=mask if pictured else None, tables=_tables(panel))
    np.testing.assert_array_equal(again.codes, result.codes)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from(PANELS))
def test_a_pixel_of_an_inks_colour_is_that_ink(seed: int, panel: Panel) -> None:
    rgb, _ = pages(seed, panel)
    codes = separate(rgb, panel=panel).codes
    for place, ink in enumerate(panel.inks):
        assert (codes[(rgb == ink.css).all(axis=2)] == place).all()


def test_the_fast_path_agrees_with_plain_looking_up() -> None:
    for panel in PANELS:
        codes = np.random.default_rng(2).integers(0, len(panel.inks), (61, 83)).astype(np.uint8)
        rgb = still(np.array([ink.css for ink in panel.inks])[codes])
        np.testing.assert_array_equal(separate(rgb, panel=panel).codes, codes)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from((BW, BWR, SIX)))
def test_a_change_does_not_reach_far(seed: int, panel: Panel) -> None:
    rgb, mask = pages(seed, panel, (110, 300))
    changed = rgb.copy()
    changed[40:60, 10:40] = np.random.default_rng(seed + 1).integers(0, 256, 3)
    one, other = (
        separate(page, panel=panel, picture=mask, tables=_tables(panel)).codes
        for page in (rgb, still(changed))
    )
    assert (one[:, 40 + REACH_PX :] == other[:, 40 + REACH_PX :]).all()


def test_pictures_do_not_change_when_their_surroundings_do() -> None:
    rgb, _ = pages(5, BWRY)
    mask = np.zeros(rgb.shape[:2], dtype=bool)
    mask[20:50, 20:70] = True
    other = np.full_like(rgb, 0)
    other[mask] = rgb[mask]
    one = separate(rgb, panel=BWRY, picture=mask).codes
    two = separate(still(other), panel=BWRY, picture=mask).codes
    np.testing.assert_array_equal(one[mask], two[mask])


def test_a_given_table_is_used_and_a_foreign_one_refused() -> None:
    rgb, _ = pages(4, BWR)
    whole = np.ones(rgb.shape[:2], dtype=bool)
    tables = gamut.make_tables(ink_set(BWR.inks))
    np.testing.assert_array_equal(
        separate(rgb, panel=BWR, picture=whole, tables=tables).codes,
        separate(rgb, panel=BWR, picture=whole).codes,
    )
    with pytest.raises(ValueError, match="other inks"):
        separate(rgb, panel=SIX, picture=whole, tables=tables)


@pytest.mark.parametrize("panel", PANELS, ids=lambda p: f"{len(p.inks)} inks")
@pytest.mark.parametrize("size", [(1, 1), (1, 9), (9, 1), (2, 2), (2, 7), (5, 3)])
def test_tiny_pages(panel: Panel, size: tuple[int, int]) -> None:
    for seed in range(12):
        rgb = still(np.random.default_rng(seed).choice((0, 127, 128, 255), (*size, 3)))
        assert separate(rgb, panel=panel).codes.shape == size
        mask = np.random.default_rng(seed).random(size) < 0.5
        assert separate(rgb, panel=panel, picture=mask, tables=_tables(panel)).codes.shape == size


def test_wrong_shapes_are_refused() -> None:
    rgb, mask = pages(1, BW)
    with pytest.raises(ValueError, match="raster is uint8"):
        separate(rgb[..., 0], panel=BW)
    with pytest.raises(ValueError, match="raster's shape"):
        separate(rgb, panel=BW, picture=mask[1:])
    assert separate(rgb[:0], panel=BW).codes.shape == (0, 90)


def test_a_gradient_is_left_to_be_one() -> None:
    """A gradient from black to white has as many dots as its light asks, and no hard edge in it."""
    rgb = np.repeat(np.repeat(np.linspace(0, 255, 400)[None, :, None], 64, axis=0), 3, axis=2)
    codes = separate(still(np.rint(rgb)), panel=BWR).codes
    assert set(np.unique(codes)) == {0, 1}
    got = (codes == 1).reshape(64, 20, 20).mean(axis=(0, 2))
    wanted = (((np.rint(rgb[0, :, 0]) / 255 + 0.055) / 1.055) ** 2.4).reshape(20, 20).mean(axis=1)
    assert np.abs(got - wanted).max() < 0.02


def test_type_over_a_gradient_stays_whole() -> None:
    rgb = np.repeat(np.repeat(np.linspace(120, 255, 200)[None, :, None], 40, axis=0), 3, axis=2)
    rgb[10:30, 50:53] = 0
    rgb[18:20, 20:180] = 0
    ink = (rgb == 0).all(axis=2)
    assert (separate(still(np.rint(rgb)), panel=typical.BWR).codes[ink] == 0).all()


@pytest.mark.parametrize("height", [4, 6, 8, 20, 21])
def test_a_low_gradient_bar_has_no_stripes_where_it_is_half_tone(height: int) -> None:
    rgb = np.full((40, 420, 3), 255, dtype=np.uint8)
    rgb[10 : 10 + height, 10:394] = np.linspace(0, 255, 384)[None, :, None]
    codes = separate(still(rgb), panel=BW).codes[10 : 10 + height, 10:394]
    around = codes[:, 180:210]  # half tone lies at 192; a stripe would be a row of white there
    assert (around == 0).mean(axis=1).min() > 0.4
    if height % 4 == 0:
        assert (around == 1).mean() == pytest.approx(0.216, abs=0.05)
