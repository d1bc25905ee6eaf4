"""``wallbill agent``: the programs for the devices."""

import json
from pathlib import Path
from typing import Any

import click

from wallbill.agent.bundling import bundle, settings_for
from wallbill.agent.shell import device_modules
from wallbill.cli.shell import write_whole
from wallbill.errors import Place, WallError
from wallbill.wall.shell import load_wall


@click.group("agent")
def command() -> None:
    """Write the programs that run on the devices."""


@command.command("bundle")
@click.argument("folder", type=click.Path(path_type=Path), metavar="DIR")
@click.argument("display")
@click.option(
    "--url",
    required=True,
    help="The server's address as the device sees it, such as http://wall.example:8000.",
)
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), required=True, metavar="FILE")
@click.option(
    "--settings",
    "extra",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="JSON laid over the settings: the adapter, the packing, sensors, a button.",
)
@click.option(
    "--key-file",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="A file with the display's key; it is written beside FILE, readable by its owner only.",
)
@click.option(
    "--key-inside", is_flag=True, help="Put the key into FILE itself; then FILE must not be shown to anybody."
)
def bundled(folder: Path, display: str, *, url: str, out: Path, **more: Any) -> None:
    """Write the agent for DISPLAY of the wall in DIR: one file that runs on any Linux board with Python 3.9.

    Its settings lie in it; a JSON file of the same name beside it overrides them.
    """
    extra, key_file, key_inside = more["extra"], more["key_file"], more["key_inside"]
    if key_inside and key_file is None:
        raise click.UsageError("--key-inside needs --key-file")
    over = _extra(extra) if extra else {}
    key = _key(key_file) if key_file else ""
    if key_inside:
        over["key"] = key
    settings = settings_for(load_wall(folder).display(display), url, over=over)
    write_whole(out, bundle(device_modules(), settings), mode=0o700 if key_inside else 0o755)
    if key and not key_inside:
        write_whole(out.with_suffix(".key"), f"{key}\n".encode(), mode=0o600)
    click.echo(f"{out}: the agent of {display}; it runs with python3 {out.name} run")


def _key(path: Path) -> str:
    """The key in a file. Raises `WallError` where there is none."""
    key = path.read_text(encoding="ascii", errors="replace").strip()
    if not key or any(not "!" <= sign <= "~" for sign in key):
        raise WallError(
            "that is no key", where=Place(str(path)), mend="Write the key alone into it, in one line."
        )
    return key


def _extra(path: Path) -> dict[str, Any]:
    """The settings in a file. Raises `WallError` where it is no table of JSON."""
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except json.JSONDecodeError as error:
        raise WallError(
            f"no JSON: {error.msg}, column {error.colno}",
            where=Place(str(path), error.lineno),
            mend="See to commas, quotes and brackets there.",
        ) from error
    if not isinstance(found, dict):
        raise WallError("it is no table", where=Place(str(path)), mend="Begin it with { and end it with }.")
    return found
