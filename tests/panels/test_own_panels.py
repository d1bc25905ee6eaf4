"""A wall's own profiles: what they add, what they override, and every fault in them with its line."""

from pathlib import Path

import pytest

from wallbill.errors import FaultList, PanelError, Place, WallbillError
from wallbill.panels.shell import find_panel, load_panels

HALL = "5.8in-648x480-black-white-red"


def own(folder: Path, **files: str) -> Path:
    """A wall's ``panels/`` folder; an underscore in a name stands for a hyphen."""
    for name, text in files.items():
        (folder / f"{name.replace('_', '-')}.toml").write_text(text, encoding="utf-8")
    return folder


def faults(folder: Path) -> list[WallbillError]:
    with pytest.raises(FaultList) as caught:
        load_panels(folder)
    return list(caught.value.faults)


def test_a_folder_that_is_not_there_adds_nothing(tmp_path: Path) -> None:
    assert set(load_panels(tmp_path / "panels")) == set(load_panels())


def test_measured_inks_override_the_typical_ones_and_nothing_else(tmp_path: Path) -> None:
    (tmp_path / f"{HALL}.toml").write_text(
        '[ink.red]\nlab = [33.5, 40, 28]\n[sources]\nink.red.lab = "measured, one phone, May"\n',
        encoding="utf-8",
    )
    panels, plain = load_panels(tmp_path), load_panels()
    mine, typical = panels[HALL], plain[HALL]
    assert mine.inks[2].lab == (33.5, 40.0, 28.0)
    assert mine.inks[:2] == typical.inks[:2]
    assert mine.inks[2].css == typical.inks[2].css
    assert mine.sources["ink.red.lab"] == "measured, one phone, May"
    assert mine.sources["ink.red.css"] == typical.sources["ink.red.css"]
    assert (mine.refresh, mine.outline) == (typical.refresh, typical.outline)
    assert len(panels) == len(plain)


def test_a_figure_given_without_a_source_does_not_borrow_one(tmp_path: Path) -> None:
    (tmp_path / f"{HALL}.toml").write_text("[refresh]\nfull_s = 14.2\n", encoding="utf-8")
    panel = load_panels(tmp_path)[HALL]
    assert panel.refresh.full_s == 14.2
    assert panel.sources["refresh.full_s"] == f"panels/{HALL}.toml, which gives no source"
    assert panel.sources["refresh.least_interval_s"] == "common practice, no source"


def test_a_new_panel_like_a_known_one(tmp_path: Path) -> None:
    own(tmp_path, shed=f'like = "{HALL}"\noutline.thickness_mm = 1.6\nrefresh.partial_s = 0.6\n')
    panels = load_panels(tmp_path)
    assert panels["shed"].name == "shed"
    assert panels["shed"].outline.thickness_mm == 1.6
    assert panels["shed"].refresh.partial_s == 0.6
    assert len(panels) == len(load_panels()) + 1


def test_a_wholly_new_panel_from_its_class(tmp_path: Path) -> None:
    own(
        tmp_path,
        banner="""
class = "4-greys"
pixels = [960, 160]
active_mm = [240, 40]
refresh = { fast_s = "none" }
outline = { size_mm = [250, 52], thickness_mm = 1.1, active_offset_mm = [5, 4], tail = "left" }
""",
    )
    panel = load_panels(tmp_path)["banner"]
    assert (panel.width_px, panel.height_px, panel.pitch_mm) == (960, 160, 0.25)
    assert [ink.name for ink in panel.inks] == ["black", "grey-1", "grey-2", "white"]
    assert panel.refresh.fast_s is None


def test_measured_inks_where_greys_were(tmp_path: Path) -> None:
    text = """
like = "6in-800x600-16-greys"
inks = ["black", "white", "rust"]
[ink.rust]
css = "#a04010"
lab = [38, 30, 30]
"""
    panel = load_panels(own(tmp_path, odd=text))["odd"]
    assert [ink.name for ink in panel.inks] == ["black", "white", "rust"]
    assert "greys" not in panel.sources


FAULTS = [
    ("pixels = [0, 480]", 1, "pixels[0]", "0 is not at least 1", "at least 1"),
    ("pixels = [648]", 1, "pixels[1]", "too short", "at its end"),
    ('pixels = "648x480"', 1, "pixels", "is not a list", "list in [ ]"),
    ("\nactive_mm = [118.78, 0]", 2, "active_mm[1]", "not more than 0", "more than 0"),
    ("active_mm = [88.2, 118.8]", 1, "active_mm", "not square", "width before height"),
    ("inks = ['black']", 1, "inks", "a list of 2 or more", "2 or more"),
    ("inks = ['black', 'white', 'mauve']", 1, "inks", "'mauve' looks like", "[ink.mauve]"),
    ("inks = ['black', 'white', 'white']", 1, "inks", "same name", "of its own"),
    ("greys = 17", 1, "greys", "17 is not at most 16", "at most 16"),
    ("[ink.red]\ncss = 'red'", 2, "ink.red.css", "'red' is no colour code", "#rrggbb"),
    ("[ink.red]\ncss = '#FFFFFF'", 2, "ink.red.css", "no colour code", "#rrggbb"),
    ("[ink.red]\ncss = '#ffffff'", 2, "ink.red.css", "'white' and 'red' have the same css", "own"),
    ("[ink.red]\nlab = [68, -1.5, 1.5]", 2, "ink.red.lab", "'white' and 'red' have the same lab", "own"),
    ("[ink.red]\nlab = [168, 0, 0]", 2, "ink.red.lab", "no colour in CIELAB", "L of 0 to 100"),
    ("[refresh]\nfull = 3", 2, "refresh.full", "unknown key 'full'", "'full_s'"),
    ("[refresh]\nfast_s = 'never'", 2, "refresh.fast_s", "neither seconds nor 'none'", "'none'"),
    ("[refresh]\npartial_s = 0", 2, "refresh.partial_s", "0 is neither seconds", "'none'"),
    ("[refresh]\npartial_s = true", 2, "refresh.partial_s", "true is neither seconds", "'none'"),
    ("[refresh]\nfull_s = 'none'", 2, "refresh.full_s", "not a number", "number"),
    ("[refresh]\nfull_s = inf", 2, "refresh.full_s", "not a finite number", "finite"),
    ("[refresh]\nleast_interval_s = 90000", 2, "refresh.least_interval_s", "longer than", "longest_rest_s"),
    ("[outline]\ntail = 'south'", 2, "outline.tail", "'south' is none of", "'top', 'right'"),
    ("[outline]\nactive_offset_mm = [30, 2]", 2, "outline.active_offset_mm", "sticks out", "Measure"),
    ("[climate]\nlowest_c = 60", 2, "climate.lowest_c", "not below the highest", "highest_c"),
    ("yule_nielsen_n = 0.5", 1, "yule_nielsen_n", "not at least 1", "at least 1"),
    ("brightness = 5", 1, "brightness", "unknown key 'brightness'", "Use one of"),
    ("like = '5.8in-648x480-black-white-rad'", 1, "like", "no panel", HALL),
    ("class = 'black-white-rde'", 1, "class", "no panels of the class", "'black-white-red'"),
    ("= 1", 1, "", "not sound TOML", "Start the line"),
    ("sources.pixels = 5", 1, "sources", "the source of pixels is not a text", "in quotes"),
]


@pytest.mark.parametrize(("text", "line", "field", "what", "mend"), FAULTS)
def test_a_fault_has_its_line_field_and_mend(
    tmp_path: Path, text: str, line: int, field: str, what: str, mend: str
) -> None:
    (tmp_path / f"{HALL}.toml").write_text(text, encoding="utf-8")
    found = faults(tmp_path)[0]
    assert found.where == Place(f"panels/{HALL}.toml", line, field)
    assert what in found.what
    assert mend in found.mend


def test_all_faults_of_all_files_at_once(tmp_path: Path) -> None:
    own(tmp_path, a="pixels = [0, 0]\nactive_mm = 5", b="greys = 1", c="")
    found = faults(tmp_path)
    assert [fault.where.file for fault in found][:4] == ["panels/a.toml"] * 3 + ["panels/b.toml"]
    lacking = {fault.where.field for fault in found if fault.where.file == "panels/c.toml"}
    assert {"pixels", "active_mm", "inks", "refresh.full_s", "outline.tail"} <= lacking
    assert all(fault.mend for fault in found)


def test_a_file_that_cannot_name_a_panel(tmp_path: Path) -> None:
    (tmp_path / "My Panel.toml").write_text(f'like = "{HALL}"', encoding="utf-8")
    assert "no name for a panel" in faults(tmp_path)[0].what


def test_a_profile_that_is_not_utf_8(tmp_path: Path) -> None:
    (tmp_path / "x.toml").write_bytes(b"\xff")
    assert "UTF-8" in faults(tmp_path)[0].mend


def test_a_misspelt_panel_is_answered_with_the_nearest() -> None:
    panels = load_panels()
    with pytest.raises(PanelError) as caught:
        find_panel(
            panels, "5.8in-648x480-black-white-rad", where=Place("wall.toml", 3, "displays.hall.panel")
        )
    assert caught.value.mend == f"Did you mean {HALL!r}?"
    assert caught.value.where.line == 3
    assert find_panel(panels, HALL) is panels[HALL]
    assert "nothing" not in panels
    assert "5.8in-648x480-" not in panels
    with pytest.raises(KeyError):
        panels["5.8in-648x480-mauve"]
