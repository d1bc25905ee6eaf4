"""Several pieces of work side by side, none of which can hold the program back."""

import queue
import threading
import time
from collections.abc import Callable, Sequence

AT_ONCE = 32
"""Pieces of work under way at one time; they wait for others most of it."""


def run_lanes(work: Sequence[Callable[[], None]], *, total_s: float) -> None:
    """Does all ``work`` and returns when it is done, or after ``total_s`` at the latest.

    What is not done by then is left alone: the threads do not keep the program from ending. Work must not raise.
    """
    waiting: queue.SimpleQueue[Callable[[], None]] = queue.SimpleQueue()
    for piece in work:
        waiting.put(piece)

    def lane() -> None:
        while True:
            try:
                piece = waiting.get_nowait()
            except queue.Empty:
                return
            piece()

    ends_at_s = time.monotonic() + total_s
    lanes = [
        threading.Thread(target=lane, name=f"source-{number}", daemon=True)
        for number in range(min(len(work), AT_ONCE))
    ]
    for thread in lanes:
        thread.start()
    for thread in lanes:
        thread.join(max(ends_at_s - time.monotonic(), 0.0))
