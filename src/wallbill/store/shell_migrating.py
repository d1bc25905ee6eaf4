"""Bringing a database to this edition of the tables, by one process at a time, and whole or not at all."""

import os
import sqlite3
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, Select, column, select, table, text

from wallbill.errors import StoreError
from wallbill.store.addresses import Address
from wallbill.store.faults import fault_of
from wallbill.store.shell_database import Database
from wallbill.store.shell_sqlite import lite_engine
from wallbill.store.tables import EDITION_TABLE, EDITIONS

_LOCK = 0x57_41_4C_4C  # any number that others are unlikely to choose
_LONG_MS = 3_600_000
_KNOWN_GREAT = text("SELECT to_regclass(:name)")
_KNOWN_LITE = text("SELECT name FROM sqlite_master WHERE type = 'table' AND name = :name")
_EDITION: Select[tuple[str]] = select(column("version_num")).select_from(table(EDITION_TABLE))


@dataclass(frozen=True, slots=True)
class Migrations:
    """Alembic's folder, and the editions that it leads to, oldest first."""

    folder: Path
    editions: tuple[str, ...]

    @property
    def last(self) -> str:
        """The edition that this program works with."""
        return self.editions[-1]


OURS = Migrations(Path(__file__).parent / "migrations", EDITIONS)


def bring_up(database: Database, migrations: Migrations = OURS, *, patience_s: float) -> None:
    """Makes the tables where there are none, upgrades those of an older edition, refuses those of a newer one.

    On SQLite a copy of the older file is left beside it. Raises `StoreError`; then nothing has changed.
    """
    if _is_up(database.read(edition_of), migrations, database.address):
        return
    if database.address.path:
        _upgrade_lite(Path(database.address.path), migrations, database.address, patience_s=patience_s)
    else:
        database.write(lambda connection: _upgrade_great(connection, migrations, database.address))


def edition_of(connection: Connection) -> str | None:
    """The edition of a database's tables; None where there are none."""
    known = _KNOWN_GREAT if connection.dialect.name == "postgresql" else _KNOWN_LITE
    if connection.execute(known, {"name": EDITION_TABLE}).scalar() is None:
        return None
    found = connection.execute(_EDITION).scalar()
    return None if found is None else str(found)


def migrate(connection: Connection, migrations: Migrations = OURS, *, to: str = "") -> None:
    """Runs what leads from the edition of the connection's tables ``to`` another, "" for the last, in its transaction."""
    from alembic import command  # noqa: PLC0415  slow to import, and seldom needed
    from alembic.config import Config  # noqa: PLC0415  see above

    config = Config()
    config.set_main_option("script_location", str(migrations.folder).replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, to or migrations.last)


def _is_up(found: str | None, migrations: Migrations, address: Address) -> bool:
    if found is not None and found not in migrations.editions:
        raise StoreError(
            f"the store is of edition {found}, and this Wallbill knows up to {migrations.last}",
            where=address.place,
            mend="Use the newer Wallbill that last opened it, or restore a backup that this one made.",
        )
    return found == migrations.last


def _upgrade_great(connection: Connection, migrations: Migrations, address: Address) -> None:
    connection.execute(text(f"SET LOCAL lock_timeout = {_LONG_MS}"))
    connection.execute(text(f"SET LOCAL statement_timeout = {_LONG_MS}"))
    connection.execute(text(f"SELECT pg_advisory_xact_lock({_LOCK})"))
    if not _is_up(edition_of(connection), migrations, address):
        migrate(connection, migrations)


def _upgrade_lite(path: Path, migrations: Migrations, address: Address, *, patience_s: float) -> None:
    """In a transaction that holds the file, over a connection that lets tables be dropped without what refers to them."""
    engine = lite_engine(path, patience_s=max(patience_s, 60), foreign_keys=False)
    met: Exception | None = None
    try:
        with engine.begin() as connection:
            _upgrade_held(connection, path, migrations, address=address)
    except StoreError:
        raise
    except Exception as fault:  # noqa: BLE001  told in our words just below
        met = fault
    finally:
        engine.dispose()
    if met is not None:
        raise fault_of(met, address)


def _upgrade_held(connection: Connection, path: Path, migrations: Migrations, *, address: Address) -> None:
    found = edition_of(connection)
    if _is_up(found, migrations, address):
        return
    _refuse_strangers(connection, found, address)
    if found is not None:
        copy_lite(path, path.with_name(f"{path.name}.edition-{found}"))
    migrate(connection, migrations)
    if connection.exec_driver_sql("PRAGMA foreign_key_check").first() is not None:
        raise StoreError(
            "rows of the store refer to rows that are not there, so it is not upgraded",
            where=address.place,
            mend="Restore a backup: wallbill store restore.",
        )


def _refuse_strangers(connection: Connection, found: str | None, address: Address) -> None:
    tables = "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' LIMIT 1"
    if found is None and (stranger := connection.execute(text(tables)).scalar()) is not None:
        raise StoreError(
            f"this is a database of something else: it has a table {stranger!r}",
            where=address.place,
            mend="Name another file.",
        )


def copy_lite(path: Path, to: Path) -> None:
    """A copy of an SQLite file as it was last committed, for its owner only, under its name only when it is whole."""
    half = to.with_name(to.name + ".part")
    half.unlink(missing_ok=True)
    os.close(os.open(half, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
    source, target = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True), sqlite3.connect(half)
    try:
        source.backup(target)
        target.execute("PRAGMA journal_mode = DELETE")
    finally:
        source.close()
        target.close()
    with half.open("rb") as file:
        os.fsync(file.fileno())
    half.replace(to)
