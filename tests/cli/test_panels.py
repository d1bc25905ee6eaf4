"""``wallbill panels``: compared, in full, as JSON, and with a wall's own."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from wallbill.cli.main import run, wallbill
from wallbill.panels.shell import load_panels

HALL = "5.8in-648x480-black-white-red"


def output(*arguments: str) -> str:
    result = CliRunner().invoke(wallbill, ["panels", *arguments], catch_exceptions=False)
    assert result.exit_code == 0
    return result.output


def test_all_panels_compared_one_a_line_in_even_columns() -> None:
    lines = output().splitlines()
    assert len(lines) == len(load_panels()) + 2
    assert lines[0].split() == [
        "panel",
        "inches",
        "pixels",
        "pitch",
        "px/inch",
        "inks",
        "full",
        "fast",
        "part",
        "least",
        "outline",
    ]
    (hall,) = [line for line in lines if line.startswith(f"{HALL} ")]
    cells = [
        "5.8",
        "648",
        "×",
        "480",
        "0.184",
        "138",
        "3",
        "16",
        "–",
        "–",
        "3",
        "125.4",
        "×",
        "99.5",
        "×",
        "1.2",
    ]
    assert hall.split()[1:] == cells
    column = lines[0].index("outline")
    assert all(line[column - 2 : column] == "  " for line in lines[2:])


def test_a_beginning_stands_for_all_panels_that_begin_so() -> None:
    names = [line.split()[0] for line in output("5.8in", "2.9in-296x128-black-white").splitlines()[2:]]
    assert names == [
        "5.8in-648x480-black-white",
        "5.8in-648x480-4-greys",
        HALL,
        "5.8in-648x480-black-white-red-yellow",
        "2.9in-296x128-black-white",
    ]


def test_one_panel_in_full_with_the_source_of_each_figure() -> None:
    text = output(HALL)
    lines = text.splitlines()
    assert lines[0] == HALL
    assert "pixels" in lines[2]
    assert "648 × 480" in lines[2]
    sources = load_panels()[HALL].sources
    for figure in ("active_mm", "outline.size_mm", "refresh.full_s", "ink.red.lab", "yule_nielsen_n"):
        assert sources[figure] in text
    assert "#ff0000  L* 31  a* 45  b* 30" in text
    assert all(len(line.split("  ")) >= 3 for line in lines[2:])


def test_json_holds_every_figure_and_source() -> None:
    (hall,) = json.loads(output("--json", HALL))
    panel = load_panels()[HALL]
    assert hall["name"] == HALL
    assert hall["pitch_mm"] == pytest.approx(panel.pitch_mm, abs=1e-5)
    assert hall["inks"][2] == {"name": "red", "css": "#ff0000", "lab": [31, 45, 30]}
    assert hall["refresh"]["fast_s"] is None
    assert hall["outline"]["tail"] == "bottom"
    assert hall["sources"] == dict(panel.sources)
    assert len(json.loads(output("--json"))) == len(load_panels())


def test_a_walls_own_panels(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "panels").mkdir()
    (tmp_path / "panels" / "shed.toml").write_text(f'like = "{HALL}"\npixels = [640, 480]', encoding="utf-8")
    assert output("--wall", str(tmp_path), "shed").startswith("shed\n")
    (tmp_path / "panels" / "shed.toml").write_text('lik = "x"', encoding="utf-8")
    assert run(["panels", "--wall", str(tmp_path)]) == 1
    assert capsys.readouterr().err.startswith(
        "panels/shed.toml:1 lik: unknown key 'lik'\n  mend: Did you mean 'like'?"
    )
    assert run(["panels", "--wall", str(tmp_path / "gone")]) == 1
    assert "there is no folder" in capsys.readouterr().err
