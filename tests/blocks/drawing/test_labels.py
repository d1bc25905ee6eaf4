"""Labels: never over one another, never off the drawing, and safe to put into a page."""

from itertools import combinations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from wallbill.blocks.drawing.labels import Label, apart, clearest, inside, spread, stacked, to_html

boxes = st.builds(
    lambda x, y, w, h: (x, y, w, h),
    st.integers(-10, 100),
    st.integers(-10, 60),
    st.integers(1, 40),
    st.integers(1, 20),
)
labels = st.lists(st.builds(lambda box: Label("x", box), boxes), max_size=20)


@settings(deadline=None)
@given(boxes, boxes)
def test_boxes_are_apart_exactly_when_they_share_no_pixel(
    one: tuple[int, int, int, int], other: tuple[int, int, int, int]
) -> None:
    ground = np.zeros((120, 180), dtype=int)
    for x, y, width, height in (one, other):
        ground[y + 20 : y + 20 + height, x + 20 : x + 20 + width] += 1
    assert apart(one, other) == (ground.max() < 2)
    assert apart(one, other) == apart(other, one)


@settings(deadline=None)
@given(labels, st.integers(0, 6))
def test_spread_labels_keep_apart_and_on_the_drawing(given_labels: list[Label], gap_px: int) -> None:
    kept = spread(given_labels, (), size=(100, 60), gap_px=gap_px)
    assert all(inside(label.box, (100, 60)) for label in kept)
    assert all(apart(a.box, b.box, gap_px=gap_px) for a, b in combinations(kept, 2))
    for label in given_labels:  # nothing is left out that had room
        if label not in kept and inside(label.box, (100, 60)):
            assert any(not apart(label.box, other.box, gap_px=gap_px) for other in kept)


@settings(deadline=None)
@given(st.lists(st.tuples(st.integers(-30, 120), st.integers(4, 18)), max_size=12), st.integers(10, 90))
def test_stacked_labels_keep_apart_and_within_their_column(
    given_rows: list[tuple[int, int]], room_px: int
) -> None:
    column = [Label(str(i), (0, top, 20, height)) for i, (top, height) in enumerate(given_rows)]
    kept = stacked(column, top_px=0, bottom_px=room_px)
    assert all(label.box[1] >= 0 and label.box[1] + label.box[3] <= room_px for label in kept)
    assert all(apart(a.box, b.box) for a, b in combinations(kept, 2))
    if sum(height for _, height in given_rows) <= room_px:
        assert len(kept) == len(column)


def test_the_clearest_place_is_chosen() -> None:
    drawn = np.zeros((40, 60), dtype=np.bool_)
    drawn[:20] = True
    over, under, off = Label("a", (5, 2, 20, 12)), Label("a", (5, 24, 20, 12)), Label("a", (50, 24, 20, 12))
    assert clearest([off, over, under], (), drawn=drawn) == under
    assert clearest([over, under], [under], drawn=drawn) == over
    assert clearest([off], (), drawn=drawn) is None


def test_a_label_is_escaped() -> None:
    html = to_html([Label("<b>&\"'", (1, 2, 30, 12))])
    assert "<b>" not in html
    assert "&lt;b&gt;&amp;" in html
    assert "left:1px;top:2px;width:30px;height:12px" in html


@settings(deadline=None)
@given(st.lists(st.integers(0, 90), min_size=2, max_size=6))
def test_stacked_labels_move_no_more_than_they_must(tops: list[int]) -> None:
    """No label can be moved alone, and no pool of touching ones together, to come nearer to where they should be."""
    column = [Label(str(i), (0, top, 20, 10)) for i, top in enumerate(sorted(tops))]
    kept = stacked(column, top_px=-500, bottom_px=500)
    pools: list[list[int]] = [[]]
    for i, label in enumerate(kept):
        if i and label.box[1] > kept[i - 1].box[1] + 10:
            pools.append([])
        pools[-1].append(i)
    for pool in pools:
        off = sum(kept[i].box[1] - column[i].box[1] for i in pool) / len(pool)
        assert abs(off) <= 0.5 or (len(pool) > 1 and abs(off) <= 1)


def test_what_must_not_be_covered_is_not() -> None:
    drawn, never = np.zeros((40, 60), dtype=np.bool_), np.zeros((40, 60), dtype=np.bool_)
    drawn[:, 20:40] = True
    never[:, :20] = True
    choices = [Label("x", (left, 10, 12, 12)) for left in (4, 24, 46)]
    assert clearest(choices, (), drawn=drawn) == choices[0]
    assert clearest(choices, (), drawn=drawn, never=never) == choices[2]
    assert clearest(choices[:1], (), drawn=drawn, never=never) is None
