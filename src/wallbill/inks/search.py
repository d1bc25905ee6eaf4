"""The fine way to scatter a picture's dots: direct binary search, limited to each pixel's own inks.

Starting from dots that are laid already, pixels change their ink, or exchange it with a neighbour, wherever that brings what the
eye sees nearer to what is wanted. Source: model-based halftoning by direct binary search, 1992, and in colour 2005
(from memory). All sums are of whole numbers, so the order of adding does not matter.

Pixels are visited in sub-lattices whose moves cannot reach one another: all moves of a step are made at once.
A sub-lattice is anchored to the page, not to the picture, and the number of sweeps is fixed: a part of a page done
anew comes out as the whole would.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import TypeVar

import numpy as np
from numpy.lib.stride_tricks import as_strided
from numpy.typing import NDArray

from wallbill.inks import eye
from wallbill.inks.eye import REACH, SHARES, Whole
from wallbill.inks.impression import Codes, Mask

SWEEPS = 2
STRIDE = 2 * REACH + 3
"""A move touches what lies within REACH of a pixel and of its neighbours."""

_LEAST_SHARE = 3  # of 255: an ink that covers less is not among a pixel's own
NEIGHBOURS = tuple((y, x) for y in (-1, 0, 1) for x in (-1, 0, 1) if (y, x) != (0, 0))

_Number = TypeVar("_Number", np.uint8, np.uint16, np.int32)

Exact = NDArray[np.float64]
"""Whole numbers below 2**53 in float64: exact, and fast to multiply."""


Places = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Wanted:
    """What a picture should look like.

    ``shares``: uint8, shape (inks, height, width): coverage of each ink in 255ths; they sum to 255.
    ``points``: the inks as the eye sees them, int32 (inks, 3), from `wallbill.inks.eye.points`.
    ``shown``: bool (height, width), true where the picture shows; all else is right as it is and stays.
    ``origin``: the picture's left and top pixel on the page.
    """

    shares: NDArray[np.uint8]
    points: Whole
    shown: Mask
    origin: tuple[int, int] = (0, 0)


@cache
def visits() -> tuple[tuple[int, int], ...]:
    """The sub-lattices (row, column) in a fixed order that looks random, each once."""
    places = list(range(STRIDE * STRIDE))
    state = 1
    for last in range(len(places) - 1, 0, -1):
        state = (state * 1103515245 + 12345) % 2**31  # C's portable example generator (ISO C 7.22.2)
        other = (state >> 8) % (last + 1)
        places[last], places[other] = places[other], places[last]
    return tuple(divmod(place, STRIDE) for place in places)


@dataclass(frozen=True, slots=True, eq=False)
class Moves:
    """What moves cost and do, worked out once for a set of inks.

    ``points``: float64 (inks, 3). ``change``: cost of changing ink i into j, float64 (inks, inks). ``swap``: the same for
    an exchange with each neighbour, (8, inks, inks). ``trace``: int32 (9, 3, STRIDE, STRIDE): what a move adds to the seen
    error around it, for a step of 1; the first is a change, then one a neighbour.
    """

    points: Exact
    change: Exact
    swap: Exact
    trace: Whole


def moves_of(points: Whole) -> Moves:
    """The moves for inks at ``points``, int32 (inks, 3)."""
    shared = eye.together()
    steps = (points[np.newaxis] - points[:, np.newaxis]).astype(np.float64) * SHARES
    middle = shared[:, REACH, REACH].astype(np.float64)
    swaps, traces = [], [_placed(shared, 0, 0)]
    for down, along in NEIGHBOURS:
        apart = middle - shared[:, REACH + down, REACH + along]
        swaps.append((steps**2 @ apart) * 2)
        traces.append(_placed(shared, 0, 0) - _placed(shared, down, along))
    return Moves(
        points.astype(np.float64) * SHARES,
        steps**2 @ middle,
        np.array(swaps),
        np.array(traces, dtype=np.int32),
    )


def _placed(shared: Whole, down: int, along: int) -> Whole:
    """The shared error around a dot that lies off the middle of a field of STRIDE by STRIDE."""
    field = np.zeros((3, STRIDE, STRIDE), dtype=np.int32)
    side = 2 * REACH + 1
    field[:, 1 + down : 1 + down + side, 1 + along : 1 + along + side] = shared
    return field


@dataclass(frozen=True, slots=True, eq=False)
class Board:
    """A search's own working copy, with a margin so that every sub-lattice is whole; written to.

    ``codes``: uint8 (h, w). ``allowed``: uint16 (h, w), one bit an ink, 0 where nothing may move. ``seen``: int32 (3, h, w).
    """

    codes: Codes
    allowed: NDArray[np.uint16]
    seen: Whole


Step = Callable[[Board, Moves, tuple[int, int]], None]
"""Makes the best move of every pixel of one sub-lattice, where it helps. All makers of it give the same dots."""

StepFor = Callable[[int], Step | None]
"""The fastest maker of moves for a search of so many pixels; None for NumPy's."""


def refine(
    start: Codes,
    wanted: Wanted,
    *,
    locked: Mask | None = None,
    sweeps: int = SWEEPS,
    step: Step | None = None,
) -> Codes:
    """A finer scattering of a picture's dots: uint8 (height, width), places in the order of ``wanted.shares``.

    ``start``: the dots to begin with, such as blue noise. ``locked``: bool (height, width), true where a pixel keeps
    its dot; its own error is heeded by its neighbours all the same. ``step``: a faster maker of moves than NumPy's.
    """
    if not start.size:
        return start.copy()
    moves = moves_of(wanted.points)
    board, at = _set_up(start, wanted, locked)
    step = step or step_at_once
    for _ in range(sweeps):
        for visit in visits():
            step(board, moves, visit)
    height, width = start.shape
    return np.ascontiguousarray(board.codes[at[0] : at[0] + height, at[1] : at[1] + width])


def _set_up(start: Codes, wanted: Wanted, locked: Mask | None) -> tuple[Board, tuple[int, int]]:
    """The board, and where on it the picture's left top pixel lies (row, column)."""
    height, width = start.shape
    left, top = wanted.origin
    # One whole cell of margin before the picture: tiles and neighbours never leave the board.
    at = (STRIDE + top % STRIDE, STRIDE + left % STRIDE)
    size = tuple(
        -(-(place + side) // STRIDE) * STRIDE + STRIDE
        for place, side in zip(at, (height, width), strict=True)
    )
    inside = (slice(at[0], at[0] + height), slice(at[1], at[1] + width))
    codes = np.zeros(size, dtype=np.uint8)
    codes[inside] = start
    allowed = np.zeros(size, dtype=np.uint16)
    own = np.zeros((height, width), dtype=np.uint16)
    for ink, share in enumerate(wanted.shares):
        own |= (share >= _LEAST_SHARE).astype(np.uint16) << np.uint16(ink)
    own[~wanted.shown if locked is None else locked | ~wanted.shown] = 0
    allowed[inside] = own
    seen = np.zeros((3, *size), dtype=np.int32)
    for part in range(3):
        line = wanted.points[:, part]
        error = line[start] * np.int32(SHARES)
        for ink, share in enumerate(wanted.shares):
            error -= share * line[ink]
        plane = np.zeros(size, dtype=np.int32)
        plane[inside] = error * wanted.shown
        seen[part] = eye.seen_error(plane, part)
    return Board(codes, allowed, seen), at


def step_at_once(board: Board, moves: Moves, visit: tuple[int, int]) -> None:
    """The best move of every pixel of one sub-lattice, made where it helps."""
    mine, free = _around(board.codes, visit), _around(board.allowed, visit)
    live = np.flatnonzero(free)
    if not len(live):
        return
    mine, free = mine[live], free[live]
    seen = _around(board.seen, visit)[:, live].astype(np.float64)
    best, partner, move = _changes(moves, mine, free, pull=moves.points @ seen)
    for number, (down, along) in enumerate(NEIGHBOURS):
        at = visit[0] + down, visit[1] + along
        theirs = _around(board.codes, at)[live]
        may = (free >> theirs) & (_around(board.allowed, at)[live] >> mine) & 1
        step = moves.points[theirs] - moves.points[mine]
        pull = seen - _around(board.seen, at)[:, live]
        cost = moves.swap[number][mine, theirs] + 2 * np.einsum("nc,cn->n", step, pull)
        better = (may == 1) & (cost < best)
        best[better] = cost[better]
        partner[better] = theirs[better]
        move[better] = number + 1
    won = np.flatnonzero(best)  # above 0 only where a pixel's ink is none of its own and has to go
    if len(won):
        _make(board, moves, (live[won], mine[won], partner[won], move[won]), visit)


def _around(plane: NDArray[_Number], at: tuple[int, int]) -> NDArray[_Number]:
    """The pixels of ``plane`` (..., height, width) at one place of every cell but those of the margin: (..., pixels)."""
    rows, columns = (side // STRIDE - 2 for side in plane.shape[-2:])
    top, left = STRIDE + at[0], STRIDE + at[1]
    some = plane[..., top : top + rows * STRIDE : STRIDE, left : left + columns * STRIDE : STRIDE]
    return some.reshape(*plane.shape[:-2], -1)


def _changes(
    moves: Moves, mine: Codes, free: NDArray[np.uint16], *, pull: Exact
) -> tuple[Exact, Codes, Places]:
    """The best change of ink at each pixel: its cost, the ink, and 0 for the kind of move."""
    costs = moves.change[mine].T + 2 * (pull - pull[mine, np.arange(len(mine))])
    for ink in range(len(costs)):
        costs[ink][(free >> np.uint16(ink)) & 1 == 0] = np.inf
    choice = costs.argmin(axis=0)
    return (
        costs[choice, np.arange(len(mine))],
        choice.astype(np.uint8),
        np.zeros(len(mine), dtype=np.intp),
    )


def _make(
    board: Board,
    moves: Moves,
    chosen: tuple[Places, Codes, Codes, Places],
    visit: tuple[int, int],
) -> None:
    """Makes the chosen moves: writes codes and the seen error around them."""
    places, mine, partner, move = chosen
    columns = board.codes.shape[1] // STRIDE - 2
    row, column = np.divmod(places, columns)
    y, x = STRIDE + visit[0] + row * STRIDE, STRIDE + visit[1] + column * STRIDE
    board.codes[y, x] = partner
    swapped = np.flatnonzero(move)
    steps = np.array(((0, 0), *NEIGHBOURS))[move[swapped]]
    board.codes[y[swapped] + steps[:, 0], x[swapped] + steps[:, 1]] = mine[swapped]
    half = STRIDE // 2
    down, along = board.seen.strides[1:]
    corner = board.seen[:, STRIDE + visit[0] - half :, STRIDE + visit[1] - half :]
    rows = board.codes.shape[0] // STRIDE - 2
    tiles = as_strided(
        corner,
        shape=(3, rows, columns, STRIDE, STRIDE),
        strides=(board.seen.strides[0], down * STRIDE, along * STRIDE, down, along),
    )
    step = ((moves.points[partner] - moves.points[mine]).astype(np.int32)).T
    for part in range(3):
        tiles[part, row, column] += step[part, :, np.newaxis, np.newaxis] * moves.trace[move, part]
