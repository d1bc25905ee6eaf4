"""Backing up, restoring and looking over the store of a wall, by its address."""

from datetime import datetime
from pathlib import Path

from wallbill.errors import StoreError
from wallbill.store.addresses import read_address
from wallbill.store.archive import Manifest
from wallbill.store.shell import open_database, reach
from wallbill.store.shell_backup import back_up
from wallbill.store.shell_checking import Examined, examine
from wallbill.store.shell_restoring import archive_manifest, restore


def back_up_store(url: str, wall_folder: Path, file: Path, *, now: datetime) -> Manifest:
    """Writes the store at an address into one file, as `back_up`. None is made where there is none."""
    _must_be_there(url)
    database = open_database(url)
    try:
        return back_up(database, wall_folder, file, now=now)
    finally:
        database.close()


def restore_store(url: str, wall_folder: Path, file: Path, *, replacing: bool = False) -> Manifest:
    """Fills the store at an address from a file, as `restore`; it is made if there is none."""
    archive_manifest(file)  # so that no store is made for a file that is none
    open_database(url).close()
    database = reach(read_address(url), foreign_keys=False)
    try:
        return restore(database, wall_folder, file, replacing=replacing)
    finally:
        database.close()


def examine_store(url: str) -> Examined:
    """What is in the store at an address, and whether it is sound, as `examine`. It is not upgraded."""
    _must_be_there(url)
    database = reach(read_address(url))
    try:
        return examine(database)
    finally:
        database.close()


def _must_be_there(url: str) -> None:
    address = read_address(url)
    if address.path and not Path(address.path).is_file():
        raise StoreError(
            "there is no store here yet",
            where=address.place,
            mend="It is made by: wallbill serve. Check [store] in wall.toml if it should lie elsewhere.",
        )
