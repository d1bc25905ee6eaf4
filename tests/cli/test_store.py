"""``wallbill store``: there and back by the commands that people type."""

import json
import stat
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner
from tests.sources.database import RunningDatabase, database
from tests.store.houses import Great
from tests.store.values import NOW

from wallbill.cli.cmd_store import command
from wallbill.errors import StoreError, WallError
from wallbill.store.model import Installed, Person
from wallbill.store.shell import open_store, store_path, store_url
from wallbill.wall.shell_new import make_wall


def say(*arguments: object) -> tuple[int, str]:
    """The status of a command, and what it said."""
    done = CliRunner().invoke(command, [*map(str, arguments)], standalone_mode=False, catch_exceptions=False)
    if done.exception is not None:
        raise done.exception
    return int(done.return_value or 0), done.output


@pytest.fixture
def wall(tmp_path: Path) -> Path:
    folder = tmp_path / "harbour"
    make_wall(folder)
    return folder


@pytest.fixture(scope="module")
def server() -> Iterator[RunningDatabase]:
    with database() as running:
        yield running


def _fill(url: str) -> None:
    store = open_store(url)
    store.install(Installed("hall", "hall", NOW), Installed("porch", "hall", NOW))
    store.put_person(Person("ada", "hash", added_at=NOW))
    store.close()


def test_backing_up_checking_and_restoring(wall: Path, tmp_path: Path) -> None:
    _fill(store_url(wall, None))
    status, said = say("backup", wall, tmp_path / "b")
    assert status == 0
    assert said.startswith(f"{tmp_path / 'b'}: backed up, as it was at ")
    assert "\n        2  displays\n        1  people\n" in said
    assert stat.S_IMODE((tmp_path / "b").stat().st_mode) == 0o600
    assert say("check", wall) == (0, "edition 0001\n        2  displays\n        1  people\nsound\n")
    with pytest.raises(StoreError, match="not empty"):
        say("restore", wall, tmp_path / "b")
    status, said = say("restore", wall, tmp_path / "b", "--replace", "--json")
    assert json.loads(said)["counts"]["displays"] == 2
    other = tmp_path / "other"
    make_wall(other)
    assert say("restore", other, tmp_path / "b")[0] == 0
    assert store_path(other).is_file()
    told = json.loads(say("check", other, "--json")[1])
    assert (told["edition"], told["faults"], told["counts"]["people"]) == ("0001", [], 1)


def test_a_store_that_is_not_sound(wall: Path) -> None:
    _fill(store_url(wall, None))
    store_path(wall).write_bytes(store_path(wall).read_bytes()[:8192] + b"\xff" * 60_000)
    status, said = say("check", wall)
    assert status == 1
    assert "Not sound. Restore a backup" in said


def test_moving_to_a_server_by_a_secret_address(
    wall: Path, tmp_path: Path, server: RunningDatabase, monkeypatch: pytest.MonkeyPatch
) -> None:
    _fill(store_url(wall, None))
    say("backup", wall, tmp_path / "b")
    house = Great(tmp_path / "unused", server)
    with (wall / "wall.toml").open("a", encoding="utf-8") as settings:
        settings.write('\n[store]\nurl = { secret = "HARBOUR_STORE" }\n')
    with pytest.raises(WallError, match="HARBOUR_STORE"):
        say("restore", wall, tmp_path / "b")
    monkeypatch.setenv("HARBOUR_STORE", house.url)
    say("restore", wall, tmp_path / "b")
    assert say("check", wall) == (0, "edition 0001\n        2  displays\n        1  people\nsound\n")
    store = house.open()
    assert [display.name for display in store.installed()] == ["hall", "porch"]
    house.close()


def test_what_is_not_there(wall: Path, tmp_path: Path) -> None:
    for arguments in (("check", wall), ("backup", wall, tmp_path / "b")):
        with pytest.raises(StoreError, match="no store here yet") as told:
            say(*arguments)
        assert "wallbill serve" in told.value.mend
    with pytest.raises(StoreError, match="cannot be read: No such file"):
        say("restore", wall, tmp_path / "nothing")
    assert not (wall / ".wallbill").exists()
