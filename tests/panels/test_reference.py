"""What the reference says of panels is what the program does."""

import re
from pathlib import Path

from wallbill.cli.panel_text import comparison
from wallbill.panels.layer import LayerTable
from wallbill.panels.shell import load_panels

DOCS = Path(__file__).resolve().parents[2] / "docs"
PAGE = (DOCS / "reference" / "panels.md").read_text(encoding="utf-8")


def test_the_table_of_panels_is_what_the_command_prints() -> None:
    printed = [line.rstrip() for line in comparison(load_panels().values()).splitlines()]
    listed = [line.removeprefix("    ") for line in PAGE.splitlines() if line.startswith("    ")]
    assert listed == printed


def test_the_table_of_inks_is_that_of_the_profiles() -> None:
    inks = {ink.name: ink for panel in load_panels().values() for ink in panel.inks}
    rows = re.findall(r"^\| (\w+) \| `(#\w{6})` \| (\S+) \| (\S+) \| (\S+) \|$", PAGE, re.MULTILINE)
    assert {name for name, *_ in rows} == {name for name in inks if not name.startswith("grey-")}
    for name, css, *lab in rows:
        assert bytes.fromhex(css[1:]) == bytes(inks[name].css)
        assert tuple(map(float, lab)) == inks[name].lab


def test_every_key_of_a_profile_is_explained() -> None:
    keys = {field.alias or name for name, field in LayerTable.model_fields.items()}
    explained = set(re.findall(r"^\| `(\w+)(?:\.NAME)?` \|", PAGE, re.MULTILINE))
    assert explained == keys


def test_the_profiles_of_the_how_to_are_good(tmp_path: Path) -> None:
    page = (DOCS / "how-to" / "add-a-panel.md").read_text(encoding="utf-8")
    blocks = re.findall(r"(?:^    .*\n|^\n(?=    ))+", page, re.MULTILINE)
    profiles = [re.sub(r"^    ", "", block, flags=re.MULTILINE) for block in blocks if " = " in block]
    names = ("5.8in-648x480-black-white-red", "shed", "banner")
    for name, text in zip(names, profiles, strict=True):
        (tmp_path / f"{name}.toml").write_text(text, encoding="utf-8")
    panels = load_panels(tmp_path)
    assert panels[names[0]].inks[2].lab == (33.0, 42.0, 27.0)
    assert panels["shed"].outline.thickness_mm == 1.6
    assert panels["banner"].pitch_mm == 0.25
    for name in names:
        assert not [figure for figure, source in panels[name].sources.items() if "gives no source" in source]
