"""Tones of pictures: what is promised of a curve, and what it gains on panels, measured on their proofs' light."""

import numpy as np
import pytest
import scipy.ndimage  # type: ignore[import-untyped]  # the library has no types
from benchmarks.inks_eye import seen
from benchmarks.inks_pictures import scene
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from tests.inks import typical

from wallbill.blocks.pictures.toning import tones_of
from wallbill.errors import SheetError
from wallbill.inks import colour
from wallbill.inks.inkset import measured_xyz
from wallbill.inks.proof import PAPER
from wallbill.inks.separation import separate
from wallbill.inks.toning import PRESETS, USUAL, Tones, blurred, toned
from wallbill.panels.model import Panel

RAMP = typical.still(
    np.repeat(np.arange(256, dtype=np.uint8)[np.newaxis, :, np.newaxis], 3, axis=2).repeat(40, axis=0)
)


def lightness(rgb: NDArray[np.uint8]) -> NDArray[np.float64]:
    return colour.lightness(colour.linear_to_xyz(colour.codes_to_linear(rgb))[..., 1])


def test_as_is_is_as_it_is() -> None:
    picture = typical.still(scene(60, 50))
    assert toned(picture, PRESETS["as-is"]) is picture


@pytest.mark.parametrize("name", [name for name in PRESETS if name != "as-is"])
def test_greys_stay_grey_and_in_their_order(name: str) -> None:
    tones = PRESETS[name]
    found = toned(RAMP, Tones(tones.cut, tones.stretch, tones.lift, 0.0))[0]
    assert (found == found[:, :1]).all()
    assert (np.diff(found[:, 0].astype(int)) >= 0).all()
    assert found[0, 0] == 0
    assert found[-1, 0] == 255
    assert lightness(found)[118] > lightness(RAMP)[0, 118]  # the middle is lifted: code 118 has L* 50


def test_the_ends_become_black_and_white() -> None:
    rgb = typical.still(np.clip(scene(120, 100).astype(float) * 0.6 + 50, 0, 255))
    found = lightness(toned(rgb, PRESETS["clear"]))
    assert (found < 1).mean() == pytest.approx(0.005, abs=0.004)
    assert (found > 99).mean() == pytest.approx(0.005, abs=0.015)


def test_fog_stays_fog() -> None:
    """A picture of little contrast is widened no more than the preset says: 1.5 times."""
    fog = typical.still(
        np.clip(160 + 8 * np.random.default_rng(3).normal(size=(80, 80, 1)).repeat(3, 2), 0, 255)
    )
    tones = Tones(cut=0.5, stretch=1.5, lift=1.0, local=0.0)
    assert lightness(toned(fog, tones)).std() == pytest.approx(1.5 * lightness(fog).std(), rel=0.05)


@given(st.integers(0, 255), st.integers(0, 255), st.integers(0, 255))
def test_hue_stays(red: int, green: int, blue: int) -> None:
    """A colour's light keeps its proportions until it leaves the range; then it only goes towards grey."""
    picture = (
        np.tile(np.arange(256, dtype=np.uint8)[:, np.newaxis], (1, 3))[np.newaxis].repeat(4, axis=0).copy()
    )
    picture[:, 100:140] = (red, green, blue)
    found = colour.codes_to_linear(toned(typical.still(picture), PRESETS["clear"])[2, 120])
    wanted = colour.codes_to_linear((red, green, blue))
    order = np.argsort(wanted, kind="stable")
    assert (np.diff(found[order]) >= -0.02).all()


def test_the_blur_is_a_gaussians() -> None:
    """Three box filters against SciPy's Gaussian of the same variance: 3 (w² - 1) / 12."""
    plane = lightness(scene(200, 150)) / 100
    radius = 9
    sigma = np.sqrt(3 * ((2 * radius + 1) ** 2 - 1) / 12)
    theirs = scipy.ndimage.gaussian_filter(plane, sigma, mode="reflect", truncate=6)
    assert np.abs(blurred(plane, radius) - theirs).max() < 0.02
    even = np.full((7, 9), 0.3)
    assert np.allclose(blurred(even, 20), even)


def test_a_preset_that_is_none() -> None:
    with pytest.raises(SheetError) as caught:
        tones_of("cleer")
    assert caught.value.mend == "Did you mean 'clear'?"


def proofs(rgb: NDArray[np.uint8], panel: Panel) -> NDArray[np.float64]:
    """L* of the panel as an eye makes it out beside paper."""
    whole = np.ones(rgb.shape[:2], dtype=np.bool_)
    tables = typical.tables(panel.inks) if len(panel.inks) < 8 else None
    codes = separate(typical.still(rgb), panel=panel, picture=whole, tables=tables).codes
    light = colour.xyz_to_linear(measured_xyz(panel.inks) / PAPER)
    return seen(light[codes])[..., 0]


def dull(width: int, height: int) -> NDArray[np.uint8]:
    """The invented harbour on a dull day: its range of codes 30 to 190."""
    return typical.still(scene(width, height).astype(float) * (160 / 255) + 30)


PANELS = [typical.BW, typical.BWR, typical.BWRY, typical.SIX, typical.SIXTEEN]


@pytest.mark.parametrize("panel", PANELS, ids=lambda value: f"{len(value.inks)} inks")
def test_nearer_to_the_screen_and_of_more_contrast(panel: Panel) -> None:
    """The usual tones against none, on the proof; the figures of docs/reference/pictures.md with room to spare."""
    bright = typical.still(scene(180, 150))
    wanted = seen(colour.codes_to_linear(bright))[..., 0]
    plain, ours = (proofs(toned(bright, PRESETS[name]), panel) for name in ("as-is", USUAL))
    assert np.abs(ours - wanted).mean() < 0.9 * np.abs(plain - wanted).mean()
    assert ours.std() > 1.1 * plain.std()
    plain, ours = (proofs(toned(dull(180, 150), PRESETS[name]), panel) for name in ("as-is", USUAL))
    assert ours.std() > 1.4 * plain.std()
