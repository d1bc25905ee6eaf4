"""Dropping what is old, a little at a time, so that nobody waits for it."""

from collections.abc import Collection, Sequence
from datetime import datetime, timedelta
from functools import partial
from typing import Any

from sqlalchemy import ColumnElement, Connection, Delete, Table, and_, delete, select, tuple_, update

from wallbill.store.shell_database import Database
from wallbill.store.tables import (
    counters,
    displays,
    editions,
    impressions,
    notices,
    pressings,
    reports,
    sessions,
)

_BATCH = 500
"""Rows that one transaction drops."""


class Tidying:
    """`Store.tidy` in a database."""

    _database: Database

    def tidy(self, now: datetime, *, keep_s: float, wanted: Collection[str] = ()) -> int:
        """Drops what is old: editions, pressings, reports, ended notices and sessions older than ``keep_s``.

        With them go impressions that no edition left refers to (nor is in ``wanted``). What is up stays for ever.
        Gives the count of rows. In batches, each a transaction of its own: what is stopped half-way is gone on with the next time.
        """
        before = now - timedelta(seconds=keep_s)
        up = (
            select(displays.c.name)
            .where(and_(displays.c.name == editions.c.display, displays.c.number == editions.c.number))
            .exists()
        )
        old: tuple[tuple[Table, ColumnElement[bool]], ...] = (
            (editions, and_(editions.c.at < before, ~up)),
            (pressings, pressings.c.looked_at < before),
            (reports, reports.c.at < before),
            (notices, notices.c.ended_at < before),
            (sessions, sessions.c.ends_at < before),
        )
        dropped = sum(self._drop(table, which) for table, which in old)
        return dropped + self._drop_impressions(frozenset(wanted))

    def _drop(self, table: Table, which: ColumnElement[bool]) -> int:
        key = list(table.primary_key)
        some = select(*key).where(which).limit(_BATCH)
        target: ColumnElement[Any] = key[0] if len(key) == 1 else tuple_(*key)
        statement = delete(table).where(target.in_(some))
        dropped = 0
        while count := self._database.write(partial(_count, statement=statement), lasting=False):
            dropped += count
        return dropped

    def _drop_impressions(self, wanted: frozenset[str]) -> int:
        needed = select(editions.c.digest).where(editions.c.digest == impressions.c.digest).exists()
        dropped, last = 0, ""
        while found := self._database.read(partial(_free, after=last, needed=needed)):
            last = found[-1]
            free = [digest for digest in found if digest not in wanted]
            if free:
                statement = delete(impressions).where(and_(impressions.c.digest.in_(free), ~needed))
                dropped += self._database.write(partial(_drop_unseen, statement=statement), lasting=False)
        return dropped


def _count(connection: Connection, *, statement: Delete) -> int:
    return connection.execute(statement).rowcount


def _free(connection: Connection, *, after: str, needed: ColumnElement[bool]) -> Sequence[str]:
    some = select(impressions.c.digest).where(and_(impressions.c.digest > after, ~needed))
    return connection.execute(some.order_by(impressions.c.digest).limit(_BATCH)).scalars().all()


def _drop_unseen(connection: Connection, *, statement: Delete) -> int:
    """Drops impressions while nobody can come to refer to them: whoever puts an edition up holds the counter."""
    connection.execute(update(counters).values(last=counters.c.last))
    return connection.execute(statement).rowcount
