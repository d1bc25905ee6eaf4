"""Changed rectangles hold every change, begin between bytes, and cost no more than the whole."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.inks import typical
from wallbill.inks.impression import Codes, Impression, frozen_codes
from wallbill.inks.rectangles import Kind, Partials, Rectangle, changed_rectangles, showing

PARTIAL = replace(typical.BW, refresh=replace(typical.BW.refresh, partial_s=0.5))


def made(codes: Codes) -> Impression:
    return Impression(frozen_codes(codes), typical.BW.inks)


BLANK = np.zeros((48, 100), dtype=np.uint8)


def spotted(*spots: tuple[int, int, int, int]) -> Impression:
    """White boxes (left, top, width, height) on black."""
    codes = BLANK.copy()
    for left, top, width, height in spots:
        codes[top : top + height, left : left + width] = 1
    return made(codes)


def test_nothing_changed() -> None:
    assert changed_rectangles(made(BLANK), made(BLANK)) == ()


def test_one_pixel_makes_a_byte() -> None:
    assert changed_rectangles(made(BLANK), spotted((13, 7, 1, 1))) == (Rectangle(8, 7, 8, 1),)


def test_the_last_byte_ends_with_the_page() -> None:
    assert changed_rectangles(made(BLANK), spotted((99, 47, 1, 1))) == (Rectangle(96, 47, 4, 1),)


def test_near_ones_go_together_and_far_ones_do_not() -> None:
    after = spotted((0, 0, 8, 8), (16, 0, 8, 8), (88, 40, 8, 8))
    assert changed_rectangles(made(BLANK), after, head_px=100) == (
        Rectangle(0, 0, 24, 8),
        Rectangle(88, 40, 8, 8),
    )
    assert changed_rectangles(made(BLANK), after, head_px=10_000) == (Rectangle(0, 0, 96, 48),)


@given(st.integers(0, 10_000), st.floats(0.0005, 0.2), st.integers(0, 3000))
def test_every_change_is_held_and_no_rectangle_is_idle(seed: int, share: float, head_px: int) -> None:
    chance = np.random.default_rng(seed)
    height, width = (int(side) for side in chance.integers(1, 90, 2))
    before = chance.integers(0, 2, (height, width)).astype(np.uint8)
    after = np.where(chance.random((height, width)) < share, 1 - before, before).astype(np.uint8)
    found = changed_rectangles(made(before), made(after), head_px=head_px)
    left = before != after
    for each in found:
        assert each.left_px % 8 == 0
        assert (each.left_px + each.width_px) % 8 == 0 or each.left_px + each.width_px == width
        assert each.top_px + each.height_px <= height
        assert (before != after)[each.slices()].any()
        left[each.slices()] = False
    assert not left.any()


def test_the_rectangles_laid_over_the_last_impression_give_the_new_one() -> None:
    chance = np.random.default_rng(4)
    before, after = (chance.integers(0, 2, (40, 64)).astype(np.uint8) for _ in range(2))
    shown = before.copy()
    for each in changed_rectangles(made(before), made(after)):
        shown[each.slices()] = after[each.slices()]
    assert (shown == after).all()


def test_other_sizes_and_inks_are_refused() -> None:
    with pytest.raises(ValueError, match="one size"):
        changed_rectangles(made(BLANK), made(BLANK[:40]))


def test_the_same_picture_is_not_shown_twice() -> None:
    assert showing(made(BLANK), made(BLANK), PARTIAL, partials=3) == showing(
        made(BLANK), made(BLANK.copy()), PARTIAL, partials=3
    )
    assert showing(made(BLANK), made(BLANK), PARTIAL, partials=3).kind is Kind.NONE
    assert showing(made(BLANK), made(BLANK), PARTIAL, partials=3).partials == 3


def test_a_small_change_is_shown_in_part_until_ghosts_must_go() -> None:
    after, partials, kinds = spotted((13, 7, 1, 1)), 0, []
    for _ in range(8):
        way = showing(made(BLANK), after, PARTIAL, partials=partials, rule=Partials(most=3))
        partials = way.partials
        kinds.append(way.kind.value)
    assert kinds == ["partial", "partial", "partial", "full", "partial", "partial", "partial", "full"]


def test_who_cannot_or_does_not_know_refreshes_in_full() -> None:
    after = spotted((13, 7, 1, 1))
    assert showing(made(BLANK), after, typical.BW).kind is Kind.FULL
    assert showing(None, after, PARTIAL, partials=2) == showing(made(BLANK), after, typical.BW)
    assert showing(made(BLANK), made(1 - BLANK), PARTIAL).kind is Kind.FULL
