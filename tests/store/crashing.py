"""A program that is killed: ``python -m tests.store.crashing URL every|any ROUNDS``.

It forks a child that does one deed after the other to the store and says each that is done; the child is killed, and what
it left is held against what it had said. Prints one JSON list: for each child the deeds that it had said, and what was wrong.

``every``: the child kills itself before and after each statement in turn. ``any``: it is killed from outside, at a
moment that nobody chose.
"""

import json
import os
import random
import signal
import sys
import time
from typing import Any

import psycopg
from sqlalchemy import Connection, Engine, event
from sqlalchemy.engine.default import DefaultDialect

from tests.store import deeds
from tests.store.memory import MemoryStore
from tests.store.reading import everything
from wallbill.store.shell import SqlStore, open_database, open_store
from wallbill.store.shell_checking import examine
from wallbill.store.shell_database import Database
from wallbill.store.tables import METADATA, counters

_STEPS = 9
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


def _child(url: str, point: int | None, steps: int) -> tuple[int, int]:
    """A process that does deeds, from the first on, and says each; its id, and where to read."""
    read, write = os.pipe()
    child = os.fork()
    if child:
        os.close(write)
        return child, read
    store = open_store(url)
    if point is not None:
        _armed(point)
    for step in range(steps):
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
    """Empties the store for a child, and looks at what it left."""

    def __init__(self, url: str) -> None:
        self.url = url
        self._database: Database | None = None

    def _open(self) -> Database:
        """Anew each time for a file, so that what the child left has to be recovered; a server does that by itself."""
        if self._database is None or self.url.startswith("sqlite"):
            self._database = open_database(self.url)
        return self._database

    def _close(self) -> None:
        if self._database is not None and self.url.startswith("sqlite"):
            self._database.close()

    def empty(self) -> None:
        """As at the beginning of the deeds."""
        database = self._open()

        def work(connection: Connection) -> None:
            for table in reversed(METADATA.sorted_tables):
                if table is not counters:
                    connection.execute(table.delete())
            connection.execute(counters.update().values(last=0))

        database.write(work)
        deeds.begin(SqlStore(database))
        self._close()

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

    def verdict(self, said: int, steps: int) -> str:
        """What is wrong with the store after ``said`` deeds; the one that was under way may be there as well."""
        self.wait_for_the_server()
        database = self._open()
        if faults := examine(database).faults:
            return f"not sound: {faults}"
        store = SqlStore(database)
        found = everything(store)
        plain = MemoryStore()
        deeds.begin(plain)
        for step in range(said):
            deeds.do(plain, step)
        exact = found == everything(plain)
        if not exact and said < steps:
            deeds.do(plain, said)
            exact = found == everything(plain)
        deeds.do(store, steps)  # it can be written to
        self._close()
        return "" if exact else "it holds something else than what was said"


def every(judge: Judge) -> list[tuple[int, str]]:
    """Dies at each point in turn, until the deeds are done before it comes."""
    told, point, killed = [], 0, True
    while killed:
        point += 1
        judge.empty()
        said, killed = _reap(*_child(judge.url, point, _STEPS))
        told.append((said, judge.verdict(said, _STEPS)))
    return told


def at_random(judge: Judge, rounds: int) -> list[tuple[int, str]]:
    """Dies from outside, while it is at work."""
    told = []
    chance = random.Random(4)
    for _ in range(rounds):
        judge.empty()
        child, read = _child(judge.url, None, _MANY)
        time.sleep(chance.uniform(0.01, 0.12))
        os.kill(child, signal.SIGKILL)
        said, _killed = _reap(child, read)
        told.append((said, judge.verdict(said, _MANY)))
    return told


if __name__ == "__main__":
    one = Judge(sys.argv[1])
    json.dump(every(one) if sys.argv[2] == "every" else at_random(one, int(sys.argv[3])), sys.stdout)
