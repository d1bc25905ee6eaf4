"""``wallbill panels``: the panels, compared, or one in full."""

import json
from pathlib import Path
from typing import Any

import click

from wallbill.cli.folders import panels_known
from wallbill.cli.panel_text import comparison, in_full, plain
from wallbill.panels.model import Panel
from wallbill.panels.shell import find_panel


class NamesOrCommand(click.Group):
    """A group that takes a first word that it knows for a command, and every other for the name of a panel."""

    allow_interspersed_args = True  # a plain group takes no options after its names

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The commands below ``wallbill panels``."""
        return ["calibrate"]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name; its module is imported only when it is asked for."""
        if cmd_name != "calibrate":
            return None
        from wallbill.cli.cmd_calibrate import command as calibrate  # noqa: PLC0415  takes a tenth of a second

        return calibrate

    def make_context(
        self, info_name: str | None, args: list[str], parent: click.Context | None = None, **extra: Any
    ) -> click.Context:
        """The context of the command that ``args`` begin with, or of the list of panels."""
        context = super().make_context(info_name, [], parent, **extra)
        if args and (found := self.get_command(context, args[0])):
            return found.make_context(f"{info_name} {args[0]}", args[1:], parent)
        return super().make_context(info_name, args, parent, **extra)

    def format_usage(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Both ways to call it."""
        formatter.write_usage(ctx.command_path, "[OPTIONS] [NAME]...")
        formatter.write_usage(ctx.command_path, "calibrate PANEL [OPTIONS]")


@click.command("panels", cls=NamesOrCommand, invoke_without_command=True, no_args_is_help=False)
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
