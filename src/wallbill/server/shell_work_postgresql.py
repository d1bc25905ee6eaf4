"""Work on PostgreSQL: rounds are handed to a queue, from which this process and workers on any machine take them."""

import os
import secrets
import socket
import threading
import time
from contextlib import suppress

from wallbill.errors import StoreError
from wallbill.server.model import Round
from wallbill.server.shell_hands import Beats, Duty, Hands
from wallbill.server.shell_pressroom import Pressroom
from wallbill.server.shell_queue import Queue

_AGAIN_S = 2.0
_MOST_HELD = 64


def worker_name() -> str:
    """A name that no other start of a worker has, on this machine or any."""
    return f"{socket.gethostname()} {os.getpid()} {secrets.token_hex(4)}"


class WorkOnPostgresql:
    """Keeps `wallbill.server.model.Work` with a queue in the store's database at ``url``.

    ``pulls``: how many are pressed in this process at once, 0: workers elsewhere do it; facts are gathered here in any
    case, and there where the wall's secrets are. Raises `StoreError` where the queue cannot be set up.
    """

    def __init__(
        self, room: Pressroom, url: str, *, pulls: int | None = None, beats: Beats | None = None
    ) -> None:
        self._room = room
        self._queue = Queue(url)
        self._lock = threading.Lock()
        self._held: list[Round] = []
        self._known = 0
        self._wall = ""
        self._stop = threading.Event()
        count = room.puller.presses if pulls is None else pulls
        if count:
            room.puller.warm()
        duty = Duty(worker_name(), count, gathers=True, beats=beats or Beats())
        hands = Hands(room, self._queue, url=url, duty=duty)
        self._threads = [
            threading.Thread(target=hands.run, args=(self._stop,), name="hands"),
            threading.Thread(target=self._look_after, args=(duty.beats,), name="queue"),
        ]
        for thread in self._threads:
            thread.start()

    def enqueue(self, work: Round) -> int:
        """Hands in a round; gives how many of its pulls were not waiting already.

        While the database is away rounds are held here, the last ones if they become too many.
        """
        if not work.pulls or self._stop.is_set():
            return 0
        work = self._room.apart(work)
        try:
            return self._hand_in(work)
        except StoreError as fault:
            self._room.log.warning("a round is held until the queue is back", fault=str(fault))
            with self._lock:
                self._held = [*self._held, work][-_MOST_HELD:]
            return len(work.pulls)

    def _hand_in(self, work: Round) -> int:
        wall = work.pulls[0].wall
        if wall != self._wall:
            self._queue.drop_strays(wall)
            self._wall = wall
        fresh = self._queue.fresh(work)
        return len(fresh.pulls) if fresh.pulls and self._queue.hand_in(fresh) else 0

    def _look_after(self, beats: Beats) -> None:
        """Tries again to hand in what is held, in its order, and drops what is for a state of the wall that is past."""
        swept_s = time.monotonic()
        while not self._stop.wait(min(_AGAIN_S, beats.sweep_s)):
            with suppress(StoreError):
                while self._held:
                    with self._lock:
                        work = self._held[0]
                    self._hand_in(work)
                    with self._lock:
                        self._held = [each for each in self._held if each is not work]
                if self._wall and time.monotonic() - swept_s > beats.sweep_s:
                    swept_s = time.monotonic()
                    self._queue.drop_strays(self._wall)

    def waiting(self) -> int:
        """How many pulls wait or are being pressed, wherever; as last known while the database is away."""
        with suppress(StoreError):
            self._known = self._queue.waiting()
        with self._lock:
            return self._known + sum(len(work.pulls) for work in self._held)

    def close(self) -> None:
        """Takes no more; what is being pressed here is finished, the rest is left to others."""
        self._stop.set()
        for thread in self._threads:
            thread.join()
        self._queue.close()
