"""``wallbill facts``: fetches and prints facts, with their age and origin, and the paths that sheets use."""

import json
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import click

from wallbill.cli.bench import Moment, gathered, moment_of
from wallbill.cli.telling import on_one_line, printable
from wallbill.errors import Place, WallError
from wallbill.facts.origin import Freshness
from wallbill.facts.plain import plain_fact
from wallbill.facts.supply import Supplied
from wallbill.findings import plain_finding
from wallbill.places.words import did_you_mean
from wallbill.sheets.making import wording_of
from wallbill.sheets.scope import Age, ages
from wallbill.sources.spec import kinds
from wallbill.units.wording import Wording
from wallbill.wall.shell import load_wall

_FEW = 3
"""How many members of a long row are printed unless all are asked for."""


@click.command("facts")
@click.argument("folder", type=click.Path(path_type=Path), metavar="[DIR]", required=False)
@click.argument("source", required=False)
@click.option("--kinds", "list_kinds", is_flag=True, help="List the kinds of source and their options.")
@click.option("--at", type=Moment(), metavar="TIME", help="As if it were this moment; nothing is fetched.")
@click.option("--offline", is_flag=True, help="Open no connection; use files and kept facts.")
@click.option("--all", "in_full", is_flag=True, help="Print every member of long rows.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(folder: Path | None, source: str | None, **how: Any) -> int:
    """Fetch and print a wall's facts: each source's state and age, and its values with their template path.

    SOURCE is one source of wall.toml; without it all are printed. The path before a value is what a sheet writes.
    """
    if how["list_kinds"]:
        _print_kinds(as_json=how["as_json"])
        return 0
    if folder is None:
        raise click.UsageError("name the wall's folder, or ask for --kinds")
    wall = load_wall(folder)
    if source and source not in wall.sources:
        raise WallError(
            f"the wall has no source {source!r}",
            where=Place("wall.toml"),
            mend=did_you_mean(
                source, wall.sources, else_="" if wall.sources else "Add a table [sources.NAME]."
            ),
        )
    now = moment_of(how["at"], wall)
    only = [source] if source else None
    supply = gathered(wall, now, only=only, offline=how["offline"] or how["at"] is not None)
    found = ages(supply, now)
    if how["as_json"]:
        told = {name: _told(given, found[name]) for name, given in supply.sources.items()}
        click.echo(json.dumps(told, indent=2, ensure_ascii=False))
    else:
        wording = wording_of(wall)
        for name, given in supply.sources.items():
            click.echo(_heading(given, found[name], _times(given, found[name], now, wording=wording)))
            for finding in given.findings:
                click.echo(printable(f"  {finding}".replace("\n", "\n  ")))
            for path, value in _lines(f"facts.{name}", plain_fact(given.fact), in_full=how["in_full"]):
                click.echo(f"  {path}  {on_one_line(value)}")
    return int(any(age.freshness is Freshness.MISSING for age in found.values()))


def _since(age: Age, now: datetime) -> timedelta | None:
    return None if age.dated is None else max(timedelta(0), now - age.dated)


def _told(given: Supplied, age: Age) -> dict[str, Any]:
    return {
        "kind": given.kind,
        "state": str(age.freshness),
        "dated": age.dated.isoformat() if age.dated else None,
        "due": given.due_at.isoformat() if given.due_at else None,
        "credit": age.credit,
        "trouble": str(given.trouble) if given.trouble else None,
        "findings": [plain_finding(finding) for finding in given.findings],
        "value": plain_fact(given.fact),
    }


def _times(given: Supplied, age: Age, now: datetime, *, wording: Wording) -> str:
    """How old a source's facts are, and when they are fetched next, in the wall's words."""
    since = _since(age, now)
    old = "" if since is None else f", {wording.duration(since)} old"
    if given.due_at is None:
        return old
    due = given.due_at.astimezone(now.tzinfo)
    day = "" if due.date() == now.date() else f"{wording.date(due, 'EEEd')} "
    return f"{old}, next look {day}{wording.time(due)}"


def _heading(given: Supplied, age: Age, times: str) -> str:
    head = f"{given.name} ({given.kind}): {age.freshness}{times}"
    if age.credit:
        head += f" - {age.credit}"
    return printable(f"{head}\n  {given.trouble}" if given.trouble else head)


def _lines(path: str, value: Any, *, in_full: bool) -> Iterator[tuple[str, str]]:
    """Each value with the path that a sheet writes for it; long rows cut short unless ``in_full``."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from _lines(path + _part(name), inner, in_full=in_full)
    elif isinstance(value, list):
        shown = value if in_full else value[:_FEW]
        for place, inner in enumerate(shown):
            yield from _lines(f"{path}[{place}]", inner, in_full=in_full)
        if len(shown) < len(value):
            yield f"{path}[…]", f"{len(value) - len(shown)} more"
    else:
        yield path, "–" if value is None else str(value)


def _part(name: str) -> str:
    """How a sheet asks for a part: after a dot, or in brackets where a dot would not find it.

    A dot finds a table's own methods first, and nothing that begins with an underscore.
    """
    plain = name.isidentifier() and name.isascii() and not name.startswith("_") and not hasattr(dict, name)
    return f".{name}" if plain else f"[{name!a}]"


def _print_kinds(*, as_json: bool) -> None:
    if as_json:
        listed = {
            kind.name: {"what": kind.what, "options": {o.name: o.what for o in kind.options}}
            for kind in kinds().values()
        }
        click.echo(json.dumps(listed, indent=2, ensure_ascii=False))
        return
    for kind in kinds().values():
        click.echo(f"{kind.name}: {kind.what}")
        for option in kind.options:
            needed = " (needed)" if option.required else ""
            choices = f": {', '.join(map(str, option.choices))}" if option.choices else ""
            click.echo(f"  {option.name}{needed}  {option.what}{choices}")
