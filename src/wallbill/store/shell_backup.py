"""Writing a store into one file: all of one moment, while the server runs, whole or not at all."""

import hashlib
import os
import tempfile
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Table, column, select, table

from wallbill.errors import Place, StoreError
from wallbill.sources.shell_keeping import Keeper, keeper_path
from wallbill.store.archive import (
    KINDS,
    MANIFEST,
    Manifest,
    Member,
    archived,
    encoded,
    kinds_of,
    rows_at_once,
    written,
)
from wallbill.store.rows import row
from wallbill.store.shell_database import Database
from wallbill.store.shell_keeping import row_of
from wallbill.store.tables import EDITIONS, facts_failures, facts_kept

_Rows = Iterable[Sequence[Any]]


def back_up(database: Database, wall_folder: Path, file: Path, *, now: datetime) -> Manifest:
    """Writes all of a store, its facts included and its sessions left out, into ``file``, for its owner only.

    ``wall_folder``: where the facts of an SQLite store lie. ``now``: said in the manifest, aware. A file of that name
    is replaced once the new one is whole. Raises `StoreError`, `SourceError`.
    """
    facts = _facts_here(wall_folder) if database.address.path else {}
    with _whole(file) as half, zipfile.ZipFile(half, "w", zipfile.ZIP_DEFLATED) as archive:

        def work(connection: Connection) -> tuple[Member, ...]:
            # A full disk here is the archive's trouble, not the database's.
            with _told(file):
                return tuple(
                    _write(archive, each, facts.get(each.name) or _rows(connection, each))
                    for each in archived()
                )

        manifest = Manifest(EDITIONS[-1], now, database.snapshot(work))
        archive.writestr(MANIFEST, written(manifest))
    return manifest


def _facts_here(wall_folder: Path) -> Mapping[str, _Rows]:
    """The facts in the wall's own file, as rows of the store's tables."""
    path = keeper_path(wall_folder)
    if not path.exists():
        return {}
    with Keeper(path) as keeper:
        kept, failures = keeper.everything()
    failed = [{"source": source, **row(each)} for source, each in failures.items()]
    given = ((facts_kept, [row_of(each) for each in kept]), (facts_failures, failed))
    return {
        each.name: [[values[name] for name in each.columns.keys()] for values in rows]  # noqa: SIM118  of columns
        for each, rows in given
    }


def _rows(connection: Connection, source: Table) -> _Rows:
    """The rows of a table in the order of its key, a few at a time, each value as the archive has it."""
    kinds = kinds_of(source)
    plain = table(source.name, *(column(name, KINDS[kind]()) for name, kind in kinds))
    query = select(*plain.columns).order_by(*(plain.c[key.name] for key in source.primary_key))
    return connection.execution_options(yield_per=rows_at_once(kinds)).execute(query)


def _write(archive: zipfile.ZipFile, source: Table, rows: _Rows) -> Member:
    digest, count = hashlib.sha256(), 0
    with archive.open(Member(source.name, (), 0, "").file, "w", force_zip64=True) as member:
        for count, values in enumerate(rows, 1):  # noqa: B007  the last count is the number of rows
            line = encoded(values)
            digest.update(line)
            member.write(line)
    return Member(source.name, kinds_of(source), count, digest.hexdigest())


@contextmanager
def _whole(file: Path) -> Iterator[Path]:
    """A file beside ``file`` that takes its name when all went well, and goes when it did not."""
    with _told(file):
        descriptor, name = tempfile.mkstemp(dir=file.parent, prefix=f".{file.name}.")
        os.close(descriptor)
    half = Path(name)
    try:
        with _told(file):
            yield half
            with half.open("rb") as made:
                os.fsync(made.fileno())
            half.replace(file)
            folder = os.open(file.parent, os.O_RDONLY)
            try:
                os.fsync(folder)
            finally:
                os.close(folder)
    except BaseException:
        half.unlink(missing_ok=True)
        raise


@contextmanager
def _told(file: Path) -> Iterator[None]:
    try:
        yield
    except OSError as fault:
        raise StoreError(
            f"the backup cannot be written: {fault.strerror or fault}",
            where=Place(str(file)),
            mend="Let this user write there, and make room.",
        ) from None
