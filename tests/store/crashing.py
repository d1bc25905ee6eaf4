"""A program that is killed: ``python -m tests.store.crashing URL every|any ROUNDS``.

It forks a child that does one deed after the other to the store and says each that is done; the child is killed, and what
it left is held against what it had said. Prints one JSON list: for each child a number (below) and what was wrong.

``every``: the child kills itself before and after each statement and commit in turn; the number is the kind of deed.
``any``: it is killed from outside, at a moment that nobody chose; the number is that of the deeds that it had said.
"""

import json
import os
import random
import signal
import sys
import time
from typing import Any

import psycopg
from sqlalchemy import Engine, event
from sqlalchemy.engine.default import DefaultDialect

from tests.store import deeds
from tests.store.memory import MemoryStore
from tests.store.reading import everything
from wallbill.store.shell import SqlStore, open_database, open_store
from wallbill.store.shell_checking import examine
from wallbill.store.shell_database import Database

_MANY = 10_000


def _kill() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def _armed(point: int) -> None:
    """From now on this process dies at the ``point``-th moment before or after a statement or a commit."""
    met = 0

    def look(*_: Any) -> None:
        nonlocal met
        met += 1
        if met == point:
            _kill()

    for moment in ("before_cursor_execute", "after_cursor_execute", "commit"):
        event.listen(Engine, moment, look)
    commit: Any = DefaultDialect.do_commit

    def committed(self: Any, connection: Any) -> None:
        commit(self, connection)
        look()

    DefaultDialect.do_commit = committed  # type: ignore[method-assign]  # there is no event after a commit


def _child(url: str, steps: range, point: int | None = None) -> tuple[int, int]:
    """A process that does deeds and says each; its id, and where to read."""
    read, write = os.pipe()
    child = os.fork()
    if child:
        os.close(write)
        return child, read
    store = open_store(url)
    if point is not None:
        _armed(point)
    for step in steps:
        deeds.do(store, step)
        os.write(write, b".")
    os._exit(0)


def _reap(child: int, read: int) -> tuple[int, bool]:
    """How many deeds a child had said, and whether it was killed."""
    said = b""
    while part := os.read(read, 4096):
        said += part
    os.close(read)
    _, status = os.waitpid(child, 0)
    return len(said), os.WIFSIGNALED(status)


class Judge:
    """Knows what a store should hold, and looks at what a child left in it."""

    def __init__(self, url: str) -> None:
        self.url = url
        self.plain = MemoryStore()
        self._database: Database | None = None
        for store in (self.plain, SqlStore(self._open())):
            deeds.begin(store)
        self._close()

    def _open(self) -> Database:
        """Anew each time for a file, so that what the child left has to be recovered; a server does that by itself."""
        if self._database is None or self.url.startswith("sqlite"):
            self._database = open_database(self.url)
        return self._database

    def _close(self) -> None:
        if self._database is not None and self.url.startswith("sqlite"):
            self._database.close()

    def wait_for_the_server(self) -> None:
        """Until it has noticed that the child is gone."""
        query = b"SELECT count(*) FROM pg_stat_activity WHERE datname = current_database()"
        if not self.url.startswith("sqlite"):
            with psycopg.connect(self.url, autocommit=True) as connection:
                for _ in range(1000):
                    if connection.execute(query).fetchone() == (2,):  # ours, and the one that asks
                        return
                    time.sleep(0.005)
                raise AssertionError("the server still serves the dead")

    def verdict(self, steps: range, said: int) -> tuple[int, str]:
        """How many of the deeds are in the store, and what is wrong with it.

        Those that the child had ``said`` must be there; the one that was under way may be there as well.
        """
        self.wait_for_the_server()
        database = self._open()
        faults, found = examine(database).faults, everything(SqlStore(database))
        self._close()
        if faults:
            return said, f"not sound: {faults}"
        for step in steps[:said]:
            deeds.do(self.plain, step)
        if found == everything(self.plain):
            return said, ""
        if said < len(steps):
            deeds.do(self.plain, steps[said])
        exact = found == everything(self.plain)
        return said + 1, "" if exact else "it holds something else than what was said"


def every(judge: Judge) -> list[tuple[int, str]]:
    """For each kind of deed: dies at each point of it in turn, until it is done before that comes."""
    told = []
    for kind in range(deeds.KINDS):
        step, point, killed = kind, 0, True
        while killed:
            point += 1
            steps = range(step, step + 1)
            said, killed = _reap(*_child(judge.url, steps, point))
            done, wrong = judge.verdict(steps, said)
            step += done * deeds.KINDS
            told.append((kind, wrong))
    return told


def at_random(judge: Judge, rounds: int) -> list[tuple[int, str]]:
    """Dies from outside, while it is at work."""
    told, step = [], 0
    chance = random.Random(4)
    for _ in range(rounds):
        steps = range(step, step + _MANY)
        child, read = _child(judge.url, steps)
        time.sleep(chance.uniform(0.01, 0.12))
        os.kill(child, signal.SIGKILL)
        said, _killed = _reap(child, read)
        done, wrong = judge.verdict(steps, said)
        step += done
        told.append((said, wrong))
    return told


if __name__ == "__main__":
    one = Judge(sys.argv[1])
    json.dump(every(one) if sys.argv[2] == "every" else at_random(one, int(sys.argv[3])), sys.stdout)
