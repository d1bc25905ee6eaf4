"""``wallbill panels calibrate``: a target to show, and what was measured of it made the panel's figures."""

import io
import json
import re
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from types import MappingProxyType
from typing import Any

import click

from wallbill.cli.folders import panels_known
from wallbill.cli.lettering import FittedLettering
from wallbill.cli.own_profile import profile_path, refuse_standing, write_profile
from wallbill.cli.shell import make_folder, write_whole
from wallbill.cli.telling import printable
from wallbill.errors import PanelError
from wallbill.inks.calibration import report
from wallbill.inks.calibration.by_eye import read_matches
from wallbill.inks.calibration.fit import Fit, fit
from wallbill.inks.calibration.light import Light, Means
from wallbill.inks.calibration.override import Measuring, override_text
from wallbill.inks.calibration.photo import Paper, measure_photo, with_white
from wallbill.inks.calibration.readings import read_readings, text_of
from wallbill.inks.calibration.shell import load_readings
from wallbill.inks.calibration.shell_marks import find_marks
from wallbill.inks.calibration.target import Target, record, target_for
from wallbill.inks.encoding import encode_plates, encode_png
from wallbill.inks.proof import proof_png
from wallbill.inks.shell import load_picture
from wallbill.panels.model import Panel
from wallbill.panels.shell import find_panel
from wallbill.places.shell import load_toml


@click.command("calibrate")
@click.argument("name", metavar="PANEL")
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), metavar="DIR",
    help="Write the target here; with measurements, their report.",
)  # fmt: skip
@click.option(
    "--readings", "readings", multiple=True, type=click.Path(path_type=Path, dir_okay=False), metavar="FILE",
    help="An instrument's readings: CSV with patch,L,a,b or patch,R or patch,X,Y,Z.",
)  # fmt: skip
@click.option(
    "--photo", "photos", multiple=True, type=click.Path(path_type=Path, dir_okay=False), metavar="FILE",
    help="A photograph of a sheet of the target; one for each sheet.",
)  # fmt: skip
@click.option(
    "--paper", metavar="LIGHT@X,Y",
    help="Plain paper in the photographs: its luminance of 0 to 1, and where it lies, pixels from the left and the top.",
)  # fmt: skip
@click.option(
    "--match", "matches", multiple=True, metavar="INK=NUMBER",
    help="The bar that looks as light as the checker around it, such as black=7.",
)  # fmt: skip
@click.option(
    "--wall", "folder", type=click.Path(path_type=Path), metavar="DIR",
    help="Write what was measured into this wall's panels/; know its own panels too.",
)  # fmt: skip
@click.option("--force", is_flag=True, help="Let it take the place of the wall's own profile, which is kept.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(name: str, folder: Path | None, *, as_json: bool, **how: Any) -> int:
    """Measure a panel: make a target sheet, then fit inks and dots to what was seen of it.

    Without measurements the target of PANEL is written to --out: show it on the panel. Measure it by an instrument or
    by eye, or by several of these, and call again: predicted stands against measured, and with --wall the figures
    become the wall's own profile of the panel, which pages and proofs then use.
    """
    panel = find_panel(panels_known(folder), name)
    lettering = FittedLettering()
    target = target_for(panel, lettering)
    if not (how["readings"] or how["matches"] or how["photos"]):
        if how["out"] is None:
            raise click.UsageError(
                "Give --out for the target, or --readings, --photo or --match for what was measured"
            )
        _make(target, panel, how["out"], as_json=as_json)
        return 0
    profile = profile_path(folder, panel.name) if folder else None
    if profile:
        refuse_standing(profile, force=how["force"])
    found, measuring = _measured(target, panel, **how)
    if how["out"]:
        _write_report(found, lettering, how["out"], title=panel.name)
    click.echo(
        json.dumps(report.plain(found), indent=2) if as_json else printable("\n".join(report.table(found)))
    )
    if profile:
        _write_profile(found, measuring, profile, force=how["force"])
    return 0


def _make(target: Target, panel: Panel, out: Path, *, as_json: bool) -> None:
    """Write the sheets of a target and the record of their patches."""
    make_folder(out)
    files: dict[int, Mapping[str, str]] = {}
    for sheet in target.sheets:
        stem = f"target-{sheet.number}"
        written = {
            "impression": (f"{stem}.png", encode_png(sheet.impression, pitch_mm=panel.pitch_mm)),
            "plates": (f"{stem}.plates", encode_plates(sheet.impression)),
            "proof": (f"{stem}.proof.png", proof_png(sheet.impression, panel)),
        }
        if sheet.before:
            written["before"] = (f"{stem}.before.png", encode_png(sheet.before, pitch_mm=panel.pitch_mm))
            written["before_plates"] = (f"{stem}.before.plates", encode_plates(sheet.before))
        for file, data in written.values():
            write_whole(out / file, data)
        files[sheet.number] = MappingProxyType({what: file for what, (file, _) in written.items()})
    told = record(target, files)
    write_whole(out / "target.json", (json.dumps(told, indent=2, ensure_ascii=False) + "\n").encode())
    if as_json:
        click.echo(json.dumps(told, indent=2, ensure_ascii=False))
        return
    for number, some in files.items():
        before = f", after {out / some['before']}" if "before" in some else ""
        click.echo(f"sheet {number}: {out / some['impression']}{before}")
    for words in target.left_out:
        click.echo(f"left out, no room: {words}", err=True)


def _measured(target: Target, panel: Panel, **how: Any) -> tuple[Fit, Measuring]:
    """The fit to everything that was measured, and what measured it."""
    lights: dict[str, Light] = {}
    means: list[Means] = []
    for path in how["readings"]:
        found = read_readings(text_of(load_readings(path), file=str(path)), target.to_read, file=str(path))
        for finding in found.findings:
            click.echo(printable(str(finding)), err=True)
        lights.update(found.lights)
        means.append(Means.READINGS)
    if how["photos"]:
        seen = _photographed(with_white(target, lights), how["photos"], _paper(how["paper"]))
        lights = {**seen, **lights}
        means.append(Means.PHOTOGRAPH)
    matches = read_matches(how["matches"], target)
    means += [Means.EYE] if matches else []
    return fit(lights, target, panel, matches=matches), Measuring(tuple(means), datetime.now(UTC).date())


def _paper(text: str | None) -> Paper | None:
    """The paper beside the panel, as it was typed."""
    if text is None:
        return None
    parts = re.fullmatch(r"\s*(0?\.\d+|1(?:\.0*)?)\s*@\s*(\d+)\s*,\s*(\d+)\s*", text)
    if parts is None:
        raise click.UsageError(f"--paper {text!r} is not LIGHT@X,Y, such as 0.84@3100,420")
    return Paper(float(parts[1]), int(parts[2]), int(parts[3]))


def _photographed(target: Target, photos: Sequence[Path], paper: Paper | None) -> dict[str, Light]:
    """The light of the patches in all photographs; what they tell beside is printed."""
    lights: dict[str, Light] = {}
    notes: dict[str, None] = {}
    for path in photos:
        rgb = load_picture(path)
        seen = measure_photo(rgb, find_marks(rgb), target, name=str(path), paper=paper)
        lights.update(seen.lights)
        notes.update(dict.fromkeys(f"{path.name}, sheet {seen.sheet}: {note}" for note in seen.notes))
    for note in notes:
        click.echo(printable(f"note: {note}"), err=True)
    return lights


def _write_report(found: Fit, lettering: FittedLettering, out: Path, *, title: str) -> None:
    make_folder(out)
    write_whole(out / "report.json", (json.dumps(report.plain(found), indent=2) + "\n").encode())
    if found.patches:
        data = io.BytesIO()
        report.picture(found, lettering, title=title).save(data, "PNG", optimize=True)
        write_whole(out / "report.png", data.getvalue())


def _write_profile(found: Fit, measuring: Measuring, path: Path, *, force: bool) -> None:
    """The wall's own profile; raises `PanelError` where one stands there and may not be replaced."""
    standing = load_toml(path, file=f"panels/{path.name}", fault=PanelError).values if path.exists() else {}
    kept = write_profile(path, override_text(found, measuring, standing), force=force)
    click.echo(f"written: {path}", err=True)
    if kept:
        click.echo(f"kept: {kept}", err=True)
