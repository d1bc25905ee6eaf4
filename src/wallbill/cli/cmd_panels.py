"""``wallbill panels``: the panels, compared, or one in full."""

import json
from pathlib import Path

import click

from wallbill.cli.folders import panels_known
from wallbill.cli.panel_text import comparison, in_full, plain
from wallbill.panels.model import Panel
from wallbill.panels.shell import find_panel


@click.command("panels")
@click.argument("names", nargs=-1, metavar="[NAME]...")
@click.option(
    "--wall",
    "folder",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Add the panels of this wall's own panels/ folder.",
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON, every figure with its source.")
def command(names: tuple[str, ...], folder: Path | None, *, as_json: bool) -> None:
    """List panels, compare them, or show one in full.

    NAME is a panel's name, or its beginning: `7.5in` stands for every panel of that size.
    Without a name, all panels are compared. One panel is shown in full, with the source of each figure.
    """
    panels = _chosen(names, folder)
    if as_json:
        click.echo(json.dumps([plain(panel) for panel in panels], indent=2, ensure_ascii=False))
    elif len(panels) == 1 and names:
        click.echo(in_full(panels[0]))
    else:
        click.echo(comparison(panels))


def _chosen(names: tuple[str, ...], folder: Path | None) -> tuple[Panel, ...]:
    """The panels that were asked for, in the order asked, each once."""
    known = panels_known(folder)
    if not names:
        return tuple(known.values())
    found: dict[str, Panel] = {}
    for name in names:
        beginning = [other for other in known if other.startswith(name)]
        chosen = [name] if name in known or not beginning else beginning
        found.update({one: find_panel(known, one) for one in chosen})
    return tuple(found.values())
