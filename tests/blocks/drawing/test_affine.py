"""Affine maps and curves, against a library for fonts and its maps."""

import math

import pytest
from fontTools.misc.bezierTools import cubicPointAtT
from fontTools.misc.transform import Transform
from hypothesis import given
from hypothesis import strategies as st

from wallbill.blocks.drawing.affine import Affine, curve, read_transform

NUMBERS = st.floats(-100, 100)
SIX = st.tuples(*[NUMBERS] * 6)
POINT = st.tuples(NUMBERS, NUMBERS)


@given(SIX, SIX, POINT)
def test_maps_follow_one_another_as_in_a_library(
    outer: tuple[float, ...], inner: tuple[float, ...], point: tuple[float, float]
) -> None:
    """fontTools.misc.transform, whose ``transform`` applies its argument first."""
    ours = Affine(*outer).after(Affine(*inner))
    assert ours == pytest.approx(tuple(Transform(*outer).transform(inner)))
    assert ours.at(point) == pytest.approx(Transform(*outer).transform(inner).transformPoint(point))


@pytest.mark.parametrize(
    ("text", "theirs"),
    [
        ("", Transform()),
        ("translate(3)", Transform().translate(3, 0)),
        ("translate(3,-4) scale(2)", Transform().translate(3, -4).scale(2)),
        ("rotate(30)", Transform().rotate(math.radians(30))),
        ("rotate(30 5,6)", Transform().translate(5, 6).rotate(math.radians(30)).translate(-5, -6)),
        ("skewX(20)", Transform().skew(math.radians(20), 0)),
        ("skewY(20)", Transform().skew(0, math.radians(20))),
        ("matrix(1 2 3 4 5 6)", Transform(1, 2, 3, 4, 5, 6)),
    ],
)
def test_transforms_are_read_as_a_library_makes_them(text: str, theirs: Transform) -> None:
    assert read_transform(text) == pytest.approx(tuple(theirs))


@pytest.mark.parametrize("text", ["turn(3)", "rotate(1 2)", "scale", "translate(1,2) x"])
def test_what_is_no_transform_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"no transform|takes"):
        read_transform(text)


def test_scale_and_turn() -> None:
    assert read_transform("rotate(90) scale(2 8)").scale == pytest.approx(4)
    assert read_transform("rotate(90)").turned_deg == pytest.approx(90)


@given(POINT, POINT, POINT, POINT, st.integers(1, 30))
def test_points_of_a_curve_against_a_library(
    start: tuple[float, float], first: tuple[float, float], second: tuple[float, float], end: tuple[float, float], steps: int
) -> None:  # fmt: skip
    found = curve((start, first, second, end), steps=steps)
    assert len(found) == steps
    for number, point in enumerate(found, start=1):
        assert point == pytest.approx(cubicPointAtT(start, first, second, end, number / steps), abs=1e-9)
