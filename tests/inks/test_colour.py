"""Colour science against published values and against the colour-science library."""

import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallbill.inks import colour

with warnings.catch_warnings():  # it tells which of its optional libraries are missing
    warnings.simplefilter("ignore")
    import colour as oracle  # colour-science 0.4.7, an independent reckoner

Triple = tuple[float, float, float]

# Sharma, Wu and Dalal, Color Res. Appl. 30(1):21-30 (2005), table I.
PAIRS = (
    ((50, 2.6772, -79.7751), (50, 0, -82.7485), 2.0425),
    ((50, 3.1571, -77.2803), (50, 0, -82.7485), 2.8615),
    ((50, 2.8361, -74.0200), (50, 0, -82.7485), 3.4412),
    ((50, -1.3802, -84.2814), (50, 0, -82.7485), 1.0000),
    ((50, -1.1848, -84.8006), (50, 0, -82.7485), 1.0000),
    ((50, -0.9009, -85.5211), (50, 0, -82.7485), 1.0000),
    ((50, 0, 0), (50, -1, 2), 2.3669),
    ((50, -1, 2), (50, 0, 0), 2.3669),
    ((50, 2.4900, -0.0010), (50, -2.4900, 0.0009), 7.1792),
    ((50, 2.4900, -0.0010), (50, -2.4900, 0.0010), 7.1792),
    ((50, 2.4900, -0.0010), (50, -2.4900, 0.0011), 7.2195),
    ((50, 2.4900, -0.0010), (50, -2.4900, 0.0012), 7.2195),
    ((50, -0.0010, 2.4900), (50, 0.0009, -2.4900), 4.8045),
    ((50, -0.0010, 2.4900), (50, 0.0010, -2.4900), 4.8045),
    ((50, -0.0010, 2.4900), (50, 0.0011, -2.4900), 4.7461),
    ((50, 2.5, 0), (50, 0, -2.5), 4.3065),
    ((50, 2.5, 0), (73, 25, -18), 27.1492),
    ((50, 2.5, 0), (61, -5, 29), 22.8977),
    ((50, 2.5, 0), (56, -27, -3), 31.9030),
    ((50, 2.5, 0), (58, 24, 15), 19.4535),
    ((50, 2.5, 0), (50, 3.1736, 0.5854), 1.0000),
    ((50, 2.5, 0), (50, 3.2972, 0), 1.0000),
    ((50, 2.5, 0), (50, 1.8634, 0.5757), 1.0000),
    ((50, 2.5, 0), (50, 3.2592, 0.3350), 1.0000),
    ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
    ((63.0109, -31.0961, -5.8663), (62.8187, -29.7946, -4.0864), 1.2630),
    ((61.2901, 3.7196, -5.3901), (61.4292, 2.2480, -4.9620), 1.8731),
    ((35.0831, -44.1164, 3.7933), (35.0232, -40.0716, 1.5901), 1.8645),
    ((22.7233, 20.0904, -46.6940), (23.0331, 14.9730, -42.5619), 2.0373),
    ((36.4612, 47.8580, 18.3852), (36.2715, 50.5065, 21.2231), 1.4146),
    ((90.8027, -2.0831, 1.4410), (91.1528, -1.6435, 0.0447), 1.4441),
    ((90.9257, -0.5406, -0.9208), (88.6381, -0.8985, -0.7239), 1.5381),
    ((6.7747, -0.2908, -2.4247), (5.8714, -0.0985, -2.2286), 0.6377),
    ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
)


@pytest.mark.parametrize(("one", "other", "difference"), PAIRS)
def test_ciede2000_is_as_published(one: Triple, other: Triple, difference: float) -> None:
    assert colour.ciede2000(one, other) == pytest.approx(difference, abs=1e-4)
    assert colour.ciede2000(other, one) == pytest.approx(difference, abs=1e-4)


def test_ciede2000_agrees_with_the_oracle_on_many_colours() -> None:
    chance = np.random.default_rng(3)
    one = chance.uniform((0, -100, -100), (100, 100, 100), (500, 3))
    other = one + chance.normal(0, 20, (500, 3))
    wanted = oracle.difference.delta_E_CIE2000(one, other)
    np.testing.assert_allclose(colour.ciede2000(one, other), wanted, atol=1e-9)


# IEC 61966-2-1:1999, worked out from its formula; colour-science agrees at 0.5.
@pytest.mark.parametrize(
    ("code", "light"),
    [
        (0, 0), (1, 0.0003035270), (10, 0.0030352698), (11, 0.0033465358), (50, 0.0318960331),
        (64, 0.0512694584), (100, 0.1274376804), (118, 0.1811642442), (127, 0.2122307574),
        (128, 0.2158605001), (187, 0.4969329951), (188, 0.5028864580), (200, 0.5775804404),
        (254, 0.9911020971), (255, 1),
    ],
)  # fmt: skip
def test_srgb_codes_are_linear_light(code: int, light: float) -> None:
    assert colour.codes_to_linear([code])[0] == pytest.approx(light, abs=1e-9)
    assert colour.linear_to_codes(light) == code


def test_srgb_inverse() -> None:
    assert colour.linear_to_srgb(0.18) == pytest.approx(0.46135613, abs=1e-8)  # as above
    assert colour.linear_to_srgb(0.5) == pytest.approx(0.73535698, abs=1e-8)
    assert colour.linear_to_codes(1.7) == 255
    assert colour.linear_to_codes(-0.2) == 0


# CIE 15:2004, 8.2.1, worked out from its formula.
@pytest.mark.parametrize(
    ("y", "l"),
    [
        (1, 100), (0.5, 76.069261), (0.40, 69.469531), (0.2, 51.837212), (0.18, 49.496108),
        (0.04, 23.671442), (0.03, 20.043897), (216 / 24389, 8), (0.005, 4.516481),
    ],
)  # fmt: skip
def test_lightness(y: float, l: float) -> None:  # noqa: E741  the quantity is called L*
    assert colour.lightness(y) == pytest.approx(l, abs=1e-6)
    assert colour.luminance(l) == pytest.approx(y, abs=1e-8)


# The pairs that OKLab's author published with it (2020, three decimals, from memory).
@pytest.mark.parametrize(
    ("xyz", "oklab"),
    [
        ((0.950, 1, 1.089), (1.000, 0.000, 0.000)),
        ((1, 0, 0), (0.450, 1.236, -0.019)),
        ((0, 1, 0), (0.922, -0.671, 0.263)),
        ((0, 0, 1), (0.153, -1.415, -0.449)),
    ],
)
def test_oklab_of_xyz(xyz: Triple, oklab: Triple) -> None:
    assert colour.xyz_to_oklab(xyz) == pytest.approx(np.array(oklab), abs=6e-4)


# OKLab with the matrices of 2021 and CIELAB under D65, reproduced with colour-science. The CIELAB figures were
# made with the standard's matrix of four decimals, ours is exact from its primaries: hence 0.01 there.
@pytest.mark.parametrize(
    ("code", "oklab", "lab"),
    [
        ((255, 255, 255), (1, 0, 0), (100, 0, 0)),
        ((255, 0, 0), (0.627955, 0.224863, 0.125846), (53.2408, 80.0943, 67.2068)),
        ((0, 255, 0), (0.866440, -0.233888, 0.179498), (87.7347, -86.1809, 83.1860)),
        ((0, 0, 255), (0.452014, -0.032457, -0.311528), (32.2970, 79.1889, -107.8468)),
        ((255, 255, 0), (0.967983, -0.071369, 0.198570), (97.1393, -21.5514, 94.4850)),
        ((255, 165, 0), (0.792688, 0.056611, 0.161385), (74.9357, 23.9352, 78.9552)),
        ((128, 128, 128), (0.599871, 0, 0), (53.5850, 0, 0)),
    ],
)
def test_oklab_and_cielab_of_srgb(code: tuple[int, int, int], oklab: Triple, lab: Triple) -> None:
    light = colour.codes_to_linear(code)
    assert colour.linear_to_oklab(light) == pytest.approx(np.array(oklab), abs=1e-5)
    assert colour.xyz_to_lab(colour.linear_to_xyz(light)) == pytest.approx(np.array(lab), abs=1e-2)


def test_there_and_back() -> None:
    light = np.random.default_rng(5).uniform(0, 1, (200, 3))
    xyz = colour.linear_to_xyz(light)
    np.testing.assert_allclose(colour.xyz_to_linear(xyz), light, atol=1e-12)
    np.testing.assert_allclose(colour.lab_to_xyz(colour.xyz_to_lab(xyz)), xyz, atol=1e-12)
    np.testing.assert_allclose(colour.oklab_to_linear(colour.linear_to_oklab(light)), light, atol=1e-9)


def test_adaptation_agrees_with_the_oracle() -> None:
    xyz = np.random.default_rng(6).uniform(0, 1, (50, 3))
    wanted = oracle.adaptation.chromatic_adaptation_VonKries(
        xyz, colour.D50, colour.D65, transform="Bradford"
    )
    got = colour.adapt(xyz, source=colour.D50, target=colour.D65)
    np.testing.assert_allclose(got, wanted, atol=1e-9)
    np.testing.assert_allclose(colour.adapt(colour.D50, source=colour.D50, target=colour.D65), colour.D65)


def test_lab_under_d50_agrees_with_the_oracle() -> None:
    lab = np.random.default_rng(7).uniform((5, -40, -40), (95, 40, 40), (50, 3))
    x, y = oracle.XYZ_to_xy(colour.D50)
    wanted = oracle.Lab_to_XYZ(lab, (x, y))
    np.testing.assert_allclose(colour.lab_to_xyz(lab, white=colour.D50), wanted, atol=1e-9)


@given(st.integers(0, 255), st.integers(0, 255), st.integers(0, 255))
def test_codes_come_back(red: int, green: int, blue: int) -> None:
    assert colour.linear_to_codes(colour.codes_to_linear((red, green, blue))).tolist() == [red, green, blue]


def test_tables_cannot_be_written_to() -> None:
    with pytest.raises(ValueError, match="read-only"):
        colour.LIGHT_OF_CODE[0] = 1
