"""What can be wrong with a wall's folder, its settings and the folder that is written to: each is told, none is thrown."""

import stat
from pathlib import Path

import pytest

from tests.end_to_end.conftest import DemoPress, Press
from tests.end_to_end.running import AT, Said, files_in, wallbill, without_power
from tests.end_to_end.walls import HEAD, display, wall


def refused(said: Said, *words: str) -> None:
    """The command failed, printed no data, and its message says all of this and how to mend it."""
    assert (said.status, said.out) == (1, ""), said
    for word in (*words, "mend: "):
        assert word in said.err, said.err


def settings(folder: Path, old: str, new: str) -> None:
    file = folder / "wall.toml"
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new), encoding="utf-8")


def test_an_unknown_panel(press: Press, tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall")
    settings(folder, "296x128-black-white", "296x128-black-whit")
    refused(press(folder), "wall.toml:", "panel", "Did you mean '2.9in-296x128-black-white'?")


def test_all_faults_of_a_wall_come_at_once(press: Press, tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall")
    settings(folder, "Europe/London", "Europe/Londn")
    settings(folder, 'sheet = "porch"', 'sheet = "porsch"')
    said = press(folder)
    refused(said, "wall.toml:5", "Europe/London", "Did you mean 'porch'?", "2 faults")


def test_settings_that_are_not_utf8(press: Press, tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall")
    data = (folder / "wall.toml").read_bytes().replace(b"Boat shed", b"Bo\xeft")
    (folder / "wall.toml").write_bytes(data)
    refused(press(folder), "wall.toml:3", "0xef", "UTF-8")


def test_settings_that_are_no_toml(press: Press, tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall")
    settings(folder, "[sources.sky]", "[sources.sky")
    refused(press(folder), "wall.toml:")


def test_a_folder_without_settings(press: Press, tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    refused(press(tmp_path / "empty"), "no wall.toml in this folder", "wallbill new")


def test_a_folder_that_is_not_there(press: Press, tmp_path: Path) -> None:
    wall(tmp_path / "harbour")
    refused(press(tmp_path / "harbor"), "there is no such folder", "Did you mean 'harbour'?")


def test_settings_in_place_of_their_folder(press: Press, tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall")
    refused(press(folder / "wall.toml"), "not a folder", "itself, not its wall.toml")


def test_an_unknown_display(press: Press, tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall")
    refused(press(folder, "portch"), "no display 'portch'", "Did you mean 'porch'?")


def test_a_wall_without_displays(press: Press, tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall")
    (folder / "wall.toml").write_text(HEAD, encoding="utf-8")
    refused(press(folder), "wall.toml: the wall has no displays", "[displays.NAME]")


def test_a_display_named_twice_is_pressed_once(press: Press, tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall")
    said = press.run("press", folder, "porch", "porch", "--offline", "--out", tmp_path / "out", "--json")
    assert said.out.count('"display": "porch"') == 1


@pytest.mark.parametrize(
    "at", ["0001-01-01T00:00", "9999-12-31T23:59", "2026-02-30T08:00", "2026-03-14T08:00+99:00", "soon"]
)
def test_a_moment_that_is_none(press: Press, tmp_path: Path, at: str) -> None:
    for command in ("press", "facts"):
        more = ("--out", tmp_path / "out") if command == "press" else ()
        said = press.run(command, wall(tmp_path / command), "--at", at, *more)
        assert said.status == 2
        assert at in said.err


@pytest.mark.parametrize("at", ["1900-01-01T00:00", "2199-12-31T23:59", "2026-03-29T01:30", "2026-06-01"])
def test_a_moment_far_away_or_in_the_hour_that_is_skipped(press: Press, tmp_path: Path, at: str) -> None:
    folder = wall(tmp_path / "wall", sheets={"porch.html": "{{ facts.sky.sunset|time }} {{ now|date }}"})
    assert press.run("press", folder, "--at", at, "--out", tmp_path / "out").status == 0


def test_a_condition_that_cannot_be_reckoned(press: Press, tmp_path: Path) -> None:
    folder = wall(
        tmp_path / "wall", 'interrupts = [ { when = "facts.sky.moon_lit > \'x\'", sheet = "porch" } ]'
    )
    refused(press(folder), "porch: wall.toml:", "facts.sky.moon_lit > 'x'", "not supported between")


def test_a_face_that_cannot_be_read(press: Press, tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall")
    (folder / "faces").mkdir()
    for name, data in (
        ("broken.ttf", b"\x00\x01\x00\x00 and no more"),
        ("empty.otf", b""),
        ("text.woff2", b"wOF2"),
    ):
        file = folder / "faces" / name
        file.write_bytes(data)
        refused(press(folder), name)
        file.unlink()
    assert press(folder).status == 0


def test_a_face_that_may_not_be_read(demo: DemoPress, tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall")
    (folder / "faces").mkdir()
    (folder / "faces" / "shut.ttf").write_bytes(b"x")
    (folder / "faces" / "shut.ttf").chmod(0)
    said = wallbill(
        "press", folder, "--offline", "--out", tmp_path / "out", cache=demo.cache, before=without_power
    )
    refused(said, "shut.ttf", "ermission denied")


def test_a_folder_that_may_not_be_written(demo: DemoPress, tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall")
    out = tmp_path / "out"
    out.mkdir()
    out.chmod(stat.S_IRUSR | stat.S_IXUSR)
    for target in (out, out / "deeper"):
        said = wallbill("press", folder, "--offline", "--out", target, cache=demo.cache, before=without_power)
        refused(said, f"{target}: Permission denied")
    assert files_in(out) == {}


def test_a_file_where_the_folder_should_be(press: Press, tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall")
    (tmp_path / "out").write_text("a diary", encoding="utf-8")
    refused(press(folder), f"{tmp_path / 'out'}: there is a file of this name")
    refused(press(folder, out=tmp_path / "out" / "deeper"), "Not a directory")
    assert (tmp_path / "out").read_text(encoding="utf-8") == "a diary"


def test_a_folder_where_a_picture_should_be_keeps_no_other_display_from_the_press(
    press: Press, tmp_path: Path
) -> None:
    folder = wall(tmp_path / "wall", display("shed", sheet="porch"))
    (tmp_path / "out" / "porch.png").mkdir(parents=True)
    said = press(folder)
    assert said.status == 1
    assert f"porch: {tmp_path / 'out' / 'porch.png'}: Is a directory" in said.err
    assert "Traceback" not in said.err
    assert said.out.splitlines() == [f"shed: {tmp_path / 'out' / 'shed.png'}"]
    assert (tmp_path / "out" / "shed.png").is_file()
    assert not [path for path in (tmp_path / "out").iterdir() if path.name.startswith(".")]


def test_a_wall_that_may_not_be_written_is_pressed_offline(demo: DemoPress, tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall")
    for path in (*folder.rglob("*"), folder):
        path.chmod(path.stat().st_mode & ~0o222)
    said = wallbill(
        "press", folder, "--at", AT, "--out", tmp_path / "out", cache=demo.cache, before=without_power
    )
    assert (said.status, said.err) == (0, "")


def test_a_cache_that_may_not_be_written_is_done_without(tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall")
    (tmp_path / "cache").mkdir(mode=0o500)
    said = wallbill(
        "press", folder, "--at", AT, "--out", tmp_path / "out", cache=tmp_path / "cache", before=without_power
    )
    assert (said.status, said.err) == (0, "")
    assert files_in(tmp_path / "cache") == {}


def test_a_broken_cache_is_made_anew(
    press: Press, demo: DemoPress, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    folder = wall(tmp_path / "wall")
    assert press(folder).status == 0
    first = files_in(tmp_path / "out")
    kept = [path for path in (tmp_path / "cache").rglob("*") if path.is_file()]
    assert kept
    for number, path in enumerate(kept):
        data = path.read_bytes()
        path.write_bytes((data[: len(data) // 2], b"", b"\xff" * len(data))[number % 3])
    assert press(folder).status == 0
    assert files_in(tmp_path / "out") == first


def test_what_others_wrote_gives_a_terminal_no_orders(press: Press, tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall", sheets={"porch.html": "{{ facts['\\x1b[2Jsky'] }}"})
    said = press(folder)
    refused(said, "\\x1b[2Jsky")
    assert "\x1b" not in said.err
