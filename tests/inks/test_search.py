"""The fine way: what a search for dots may do, what it must not, and that it helps."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from tests.inks import typical
from wallbill.inks import eye, search
from wallbill.inks.bluenoise import coverage_planes, lay_by_thresholds
from wallbill.inks.impression import Codes
from wallbill.inks.inkset import ink_set
from wallbill.inks.scattering import shares_of
from wallbill.inks.search import Wanted, refine
from wallbill.panels.model import Panel

PANELS = (typical.BW, typical.BWR, typical.BWRY, typical.SIX)


def wanted(rgb: NDArray[np.uint8], panel: Panel, *, origin: tuple[int, int] = (0, 0)) -> tuple[Codes, Wanted]:
    """Blue noise of a picture, and what the search is to bring it to."""
    inks = ink_set(panel.inks)
    planes = coverage_planes(rgb, typical.tables(panel.inks))
    shown = np.ones(rgb.shape[:2], dtype=np.bool_)
    places = eye.points(inks)[list(inks.order)]
    return lay_by_thresholds(planes, origin=origin), Wanted(shares_of(planes), places, shown, origin)


def cost(codes: Codes, aim: Wanted) -> int:
    """The whole error as the eye sees it, reckoned plainly: the sum over channels of the squared blurred error."""
    total = 0
    for part in range(3):
        points = aim.points[:, part].astype(np.int64)
        error = points[codes] * 255 - (aim.shares.astype(np.int64) * points[:, None, None]).sum(axis=0)
        error = np.pad(error * aim.shown, 2 * eye.RADIUS)
        windows = np.lib.stride_tricks.sliding_window_view(error, (2 * eye.RADIUS + 1,) * 2)
        total += int(((windows * eye.blurs()[part].astype(np.int64)).sum(axis=(2, 3)) ** 2).sum())
    return total


def noise(seed: int, height: int, width: int) -> NDArray[np.uint8]:
    """A soft picture of chance: hills of colour, not single pixels."""
    coarse = np.random.default_rng(seed).integers(0, 256, (height // 6 + 2, width // 6 + 2, 3))
    fine = np.repeat(np.repeat(coarse, 6, axis=0), 6, axis=1)[:height, :width]
    return np.ascontiguousarray(fine.astype(np.uint8))


@pytest.mark.parametrize("panel", PANELS, ids=lambda p: f"{len(p.inks)} inks")
def test_the_error_that_the_eye_sees_falls(panel: Panel) -> None:
    start, aim = wanted(noise(3, 60, 70), panel)
    once, twice = refine(start, aim, sweeps=1), refine(start, aim, sweeps=2)
    assert cost(once, aim) < 0.8 * cost(start, aim)
    assert cost(twice, aim) <= cost(once, aim)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000), st.integers(1, 40), st.integers(1, 40), st.sampled_from(PANELS))
def test_each_pixel_takes_one_of_its_own_inks_and_the_error_never_grows(
    seed: int, height: int, width: int, panel: Panel
) -> None:
    start, aim = wanted(noise(seed, height, width), panel)
    found = refine(start, aim)
    share = np.take_along_axis(aim.shares, found[np.newaxis].astype(np.intp), axis=0)[0]
    assert (share > 0).all()
    own = np.take_along_axis(aim.shares, start[np.newaxis].astype(np.intp), axis=0)[0] >= 3
    if own.all():
        assert cost(found, aim) <= cost(start, aim)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from(PANELS))
def test_a_locked_pixel_keeps_its_dot(seed: int, panel: Panel) -> None:
    start, aim = wanted(noise(seed, 30, 40), panel)
    locked = np.random.default_rng(seed).random(start.shape) < 0.5
    found = refine(start, aim, locked=locked)
    assert (found[locked] == start[locked]).all()


def test_a_part_done_anew_comes_out_as_in_the_whole() -> None:
    """Sub-lattices are anchored to the page: where all but a box is locked, a crop around the box is enough."""
    rgb = noise(8, 90, 110)
    start, aim = wanted(rgb, typical.BWR)
    locked = np.ones(start.shape, dtype=np.bool_)
    locked[33:60, 41:80] = False
    whole = refine(start, aim, locked=locked)
    rows, columns = slice(33 - eye.REACH, 60 + eye.REACH), slice(41 - eye.REACH, 80 + eye.REACH)
    part = Wanted(
        aim.shares[:, rows, columns],
        aim.points,
        aim.shown[rows, columns],
        origin=(columns.start, rows.start),
    )
    cropped = refine(start[rows, columns], part, locked=locked[rows, columns])
    assert (cropped == whole[rows, columns]).all()
    assert (whole != start).any()


def test_what_is_no_picture_is_no_error() -> None:
    """Type beside a picture is right as it is: the picture does not make up for it."""
    rgb = np.full((40, 60, 3), 128, dtype=np.uint8)
    start, aim = wanted(rgb, typical.BW)
    shown = np.zeros(start.shape, dtype=np.bool_)
    shown[:, :30] = True
    black, white = (np.where(shown, start, np.uint8(code)) for code in (0, 1))
    half = Wanted(aim.shares, aim.points, shown)
    assert (refine(black, half)[:, :30] == refine(white, half)[:, :30]).all()


def test_every_place_of_a_cell_is_visited_once() -> None:
    places = search.visits()
    assert len(set(places)) == len(places) == search.STRIDE**2


def test_the_blur_is_its_own_mirror_and_dots_share_error_as_its_autocorrelation_says() -> None:
    for blur, shared in zip(eye.blurs(), eye.together(), strict=True):
        assert (blur == blur[::-1, ::-1]).all()
        assert (blur == blur.T).all()
        assert shared[eye.REACH, eye.REACH] == (blur**2).sum()
        assert shared.sum() == blur.sum() ** 2
        # A true autocorrelation has no negative frequency (Wiener and Khinchin): the search cannot run away.
        assert np.fft.fft2(np.fft.ifftshift(shared)).real.min() > -1e-6 * shared.sum()


def test_whole_numbers_stay_small_enough_to_be_exact() -> None:
    """The worst sums stay below 2**31 in the kept error, and below 2**53 in what a move costs."""
    widest = max(int(np.ptp(eye.points(ink_set(p.inks)), axis=0).max()) for p in (*PANELS, typical.SEVEN))
    worst = widest * 255 * int(eye.blurs()[0].sum()) ** 2
    assert worst < 2**31
    assert 6 * widest * 255 * worst < 2**53


@pytest.mark.parametrize("panel", PANELS, ids=lambda p: f"{len(p.inks)} inks")
def test_flat_tones_keep_their_tone(panel: Panel) -> None:
    """The mean light of a flat field is that of its mix, to less than 0.1 % of the panel's range."""
    for grey in (40, 90, 128, 200, 240):
        rgb = np.full((198, 198, 3), grey, dtype=np.uint8)
        start, aim = wanted(rgb, panel)
        points = aim.points[:, 0]
        mixed = (aim.shares[:, 0, 0] * points).sum() / 255
        got = points[refine(start, aim)].mean()
        assert abs(got - mixed) < 0.001 * np.ptp(points) + 0.6  # half a whole number of the points' own scale
