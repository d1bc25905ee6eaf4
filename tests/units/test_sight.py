"""Angles of sight against published tables."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallbill.units.sight import Sight, angle_arcmin, height_mm


@pytest.mark.parametrize(
    ("arcmin", "distance_m", "expected_mm"),
    [
        # Snellen's chart: a letter of 5' at 6 m is 8.727 mm high, its detail of 1' 1.745 mm; at 20 ft 8.866 mm.
        (5, 6, 8.727),
        (1, 6, 1.745),
        (5, 6.096, 8.866),
        # h = 6.283 d MA / 21600, NUREG-0700 rev 2 item 1.3.1-4, tabulated.
        (16, 0.5, 2.327),
        (16, 2, 9.308),
        (20, 3, 17.453),
        (22, 10, 63.996),
        (10, 5, 14.544),
        # NUREG-0700 item 1.3.1-4: a group never exceeds 45'.
        (45, 1, 13.090),
    ],
)
def test_heights_are_those_of_the_handbooks(arcmin: float, distance_m: float, expected_mm: float) -> None:
    assert height_mm(distance_m, arcmin) == pytest.approx(expected_mm, abs=0.001)


def test_the_german_rule_for_large_distances_is_22_minutes() -> None:
    # ASR A6, 6.1.3 (2): h >= d / 155.
    assert angle_arcmin(155, 1000) == pytest.approx(22.2, abs=0.05)


@given(st.floats(0.05, 1), st.floats(0.2, 20), st.floats(0.5, 60))
def test_type_of_that_size_is_seen_under_at_least_that_angle(
    pitch: float, distance: float, arcmin: float
) -> None:
    sight = Sight(pitch, distance)
    size = sight.type_px(arcmin)
    assert sight.capital_arcmin(size) >= arcmin * (1 - 1e-6)
    assert size == 1 or sight.capital_arcmin(size - 1) < arcmin
    assert sight.pixels(arcmin) <= size
