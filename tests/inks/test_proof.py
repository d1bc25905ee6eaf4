"""Proofs: measured colours, true size, pitch."""

import io

import numpy as np
import pytest
from PIL import Image

from tests.inks import typical
from wallbill.inks import colour, proof
from wallbill.inks.impression import Impression, frozen_codes
from wallbill.inks.inkset import measured_xyz


def test_white_is_dull_and_black_is_grey() -> None:
    black, white = proof.ink_colours(typical.BW.inks)
    assert 160 < white.mean() < 215
    assert 30 < black.mean() < 70


def test_colours_are_the_measured_ones_beside_paper() -> None:
    got = colour.xyz_to_lab(colour.linear_to_xyz(colour.codes_to_linear(proof.ink_colours(typical.BWR.inks))))
    wanted = colour.xyz_to_lab(measured_xyz(typical.BWR.inks) / proof.PAPER)
    assert colour.ciede2000(got, wanted).max() < 0.6  # rounding to sRGB codes


def test_scale_and_surround() -> None:
    impression = typical.impression(typical.BWR, size=(20, 10))
    bare = proof.proof(impression, scale=3, surround=False)
    assert bare.size == (60, 30)
    pixels = np.asarray(bare)
    np.testing.assert_array_equal(pixels[1::3, 1::3], proof.ink_colours(typical.BWR.inks)[impression.codes])
    hung = proof.proof(impression, scale=3)
    margin = (hung.size[0] - 60) // 2
    np.testing.assert_array_equal(np.asarray(hung)[margin:-margin, margin:-margin], pixels)
    assert np.asarray(hung)[0, 0].min() > 220
    with pytest.raises(ValueError, match="1 or more"):
        proof.proof(impression, scale=0)


@pytest.mark.parametrize("screen", [60.0, 96.0, 133.68421, 200.0])
def test_true_size_is_true_and_keeps_the_light(screen: float) -> None:
    impression = typical.impression(typical.BWR, size=(200, 120))
    panel = typical.panel(*typical.BWR.inks, size=(200, 120))
    image = proof.true_size(impression, panel, screen_pixels_per_inch=screen)
    inches = image.size[0] / screen
    assert inches * 25.4 == pytest.approx(panel.active_width_mm, abs=25.4 / screen)
    got = colour.codes_to_linear(np.asarray(image)).mean()
    wanted = colour.codes_to_linear(proof.ink_colours(typical.BWR.inks))[impression.codes].mean()
    assert got == pytest.approx(wanted, rel=0.02)


def test_a_chequerboard_merges_to_the_mean_of_its_light() -> None:
    codes = frozen_codes(np.indices((40, 40)).sum(axis=0) % 2)
    panel = typical.panel(*typical.BW.inks, size=(40, 40))
    image = proof.true_size(
        Impression(codes, panel.inks), panel, screen_pixels_per_inch=panel.pixels_per_inch / 2
    )
    light = colour.codes_to_linear(np.asarray(image))
    ends = colour.codes_to_linear(proof.ink_colours(typical.BW.inks))
    np.testing.assert_allclose(light, np.broadcast_to(ends.mean(axis=0), light.shape), atol=0.005)


def test_a_wrong_screen_is_refused() -> None:
    with pytest.raises(ValueError, match="pixels to the inch"):
        proof.true_size(typical.impression(typical.BW), typical.BW, screen_pixels_per_inch=0)


def test_a_proof_states_its_pitch() -> None:
    data = proof.proof_png(typical.impression(typical.BW), typical.BW, scale=2)
    with Image.open(io.BytesIO(data)) as image:
        assert image.info["dpi"][0] == pytest.approx(25.4 / 0.19 * 2, rel=1e-3)
