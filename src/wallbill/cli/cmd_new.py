"""``wallbill new``: a new wall, ready to press."""

from pathlib import Path

import click

from wallbill.wall.shell_new import make_wall


@click.command("new")
@click.argument("folder", type=click.Path(path_type=Path), metavar="DIR")
def command(folder: Path) -> None:
    """Make a new wall in DIR, ready to press.

    DIR must not exist yet, or be empty. It gets a wall.toml, a sheet with its style, and a calendar of examples.
    """
    made = make_wall(folder)
    click.echo(f"A new wall lies in {folder}:")
    for path in made:
        click.echo(f"  {path}")
    click.echo(
        f"Set the place and the panel in {folder / 'wall.toml'}, then: wallbill press {folder} --out out"
    )
