"""The moon in its phase: the lit part has the right share and lies on the right side."""

import math

import ephem
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wallbill.blocks.drawing.grid import INK, PAPER, from_letters
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.icons.moon import moon, moon_grid, moon_words
from wallbill.errors import SheetError


def lit_share(phase: float, size_px: int) -> float:
    """Lit pixels as a share of the disc within the rim, which is what the full moon lights."""
    full = int((moon_grid(0.5, size_px=size_px).codes == PAPER).sum())
    return int((moon_grid(phase, size_px=size_px).codes == PAPER).sum()) / full


@given(st.floats(0, 1))
@settings(max_examples=200, deadline=None)
def test_the_lit_share_is_that_of_the_phase(phase: float) -> None:
    # The lit share of a sphere at phase angle i is (1 + cos i) / 2 (Meeus, Astronomical Algorithms, chapter 48,
    # from memory).
    expected = (1 - math.cos(2 * math.pi * phase)) / 2
    assert lit_share(phase, 96) == pytest.approx(expected, abs=0.02)


@pytest.mark.parametrize(
    "date", ["2024/3/17 04:11", "2024/4/2 03:15", "2024/4/20", "2024/4/8 18:21", "2024/4/23 23:49"]
)
def test_the_lit_share_is_that_of_an_almanac(date: str) -> None:
    # PyEphem computes the lit share itself; the phase is the angle between moon and sun in ecliptic longitude.
    body, sun = ephem.Moon(date), ephem.Sun(date)
    angle = ephem.Ecliptic(body, epoch=date).lon - ephem.Ecliptic(sun, epoch=date).lon
    phase = float(angle) / (2 * math.pi) % 1
    assert lit_share(phase, 96) == pytest.approx(body.moon_phase, abs=0.03)


def test_a_waxing_moon_is_lit_on_the_right_in_the_north_and_on_the_left_in_the_south() -> None:
    lit = moon_grid(0.15, size_px=48).codes == PAPER
    assert not lit[:, :24].any()
    assert lit[:, 24:].any()
    waning = moon_grid(0.85, size_px=48).codes == PAPER
    assert np.array_equal(waning, lit[:, ::-1])
    assert moon_grid(0.15, size_px=48, south=True) == moon_grid(0.15, size_px=48).mirrored()


def test_new_and_full() -> None:
    assert not (moon_grid(0, size_px=32).codes == PAPER).any()
    assert moon_grid(0, size_px=32) == moon_grid(1, size_px=32)
    full = moon_grid(0.5, size_px=32).codes
    assert np.array_equal(full, full[:, ::-1])
    assert np.array_equal(full, full.T)
    assert set(np.unique(full).tolist()) == {0, INK, PAPER}


def test_the_first_quarter_in_letters() -> None:
    assert moon_grid(0.25, size_px=10) == from_letters("""
        ...####...
        .####--##.
        .####---#.
        #####----#
        #####----#
        #####----#
        #####----#
        .####---#.
        .####--##.
        ...####...
    """)


@pytest.mark.parametrize(
    ("phase", "words"),
    [(0, "new moon"), (0.06, "new moon"), (0.1, "waxing crescent moon"), (0.25, "first quarter moon"), (0.4, "waxing gibbous moon"),
     (0.5, "full moon"), (0.65, "waning gibbous moon"), (0.75, "last quarter moon"), (0.9, "waning crescent moon"), (1, "new moon")],
)  # fmt: skip
def test_the_phase_in_words(phase: float, words: str) -> None:
    assert moon_words(phase) == words
    assert f'aria-label="{words}"' in str(moon(phase, size_px=24, palette=Palette()))


def test_what_is_no_moon() -> None:
    with pytest.raises(SheetError, match="0 to 1"):
        moon_grid(1.1, size_px=32)
    with pytest.raises(SheetError, match="0 to 1"):
        moon_grid(math.nan, size_px=32)
    with pytest.raises(SheetError, match="at least 8"):
        moon_grid(0.5, size_px=7)
