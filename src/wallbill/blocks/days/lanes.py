"""Lanes: stretches that overlap are put side by side, in as few lanes as can be.

Interval partitioning: taken in order of start, each stretch goes into the first lane that is free. The number of
lanes is then the greatest number of stretches that overlap at one point, and fewer can never do (Kleinberg and
Tardos, Algorithm Design, 2005, section 4.1, from memory).
"""

import heapq
from collections.abc import Sequence

Stretch = tuple[int, int]
"""First column, and the first column behind; the second is the greater."""


def lanes(stretches: Sequence[Stretch]) -> tuple[int, ...]:
    """The lane of each stretch, from 0, in the order given; of equal starts the longer comes first.

    Stretches that only touch share a lane. Raises ValueError for one that is empty or runs backwards.
    """
    if any(end <= start for start, end in stretches):
        raise ValueError(f"a stretch ends behind its start, got {[s for s in stretches if s[1] <= s[0]]}")
    order = sorted(range(len(stretches)), key=lambda i: (stretches[i][0], -stretches[i][1], i))
    found = [0] * len(stretches)
    free: list[int] = []  # lanes that ended, lowest first
    busy: list[tuple[int, int]] = []  # end and lane
    count = 0
    for i in order:
        start, end = stretches[i]
        while busy and busy[0][0] <= start:
            heapq.heappush(free, heapq.heappop(busy)[1])
        if free:
            found[i] = heapq.heappop(free)
        else:
            found[i], count = count, count + 1
        heapq.heappush(busy, (end, found[i]))
    return tuple(found)


def lane_count(stretches: Sequence[Stretch]) -> int:
    """The fewest lanes that hold them: how many overlap where most do."""
    points = sorted([(start, 1) for start, _ in stretches] + [(end, -1) for _, end in stretches])
    deepest = deep = 0
    for _, step in points:
        deep += step
        deepest = max(deepest, deep)
    return deepest


def most_that_fit(stretches: Sequence[Stretch], count: int) -> tuple[int, ...]:
    """Which stretches (their places, rising) to keep so that ``count`` lanes hold them and as many as can be stay.

    Taken in order of start; whenever there is one too many, that with the latest end goes. For intervals this keeps
    the most (Faigle and Nawijn, Discrete Applied Mathematics 58, 1995, from memory; tested by trying all choices).
    """
    kept: set[int] = set()
    running: list[int] = []
    for i in sorted(range(len(stretches)), key=lambda i: (stretches[i][0], stretches[i][1], i)):
        start = stretches[i][0]
        running = [j for j in running if stretches[j][1] > start]
        running.append(i)
        kept.add(i)
        if len(running) > count:
            gone = max(running, key=lambda j: (stretches[j][1], j))
            running.remove(gone)
            kept.discard(gone)
    return tuple(sorted(kept))
