"""A database as the store's methods see it: work is handed in and done in one transaction, faults come out mended."""

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, TypeVar

from sqlalchemy import Connection, Engine

from wallbill.errors import StoreError
from wallbill.store.addresses import Address
from wallbill.store.faults import fault_of, is_disconnection, is_worth_retrying

T = TypeVar("T")
_TRIES = 4


@dataclass(frozen=True, slots=True)
class Ways:
    """An engine in the ways that it is used.

    ``lasting``: what is committed outlives a power cut. ``swift``: it outlives the process. ``snapshot``: all that is
    read in one transaction is of one moment. On SQLite, writers hold the file from the beginning of their transaction.
    """

    read: Engine
    lasting: Engine
    swift: Engine
    snapshot: Engine


class Database:
    """A database that is open. May be used from several threads.

    ``one_writer``: whether the threads of this process write one after the other, which SQLite asks for.
    """

    def __init__(self, ways: Ways, address: Address, *, one_writer: bool, patience_s: float) -> None:
        self.address = address
        self._ways = ways
        self._patience_s = patience_s
        self._turn = threading.Lock() if one_writer else None
        self._closed = False

    def read(self, work: Callable[[Connection], T]) -> T:
        """What ``work`` reads, in one transaction. It is done anew, once, where the server went in the middle of it."""
        return self._done(work, self._ways.read, lambda fault, tries: tries == 1 and is_disconnection(fault))

    def snapshot(self, work: Callable[[Connection], T]) -> T:
        """As `read`, and every statement of ``work`` sees the database as it was at its first one."""
        return self._done(work, self._ways.snapshot, lambda *_: False)

    def write(self, work: Callable[[Connection], T], *, lasting: bool = True) -> T:
        """What ``work`` gives, once all that it wrote is stored; all or nothing.

        It may be called anew, from its beginning, where it met another writer. ``lasting``: a power cut right after
        takes nothing away; else it may take what was written in the last half minute, and never anything by halves.
        """
        way = self._ways.lasting if lasting else self._ways.swift
        with self._my_turn():
            return self._done(work, way, lambda fault, tries: tries < _TRIES and is_worth_retrying(fault))

    def close(self) -> None:
        """Closes every connection; what is asked after that is a `StoreError`."""
        self._closed = True
        self._ways.read.dispose()

    def _done(
        self, work: Callable[[Connection], T], way: Engine, again: Callable[[Exception, int], bool]
    ) -> T:
        tries = 0
        while True:
            tries += 1
            if self._closed:
                raise StoreError("the store has been closed", where=self.address.place, mend="Open it anew.")
            try:
                with way.begin() as connection:
                    return work(connection)
            except StoreError:
                raise
            except Exception as fault:  # noqa: BLE001  sorted out just below
                met = fault
            if not again(met, tries):
                raise fault_of(met, self.address)

    @contextmanager
    def _my_turn(self) -> Iterator[None]:
        if self._turn is None:
            yield
            return
        if not self._turn.acquire(timeout=2 * self._patience_s):
            raise StoreError(
                "another thread of this program holds the database",
                where=self.address.place,
                mend="Try again; see what it is doing for so long.",
            )
        try:
            yield
        finally:
            self._turn.release()


def raw(connection: Connection) -> Any:
    """The driver's own connection."""
    return connection.connection.dbapi_connection
