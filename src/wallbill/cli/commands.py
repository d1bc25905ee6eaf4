"""The table of commands. A command's module is imported when the command is run, and not before."""

import importlib
from types import MappingProxyType

import click

from wallbill.places.words import did_you_mean

COMMANDS = MappingProxyType(
    {
        "new": "Make a new wall, ready to press.",
        "press": "Make the impressions of a wall's displays.",
        "facts": "Fetch and print facts, with their age and the paths that sheets use.",
        "separate": "Bring any picture to a panel's inks.",
        "panels": "List panels, compare them, or show one in full.",
        "worker": "Press on a further machine, for a wall whose store is on PostgreSQL.",
        "agent": "Write the program of a device.",
        "store": "Back up, restore and check what the server keeps.",
    }
)
"""Each command and what it does; its code is ``command`` in ``wallbill.cli.cmd_NAME``."""


class LazyGroup(click.Group):
    """A group whose commands stand in `COMMANDS`."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The commands in the order of the table."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name, its module imported now."""
        if cmd_name not in COMMANDS:
            return None
        found = importlib.import_module(f"wallbill.cli.cmd_{cmd_name}").command
        if not isinstance(found, click.Command):
            raise TypeError(f"wallbill.cli.cmd_{cmd_name} has no command")
        return found

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list of commands for ``--help``, from the table alone."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command that ``args`` names, or a usage error with the nearest one."""
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            raise click.UsageError(f"There is no command {args[0]!r}. {did_you_mean(args[0], COMMANDS)}", ctx)
        return super().resolve_command(ctx, args)
