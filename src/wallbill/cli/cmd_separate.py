"""``wallbill separate``: any picture brought to a panel's inks, with no wall and no sheet."""

import json
from pathlib import Path
from types import MappingProxyType
from typing import Any

import click

from wallbill.cli.folders import cache_folder, panels_known
from wallbill.cli.shell import make_folder, write_whole
from wallbill.faces.shell import FaceKeep
from wallbill.inks.encoding import encode_bmp, encode_pbm, encode_plates, encode_png
from wallbill.inks.gamut import tables_for
from wallbill.inks.impression import Impression
from wallbill.inks.inkset import Neutrals, ink_set
from wallbill.inks.manner import Manner, Way
from wallbill.inks.pictures import dotted, prepare
from wallbill.inks.proof import proof_png
from wallbill.inks.separation import separate
from wallbill.inks.shell import load_picture
from wallbill.inks.shell_compiled import step_for
from wallbill.inks.toning import PRESETS
from wallbill.panels.model import Panel, Tone
from wallbill.panels.shell import find_panel

_ENCODERS = MappingProxyType(
    {".png": encode_png, ".bmp": encode_bmp, ".pbm": encode_pbm, ".plates": encode_plates}
)


@click.command("separate")
@click.argument("picture", type=click.Path(path_type=Path, dir_okay=False), metavar="IN")
@click.option(
    "--panel", "panel_name", required=True, metavar="P", help="A panel's name; see `wallbill panels`."
)
@click.option(
    "--out", required=True, type=click.Path(path_type=Path, dir_okay=False), metavar="OUT",
    help="What to write; its ending says how: .png, .bmp, .pbm or .plates.",
)  # fmt: skip
@click.option(
    "--fit", type=click.Choice(["cover", "contain"]), default="cover", show_default=True,
    help="Fill the panel and crop, or show the whole picture.",
)  # fmt: skip
@click.option(
    "--way", type=click.Choice([way.value for way in Way]), default=Way.FINE.value, show_default=True,
    help="How its dots are laid: searched for, by blue noise at once, or by error diffusion.",
)  # fmt: skip
@click.option(
    "--neutrals", type=click.Choice([each.value for each in Neutrals]), default=Neutrals.PLAIN.value,
    show_default=True, help="Greys of black and white, or of the inks that mix to them most calmly.",
)  # fmt: skip
@click.option(
    "--tone", type=click.Choice(list(PRESETS)), default="as-is", show_default=True,
    help="Bring its tones to what a dull panel can show.",
)  # fmt: skip
@click.option(
    "--line",
    is_flag=True,
    help="It is line work, not a photograph: hard edges, flat tones as regular patterns.",
)
@click.option(
    "--proof", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE", help="Write a proof."
)
@click.option(
    "--wall",
    "folder",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Know this wall's own panels too.",
)
@click.option("--json", "as_json", is_flag=True, help="Print the record as JSON.")
def command(picture: Path, panel_name: str, out: Path, **how: Any) -> int:
    """Separate one picture: the ink stage alone.

    IN is any picture that can be read. It is brought to the panel's size and inks, and written to OUT.
    """
    encoder = _ENCODERS.get(out.suffix.lower())
    if encoder is None:
        raise click.UsageError(
            f"OUT ends in {out.suffix or 'nothing'!r}; it must end in {', '.join(_ENCODERS)}"
        )
    panel = find_panel(panels_known(how["folder"]), panel_name)
    impression = _separated(picture, panel, **how)
    make_folder(out.parent)
    write_whole(out, encoder(impression))
    if how["proof"]:
        make_folder(how["proof"].parent)
        write_whole(how["proof"], proof_png(impression, panel))
    if how["as_json"]:
        record = {"panel": panel.name, "digest": impression.digest, "file": str(out)}
        click.echo(json.dumps(record, indent=2))
    return 0


def _separated(path: Path, panel: Panel, **how: Any) -> Impression:
    """The picture at ``path`` on the panel's inks; as line work its edges are hard and its flat tones are patterns."""
    tones = PRESETS[how["tone"]]
    fitted = prepare(load_picture(path), panel.width_px, panel.height_px, fit=how["fit"], tones=tones)
    if how["line"]:
        return Impression(separate(fitted, panel=panel).codes, panel.inks)
    manner = Manner(Way(how["way"]), Neutrals(how["neutrals"]), step_for=step_for)
    inks = ink_set(panel.inks, n=panel.yule_nielsen_n, neutrals=manner.neutrals)
    tables = None if panel.tone is Tone.GREYS else tables_for(inks, keep=FaceKeep(cache_folder() / "kept"))
    return dotted(fitted, panel, tables=tables, manner=manner)
