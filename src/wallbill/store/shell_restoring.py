"""Bringing a backup back: checked before anything is touched, then all or nothing."""

import hashlib
import struct
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import islice
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, MetaData, column, func, insert, inspect, select, table, text, update

from wallbill.errors import Place, StoreError
from wallbill.sources.fetching import Failures
from wallbill.sources.shell_keeping import Keeper, keeper_path
from wallbill.store.archive import (
    FACTS,
    KINDS,
    MANIFEST,
    Manifest,
    Member,
    Unfit,
    archived,
    decoded,
    kinds_of,
    read_manifest,
    rows_at_once,
)
from wallbill.store.shell_database import Database
from wallbill.store.shell_keeping import kept_of
from wallbill.store.shell_migrating import OURS, Migrations, migrate
from wallbill.store.tables import EDITION_TABLE, EDITIONS, METADATA, counters, displays

_BROKEN = (zlib.error, struct.error, EOFError, NotImplementedError, RuntimeError)
"""What a damaged archive makes `zipfile` raise beside its own error."""

_CHUNK_BYTES = 1 << 20
_FEW = ("counters",)
"""Tables that are never empty."""


def restore(
    database: Database,
    wall_folder: Path,
    file: Path,
    *,
    replacing: bool = False,
    migrations: Migrations = OURS,
) -> Manifest:
    """Fills an empty store from an archive; all or nothing.

    ``database``: of this edition, opened so that rows may wait for those that they refer to (`reach`). ``replacing``:
    what is there goes. ``wall_folder``: where the facts of an SQLite store lie. An archive of an older edition is
    upgraded on the way. Raises `StoreError`: the archive is damaged or of a newer edition, or the store is not empty.
    """
    with _opened(file) as archive:
        manifest = _manifest(archive, file, migrations)
        for member in manifest.members:
            _verify(archive, member, file)

        def work(connection: Connection) -> None:
            _alone(connection)
            if not replacing:
                _must_be_empty(connection, database)
            offset = connection.execute(select(counters.c.last)).scalar_one()
            _empty(connection, manifest.edition, migrations)
            for member in manifest.members:
                if member.table not in FACTS or not database.address.path:
                    _load(connection, archive, member, file=file)
            if manifest.edition != migrations.last:
                migrate(connection, migrations)
            _settle(connection, offset, database)
            if database.address.path:  # the last step, so that little can go wrong after it
                _put_back_facts(archive, manifest, wall_folder, file=file)

        database.write(work)
    return manifest


def archive_manifest(file: Path) -> Manifest:
    """What an archive says that it holds. Raises `StoreError`."""
    with _opened(file) as archive:
        return _manifest(archive, file, OURS)


@contextmanager
def _opened(file: Path) -> Iterator[zipfile.ZipFile]:
    try:
        with zipfile.ZipFile(file) as archive:
            yield archive
    except zipfile.BadZipFile as fault:
        raise _damaged(file, "", str(fault)) from None
    except OSError as fault:
        raise StoreError(
            f"the backup cannot be read: {fault.strerror or fault}",
            where=Place(str(file)),
            mend="Check its name, and let this user read it.",
        ) from None


def _manifest(archive: zipfile.ZipFile, file: Path, migrations: Migrations) -> Manifest:
    try:
        manifest = read_manifest(_bytes(archive, MANIFEST, file))
    except Unfit as fault:
        raise _damaged(file, MANIFEST, str(fault)) from None
    if manifest.edition not in migrations.editions:
        raise StoreError(
            f"the backup is of edition {manifest.edition}, and this Wallbill knows up to {migrations.last}",
            where=Place(str(file)),
            mend="Restore it with the newer Wallbill that made it.",
        )
    if manifest.edition == EDITIONS[-1] and not _is_of_this_edition(manifest):
        raise _damaged(file, MANIFEST, f"its tables are not those of edition {manifest.edition}")
    lacking = {member.file for member in manifest.members} - set(archive.namelist())
    if lacking:
        raise _damaged(file, min(lacking), "it is not there")
    return manifest


def _is_of_this_edition(manifest: Manifest) -> bool:
    ours = {each.name: dict(kinds_of(each)) for each in archived()}
    return {member.table: dict(member.columns) for member in manifest.members} == ours


def _bytes(archive: zipfile.ZipFile, name: str, file: Path) -> bytes:
    try:
        return archive.read(name)
    except (KeyError, zipfile.BadZipFile, *_BROKEN) as fault:
        raise _damaged(file, name, str(fault)) from None


def _verify(archive: zipfile.ZipFile, member: Member, file: Path) -> None:
    digest = hashlib.sha256()
    try:
        with archive.open(member.file) as opened:
            while chunk := opened.read(_CHUNK_BYTES):
                digest.update(chunk)
    except (zipfile.BadZipFile, *_BROKEN) as fault:
        raise _damaged(file, member.file, str(fault)) from None
    if digest.hexdigest() != member.sha256:
        raise _damaged(file, member.file, "its SHA-256 is not the one in the manifest")


def _rows(archive: zipfile.ZipFile, member: Member, file: Path) -> Iterator[dict[str, Any]]:
    count = 0
    with archive.open(member.file) as opened:
        for count, line in enumerate(opened, 1):
            try:
                yield decoded(line, member.columns)
            except Unfit as fault:
                raise _damaged(file, f"{member.file}:{count}", str(fault)) from None
    if count != member.rows:
        raise _damaged(file, member.file, f"it has {count} rows, and the manifest tells of {member.rows}")


def _alone(connection: Connection) -> None:
    """On PostgreSQL nobody else writes until this is done, and it may take its time. SQLite's writer is alone anyway."""
    if connection.dialect.name == "postgresql":
        connection.execute(text("SET LOCAL statement_timeout = 0"))
        names = ", ".join(METADATA.tables)  # none of them is a word that SQL keeps for itself
        connection.execute(text(f"LOCK TABLE {names} IN EXCLUSIVE MODE"))


def _must_be_empty(connection: Connection, database: Database) -> None:
    for each in METADATA.sorted_tables:
        if each.name in FACTS or each.name in _FEW:
            continue
        if connection.execute(select(each).limit(1)).first() is not None:
            raise StoreError(
                f"the store is not empty: there are {each.name}",
                where=database.address.place,
                mend="Back it up first; then restore with --replace, which drops what is there.",
            )


def _empty(connection: Connection, edition: str, migrations: Migrations) -> None:
    """Leaves the tables of ``edition`` without a row."""
    if edition == migrations.last:
        for each in reversed(METADATA.sorted_tables):
            connection.execute(each.delete())
        return
    known = MetaData()
    there = set(inspect(connection).get_table_names())
    known.reflect(connection, only=sorted(there & {EDITION_TABLE, *METADATA.tables}))
    known.drop_all(connection)
    migrate(connection, migrations, to=edition)
    connection.execute(counters.delete())


def _load(connection: Connection, archive: zipfile.ZipFile, member: Member, *, file: Path) -> None:
    target = table(member.table, *(column(name, KINDS[kind]()) for name, kind in member.columns))
    rows = _rows(archive, member, file)
    while batch := list(islice(rows, rows_at_once(member.columns))):
        connection.execute(insert(target), batch)


def _settle(connection: Connection, offset: int, database: Database) -> None:
    """What counts goes on from where it was: marks, so that who asks after one sees all as new, and row numbers."""
    connection.execute(update(counters).values(last=counters.c.last + offset))
    connection.execute(update(displays).where(displays.c.mark > 0).values(mark=displays.c.mark + offset))
    if connection.dialect.name == "sqlite":
        if connection.exec_driver_sql("PRAGMA foreign_key_check").first() is not None:
            raise StoreError(
                "rows of the backup refer to rows that are not in it",
                where=database.address.place,
                mend="Restore another backup.",
            )
        return
    for each in METADATA.sorted_tables:
        if each.autoincrement_column is not None:
            number = each.autoincrement_column
            sequence = func.pg_get_serial_sequence(each.name, number.name)
            connection.execute(select(func.setval(sequence, func.coalesce(func.max(number), 0) + 1, False)))


def _put_back_facts(archive: zipfile.ZipFile, manifest: Manifest, wall_folder: Path, *, file: Path) -> None:
    found = {m.table: list(_rows(archive, m, file)) for m in manifest.members if m.table in FACTS}
    if not any(found.values()) and not keeper_path(wall_folder).exists():
        return
    failures = {one.pop("source"): Failures(**one) for one in found.get("facts_failures", ())}
    with Keeper(keeper_path(wall_folder)) as keeper:
        keeper.put_back(map(kept_of, found.get("facts_kept", ())), failures)


def _damaged(file: Path, member: str, what: str) -> StoreError:
    return StoreError(
        f"the backup is damaged, or none at all: {what}",
        where=Place(str(file), None, member),
        mend="Nothing was changed. Restore another backup.",
    )
