"""Round values: the published algorithm's results, and what must hold for every scale."""

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wallbill.blocks.charts.ticks import Cover, Ticks, ticks, worded

NICE = {Fraction(q) for q in ("1", "2", "2.5", "3", "4", "5")}
finite = st.floats(-1e9, 1e9, allow_nan=False)


# The first is the example of the manual of R's package "labeling" (from memory, there with m = 4 as well). The others
# were worked out from the scores in Talbot, Lin and Hanrahan, IEEE TVCG 16(6), 2010, with m = 5.
@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        (8.1, 14.1, [8, 10, 12, 14]),
        (0, 100, [0, 25, 50, 75, 100]),
        (0, 1, [0, 0.25, 0.5, 0.75, 1]),
        (-3.7, 12.4, [-4, 0, 4, 8, 12]),
        (105, 543, [100, 200, 300, 400, 500]),
        (998, 1024, [1000, 1005, 1010, 1015, 1020, 1025]),
        (-1, 200, [0, 50, 100, 150, 200]),
        (-31, 27, [-30, -20, -10, 0, 10, 20, 30]),
    ],
)
def test_the_published_scores_choose_these(low: float, high: float, expected: list[float]) -> None:
    assert list(ticks(low, high).values) == expected


def test_the_manuals_example_with_four_labels() -> None:
    assert list(ticks(8.1, 14.1, count=4).values) == [8, 10, 12, 14]


def is_nice(step: Fraction) -> bool:
    power = Fraction(10) ** math.floor(math.log10(step))
    return step / power in NICE or step / (power / 10) in NICE or step / (power * 10) in NICE


def check(found: Ticks) -> None:
    assert list(found.values) == sorted(set(found.values))
    assert is_nice(found.step)
    for value in found.values:
        steps = value / float(found.step)
        assert abs(steps - round(steps)) <= 1e-6 * max(1, abs(steps)), "every label is a multiple of the step"
    assert len(set(found.labels)) == len(found.labels)
    for value, label in zip(found.values, found.labels, strict=True):
        assert (label == "0") == (value == 0)
        assert math.copysign(1, value) == 1 or value < 0, "no negative zero"
        assert float(label.replace("−", "-")) == value


@settings(deadline=None)
@given(finite, finite, st.integers(2, 12), st.sampled_from(Cover), st.booleans())
def test_every_scale_rises_by_a_nice_step_with_labels_that_differ(
    low: float,
    high: float,
    count: int,
    cover: Cover,
    whole: bool,  # noqa: FBT001  hypothesis hands it over by place
) -> None:
    found = ticks(low, high, count=count, cover=cover, whole=whole)
    check(found)
    if whole:
        assert found.step.denominator == 1


@settings(deadline=None)
@given(finite, finite, st.integers(2, 9))
def test_a_loose_scale_encloses_and_an_inner_one_stays_within(low: float, high: float, count: int) -> None:
    low, high = min(low, high), max(low, high)
    loose = ticks(low, high, count=count, cover=Cover.LOOSE)
    assert loose.values[0] <= low
    assert loose.values[-1] >= high
    if high - low > max(abs(high), abs(low)) * 1e-6 + 1e-20:
        inner = ticks(low, high, count=count, cover=Cover.INSIDE)
        assert all(low <= value <= high for value in inner.values)
        assert inner.values, "a range wider than nothing holds a round value"


def test_a_flat_range_still_has_a_scale() -> None:
    for value in (0.0, 5.0, -1000.0, 1e-7):
        found = ticks(value, value)
        assert found.values[0] <= value <= found.values[-1]
        check(found)


def test_a_wish_for_whole_steps_on_a_small_range_gives_what_there_is() -> None:
    assert ticks(0.1, 0.3, whole=True, cover=Cover.INSIDE).values == ()
    assert ticks(0.6, 1.4, whole=True, cover=Cover.INSIDE).values == (1.0,)


@pytest.mark.parametrize(("low", "high"), [(math.nan, 1), (0, math.inf), (-1e308, 1e308 * 1.7)])
def test_a_range_that_is_no_range_is_refused(low: float, high: float) -> None:
    with pytest.raises(ValueError, match=r"finite|too wide"):
        ticks(low, high)


def test_one_label_is_no_scale() -> None:
    with pytest.raises(ValueError, match="at least two"):
        ticks(0, 1, count=1)


def test_values_are_worded_with_a_true_minus_and_a_bare_zero() -> None:
    assert worded(-0.04, decimals=1) == "0"
    assert worded(-3.25, decimals=1) in {"−3.2", "−3.3"}
    assert worded(12, decimals=0) == "12"
