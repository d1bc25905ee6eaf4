"""Lines by distance: as heavy in every direction, smoothed by their share, and never outside."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import ndimage  # type: ignore[import-untyped]  # the library has no types

from wallbill.blocks.drawing.grid import INK, NOTHING, PAPER
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.patterns import Hatch
from wallbill.blocks.maps.canvas import Canvas
from wallbill.blocks.maps.clip import Edges
from wallbill.blocks.maps.pen import eased, edges_along, field_of, thin

SIZE = (50, 36)
points = st.tuples(st.floats(-200, 250), st.floats(-200, 250))


@settings(deadline=None)
@given(st.lists(points, min_size=1, max_size=6), st.floats(0.6, 9))
def test_distances_agree_with_the_plain_formula(line: list[tuple[float, float]], reach_px: float) -> None:
    part = (np.array([p[0] for p in line]), np.array([p[1] for p in line]))
    edges = edges_along([part])
    field = field_of(edges, SIZE, reach_px=reach_px)
    away = np.full((SIZE[1], SIZE[0]), np.inf)
    away[field.rows, field.columns] = field.away_px
    x, y = np.meshgrid(np.arange(SIZE[0]) + 0.5, np.arange(SIZE[1]) + 0.5)
    plain = np.full(x.shape, np.inf)
    for x0, y0, x1, y1 in zip(edges.x0, edges.y0, edges.x1, edges.y1, strict=True):
        across, down = x1 - x0, y1 - y0
        share = np.clip(((x - x0) * across + (y - y0) * down) / max(across**2 + down**2, 1e-12), 0, 1)
        plain = np.minimum(plain, np.hypot(x - x0 - share * across, y - y0 - share * down))
    near = plain <= reach_px - 1e-3
    assert np.allclose(away[near], plain[near], atol=1e-3)
    assert np.all(np.isinf(away[plain > reach_px + 1e-3]))


@pytest.mark.parametrize("angle_deg", range(0, 180, 15))
def test_a_line_is_as_heavy_in_every_direction(angle_deg: int) -> None:
    east, north = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    canvas = Canvas((201, 201), Palette())
    x, y = (
        np.array([100.3 - 80 * east, 100.3 + 80 * east]),
        np.array([100.6 - 80 * north, 100.6 + 80 * north]),
    )
    canvas.line(edges_along([(x, y)]), line_px=3)
    drawn = (canvas.grid().codes == INK).sum()
    # At 45 degrees pixels lie in rows 0.71 apart: a line of 3 holds four or five of them.
    assert drawn == pytest.approx(160 * 3 + math.pi * 1.5**2, rel=0.18 if angle_deg % 90 == 45 else 0.03)


@settings(deadline=None)
@given(st.lists(st.tuples(st.integers(0, 49 * 16), st.integers(0, 35 * 16)), min_size=2, max_size=6))
def test_a_fine_line_hangs_together(line: list[tuple[int, int]]) -> None:
    inner = [(x / 16, y / 16) for x, y in line]
    part = (np.array([p[0] for p in inner]), np.array([p[1] for p in inner]))
    mask = thin([part], SIZE)
    _, pieces = ndimage.label(mask, structure=np.ones((3, 3)))
    assert pieces == 1


def test_dashes_are_as_long_as_asked_round_corners_too() -> None:
    part = (np.array([0.0, 30, 30]), np.array([10.0, 10, 40]))
    edges = edges_along([part], dash_px=(7, 3))
    lengths = np.hypot(edges.x1 - edges.x0, edges.y1 - edges.y0)
    assert lengths.sum() == pytest.approx(6 * 7)


def test_easing_keeps_the_ends() -> None:
    x = np.linspace(0, 10, 1000)
    thin_x, thin_y = eased((x, np.sin(x)))
    assert (thin_x[0], thin_x[-1]) == (0, 10)
    assert len(thin_x) < 60
    assert np.abs(np.interp(x, thin_x, thin_y) - np.sin(x)).max() < 0.1


def test_a_smoothed_rim_keeps_the_amount_of_ink() -> None:
    grey = Canvas((61, 61), Palette(smooth=True))
    grey.disc((30.3, 30.7), across_px=21)
    levels = grey.greys()
    assert levels is not None
    coded = np.where(levels == 0, 15, levels.astype(int) - 1) / 15
    light = np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)  # IEC 61966-2-1
    assert (1 - light).sum() == pytest.approx(math.pi * 10.5**2, rel=0.02)
    assert len(np.unique(levels)) > 6


def test_clearing_brings_back_the_ground_and_keeps_cased_lines() -> None:
    canvas = Canvas(SIZE, Palette(smooth=True))
    every = np.ones((SIZE[1], SIZE[0]), dtype=np.bool_)
    canvas.tint(every, Hatch.DOTS_12)
    canvas.ground()
    before = canvas.greys()
    line = Edges(np.array([0.0]), np.array([5.5]), np.array([50.0]), np.array([5.5]))
    coast = Edges(np.array([0.0]), np.array([20.5]), np.array([50.0]), np.array([20.5]))
    canvas.line(line, line_px=1, casing_px=1)
    canvas.line(coast, line_px=1)
    canvas.clear((0, 0, 50, 36))
    codes = canvas.grid().codes
    after = canvas.greys()
    assert before is not None
    assert after is not None
    assert set(codes[5].tolist()) == {INK}
    assert set(codes[4].tolist()) == {PAPER}
    assert set(codes[20].tolist()) == {NOTHING}
    assert np.array_equal(before[20], after[20])
