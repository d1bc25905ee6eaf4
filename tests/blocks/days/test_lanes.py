"""Lanes: none overlaps, none could be spared, and where some are too many, as many stay as can."""

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wallbill.blocks.days.lanes import Stretch, lane_count, lanes, most_that_fit

stretches = st.lists(st.tuples(st.integers(0, 60), st.integers(1, 25)).map(lambda pair: (pair[0], pair[0] + pair[1])), max_size=40)  # fmt: skip


def overlap(one: Stretch, other: Stretch) -> bool:
    return one[0] < other[1] and other[0] < one[1]


def deepest(found: list[Stretch]) -> int:
    """How many overlap at one point, counted point by point: no lanes can be fewer."""
    return max((sum(1 for a, b in found if a <= x < b) for x in range(100)), default=0)


@given(stretches)
@settings(max_examples=300)
def test_lanes_never_overlap_and_are_the_fewest(found: list[Stretch]) -> None:
    placed = lanes(found)
    for i, j in combinations(range(len(found)), 2):
        assert placed[i] != placed[j] or not overlap(found[i], found[j])
    assert max(placed, default=-1) + 1 == deepest(found) == lane_count(found)


@given(stretches.map(lambda found: found[:9]), st.integers(1, 4))
@settings(max_examples=150, deadline=None)
def test_as_many_stay_as_can(found: list[Stretch], count: int) -> None:
    kept = most_that_fit(found, count)
    assert lane_count([found[i] for i in kept]) <= count
    best = max(
        (size for size in range(len(found) + 1) if any(lane_count(choice) <= count for choice in combinations(found, size))),
        default=0,
    )  # fmt: skip
    assert len(kept) == best


def test_what_touches_shares_a_lane() -> None:
    assert lanes([(0, 10), (10, 20), (5, 15)]) == (0, 0, 1)


def test_an_empty_stretch_is_refused() -> None:
    with pytest.raises(ValueError, match="ends behind its start"):
        lanes([(3, 3)])
