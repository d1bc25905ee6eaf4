"""Work in this process: threads that gather and pull, for a wall that one machine presses alone."""

import queue
import threading
from datetime import datetime

from wallbill.server.model import Pull, Round
from wallbill.server.packing import Snapshot
from wallbill.server.shell_pressroom import Pressroom

MOST_WAITING = 20_000
"""Pulls that may wait; what does not fit is looked at again in its next turn."""


class WorkHere:
    """Keeps `wallbill.server.model.Work` with threads of this process.

    ``room``: its presses set how many pulls are done at once. They are warmed here, and closed by who made them.
    """

    def __init__(self, room: Pressroom, *, most_waiting: int = MOST_WAITING) -> None:
        self._room = room
        self._most_waiting = most_waiting
        self._rounds: queue.Queue[Round | None] = queue.Queue()
        self._pulls: queue.Queue[tuple[Pull, Snapshot | str] | None] = queue.Queue()
        self._lock = threading.Lock()
        self._waiting: set[str] = set()
        self._latest: dict[tuple[str, ...], datetime] = {}
        self._begun = 0
        self._closed = False
        room.puller.warm()
        self._threads = [threading.Thread(target=self._gather_all, name="gather")]
        self._threads += [
            threading.Thread(target=self._pull_all, name=f"pull-{number}")
            for number in range(room.puller.presses)
        ]
        for thread in self._threads:
            thread.start()

    def enqueue(self, work: Round) -> int:
        """Hands in a round; gives how many of its pulls were not waiting already.

        Those for which there is no room are left out, and so is everything once the work is closed.
        """
        work = self._room.apart(work)
        with self._lock:
            fresh = []
            for order in work.pulls:
                room = not self._closed and len(self._waiting) < self._most_waiting
                if room and order.lock not in self._waiting:
                    self._waiting.add(order.lock)
                    self._latest[order.displays] = max(order.at, self._latest.get(order.displays, order.at))
                    fresh.append(order)
            if fresh:
                self._rounds.put(Round(work.at, work.sources, tuple(fresh)))
        return len(fresh)

    def waiting(self) -> int:
        """How many pulls wait or are being pressed."""
        with self._lock:
            return len(self._waiting) + self._begun

    def close(self) -> None:
        """Takes no more; pulls that are being pressed are finished, those that wait are left for the next start."""
        with self._lock:
            self._closed = True
            self._waiting.clear()
        self._rounds.put(None)
        for thread in self._threads:
            thread.join()

    def _gather_all(self) -> None:
        number = 0
        while (work := self._rounds.get()) is not None:
            if self._closed:
                continue
            number += 1
            facts = self._gathered(work, f"round {number}")
            for order in work.pulls:
                self._pulls.put((order, facts))
        for _ in range(self._room.puller.presses):
            self._pulls.put(None)

    def _gathered(self, work: Round, name: str) -> Snapshot | str:
        """The facts of a round, or why there are none: pages without any would only take good ones down."""
        try:
            marks = self._room.gather(work)
            return self._room.frozen(work.pulls[0], marks, name=name)
        except Exception as fault:  # the threads go on, whatever is wrong with one round
            self._room.log.exception("gathering failed")
            return f"its facts could not be gathered ({fault})"

    def _pull_all(self) -> None:
        while (taken := self._pulls.get()) is not None:
            order, facts = taken
            with self._lock:
                if order.lock not in self._waiting:
                    continue  # closed meanwhile
                self._waiting.discard(order.lock)
                if order.at < self._latest.get(order.displays, order.at):
                    continue  # overtaken by a later one, which waits as well
                self._latest.pop(order.displays, None)
                self._begun += 1
            try:
                if isinstance(facts, str):
                    self._room.give_up(order, facts)
                else:
                    self._room.pull(order, facts)
            except Exception:  # the thread goes on, whatever is wrong with one pull
                self._room.log.exception("a pull could not be recorded", lock=order.lock)
            finally:
                with self._lock:
                    self._begun -= 1
