"""Opening a store, on SQLite in the wall's folder or on PostgreSQL by its address."""

from pathlib import Path
from typing import Self

from sqlalchemy import text

from wallbill.sources.keeping import FactKeep
from wallbill.sources.shell_keeping import Keeper, keeper_path
from wallbill.store.addresses import Address, lite_url, read_address
from wallbill.store.ports import Store
from wallbill.store.shell_contacts import Contacts
from wallbill.store.shell_database import Database
from wallbill.store.shell_displays import Displays
from wallbill.store.shell_editions import Editions
from wallbill.store.shell_keeping import StoreKeeper
from wallbill.store.shell_migrating import OURS, Migrations, bring_up
from wallbill.store.shell_people import People
from wallbill.store.shell_postgresql import great_database
from wallbill.store.shell_sqlite import lite_database
from wallbill.store.shell_tidying import Tidying

PATIENCE_S = 10.0
"""How long to wait for a database that is busy, or a server that does not answer, before it is an error."""


class SqlStore(Displays, Editions, Contacts, People, Tidying):
    """A `Store` in a database of this edition."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def check(self) -> None:
        """Asks the database something small; raises `StoreError` if it does not answer."""
        self._database.read(lambda c: c.execute(text("SELECT last FROM counters")).scalar_one())

    def close(self) -> None:
        """Closes every connection."""
        self._database.close()


def store_path(folder: Path) -> Path:
    """Where a wall's SQLite store lies unless told otherwise."""
    return folder / ".wallbill" / "store.sqlite"


def store_url(wall_folder: Path, url: str | None) -> str:
    """The address of a wall's store: ``url`` if there is one, else an SQLite file in the wall's folder.

    A ``url`` of an SQLite file that does not begin at the root is counted from the wall's folder.
    """
    if not url:
        return lite_url(str(store_path(wall_folder).absolute()))
    path = read_address(url).path
    return lite_url(str(wall_folder.absolute() / path)) if path else url


def open_store(url: str, *, patience_s: float = PATIENCE_S) -> Store:
    """The store at an address (`store_url`), made if there is none, upgraded if it is of an older edition.

    ``patience_s``: how long a call waits for a database that is busy. May be used from several threads; not across a
    fork. Raises `StoreError`: it cannot be reached or written, is damaged, or is of a newer edition.
    """
    return SqlStore(open_database(url, patience_s=patience_s))


def open_keeper(url: str, folder: Path, *, patience_s: float = PATIENCE_S) -> FactKeep:
    """Where facts are kept beside the store at an address: in its tables on PostgreSQL, so that machines share them.

    With an SQLite store they stay in the file of the wall ``folder`` that `wallbill facts` uses too. Raises
    `StoreError`, `SourceError`.
    """
    if read_address(url).path:
        return Keeper(keeper_path(folder))
    return StoreKeeper(open_database(url, patience_s=patience_s))


def open_database(url: str, *, patience_s: float = PATIENCE_S, migrations: Migrations = OURS) -> Database:
    """The database of a store with its tables brought up. Raises `StoreError`."""
    database = reach(read_address(url), patience_s=patience_s)
    try:
        bring_up(database, migrations, patience_s=patience_s)
    except BaseException:
        database.close()
        raise
    return database


def reach(address: Address, *, patience_s: float = PATIENCE_S, foreign_keys: bool = True) -> Database:
    """A database as it is, whatever its edition. Raises `StoreError` where it cannot be reached.

    Without ``foreign_keys`` an SQLite file does not see to it that rows refer to rows that are there.
    """
    if address.path:
        return lite_database(address, patience_s=patience_s, foreign_keys=foreign_keys)
    return great_database(address, patience_s=patience_s)
