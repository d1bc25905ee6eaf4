"""Wind arrows: sixteen directions, each a turn or mirror image of another, pointing where the wind goes."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.golden import check_golden

from wallbill.blocks.drawing.grid import INK
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.icons.wind import POINTS, compass_point, wind_arrow, wind_grid
from wallbill.errors import SheetError

SIZES = (12, 16, 24, 32, 48)


def heading_deg(codes: np.ndarray) -> float:
    """The direction from the pixel nearest the tail's notch to the tip: the farthest ink from the middle."""
    rows, columns = np.nonzero(codes == INK)
    middle = (codes.shape[0] - 1) / 2
    away = np.hypot(columns - middle, rows - middle)
    tip = away >= away.max() - 0.6
    return math.degrees(math.atan2((columns - middle)[tip].mean(), (middle - rows)[tip].mean())) % 360


@pytest.mark.parametrize("size_px", SIZES)
def test_the_arrows_of_a_size_weigh_the_same(size_px: int) -> None:
    straight = {int((wind_grid(90.0 * n, size_px=size_px).codes == INK).sum()) for n in range(4)}
    between = {
        int((wind_grid(90.0 * n + 22.5 * k, size_px=size_px).codes == INK).sum())
        for n in range(4)
        for k in (1, 3)
    }
    assert len(straight) == 1
    assert len(between) == 1
    assert max(between) / max(straight) == pytest.approx(1, abs=0.3)
    drawings = {wind_grid(22.5 * n, size_px=size_px) for n in range(16)}
    assert len(drawings) == 16


@pytest.mark.parametrize("number", range(16))
def test_it_points_where_the_wind_goes(number: int) -> None:
    codes = wind_grid(22.5 * number, size_px=64).codes
    rows, columns = np.nonzero(codes == INK)
    # The dart is heavier at its wings, so its middle lies behind the middle of the box, upwind.
    from_x, from_y = columns.mean() - 31.5, 31.5 - rows.mean()
    upwind_deg = math.degrees(math.atan2(from_x, from_y)) % 360
    off = (upwind_deg - 22.5 * number + 180) % 360 - 180
    assert abs(off) < 6


@pytest.mark.parametrize("size_px", SIZES)
def test_straight_arrows_are_symmetric(size_px: int) -> None:
    south = wind_grid(180, size_px=size_px).codes
    assert np.array_equal(south, south[:, ::-1])
    slanting = wind_grid(225, size_px=size_px).codes
    assert np.array_equal(slanting, slanting[::-1, ::-1].T)


@given(st.floats(-720, 720), st.integers(-3, 3))
def test_the_nearest_of_sixteen_points(direction: float, turns: int) -> None:
    name = compass_point(direction)
    middle = POINTS.index(name) * 22.5
    off = (direction - middle + 180) % 360 - 180
    assert -11.25 - 1e-9 <= off <= 11.25 + 1e-9


# The names of the sixteen points are common knowledge; each is a quarter of a quarter of the circle.
@pytest.mark.parametrize(
    ("direction", "name"),
    [(0, "N"), (11.24, "N"), (11.25, "NNE"), (45, "NE"), (202, "SSW"), (348.75, "N"), (360, "N")],
)
def test_points_by_name(direction: float, name: str) -> None:
    assert compass_point(direction) == name
    assert f'aria-label="wind from {name}"' in str(wind_arrow(direction, size_px=24, palette=Palette()))


def test_calm_and_nonsense() -> None:
    ring = wind_grid(None, size_px=24).codes
    assert np.array_equal(ring, ring.T)
    assert 'aria-label="calm"' in str(wind_arrow(None, size_px=24, palette=Palette()))
    with pytest.raises(SheetError, match="number of degrees"):
        wind_grid(math.nan, size_px=24)
    with pytest.raises(SheetError, match="at least 8"):
        wind_grid(0, size_px=6)


@pytest.mark.parametrize("size_px", SIZES)
def test_the_rose_looks_as_accepted(size_px: int) -> None:
    codes = np.concatenate([wind_grid(22.5 * n, size_px=size_px).codes for n in range(8)], axis=1)
    check_golden(f"wind-{size_px}", codes, ((222, 222, 214), (20, 20, 20)))
