"""``wallbill store``: backs up, restores and checks what the server of a wall keeps."""

import json
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

import click

from wallbill.cli.telling import printable
from wallbill.store.archive import Manifest
from wallbill.store.shell_moving import back_up_store, examine_store, restore_store
from wallbill.store.shell_wall import wall_store_url
from wallbill.wall.shell import load_wall

_FOLDER = click.argument("folder", type=click.Path(path_type=Path), metavar="DIR")
_FILE = click.argument("file", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE")
_JSON = click.option("--json", "as_json", is_flag=True, help="Print JSON.")


@click.group("store")
def command() -> None:
    """Back up, restore and check what the server of a wall keeps.

    The store is an SQLite file in the wall's folder, or the PostgreSQL database that wall.toml names.
    """


@command.command("backup")
@_FOLDER
@_FILE
@_JSON
def _backup(folder: Path, file: Path, *, as_json: bool) -> None:
    """Write all that the store of the wall in DIR keeps into FILE, while the server runs.

    FILE can be restored into either kind of database. It holds people's password hashes: only its owner can read it.
    """
    made = back_up_store(_url(folder), folder, file, now=datetime.now(UTC))
    _tell(made, f"{file}: backed up", as_json=as_json)


@command.command("restore")
@_FOLDER
@_FILE
@click.option("--replace", "replacing", is_flag=True, help="Drop what the store holds now.")
@_JSON
def _restore(folder: Path, file: Path, *, replacing: bool, as_json: bool) -> None:
    """Fill the store of the wall in DIR from FILE, all or nothing.

    The store must be empty, or --replace be given. Stop the server first: it does not look for keys and people that
    come and go behind its back. Nobody stays logged in.
    """
    restored = restore_store(_url(folder), folder, file, replacing=replacing)
    _tell(restored, f"{file}: restored", as_json=as_json)


@command.command("check")
@_FOLDER
@_JSON
def _check(folder: Path, *, as_json: bool) -> int:
    """Look the store of the wall in DIR over: its edition, what is in it, and whether it is sound.

    The status is 1 where it is not.
    """
    found = examine_store(_url(folder))
    if as_json:
        told = {
            "edition": found.edition,
            "wanted": found.wanted,
            "counts": dict(found.counts),
            "faults": found.faults,
        }
        click.echo(json.dumps(told, indent=2, ensure_ascii=False))
        return int(bool(found.faults))
    later = "" if found.edition == found.wanted else f"; it becomes {found.wanted} when the server opens it"
    click.echo(f"edition {found.edition or 'none yet'}{'' if found.faults else later}")
    _count(found.counts)
    for fault in found.faults:
        click.echo(printable(fault))
    click.echo("sound" if not found.faults else "Not sound. Restore a backup: wallbill store restore.")
    return int(bool(found.faults))


def _url(folder: Path) -> str:
    """The address of the wall's store. Raises `WallError` where its secret is not set."""
    return wall_store_url(load_wall(folder))


def _tell(manifest: Manifest, head: str, *, as_json: bool) -> None:
    if as_json:
        told = {
            "edition": manifest.edition,
            "made_at": manifest.made_at.isoformat(),
            "counts": manifest.counts,
        }
        click.echo(json.dumps(told, indent=2, ensure_ascii=False))
        return
    click.echo(printable(f"{head}, as it was at {manifest.made_at:%Y-%m-%d %H:%M:%S} UTC"))
    _count(manifest.counts)


def _count(counts: Mapping[str, int]) -> None:
    for name, count in counts.items():
        if count and name != "counters":
            click.echo(f"{count:>9,}  {name.replace('_', ' ')}")
