"""The queue's own tables, in a schema of their own beside the store's: made where there are none, and brought up.

They are those of procrastinate, made and changed by its own SQL files; which of them was the last is noted on the schema.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import psycopg
from procrastinate.schema import SchemaManager
from psycopg import sql
from psycopg.conninfo import conninfo_to_dict

from wallbill.errors import Place, StoreError
from wallbill.store.addresses import read_address

SCHEMA = "wallbill_work"
_LOCK = 0x51_55_45_55  # any number that others are unlikely to choose
_TIMEOUT_S = 10


def connecting(url: str) -> dict[str, Any]:
    """Parameters of psycopg for the queue of a store at ``url``. Raises `StoreError` for what is no PostgreSQL address."""
    address = read_address(url)
    if not address.url:
        raise StoreError(
            "a queue for several machines needs PostgreSQL, and the store is an SQLite file",
            where=Place("wall.toml", None, "store.url"),
            mend='Add [store] with url = "postgresql://user@host/name" to wall.toml.',
        )
    given: dict[str, Any] = conninfo_to_dict(address.url.replace("postgresql+psycopg", "postgresql", 1))
    options = f"{given.get('options', '')} -c search_path={SCHEMA} -c TimeZone=UTC".strip()
    defaults = {"connect_timeout": _TIMEOUT_S, "keepalives_idle": 30, "application_name": "wallbill work"}
    return {**defaults, **given, "options": options}


def bring_up_queue(url: str) -> None:
    """Makes the queue's tables, or changes those of an older edition; by one process at a time. Raises `StoreError`."""
    shown = Place(read_address(url).shown)
    try:
        with psycopg.connect(**connecting(url), autocommit=True) as connection:
            connection.execute("SELECT pg_advisory_lock(%s)", (_LOCK,))
            _bring_up(connection, shown)
    except psycopg.Error as fault:
        raise StoreError(
            f"the queue cannot be set up: {str(fault).strip().splitlines()[0] if str(fault).strip() else type(fault).__name__}",
            where=shown,
            mend="See that the server runs, and that the user may create a schema in the database.",
        ) from None


def migrations() -> tuple[str, ...]:
    """The names of procrastinate's changes of its tables, oldest first."""
    folder = Path(SchemaManager.get_migrations_path())
    return tuple(sorted(file.stem for file in folder.glob("*.sql")))


def _bring_up(connection: psycopg.Connection[Any], shown: Place) -> None:
    known = migrations()
    noted = _noted(connection)
    if noted is None:
        with connection.transaction():
            connection.execute(sql.SQL("CREATE SCHEMA IF NOT EXISTS {}").format(sql.Identifier(SCHEMA)))
            connection.execute(SchemaManager.get_schema())
            _note(connection, known[-1])
        return
    if noted not in known:
        raise StoreError(
            f"the queue's tables are of a newer edition ({noted})",
            where=shown,
            mend="Install the version of procrastinate that the other machines have.",
        )
    _change(connection, known[known.index(noted) + 1 :])


def _change(connection: psycopg.Connection[Any], names: Sequence[str]) -> None:
    """Runs what is new, file by file, each noted when it is done."""
    folder = Path(SchemaManager.get_migrations_path())
    for name in names:
        text = (folder / f"{name}.sql").read_text(encoding="utf-8")
        connection.execute(text.encode())
        _note(connection, name)


def _noted(connection: psycopg.Connection[Any]) -> str | None:
    """The last change that was noted, None where there are no tables."""
    row = connection.execute(
        "SELECT obj_description(oid, 'pg_namespace') FROM pg_namespace WHERE nspname = %s", (SCHEMA,)
    ).fetchone()
    return None if row is None or row[0] is None else str(row[0])


def _note(connection: psycopg.Connection[Any], name: str) -> None:
    said = sql.SQL("COMMENT ON SCHEMA {} IS {}").format(sql.Identifier(SCHEMA), sql.Literal(name))
    connection.execute(said)
