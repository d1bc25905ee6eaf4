"""When to wake next. Pure. All durations are seconds."""

from __future__ import annotations

import hashlib

SHORTEST_S = 60
LONGEST_S = 7 * 86400
FIRST_WAIT_S = 300
LAST_WAIT_S = 6 * 3600
_MOST_SPREAD_S = 300


def within(wanted_s: float) -> int:
    """``wanted_s`` in whole seconds, but at least a minute and at most a week."""
    return int(max(SHORTEST_S, min(wanted_s, LONGEST_S)))


def back_off_s(failures: int) -> int:
    """How long to wait after so many failures in a row, 1 and up: five minutes, doubled up to six hours."""
    return min(FIRST_WAIT_S << min(max(failures, 1) - 1, 10), LAST_WAIT_S)


def spread_s(wait_s: int, name: str) -> int:
    """``wait_s`` and up to a tenth more, at most five minutes, always the same share for a name.

    So a fleet that was told the same does not call at once, and each keeps its rhythm.
    """
    share = int.from_bytes(hashlib.sha256(name.encode("utf-8")).digest()[:4], "big") / 2**32
    return wait_s + int(min(wait_s / 10, _MOST_SPREAD_S) * share)


def after_answer_s(fresh_s: int | None, *, usual_s: int, name: str) -> int:
    """How long to sleep after a good answer, changed or not. ``fresh_s``: as told by it; ``usual_s``: else."""
    return spread_s(within(usual_s if fresh_s is None else fresh_s), name)


def after_failure_s(failures: int, told_s: int | None, *, name: str) -> int:
    """How long to sleep after a failure. ``told_s``: what the server asked for; never less than that."""
    return spread_s(within(back_off_s(failures) if told_s is None else told_s), name)


def stale_after_s(told_s: int, fresh_s: int | None, *, usual_s: int) -> int:
    """After what silence a picture is marked as old. ``told_s``: the setting, 0 for three usual wakes, at least six hours."""
    return told_s or max(3 * (fresh_s or usual_s), LAST_WAIT_S)
