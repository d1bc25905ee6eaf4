"""SQLite as a store uses it: write-ahead log, foreign keys, writers that announce themselves, a private file."""

import contextlib
import os
import sqlite3
import time
from pathlib import Path
from types import MappingProxyType
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.pool import QueuePool

from wallbill.errors import StoreError
from wallbill.store.addresses import Address
from wallbill.store.faults import fault_of
from wallbill.store.shell_database import Database, Ways

_WAY = "wallbill_way"
_BEGINNINGS = MappingProxyType(
    {
        "read": ("BEGIN",),
        "lasting": ("PRAGMA synchronous = FULL", "BEGIN IMMEDIATE"),
        "swift": ("PRAGMA synchronous = NORMAL", "BEGIN IMMEDIATE"),
    }
)
_LOG_BYTES = 16 * 1024 * 1024
_PAUSE_S = 0.02


def lite_database(address: Address, *, patience_s: float, foreign_keys: bool = True) -> Database:
    """An SQLite file, made if there is none. ``patience_s``: how long to wait for another process that writes."""
    path = Path(address.path)
    if (refused := make_private(path)) is not None:
        raise fault_of(refused, address)
    engine = lite_engine(path, patience_s=patience_s, foreign_keys=foreign_keys)
    read = engine.execution_options(**{_WAY: "read"})
    ways = Ways(
        read=read,
        lasting=engine.execution_options(**{_WAY: "lasting"}),
        swift=engine.execution_options(**{_WAY: "swift"}),
        snapshot=read,
    )
    return Database(ways, address, one_writer=True, patience_s=patience_s)


def lite_engine(path: Path, *, patience_s: float, foreign_keys: bool = True) -> Engine:
    """The engine of an SQLite file. Without ``foreign_keys``, as changing the tables asks for."""

    def connect() -> sqlite3.Connection:
        connection = sqlite3.connect(
            path, timeout=patience_s, isolation_level=None, check_same_thread=False, cached_statements=256
        )
        try:
            _write_ahead(connection, path, patience_s)
            connection.execute(f"PRAGMA foreign_keys = {int(foreign_keys)}")
            connection.execute(f"PRAGMA journal_size_limit = {_LOG_BYTES}")
            connection.execute("PRAGMA trusted_schema = OFF")
        except BaseException:
            connection.close()
            raise
        return connection

    engine = create_engine(
        "sqlite://", creator=connect, poolclass=QueuePool, pool_size=4, max_overflow=28, hide_parameters=True
    )

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        for statement in _BEGINNINGS[connection.get_execution_options().get(_WAY, "lasting")]:
            connection.exec_driver_sql(statement)

    return engine


def make_private(path: Path) -> OSError | None:
    """Makes the file and its folder, for their owner only; what is there already stays as it is.

    A file that is there is not so much as opened: closing it again would drop the locks that this process holds on it.
    Gives what the system refused.
    """
    folder = path.parent
    try:
        if not folder.exists():
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)  # another process may be as quick
            (folder / ".gitignore").write_text("*\n", encoding="ascii")
        with contextlib.suppress(FileExistsError):
            os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
    except OSError as refused:
        return refused
    return None


def _write_ahead(connection: sqlite3.Connection, path: Path, patience_s: float) -> None:
    """Sets the write-ahead log. SQLite does not wait its turn here, so this does."""
    until_s = time.monotonic() + patience_s
    mode = ""
    while not mode:
        try:
            mode = _one(connection, "PRAGMA journal_mode")
            if mode != "wal":
                mode = _one(connection, "PRAGMA journal_mode = WAL")
        except sqlite3.OperationalError as fault:
            if not fault.sqlite_errorname.startswith("SQLITE_BUSY") or time.monotonic() > until_s:
                raise
            time.sleep(_PAUSE_S)
    if mode != "wal":
        raise StoreError(
            f"the file system keeps no write-ahead log (journal mode {mode})",
            where=Address(str(path)).place,
            mend="Keep the wall on a disk of this machine, or use PostgreSQL.",
        )


def _one(connection: sqlite3.Connection, statement: str) -> Any:
    return connection.execute(statement).fetchone()[0]
