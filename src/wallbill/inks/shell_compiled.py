"""The search for dots compiled to machine code, where Numba is installed (``pip install "wallbill[speed]"``).

Numba keeps what it compiled beside this file, or in the user's cache where it may not write there: the first call of all
takes seconds. The dots are the same as NumPy's.
"""

from functools import cache
from importlib.util import find_spec
from typing import Any

import numpy as np
from numpy.typing import NDArray

from wallbill.inks.search import NEIGHBOURS, Board, Moves, Step


@cache
def compiled_step() -> Step | None:
    """A maker of moves some five times as fast as NumPy's, or None where Numba is not installed."""
    if find_spec("numba") is None:
        return None
    import numba  # noqa: PLC0415  takes 0.2 s, and only who searches needs it

    move = numba.njit(cache=True)(_move)

    def step(board: Board, moves: Moves, visit: tuple[int, int]) -> None:
        move(
            (board.codes, board.allowed, board.seen),
            (moves.points, moves.change, moves.swap, moves.trace),
            _AROUND,
            visit,
        )

    return step


def step_for(pixels: int) -> Step | None:
    """The compiled maker of moves where it pays: loading it costs as much as it saves on `_PAYS_FROM_PX` pixels."""
    return compiled_step() if pixels >= _PAYS_FROM_PX else None


_PAYS_FROM_PX = 500_000
_AROUND = np.array(NEIGHBOURS)
_AROUND.setflags(write=False)


def _move(  # noqa: C901, PLR0912  one loop over pixels, spelt out for the compiler
    board: tuple[NDArray[Any], NDArray[Any], NDArray[Any]],
    moves: tuple[NDArray[Any], NDArray[Any], NDArray[Any], NDArray[Any]],
    around: NDArray[Any],
    visit: tuple[int, int],
) -> None:
    """As `wallbill.inks.search.step_at_once`, pixel by pixel."""
    codes, allowed, seen = board
    points, change, swap, trace = moves
    # Taken from the arrays: a constant of another module would be kept in the compiled code when it changes there.
    stride, half = trace.shape[3], trace.shape[3] // 2
    pull = np.empty(len(points))
    for y in range(stride + visit[0], codes.shape[0] - stride, stride):
        for x in range(stride + visit[1], codes.shape[1] - stride, stride):
            free = allowed[y, x]
            mine = codes[y, x]
            if free == 0:
                continue
            for ink in range(len(points)):
                pull[ink] = 0.0
                for part in range(3):
                    pull[ink] += points[ink, part] * seen[part, y, x]
            best, partner, kind = np.inf, mine, 0
            for ink in range(len(points)):
                if free >> ink & 1:
                    cost = change[mine, ink] + 2 * (pull[ink] - pull[mine])
                    if cost < best:
                        best, partner = cost, np.uint8(ink)
            for number in range(8):
                v, u = y + around[number, 0], x + around[number, 1]
                theirs = codes[v, u]
                if not (free >> theirs & 1 and allowed[v, u] >> mine & 1):
                    continue
                cost = 0.0
                for part in range(3):
                    cost += (points[theirs, part] - points[mine, part]) * (
                        seen[part, y, x] - seen[part, v, u]
                    )
                cost = swap[number, mine, theirs] + 2 * cost
                if cost < best:
                    best, partner, kind = cost, theirs, number + 1
            codes[y, x] = partner if best != 0 else mine
            if kind and best != 0:
                codes[y + around[kind - 1, 0], x + around[kind - 1, 1]] = mine
            for part in range(3):
                by = np.int32(points[partner, part] - points[mine, part])
                if by and best != 0:
                    for v in range(stride):
                        for u in range(stride):
                            seen[part, y - half + v, x - half + u] += by * trace[kind, part, v, u]
