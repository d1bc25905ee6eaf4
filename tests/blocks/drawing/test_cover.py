"""Smoothed shapes: coverage against samples of the same geometry, and its mixing on panels of greys."""

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from wallbill.blocks.drawing.cover import NONE, Soft, stroke_cover
from wallbill.blocks.drawing.greys import greys_of
from wallbill.blocks.drawing.grid import INK, MUTED, NOTHING, PAPER, Sketch
from wallbill.blocks.drawing.light import coded, decoded
from wallbill.blocks.drawing.markup import Tint, tint_rgb
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.patterns import Hatch

SIZE = (36, 24)
FINE = 16
SMOOTH = Palette(muted="#808080", smooth=True)


def full(soft: Soft) -> np.ndarray:
    """Coverage of the whole drawing, 0 to 1."""
    ground = np.zeros((SIZE[1], SIZE[0]))
    (x, y), (down, across) = soft.at, soft.cover.shape
    ground[y : y + down, x : x + across] = soft.cover / 255
    return ground


def sampled(x: np.ndarray, y: np.ndarray, line_px: float) -> np.ndarray:
    """The same by 256 samples a pixel: those nearer to the path than half its width."""
    down, across = np.mgrid[0 : SIZE[1] * FINE, 0 : SIZE[0] * FINE]
    px, py = (across + 0.5) / FINE, (down + 0.5) / FINE
    inside = np.zeros(px.shape, dtype=bool)
    for i in range(max(1, len(x) - 1)):
        j = min(i + 1, len(x) - 1)
        dx, dy = x[j] - x[i], y[j] - y[i]
        length = dx * dx + dy * dy
        along = np.clip(((px - x[i]) * dx + (py - y[i]) * dy) / length, 0, 1) if length else 0.0
        inside |= (px - x[i] - along * dx) ** 2 + (py - y[i] - along * dy) ** 2 <= (line_px / 2) ** 2
    shares: np.ndarray = inside.reshape(SIZE[1], FINE, SIZE[0], FINE).mean(axis=(1, 3))
    return shares


points = st.lists(st.tuples(st.floats(3, 33), st.floats(3, 21)), min_size=1, max_size=6)


@settings(max_examples=60, deadline=None)
@example([(12.0, 3.0), (12.0, 13.0), (13.0, 13.0)], 1)  # a corner: nothing is filled in within it
@given(points, st.sampled_from([1, 2, 3, 4.5]))
def test_coverage_is_that_of_the_geometry(given_points: list[tuple[float, float]], line_px: float) -> None:
    x, y = (np.array(part) for part in zip(*sorted(given_points), strict=True))
    got, wanted = full(stroke_cover(SIZE, [(x, y)], line_px=line_px)), sampled(x, y, line_px)
    assert np.abs(got - wanted).max() <= 0.4  # an upright edge falls on the nearest quarter of a pixel
    assert abs(got.sum() - wanted.sum()) <= 0.05 * wanted.sum() + 0.5
    assert not got[wanted == 0].max(initial=0) > 0.4


def test_a_level_line_is_exact() -> None:
    soft = stroke_cover(SIZE, [(np.array([4.0, 30.0]), np.array([10.25, 10.25]))], line_px=2)
    column = full(soft)[:, 16]
    assert column[8:13] == pytest.approx([0, 0.75, 1, 0.25, 0], abs=0.005)


def test_dashes_leave_their_gaps_and_what_is_outside_is_cut_off() -> None:
    line = (np.array([-20.0, 60.0]), np.array([12.5, 12.5]))
    row = full(stroke_cover(SIZE, [line], line_px=1, dash_px=(4, 4)))[12]
    assert (row[[4, 5, 6, 7, 12, 13]] > 0.9).all()  # the line began 20 pixels further left
    assert (row[[1, 2, 9, 10]] < 0.1).all()
    assert row.sum() == pytest.approx(SIZE[0] * 4.5 / 8, abs=3)
    assert stroke_cover(SIZE, [(np.array([5.0]), np.array([-40.0]))], line_px=3) is NONE
    assert stroke_cover(SIZE, [], line_px=3) is NONE


def test_smoothed_shapes_lie_over_one_another() -> None:
    half = Soft(np.full((2, 2), 128, dtype=np.uint8), (1, 1))
    sketch = Sketch(6, 4, smooth=True)
    assert sketch.smooth
    cover = sketch.shade(half).shade(half).cover()
    assert cover is not None
    assert cover[1, 1] == pytest.approx(255 * (1 - 0.498**2), abs=2)  # half of what half left free
    sketch.shade(Soft(np.full((2, 2), 255, dtype=np.uint8), (1, 1)), fade=True)
    assert not sketch.drawn().any()
    sketch.shade(half).fill((1, 1, 2, 1), MUTED)
    assert sketch.solid().sum() == 2
    with pytest.raises(ValueError, match="whole pixels"):
        Sketch(6, 4).shade(half)
    assert Sketch(6, 4).cover() is None


def test_cover_mixes_with_what_lies_under_it_in_linear_light() -> None:
    sketch = Sketch(5, 1, smooth=True).fill((3, 0, 1, 1), PAPER).fill((4, 0, 1, 1), INK)
    area = np.array([[False, True, True, False, False]])
    cover = np.array([[128, 0, 128, 0, 0]], dtype=np.uint8)
    found = greys_of(sketch.ground(), cover, [Tint(area, Hatch.CHECKS_50)], palette=SMOOTH)[0].tolist()
    # IEC 61966-2-1: half of white's light is code 188, the eleventh step of fifteen; the tint is that step itself,
    # and half of it, 0.249 of white's light, is code 136 or 137, the eighth.
    grey = tint_rgb(SMOOTH, Hatch.CHECKS_50)[0]
    assert found == [12, grey // 17 + 1, 9, 16, 1]
    assert (
        greys_of(Sketch(1, 1, smooth=True).grid(), np.zeros((1, 1), np.uint8), [], palette=SMOOTH)[0, 0]
        == NOTHING
    )
    assert [coded(decoded(17 * step)) for step in range(16)] == list(range(16))
