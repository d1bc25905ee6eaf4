"""The last good payloads, in one SQLite file of the wall; written whole or not at all."""

import contextlib
import json
import os
import sqlite3
import threading
from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, datetime
from pathlib import Path
from types import MappingProxyType
from typing import Self

from wallbill.errors import Place, SourceError
from wallbill.sources.fetching import Failures, Kept

_EDITION = 1
_TABLES = """
CREATE TABLE kept (
    source TEXT NOT NULL, part TEXT NOT NULL, identity TEXT NOT NULL, asked TEXT NOT NULL,
    body BLOB NOT NULL, headers TEXT NOT NULL, fetched_at TEXT NOT NULL, due_at TEXT NOT NULL,
    PRIMARY KEY (source, part)
) STRICT;
CREATE TABLE failures (
    source TEXT NOT NULL PRIMARY KEY, identity TEXT NOT NULL, count INTEGER NOT NULL, due_at TEXT NOT NULL,
    what TEXT NOT NULL, mend TEXT NOT NULL
) STRICT;
"""
_KEPT = "INSERT OR REPLACE INTO kept VALUES (?, ?, ?, ?, ?, ?, ?, ?)"
_FAILED = "INSERT OR REPLACE INTO failures VALUES (?, ?, ?, ?, ?, ?)"


def keeper_path(folder: Path) -> Path:
    """Where a wall keeps its facts unless told otherwise."""
    return folder / ".wallbill" / "facts.sqlite"


class Keeper:
    """The kept payloads of a wall. May be used from several threads and processes.

    The file and its folder are readable by their owner only: a calendar is nobody else's affair. A file that is
    broken is put aside as ``….broken``, and a new one is begun.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._lock = threading.Lock()
        try:
            self._db = self._open()
        except sqlite3.DatabaseError as fault:
            if isinstance(fault, sqlite3.OperationalError):
                raise self._fault(fault) from None
            path.replace(path.with_name(path.name + ".broken"))
            for tail in ("-wal", "-shm"):
                path.with_name(path.name + tail).unlink(missing_ok=True)
            self._db = self._open()
        except OSError as fault:
            raise self._fault(fault) from None

    def _fault(self, fault: Exception) -> SourceError:
        return SourceError(
            f"facts cannot be kept here: {fault}",
            where=Place(str(self._path)),
            mend="Let the wall's folder be written by this user, and see that the disk is not full.",
        )

    def _open(self) -> sqlite3.Connection:
        folder = self._path.parent
        if not folder.exists():
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)  # another process may be as quick
            (folder / ".gitignore").write_text("*\n", encoding="ascii")
        # Only a file that is not there is made: to open and close one that is would drop this process's locks on it.
        with contextlib.suppress(FileExistsError):
            os.close(os.open(self._path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
        db = sqlite3.connect(self._path, timeout=10, isolation_level=None, check_same_thread=False)
        try:
            db.execute("PRAGMA journal_mode = WAL")
            db.execute("PRAGMA synchronous = NORMAL")
            self._prepare(db)
        except BaseException:
            db.close()
            raise
        return db

    def _prepare(self, db: sqlite3.Connection) -> None:
        """Makes the tables, or makes them anew where they are of another edition: all can be fetched again."""
        db.execute("BEGIN IMMEDIATE")
        (edition,) = db.execute("PRAGMA user_version").fetchone()
        if edition != _EDITION:
            for table in ("kept", "failures"):
                db.execute(f"DROP TABLE IF EXISTS {table}")
            for statement in _TABLES.split(";"):
                db.execute(statement)
            db.execute(f"PRAGMA user_version = {_EDITION}")
        db.execute("COMMIT")

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Closes the file; what was kept stays."""
        with self._lock:
            self._db.close()

    @contextlib.contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        with self._lock:
            try:
                self._db.execute("BEGIN IMMEDIATE")
                try:
                    yield self._db
                except BaseException:
                    self._db.execute("ROLLBACK")
                    raise
                self._db.execute("COMMIT")
            except sqlite3.Error as fault:
                raise self._fault(fault) from None

    def kept(self, source: str) -> Mapping[str, Kept]:
        """What is kept of a source, by part."""
        with self._lock:
            try:
                rows = self._db.execute("SELECT * FROM kept WHERE source = ?", (source,)).fetchall()
            except sqlite3.Error as fault:
                raise self._fault(fault) from None
        return MappingProxyType({row[1]: _kept(row) for row in rows})

    def keep(self, source: str, *parts: Kept) -> None:
        """Keeps the good parts of a source in place of what was there, and forgets its failures; all or nothing."""
        with self._writing() as db:
            db.executemany(_KEPT, [_row(part) for part in parts])
            db.execute("DELETE FROM failures WHERE source = ?", (source,))

    def everything(self) -> tuple[tuple[Kept, ...], Mapping[str, Failures]]:
        """All that is kept, and the failures of each source, as they were at one moment."""
        with self._lock:
            try:
                self._db.execute("BEGIN")
                try:
                    kept = self._db.execute("SELECT * FROM kept ORDER BY source, part").fetchall()
                    failures = self._db.execute("SELECT * FROM failures ORDER BY source").fetchall()
                finally:
                    self._db.execute("ROLLBACK")
            except sqlite3.Error as fault:
                raise self._fault(fault) from None
        return tuple(map(_kept, kept)), MappingProxyType({row[0]: _failures(row[1:]) for row in failures})

    def put_back(self, kept: Iterable[Kept], failures: Mapping[str, Failures]) -> None:
        """Keeps these in place of all that was kept of any source; all or nothing."""
        with self._writing() as db:
            for table in ("kept", "failures"):
                db.execute(f"DELETE FROM {table}")  # noqa: S608 the table is ours
            db.executemany(_KEPT, map(_row, kept))
            db.executemany(_FAILED, [_failed_row(source, each) for source, each in failures.items()])

    def failures(self, source: str) -> Failures | None:
        """What has gone wrong with a source since it was last good, or None."""
        with self._lock:
            try:
                row = self._db.execute(
                    "SELECT identity, count, due_at, what, mend FROM failures WHERE source = ?", (source,)
                ).fetchone()
            except sqlite3.Error as fault:
                raise self._fault(fault) from None
        return None if row is None else _failures(row)

    def note_failures(self, source: str, failures: Failures) -> None:
        """Notes what went wrong; the payloads stay."""
        with self._writing() as db:
            db.execute(_FAILED, _failed_row(source, failures))

    def forget_parts(self, source: str, parts: Iterable[str]) -> None:
        """Forgets some parts of a source; the rest stays."""
        with self._writing() as db:
            db.executemany(
                "DELETE FROM kept WHERE source = ? AND part = ?", [(source, part) for part in parts]
            )

    def forget(self, source: str) -> None:
        """Forgets all of a source: its payloads and its failures."""
        with self._writing() as db:
            for table in ("kept", "failures"):
                db.execute(f"DELETE FROM {table} WHERE source = ?", (source,))  # noqa: S608 the table is ours


def _text(moment: datetime) -> str:
    return moment.astimezone(UTC).isoformat()


def _row(kept: Kept) -> tuple[str | bytes, ...]:
    headers = json.dumps(dict(kept.headers), sort_keys=True)
    moments = (_text(kept.fetched_at), _text(kept.due_at))
    return (kept.source, kept.part, kept.identity, kept.asked, kept.body, headers, *moments)


def _kept(row: tuple[str, str, str, str, bytes, str, str, str]) -> Kept:
    source, part, identity, asked, body, headers, fetched_at, due_at = row
    return Kept(
        source=source,
        part=part,
        identity=identity,
        asked=asked,
        body=body,
        headers=MappingProxyType(json.loads(headers)),
        fetched_at=datetime.fromisoformat(fetched_at),
        due_at=datetime.fromisoformat(due_at),
    )


def _failed_row(source: str, failures: Failures) -> tuple[str | int, ...]:
    due_at = _text(failures.due_at)
    return (source, failures.identity, failures.count, due_at, failures.what, failures.mend)


def _failures(row: tuple[str, int, str, str, str]) -> Failures:
    identity, count, due_at, what, mend = row
    return Failures(identity, count, datetime.fromisoformat(due_at), what, mend)
