"""The last good payloads of sources in a database that several machines share."""

import json
from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Any, Self

from sqlalchemy import Connection, and_, delete, select

from wallbill.sources.fetching import Failures, Kept
from wallbill.store.rows import columns, row, upsert
from wallbill.store.shell_database import Database
from wallbill.store.tables import facts_failures, facts_kept


class StoreKeeper:
    """As `Keeper`, in the tables of a store. May be used from several threads and processes.

    All methods may raise `StoreError`. A power cut at the server may take the last half second, which is fetched again.
    """

    def __init__(self, database: Database) -> None:
        self._database = database

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def kept(self, source: str) -> Mapping[str, Kept]:
        """What is kept of a source, by part."""
        query = select(*columns(facts_kept, Kept)).where(facts_kept.c.source == source)
        found = self._database.read(lambda c: [kept_of(one) for one in c.execute(query).mappings()])
        return MappingProxyType({each.part: each for each in found})

    def keep(self, source: str, *parts: Kept) -> None:
        """Keeps the good parts of a source in place of what was there, and forgets its failures; all or nothing."""
        # In one order, so that two machines never wait for each other in a ring.
        given = [row_of(each) for each in sorted(parts, key=lambda each: (each.source, each.part))]

        def work(connection: Connection) -> None:
            if given:
                connection.execute(upsert(connection, facts_kept), given)
            connection.execute(delete(facts_failures).where(facts_failures.c.source == source))

        self._database.write(work, lasting=False)

    def failures(self, source: str) -> Failures | None:
        """What has gone wrong with a source since it was last good, or None."""
        query = select(*columns(facts_failures, Failures)).where(facts_failures.c.source == source)
        found = self._database.read(lambda c: c.execute(query).mappings().first())
        return None if found is None else Failures(**found)

    def note_failures(self, source: str, failures: Failures) -> None:
        """Notes what went wrong; the payloads stay."""
        given = {"source": source, **row(failures)}
        self._database.write(lambda c: c.execute(upsert(c, facts_failures), given), lasting=False)

    def forget_parts(self, source: str, parts: Iterable[str]) -> None:
        """Forgets some parts of a source; the rest stays."""
        some = and_(facts_kept.c.source == source, facts_kept.c.part.in_(list(parts)))
        self._database.write(lambda c: c.execute(delete(facts_kept).where(some)), lasting=False)

    def forget(self, source: str) -> None:
        """Forgets all of a source: its payloads and its failures."""

        def work(connection: Connection) -> None:
            connection.execute(delete(facts_kept).where(facts_kept.c.source == source))
            connection.execute(delete(facts_failures).where(facts_failures.c.source == source))

        self._database.write(work, lasting=False)

    def close(self) -> None:
        """Closes every connection; what was kept stays."""
        self._database.close()


def row_of(kept: Kept) -> dict[str, Any]:
    """A payload as a row of the table."""
    return {**row(kept), "headers": json.dumps(dict(kept.headers), sort_keys=True)}


def kept_of(found: Mapping[Any, Any]) -> Kept:
    """A row of the table as a payload."""
    return Kept(**{**found, "headers": MappingProxyType(json.loads(found["headers"]))})
