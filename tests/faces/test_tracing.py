"""Tracing: the outline is exactly the boundary of the pixels, whatever they are."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from tests.faces.drawn import Grid, pieces
from wallbill.faces.pieces import labelled, shape_of
from wallbill.faces.tracing import Loop, euler_numbers, trace, without_specks

grids = hnp.arrays(np.bool_, hnp.array_shapes(min_dims=2, max_dims=2, min_side=0, max_side=9))


def signed_area(loop: Loop) -> float:
    """By the shoelace formula, positive for clockwise on screen (y downwards)."""
    ends = [*loop[1:], loop[0]]
    return sum(x * next_y - next_x * y for (x, y), (next_x, next_y) in zip(loop, ends, strict=True)) / 2


def windings(loops: list[Loop], shape: tuple[int, int]) -> np.ndarray:
    """The winding number of each pixel, from the upright edges on its left."""
    turns = np.zeros((shape[0], shape[1] + 1), np.int_)
    for loop in loops:
        for (x, y), (next_x, next_y) in zip(loop, [*loop[1:], loop[0]], strict=True):
            if x == next_x:
                turns[min(y, next_y) : max(y, next_y), x] += 1 if next_y < y else -1
    return np.cumsum(turns, axis=1)[:, :-1]


@given(st.lists(grids, max_size=6))
@settings(max_examples=150, deadline=None)
def test_loops_fill_back_to_the_grid(many: list[Grid]) -> None:
    for grid, loops in zip(many, trace(many).loops, strict=True):
        assert np.array_equal(windings(loops, grid.shape), grid.astype(int))


@given(grids)
@settings(max_examples=150, deadline=None)
def test_area_is_the_count_of_pixels(grid: Grid) -> None:
    assert sum(signed_area(loop) for loop in trace([grid]).loops[0]) == grid.sum()


@given(grids)
@settings(max_examples=150, deadline=None)
def test_points_stand_at_corners_only(grid: Grid) -> None:
    for loop in trace([grid]).loops[0]:
        assert len(loop) >= 4
        for before, here, after in zip([loop[-1], *loop[:-1]], loop, [*loop[1:], loop[0]], strict=True):
            level_in, level_out = before[1] == here[1], here[1] == after[1]
            assert level_in != level_out, "a corner turns"
            assert before != here != after


@given(grids)
@settings(max_examples=150, deadline=None)
def test_outer_loops_run_clockwise_and_holes_against(grid: Grid) -> None:
    loops = trace([grid]).loops[0]
    joined, holes = pieces(grid)
    # Loops keep apart at corners, so there are at least as many outer ones as pieces joined over corners.
    assert sum(signed_area(loop) > 0 for loop in loops) >= joined
    assert sum(signed_area(loop) < 0 for loop in loops) <= holes


@given(st.lists(grids, max_size=6))
@settings(max_examples=150, deadline=None)
def test_euler_number_is_pieces_less_holes(many: list[Grid]) -> None:
    assert euler_numbers(many).tolist() == [joined - holes for joined, holes in map(pieces, many)]
    assert trace(many).euler.tolist() == euler_numbers(many).tolist()


@given(grids)
@settings(max_examples=150, deadline=None)
def test_labels_count_the_pieces(grid: Grid) -> None:
    joined, holes = pieces(grid)
    labels = labelled(grid)
    assert np.array_equal(labels > 0, grid)
    assert labels.max(initial=0) == joined
    shape = shape_of(grid)
    assert (shape.pieces, shape.holes) == ((joined, holes) if grid.size else (0, 0))


def test_letters_of_known_shape() -> None:
    # An o has one piece and one hole, an i two pieces, a B one piece and two holes.
    ring = np.ones((3, 3), np.bool_)
    ring[1, 1] = False
    dotted = np.array([[1], [0], [1], [1]], np.bool_)
    double = np.ones((5, 3), np.bool_)
    double[1, 1] = double[3, 1] = False
    assert euler_numbers([ring, dotted, double]).tolist() == [0, 2, -1]


def test_diagonal_pixels_are_one_piece_and_two_loops() -> None:
    grid = np.eye(2, dtype=np.bool_)
    assert euler_numbers([grid]).tolist() == [1]
    assert len(trace([grid]).loops[0]) == 2


def test_specks_go_and_strokes_stay() -> None:
    grid = np.zeros((7, 9), np.bool_)
    grid[1:6, 1:6] = True
    grid[3, 3] = False  # a hole of one pixel, as a seam leaves it
    grid[3, 7] = True  # and a speck
    cleaned = without_specks(grid)
    assert cleaned[3, 3]
    assert not cleaned[3, 7]
    assert cleaned.sum() == 25
