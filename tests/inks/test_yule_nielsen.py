"""The gain of dots is honoured by every way of making tones: on a flat field, the mean of R^(1/n) is what was aimed at.

The law: Yule and Nielsen, TAGA Proc. 1951. The aim is reckoned here, apart from the code that scatters dots.
"""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from tests.inks import typical
from tests.inks.typical import still
from wallbill.inks import colour, halftone
from wallbill.inks.colour import Floats
from wallbill.inks.gamut import Tables, fitted, make_tables, picture_coverages
from wallbill.inks.impression import Codes, Rgb
from wallbill.inks.inkset import ink_set, measured_xyz
from wallbill.inks.manner import Manner, Way
from wallbill.inks.separation import separate
from wallbill.inks.tints import TOLERANCE
from wallbill.panels.model import Ink, Tone

FACTORS = (1.0, 1.2, 1.5, 2.0, 3.0)
SIDE_PX = 192  # whole tiles of blue noise
each_factor = pytest.mark.parametrize("n", FACTORS)


def mean_root(codes: Codes, lights: Floats, n: float) -> Floats:
    """Mean of R^(1/n) over a field, for each band of ``lights`` (inks, bands)."""
    result: Floats = (lights ** (1 / n))[codes].mean(axis=(0, 1))
    return result


@cache
def tables(inks: tuple[Ink, ...], n: float) -> Tables:
    return make_tables(ink_set(inks, n=n))


def inside(codes: Codes, way: Way) -> Codes:
    """What counts of a field: all of it, but for diffusion, which loses error over the edges and has none at first."""
    return codes[16:, 16:-16] if way is Way.DIFFUSED else codes


def field(grey: int) -> Rgb:
    return still(np.full((SIDE_PX, SIDE_PX, 3), grey))


@each_factor
@pytest.mark.parametrize("way", list(Way))
@pytest.mark.parametrize("grey", [70, 128, 200])
def test_pictures(n: float, way: Way, grey: int) -> None:
    panel = typical.panel(typical.BLACK, typical.WHITE, size=(SIDE_PX, SIDE_PX), n=n)
    inks = ink_set(panel.inks, n=n)
    whole = np.ones((SIDE_PX, SIDE_PX), dtype=np.bool_)
    codes = separate(
        field(grey), panel=panel, picture=whole, tables=tables(panel.inks, n), manner=Manner(way)
    ).codes
    aim = colour.oklab_to_lms(fitted(colour.codes_to_linear([[grey] * 3]), inks))[0]
    settled = inside(codes, way)
    np.testing.assert_allclose(mean_root(settled, inks.shown, n), aim ** (1 / n), rtol=0.005)


@each_factor
@pytest.mark.parametrize("way", list(Way))
@pytest.mark.parametrize("rgb", [(190, 90, 80), (90, 140, 100), (120, 120, 120)])
def test_pictures_in_six_inks(n: float, way: Way, rgb: tuple[int, int, int]) -> None:
    """The aim is the light of the mix that the table holds: what cannot be mixed goes to the nearest that can."""
    panel = replace(typical.SIX, yule_nielsen_n=n)
    inks = ink_set(panel.inks, n=n)
    picture = still(np.full((SIDE_PX, SIDE_PX, 3), rgb))
    whole = np.ones((SIDE_PX, SIDE_PX), dtype=np.bool_)
    codes = separate(
        picture, panel=panel, picture=whole, tables=tables(panel.inks, n), manner=Manner(way)
    ).codes
    shares = picture_coverages(colour.codes_to_linear([rgb]), inks)[0]
    aim = np.asarray(halftone.mix(shares, inks.shown, n=n)) ** (1 / n)
    settled = inside(codes, way)
    np.testing.assert_allclose(mean_root(settled, inks.shown, n), aim, rtol=0.01)


@each_factor
@pytest.mark.parametrize("grey", [60, 128, 188, 230])
def test_tints(n: float, grey: int) -> None:
    """A tint sends back the light of its colour, mixed without gain: within the coverage that tints are rounded to."""
    panel = typical.panel(typical.BLACK, typical.WHITE, size=(SIDE_PX, SIDE_PX), n=n)
    inks = ink_set(panel.inks, n=n)
    codes = separate(field(grey), panel=panel).codes
    share = float(colour.codes_to_linear(grey))
    aim = halftone.mix((1 - share, share), inks.shown) ** (1 / n)
    black, white = inks.shown ** (1 / n)
    off = np.abs(mean_root(codes, inks.shown, n) - aim)[
        :2
    ]  # the black is bluish: no mix meets all three bands
    assert off.max() <= TOLERANCE * (white - black).max()


@each_factor
@pytest.mark.parametrize("way", list(Way))
@pytest.mark.parametrize("grey", [70, 128, 200])
def test_four_greys(n: float, way: Way, grey: int) -> None:
    """Each level is measured; between two of them dots gain."""
    levels = tuple(typical.GREYS[at] for at in (0, 5, 10, 15))
    panel = typical.panel(*levels, size=(SIDE_PX, SIDE_PX), tone=Tone.GREYS, n=n)
    whole = np.ones((SIDE_PX, SIDE_PX), dtype=np.bool_)
    codes = separate(field(grey), panel=panel, picture=whole, manner=Manner(way)).codes
    light = measured_xyz(panel.inks)[:, 1]
    ends = colour.lightness(light)
    page = float(colour.lightness(colour.codes_to_linear(grey))) / 100
    aim = float(colour.luminance(ends[0] + page * (ends[-1] - ends[0])))
    settled = inside(codes, way)
    assert mean_root(settled, light[:, np.newaxis], n)[0] == pytest.approx(aim ** (1 / n), rel=0.005)


def test_more_gain_lays_less_black() -> None:
    """What the number is for: the eye gets the same light from fewer dots."""
    shares = []
    for n in FACTORS:
        panel = typical.panel(typical.BLACK, typical.WHITE, size=(SIDE_PX, SIDE_PX), n=n)
        codes = separate(field(128), panel=panel, picture=np.ones((SIDE_PX, SIDE_PX), dtype=np.bool_)).codes
        shares.append(float((codes == 0).mean()))
    assert shares == sorted(shares, reverse=True)
    assert shares[0] - shares[3] > 0.1
