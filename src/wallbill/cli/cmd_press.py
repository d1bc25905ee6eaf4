"""``wallbill press``: makes the impressions of a wall's displays and writes them into a folder."""

import json
import sys
from collections.abc import Iterator, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

import click

from wallbill.cli.bench import Moment, gathered, moment_of
from wallbill.cli.folders import cache_folder
from wallbill.cli.record import record_of, write_made, write_record
from wallbill.cli.shell import make_folder, write_whole
from wallbill.cli.telling import is_traced, printable, told
from wallbill.errors import Place, WallbillError, WallError
from wallbill.findings import Weight
from wallbill.sheets.making import Job, Made, Tools, fill, page_file, press_filled
from wallbill.sheets.needs import sources_needed
from wallbill.sheets.shell import load_materials, open_tools
from wallbill.wall.model import Display, Wall
from wallbill.wall.shell import load_wall


@click.command("press")
@click.argument("folder", type=click.Path(path_type=Path), metavar="DIR")
@click.argument("names", nargs=-1, metavar="[DISPLAY]...")
@click.option("--out", type=click.Path(path_type=Path), required=True, metavar="DIR", help="Write here.")
@click.option(
    "--at", type=Moment(), metavar="TIME", help="Press as if it were this moment; nothing is fetched."
)
@click.option("--offline", is_flag=True, help="Open no connection; use files and kept facts.")
@click.option(
    "--engine", type=click.Choice(["blitz", "chromium"]), default="blitz", show_default=True,
    help="What lays the page out and paints it.",
)  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print the records as JSON.")
def command(folder: Path, names: tuple[str, ...], *, out: Path, at: datetime | None, **how: Any) -> int:
    """Make the impressions of a wall: for each display a picture, plates, a proof and a record.

    DISPLAY is a name of wall.toml; without one, all displays are pressed. NAME.png and NAME.plates are for the
    device, in its own scan order; NAME.proof.png shows how it will look; NAME.json says what made it.
    """
    wall = load_wall(folder)
    displays = _chosen(names, wall)
    make_folder(out)
    now = moment_of(at, wall)
    materials = load_materials(wall)
    needed = _needed(displays, materials.texts, wall)
    supply = gathered(wall, now, only=needed, offline=how["offline"] or at is not None)
    jobs = [Job(wall, display, supply, materials, now) for display in displays]
    pressed = list(_pressed(jobs, out, engine=how["engine"], wall=wall))
    records = [record for _, record in pressed if record]
    if how["as_json"]:
        click.echo(json.dumps(records, indent=2, ensure_ascii=False))
    else:
        for record in records:
            stale = f", stale: {', '.join(record['stale'])}" if record["stale"] else ""
            click.echo(f"{record['display']}: {out / record['files']['impression']}{stale}")
    return int(any(failed for failed, _ in pressed))


def _chosen(names: tuple[str, ...], wall: Wall) -> list[Display]:
    """The displays of those names, each once; all where there are no names. Raises `WallError` for none at all."""
    if not wall.displays:
        raise WallError(
            "the wall has no displays",
            where=Place("wall.toml"),
            mend="Add a table [displays.NAME] with a panel and a sheet.",
        )
    return [wall.display(name) for name in dict.fromkeys(names)] or list(wall.displays.values())


def _needed(displays: list[Display], texts: Mapping[str, str], wall: Wall) -> frozenset[str]:
    """The sources that any sheet of the displays can ask for."""
    sheets = [sheet for display in displays for sheet in display.sheets()]
    conditions = [interrupt.when for display in displays for interrupt in display.interrupts]
    return sources_needed(sheets, conditions, texts=texts, known=wall.sources)


def _pressed(
    jobs: list[Job], out: Path, *, engine: str, wall: Wall
) -> Iterator[tuple[bool, dict[str, Any] | None]]:
    """Whether each display failed, and its record. One display's fault does not keep the others from the press."""
    with open_tools(wall, cache=cache_folder(), engine_name=engine) as tools, _bar(jobs) as bar:
        for job in bar:
            try:
                made, record = _one(job, out, tools)
            except Exception as error:
                if is_traced() and not isinstance(error, WallbillError | OSError):
                    raise
                click.echo(f"{job.display.name}: {told(error)}", err=True)
                yield True, None
                continue
            _tell(job.display, made)
            yield _stops(made), record


def _one(job: Job, out: Path, tools: Tools) -> tuple[Made, dict[str, Any]]:
    """One display pressed and written: its page first, so that it is there to be looked at if the press refuses it."""
    filled = fill(job, tools=tools)
    write_whole(out / page_file(job.display), filled.html.encode())
    made = press_filled(filled, job, tools=tools)
    record = record_of(made, job, write_made(made, job.display, out))
    write_record(record, out)
    return made, record


def _bar(jobs: list[Job]) -> Any:
    """A progress bar on standard error, where somebody is watching and there is something to wait for."""
    return click.progressbar(
        jobs,
        label="pressing",
        file=sys.stderr,
        item_show_func=lambda job: job.display.name if job else "",
        hidden=not sys.stderr.isatty() or len(jobs) < 2,
    )


def _tell(display: Display, made: Made) -> None:
    for finding in made.findings:
        if finding.weight is not Weight.NOTE:
            click.echo(printable(f"{display.name}: {finding}"), err=True)
    for name, age in made.ages.items():
        if age.trouble:
            click.echo(printable(f"{display.name}: source {name} is {age.freshness}: {age.told}"), err=True)


def _stops(made: Made) -> bool:
    return any(finding.weight is Weight.STOP for finding in made.findings)
