"""Error diffusion by slanting fronts is the raster's own, and keeps the tone."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from wallbill.inks.diffusion import diffuse
from wallbill.inks.impression import Codes


def plainly(shares: NDArray[np.uint8]) -> Codes:
    """The same pixel by pixel in order of reading, weights of Floyd and Steinberg 1976: 7, 3, 5, 1 of 16."""
    inks, height, width = shares.shape
    errors = np.zeros((height + 1, width + 2, inks), dtype=np.float32)
    codes = np.zeros((height, width), dtype=np.uint8)
    right, left, below, beyond = (np.float32(part / 16) for part in (7, 3, 5, 1))
    for y in range(height):
        for x in range(width):
            value = shares[:, y, x].astype(np.float32)
            value += right * errors[y + 1, x]
            value += left * errors[y, x + 2]
            value += below * errors[y, x + 1]
            value += beyond * errors[y, x]
            codes[y, x] = value.argmax()
            value[codes[y, x]] -= 255
            errors[y + 1, x + 1] = value
    return codes


def mixes(seed: int, inks: int, size: tuple[int, int]) -> NDArray[np.uint8]:
    """Coverages of chance that sum to 255."""
    cuts = np.sort(np.random.default_rng(seed).integers(0, 256, (inks - 1, *size)), axis=0)
    ends = np.concatenate((np.zeros((1, *size), int), cuts, np.full((1, *size), 255)))
    return np.diff(ends, axis=0).astype(np.uint8)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 9999), st.integers(2, 7), st.integers(1, 12), st.integers(1, 15))
def test_fronts_give_the_pixels_of_the_raster(seed: int, inks: int, height: int, width: int) -> None:
    shares = mixes(seed, inks, (height, width))
    assert (diffuse(shares) == plainly(shares)).all()


@pytest.mark.parametrize("level", [1, 26, 64, 128, 200, 254])
def test_flat_fields_keep_their_mean(level: int) -> None:
    """Lost at the border only: off by less than 0.5 / n of a field of n x n (computed for these weights)."""
    side = 128
    shares = np.stack([np.full((side, side), part, dtype=np.uint8) for part in (255 - level, level)])
    assert diffuse(shares).mean() == pytest.approx(level / 255, abs=0.5 / side)


def test_no_error_goes_through_what_is_no_picture() -> None:
    shares = mixes(5, 3, (20, 40))
    live = np.zeros((20, 40), dtype=np.bool_)
    live[:, 20:] = True
    other = shares.copy()
    other[:, :, :20] = mixes(6, 3, (20, 20))
    one, two = diffuse(shares, live=live), diffuse(other, live=live)
    assert (one[:, 20:] == two[:, 20:]).all()
