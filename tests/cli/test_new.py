"""``wallbill new``: a wall that loads as it is, made whole or not at all."""

import os
from datetime import UTC, datetime, timedelta
from importlib import resources
from pathlib import Path

import icalendar
import pytest
import recurring_ical_events

from wallbill.cli.main import run
from wallbill.wall.shell import load_wall
from wallbill.wall.shell_new import make_wall


def test_a_new_wall_loads_as_it_is(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "deep" / "hut"
    assert run(["new", str(folder)]) == 0
    out = capsys.readouterr().out
    assert "wall.toml" in out
    assert f"wallbill press {folder} --out out" in out
    wall = load_wall(folder)
    hall = wall.display("hall")
    assert hall.panel.name == "5.8in-648x480-black-white-red"
    assert all((folder / "sheets" / f"{sheet}.html").is_file() for sheet in hall.sheets())
    assert {spec.kind for spec in wall.sources.values()} == {"sky", "agenda"}


def test_its_calendar_has_events_in_any_week_to_come(tmp_path: Path) -> None:
    make_wall(tmp_path / "hut")
    file = load_wall(tmp_path / "hut").sources["agenda"].options["file"]
    calendar = icalendar.Calendar.from_ical((tmp_path / "hut" / str(file)).read_bytes())
    for start in (datetime(2026, 11, 2, tzinfo=UTC), datetime(2036, 6, 2, tzinfo=UTC)):
        assert len(recurring_ical_events.of(calendar).between(start, start + timedelta(days=7))) >= 4


def test_an_empty_folder_may_be_used(tmp_path: Path) -> None:
    (tmp_path / "hut").mkdir()
    made = make_wall(tmp_path / "hut")
    assert Path("wall.toml") in made
    assert sorted(made) == list(made)
    assert (tmp_path / "hut").stat().st_mode & 0o777 == 0o755


def test_every_file_of_the_starter_arrives(tmp_path: Path) -> None:
    made = make_wall(tmp_path / "hut")
    with resources.as_file(resources.files("wallbill.wall") / "starter") as starter:
        files = {path.relative_to(starter) for path in starter.rglob("*") if path.is_file()}
        assert set(made) == files
        for path in files:
            assert (tmp_path / "hut" / path).read_bytes() == (starter / path).read_bytes()


def test_what_is_there_stays_untouched(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "hut").mkdir()
    (tmp_path / "hut" / "diary.txt").write_text("dear", encoding="utf-8")
    (tmp_path / "file").write_text("x", encoding="utf-8")
    (tmp_path / "link").symlink_to(tmp_path / "nowhere")
    for name, words in (
        ("hut", "not empty: it holds 'diary.txt'"),
        ("file", "something else"),
        ("link", "something else"),
    ):
        assert run(["new", str(tmp_path / name)]) == 1
        assert words in capsys.readouterr().err
    assert [path.name for path in (tmp_path / "hut").iterdir()] == ["diary.txt"]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["file", "hut", "link"]


def test_nothing_is_left_behind_where_it_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def refuse(self: Path, target: object) -> None:
        raise OSError(28, os.strerror(28))

    monkeypatch.setattr(Path, "rename", refuse)
    assert run(["new", str(tmp_path / "hut")]) == 1
    assert "cannot be made: No space left on device" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


def test_a_place_that_cannot_hold_a_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text("x", encoding="utf-8")
    assert run(["new", str(tmp_path / "file" / "hut")]) == 1
    assert "cannot be made" in capsys.readouterr().err
