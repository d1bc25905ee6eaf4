"""Looking a store over: its edition, what is in it, and whether it is whole."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from sqlalchemy import Connection, and_, func, select, text

from wallbill.errors import StoreError
from wallbill.store.shell_database import Database
from wallbill.store.shell_migrating import OURS, edition_of
from wallbill.store.tables import METADATA, counters, displays, editions

_FAULTS = 20


@dataclass(frozen=True, slots=True)
class Examined:
    """A store that was looked over. ``edition``: None where there are no tables yet. ``faults``: in words, none if it is sound.

    ``wanted``: the edition that this program works with; an older one is upgraded when the store is opened.
    """

    edition: str | None
    wanted: str
    counts: Mapping[str, int]
    faults: tuple[str, ...]


def examine(database: Database) -> Examined:
    """Counts what is in a database and looks for what cannot be. Raises `StoreError` where it cannot even be read."""

    def work(connection: Connection) -> Examined:
        edition = edition_of(connection)
        if connection.dialect.name == "postgresql":
            connection.execute(text("SET LOCAL statement_timeout = 0"))
        damage = tuple(_damage(connection))
        if edition != OURS.last:
            known = edition is None or edition in OURS.editions
            strange = (
                () if known else (f"edition {edition} is newer than this Wallbill, which knows {OURS.last}",)
            )
            return Examined(edition, OURS.last, {}, damage + strange)
        counts = {
            each.name: connection.execute(select(func.count()).select_from(each)).scalar_one()
            for each in METADATA.sorted_tables
        }
        return Examined(edition, OURS.last, counts, damage + tuple(_nonsense(connection)))

    try:
        return database.snapshot(work)
    except StoreError as fault:
        if "damaged" in fault.what:  # what SQLite found before it could be asked what is wrong
            return Examined(None, OURS.last, {}, (fault.what,))
        raise


def _damage(connection: Connection) -> Iterator[str]:
    """What SQLite finds amiss in its own file; a server sees to that by itself."""
    if connection.dialect.name != "sqlite":
        return
    for (said,) in connection.execute(text(f"PRAGMA integrity_check({_FAULTS})")):
        if said != "ok":
            yield str(said)
    for row in list(connection.execute(text("PRAGMA foreign_key_check")))[:_FAULTS]:
        yield f"a row of {row[0]} refers to a row of {row[2]} that is not there"


def _nonsense(connection: Connection) -> Iterator[str]:
    """What no database would object to, and no store ever writes."""
    up = and_(editions.c.display == displays.c.name, editions.c.number == displays.c.number)
    lost = (
        select(displays.c.name, displays.c.number)
        .outerjoin(editions, up)
        .where(displays.c.number > 0, editions.c.number.is_(None))
    )
    for name, number in connection.execute(lost.limit(_FAULTS)):
        yield f"edition {number} of {name}, which should be up, is not there"
    last = connection.execute(select(counters.c.last).where(counters.c.name == "mark")).scalar()
    most = connection.execute(select(func.coalesce(func.max(displays.c.mark), 0))).scalar_one()
    if last is None or last < most:
        yield f"the counter of marks stands at {last}, and a display has mark {most}"
