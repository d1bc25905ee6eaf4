"""Asking a database one query over a connection that can only read, within limits of time, rows and size."""

import math
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any
from urllib.parse import quote
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, Engine, create_engine, text
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError, SQLAlchemyError
from sqlalchemy.pool import NullPool

from wallbill.errors import Place, SourceError
from wallbill.sources.fetching import Limits
from wallbill.sources.spec import SourceSpec
from wallbill.sources.sql import Query, columns_of, database_of, packed_rows, query_of

_BATCH = 500
_STEPS = 2000
_READS = frozenset(
    {sqlite3.SQLITE_SELECT, sqlite3.SQLITE_READ, sqlite3.SQLITE_FUNCTION, sqlite3.SQLITE_RECURSIVE}
)
_CELL = 32


def ask_database(
    spec: SourceSpec, zone: ZoneInfo, *, folder: Path, limits: Limits, clock: Callable[[], datetime]
) -> bytes:
    """The rows that a source's query gives, as a payload for `wallbill.sources.sql.parse`.

    ``zone``: the wall's, in which a pattern writes ``:now`` and ``:since``. ``folder``: the wall's, for ``file``. Raises
    `SourceError` (never with the address): no driver, no database, a query that fails, takes too long or gives too much.
    """
    query, name = query_of(spec, zone), database_of(spec)
    columns_of(spec)
    ends_at_s = time.monotonic() + limits.total_s
    engine = (
        _sqlite(spec, folder, ends_at_s) if name == "sqlite" else _postgresql(spec, query, limits.total_s)
    )
    try:
        with _faults(spec, limits, ends_at_s), engine.connect() as connection:
            columns, rows, cut = _rows(connection, query, spec, limits=limits, clock=clock)
    finally:
        engine.dispose()
    return packed_rows(columns, rows, cut=cut)


def _sqlite(spec: SourceSpec, folder: Path, ends_at_s: float) -> Engine:
    """A database in a file, opened to be read alone; its own steps look at the clock."""
    path = _path(spec, folder)

    def connect() -> sqlite3.Connection:
        left_s = max(ends_at_s - time.monotonic(), 0.1)
        database = sqlite3.connect(f"file:{quote(str(path))}?mode=ro", uri=True, timeout=left_s)
        database.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, 1 << 20)
        database.set_progress_handler(lambda: int(time.monotonic() > ends_at_s), _STEPS)
        database.set_authorizer(_may)
        return database

    return create_engine("sqlite://", creator=connect, poolclass=NullPool)


def _may(action: int, first: str | None, second: str | None, *_: object) -> int:
    """Whether SQLite may do a step: only what reads, and the one question that the library asks when it connects."""
    asks = action == sqlite3.SQLITE_PRAGMA and first == "read_uncommitted" and second is None
    return sqlite3.SQLITE_OK if asks or action in _READS else sqlite3.SQLITE_DENY


def _path(spec: SourceSpec, folder: Path) -> Path:
    if "file" in spec.options:
        name = str(spec.options["file"])
        path = (folder / name).resolve()
        if not path.is_relative_to(folder.resolve()):
            raise SourceError(
                f"{name!r} lies outside the wall folder",
                where=Place(spec.where.file, spec.where.line, "file"),
                mend='Give it as url = "sqlite:////path/to/it", if you mean it.',
            )
    else:
        named = str(spec.options["url"]).strip().partition(":///")[2]
        path = (folder / named.partition("?")[0]).resolve()
    if not path.is_file():
        raise SourceError(
            "there is no such database file",
            where=spec.where,
            mend="Check its name; it is counted from the wall folder.",
        )
    return path


def _postgresql(spec: SourceSpec, query: Query, total_s: float) -> Engine:
    """A server's database in a session that can only read and gives up in time."""
    at = Place(spec.where.file, spec.where.line, "url")
    try:
        url = make_url(str(spec.options["url"]).strip())
    except (ArgumentError, ValueError):
        raise SourceError(
            "its address cannot be read", where=at, mend="Write postgresql://user@host:5432/name."
        ) from None
    password = spec.options.get("password")
    url = url.set(drivername="postgresql+psycopg", password=str(password) if password else url.password)
    settings = (
        "-c default_transaction_read_only=on"
        f" -c statement_timeout={max(int(total_s * 1000), 1)} -c TimeZone={query.moments.zone.key}"
    )
    try:
        return create_engine(
            url,
            poolclass=NullPool,
            connect_args={"options": settings, "connect_timeout": max(math.ceil(total_s), 2)},
        )
    except (ImportError, NoSuchModuleError):
        raise SourceError(
            "the driver for PostgreSQL is not installed",
            where=at,
            mend="Install it with: pip install 'wallbill[postgresql]'.",
        ) from None


@contextmanager
def _faults(spec: SourceSpec, limits: Limits, ends_at_s: float) -> Iterator[None]:
    """Whatever the database says, in our words; what a driver says may hold the address, so its first line is sifted."""
    try:
        yield
    except DBAPIError as fault:
        state = str(getattr(fault.orig, "sqlstate", None) or "")
        if state == "57014" or (time.monotonic() > ends_at_s and "interrupted" in str(fault.orig)):
            raise SourceError(
                f"the query took longer than {limits.total_s:g} s and was stopped",
                where=spec.where,
                mend="Ask for less, or give the table an index.",
            ) from None
        raise _fault(fault.orig, spec) from None
    except SQLAlchemyError as fault:
        raise SourceError(
            f"the database cannot be asked ({type(fault).__name__})",
            where=spec.where,
            mend="Check url and query.",
        ) from None


def _fault(fault: Any, spec: SourceSpec) -> SourceError:
    said = getattr(getattr(fault, "diag", None), "message_primary", None)
    state = str(getattr(fault, "sqlstate", None) or "")
    if isinstance(fault, sqlite3.Error):
        said = str(fault)
    if not said or state.startswith(("08", "28")):
        return SourceError(
            "the database cannot be reached, or does not let us in",
            where=spec.where,
            mend="Check host, name, user and password of the database, and the network.",
        )
    what = " ".join(str(said).split())[:200]
    if "not authorized" in what or state == "25006":
        return SourceError(
            f"the query would do more than read: {what}",
            where=Place(spec.where.file, spec.where.line, "query"),
            mend="Let it only SELECT.",
        )
    return SourceError(
        f"the database does not understand: {what}",
        where=Place(spec.where.file, spec.where.line, "query"),
        mend="Try the query with the database's own client.",
    )


def _rows(
    connection: Connection, query: Query, spec: SourceSpec, *, limits: Limits, clock: Callable[[], datetime]
) -> tuple[list[str], list[list[object]], bool]:
    """The columns, the rows, and whether there were more."""
    now = clock().astimezone(UTC)
    moments = {"now": now, "since": now - query.since}
    native = query.moments.style == "iso" and connection.dialect.name == "postgresql"
    bound = {name: moments[name] if native else query.moments.write(moments[name]) for name in query.names}
    asked = connection.execution_options(stream_results=True, max_row_buffer=_BATCH)
    with closing(asked.execute(text(query.text), bound)) as result:
        columns, size = list(result.keys()), 0
        rows: list[list[object]] = []
        for row in result:
            if len(rows) == query.most_rows:
                return columns, rows, True
            rows.append([_cell(value) for value in row])
            size += sum(len(cell) if isinstance(cell, str) else _CELL for cell in rows[-1])
            if size > limits.body_bytes:
                raise SourceError(
                    f"the query gives more than {limits.body_bytes / 2**20:g} MiB",
                    where=Place(spec.where.file, spec.where.line, "query"),
                    mend="Ask for fewer columns or rows.",
                )
    return columns, rows, False


def _cell(value: object) -> object:
    """A cell as JSON has it: numbers, texts and truths as they are, moments as ISO 8601."""
    if value is None or isinstance(value, str | bool | int):
        return value
    if isinstance(value, float | Decimal):
        return float(value) if math.isfinite(value) else str(value)
    if isinstance(value, datetime | date):
        return value.isoformat()
    return f"({type(value).__name__})"
