"""``wallbill panels calibrate``: from the target to a profile that pages and proofs use."""

import json
import tomllib
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from PIL import Image
from tests.inks.calibration.photographs import Shot, on_panel, photograph

from wallbill.cli.lettering import FittedLettering
from wallbill.cli.main import run, wallbill
from wallbill.inks import colour
from wallbill.inks.calibration.fit import predicted
from wallbill.inks.calibration.patches import Kind, dots, tile
from wallbill.inks.calibration.target import target_for
from wallbill.inks.impression import Codes
from wallbill.inks.proof import ink_colours
from wallbill.panels.model import Ink
from wallbill.panels.shell import load_panels

PANEL = "2.9in-296x128-black-white-red"
TRUE = {"black": (21.0, 0.5, -2.0), "white": (71.0, -1.0, 4.0), "red": (35.0, 41.0, 26.0)}
N = 1.6


@pytest.fixture(autouse=True)
def _cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.getbasetemp() / "cache"))


def calibrate(*arguments: object) -> str:
    result = CliRunner().invoke(
        wallbill, ["panels", "calibrate", *map(str, arguments)], catch_exceptions=False
    )
    assert result.exit_code == 0, result.output
    return result.stdout


def true_inks() -> tuple[Ink, ...]:
    return tuple(Ink(ink.name, ink.css, TRUE[ink.name]) for ink in load_panels()[PANEL].inks)


def readings(folder: Path) -> Path:
    """What an instrument would read of the whole target."""
    target = target_for(load_panels()[PANEL], FittedLettering())
    some = [target.by_name[name] for name in target.to_read]
    rows = zip(target.to_read, predicted(some, true_inks(), N), strict=True)
    path = folder / "readings.csv"
    lines = (",".join((name, *(f"{part:.3f}" for part in lab))) for name, lab in rows)
    path.write_text("\n".join(("patch,L,a,b", *lines)), encoding="utf-8")
    return path


@pytest.fixture
def wall(tmp_path: Path) -> Path:
    """A wall with one page: a photograph of one grey and a block of red."""
    folder = tmp_path / "hut"
    for name in ("sheets", "pictures"):
        (folder / name).mkdir(parents=True)
    (folder / "wall.toml").write_text(
        f"""
        [wall]
        name = "Fennel Quay"
        place = {{ latitude = 50.31, longitude = -4.05 }}
        time_zone = "Europe/London"
        language = "en-GB"

        [displays.hall]
        panel = "{PANEL}"
        sheet = "grey"
        read_from = "1 m"
        """,
        encoding="utf-8",
    )
    Image.new("RGB", (296, 128), (128, 128, 128)).save(folder / "pictures" / "grey.png")
    page = '{{ picture("grey.png", width_px=296, height_px=128, tone="as-is") }}'
    (folder / "sheets" / "grey.html").write_text(page, encoding="utf-8")
    return folder


def test_the_target_is_written_with_its_record(tmp_path: Path) -> None:
    told = calibrate(PANEL, "--out", tmp_path / "t")
    record = json.loads((tmp_path / "t" / "target.json").read_text(encoding="utf-8"))
    assert record["panel"] == PANEL
    assert len(told.splitlines()) == len(record["sheets"]) > 1
    inks = [ink.css for ink in load_panels()[PANEL].inks]
    for sheet in record["sheets"]:
        for file in sheet["files"].values():
            assert (tmp_path / "t" / file).stat().st_size
        with Image.open(tmp_path / "t" / sheet["files"]["impression"]) as picture:
            assert picture.size == (296, 128)
            pixels = np.asarray(picture.convert("RGB"))
        for patch in record["patches"]:
            if patch["sheet"] == sheet["sheet"] and patch["kind"] == "fine":
                left, top, width, height = patch["box_px"]
                part = pixels[top : top + height, left : left + width].reshape(-1, 3)
                for name, share in patch["shares"].items():
                    css = inks[["black", "white", "red"].index(name)]
                    assert float((part == css).all(axis=1).mean()) == share
    assert any("before" in sheet["files"] for sheet in record["sheets"])
    assert json.loads(calibrate(PANEL, "--out", tmp_path / "t", "--json")) == record


def test_every_panel_has_a_target_in_fitted_type_whose_dots_are_untouched() -> None:
    lettering = FittedLettering()
    for panel in load_panels().values():
        target = target_for(panel, lettering)
        assert not target.left_out
        for patch in target.patches:
            if patch.kind not in {Kind.EYE, Kind.GHOST}:
                left, top, width, height = patch.box
                codes = target.sheets[patch.sheet - 1].impression.codes[
                    top : top + height, left : left + width
                ]
                wanted = np.where(tile(dots(patch.kind, patch.count), width, height), patch.ink, patch.ground)
                assert (codes == wanted).all(), f"{panel.name} {patch.name}"


def test_readings_become_a_profile_that_proofs_and_pages_use(tmp_path: Path, wall: Path) -> None:
    before = pressed(wall, tmp_path / "before")
    told = calibrate(PANEL, "--readings", readings(tmp_path), "--wall", wall, "--out", tmp_path / "report")
    assert "Yule-Nielsen n: 1.60" in told
    with Image.open(tmp_path / "report" / "report.png") as picture:
        assert picture.width > 400
    assert json.loads((tmp_path / "report" / "report.json").read_text(encoding="utf-8"))["mean_l_after"] < 0.1
    panel = load_panels(wall / "panels")[PANEL]
    assert panel.yule_nielsen_n == pytest.approx(N, abs=0.01)
    for ink in panel.inks:
        assert ink.lab == pytest.approx(TRUE[ink.name], abs=0.01)
        assert panel.sources[f"ink.{ink.name}.lab"].startswith("measured 20")
        assert panel.sources[f"ink.{ink.name}.lab"].endswith("by readings")
    assert panel.sources["refresh.full_s"] == load_panels()[PANEL].sources["refresh.full_s"]
    after = pressed(wall, tmp_path / "after")
    assert {tuple(one) for one in after[1].reshape(-1, 3).tolist()} >= {
        tuple(one) for one in ink_colours(panel.inks)[:2].tolist()
    }
    # Murray-Davies and Yule-Nielsen: with more gain, fewer black dots give the same grey.
    assert (after[0] == 0).mean() < (before[0] == 0).mean() - 0.05


def pressed(wall: Path, out: Path) -> tuple[Codes, Codes]:
    """The page's red channel and its proof."""
    assert run(["press", str(wall), "--out", str(out), "--at", "2026-03-27T07:30", "--offline"]) == 0
    with Image.open(out / "hall.png") as picture, Image.open(out / "hall.proof.png") as proof:
        return np.asarray(picture.convert("RGB"))[..., 0], np.asarray(proof.convert("RGB"))


def test_reports_as_json(tmp_path: Path) -> None:
    found = json.loads(calibrate(PANEL, "--readings", readings(tmp_path), "--json"))
    assert found["yule_nielsen_n"] == pytest.approx(N, abs=0.01)
    assert found["inks"]["red"] == pytest.approx(TRUE["red"], abs=0.01)
    patch = next(one for one in found["patches"] if one["name"] == "black-f50")
    assert patch["de00_after"] < 0.1 < patch["de00_before"]
    assert patch["de00_before"] == pytest.approx(
        float(colour.ciede2000(patch["measured"], patch["before"])), abs=0.02
    )


def test_by_eye_alone(wall: Path) -> None:
    told = calibrate(PANEL, "--match", "black=6", "--wall", wall)
    values = tomllib.loads((wall / "panels" / f"{PANEL}.toml").read_text(encoding="utf-8"))
    assert set(values) == {"yule_nielsen_n", "sources"}
    assert f"Yule-Nielsen n: {values['yule_nielsen_n']:.2f}" in told


def test_a_profile_that_stands_there_is_not_touched(wall: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = wall / "panels" / f"{PANEL}.toml"
    path.parent.mkdir()
    path.write_text("# mine\n[refresh]\nfull_s = 14.5\n", encoding="utf-8")
    assert run(["panels", "calibrate", PANEL, "--match", "black=5", "--wall", str(wall)]) == 1
    assert "mend: Give --force" in capsys.readouterr().err
    assert path.read_text(encoding="utf-8").startswith("# mine")
    calibrate(PANEL, "--match", "black=5", "--wall", wall, "--force")
    assert tomllib.loads(path.read_text(encoding="utf-8"))["refresh"] == {"full_s": 14.5}
    assert path.with_name(f"{path.name}.old-1").read_text(encoding="utf-8").startswith("# mine")
    assert PANEL in load_panels(wall / "panels")


def test_wrong_readings_are_told_with_line_and_mend(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "r.csv"
    file.write_text("patch;L;a;b\nwhite;70,1;0;0\nblck;20;0;0\n", encoding="utf-8")
    assert run(["panels", "calibrate", PANEL, "--readings", str(file)]) == 1
    assert capsys.readouterr().err == f"{file}:3: there is no patch 'blck'\n  mend: Did you mean 'black'?\n"


def test_photographs_become_a_profile(tmp_path: Path, wall: Path) -> None:
    target = target_for(load_panels()[PANEL], FittedLettering())
    photos = []
    for sheet in target.sheets:
        light = on_panel(target, sheet.number, true_inks(), N)
        picture = photograph(light, Shot(turned_deg=15.0 * sheet.number, side_px=1100))
        Image.fromarray(picture).save(tmp_path / f"{sheet.number}.jpg", quality=90)
        photos += ["--photo", tmp_path / f"{sheet.number}.jpg"]
    (tmp_path / "white.csv").write_text("patch,L,a,b\nwhite,71,-1,4\n", encoding="utf-8")
    calibrate(PANEL, *photos, "--readings", tmp_path / "white.csv", "--wall", wall)
    panel = load_panels(wall / "panels")[PANEL]
    assert panel.yule_nielsen_n == pytest.approx(N, abs=0.05)
    for ink in panel.inks:
        assert colour.ciede2000(ink.lab, TRUE[ink.name]) < 1
    assert panel.sources["ink.red.lab"].endswith("by readings and photograph")


def test_a_picture_without_a_target_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    Image.new("RGB", (900, 700), (128, 128, 128)).save(tmp_path / "p.jpg")
    assert run(["panels", "calibrate", PANEL, "--photo", str(tmp_path / "p.jpg")]) == 1
    assert "no mark of a target can be read" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "what"),
    [
        ((), "missing argument 'PANEL'"),
        ((PANEL,), "give --out for the target"),
        ((PANEL, "--photo", "p.jpg", "--paper", "bright"), "is not LIGHT@X,Y"),
    ],
)
def test_how_it_is_not_called(
    arguments: tuple[str, ...], what: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["panels", "calibrate", *arguments]) == 2
    assert what in capsys.readouterr().err


def test_panels_are_still_listed_beside_it(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["panels", PANEL]) == 0
    assert run(["panels"]) == 0
    assert capsys.readouterr().out.startswith(f"{PANEL}\n")
    assert run(["panels", "--help"]) == 0
    assert "calibrate" in capsys.readouterr().out
    assert run(["panels", PANEL, "--json"]) == 0
    assert run(["panels", "--json", PANEL, "2.13in"]) == 0
    assert run(["panels", "calibrat"]) == 1
    assert run(["panels", "calibrate", "9in-no-such"]) == 1
