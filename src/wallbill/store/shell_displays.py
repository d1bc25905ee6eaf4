"""Displays, their keys, and what was asked for them by hand, in a database."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, and_, delete, or_, select, update

from wallbill.errors import StoreError
from wallbill.store.model import Asked, Installed, Key
from wallbill.store.rows import columns, insert, row, rows, upsert, values, write
from wallbill.store.shell_database import Database
from wallbill.store.tables import asked, displays, keys, notices


class Displays:
    """`DisplayRecords` in a database. All of it is written through: a power cut takes nothing away."""

    _database: Database

    def installed(self) -> Sequence[Installed]:
        """Every display, by name."""
        query = select(*columns(displays, Installed))
        found = self._database.read(lambda c: values(Installed, c.execute(query).mappings()))
        return sorted(found, key=lambda each: each.name)

    def install(self, *displays_: Installed) -> None:
        """Adds displays; those that are known already stay as they are, but for ``like``."""
        given: dict[str, Installed] = {}
        for each in displays_:
            given[each.name] = replace(given.get(each.name, each), like=each.like)
        # In one order, so that two who install the same ones never wait for each other in a ring.
        new = [{**one, "number": 0, "mark": 0} for one in rows(given[name] for name in sorted(given))]
        if new:
            self._database.write(lambda c: write(c, upsert(c, displays, "added_at", "number", "mark"), new))

    def uninstall(self, name: str) -> None:
        """Forgets a display with its keys, editions, contacts, reports and notices."""

        def work(connection: Connection) -> None:
            connection.execute(delete(notices).where(notices.c.subject == name))
            connection.execute(delete(displays).where(displays.c.name == name))

        self._database.write(work)

    def keys(self) -> Sequence[Key]:
        """Every key, those that have ended included."""
        query = select(*columns(keys, Key))
        found = self._database.read(lambda c: values(Key, c.execute(query).mappings()))
        return sorted(found, key=lambda each: (each.display, each.begun_at, each.digest))

    def add_key(self, key: Key, *, others_end_at: datetime | None = None) -> None:
        """Adds a key in one transaction with the end of the display's other keys, where they are to end.

        Raises `StoreError` where there is no such display, or the key is there already.
        """

        def work(connection: Connection) -> None:
            self._must_be_there(connection, key.display)
            if others_end_at is not None:
                _end(connection, key.display, others_end_at)
            made = insert(connection, keys).values(row(key)).on_conflict_do_nothing().returning(keys.c.digest)
            if connection.execute(made).first() is None:
                raise StoreError(
                    "this key is known already",
                    where=self._database.address.place,
                    mend="Make another one.",
                )

        self._database.write(work)

    def end_keys(self, display: str, at: datetime) -> None:
        """Lets every key of a display end at a moment, unless it ends sooner."""
        self._database.write(lambda c: _end(c, display, at))

    def asked(self) -> Sequence[Asked]:
        """What was asked for by hand, at most one for a display; those that are over included."""
        query = select(*columns(asked, Asked))
        found = self._database.read(lambda c: values(Asked, c.execute(query).mappings()))
        return sorted(found, key=lambda each: each.display)

    def ask(self, asked_: Asked) -> None:
        """Asks for a sheet in place of what was asked for before. Raises `StoreError` where there is no such display."""

        def work(connection: Connection) -> None:
            self._must_be_there(connection, asked_.display)
            connection.execute(upsert(connection, asked), row(asked_))

        self._database.write(work)

    def unask(self, display: str) -> None:
        """Back to the timetable."""
        self._database.write(lambda c: c.execute(delete(asked).where(asked.c.display == display)))

    def _must_be_there(self, connection: Connection, display: str) -> None:
        if connection.execute(select(displays.c.name).where(displays.c.name == display)).first() is None:
            raise StoreError(
                f"there is no display {display!r}",
                where=self._database.address.place,
                mend="Add it first: wallbill display add.",
            )


def _end(connection: Connection, display: str, at: datetime) -> Any:
    later = or_(keys.c.ends_at.is_(None), keys.c.ends_at > at)
    return connection.execute(update(keys).where(and_(keys.c.display == display, later)).values(ends_at=at))
