"""The SQLite file of last good payloads: whole or not at all, private, and never in the way."""

import sqlite3
import stat
import subprocess
import sys
import threading
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from wallbill.errors import SourceError
from wallbill.sources.fetching import Failures, Kept
from wallbill.sources.shell_keeping import Keeper, keeper_path

AT = datetime(2026, 3, 14, 7, 30, 1, 250000, tzinfo=UTC)
ONE = Kept("forecast", "payload", "i", "a", b"\x00{}", {"etag": 'W/"ü"'}, AT, AT + timedelta(minutes=30))
FAILED = Failures("i", 3, AT, "it is out of service", "Nothing.")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return keeper_path(tmp_path / "wall")


@pytest.fixture
def keeper(path: Path) -> Iterator[Keeper]:
    with Keeper(path) as kept:
        yield kept


def test_what_is_kept_comes_back(keeper: Keeper, path: Path) -> None:
    other = replace(ONE, part="long", body=b"[]")
    keeper.keep("forecast", ONE, other)
    assert dict(keeper.kept("forecast")) == {"payload": ONE, "long": other}
    assert dict(keeper.kept("club")) == {}
    with Keeper(path) as again:
        assert again.kept("forecast")["payload"] == ONE


def test_moments_are_kept_in_utc(keeper: Keeper) -> None:
    local = timezone(timedelta(hours=5, minutes=45))
    keeper.keep("forecast", replace(ONE, fetched_at=AT.astimezone(local)))
    assert keeper.kept("forecast")["payload"].fetched_at == AT
    assert keeper.kept("forecast")["payload"].fetched_at.tzinfo is UTC


def test_a_new_payload_takes_the_place_of_the_old_and_ends_the_failures(keeper: Keeper) -> None:
    keeper.keep("forecast", ONE)
    keeper.note_failures("forecast", FAILED)
    assert keeper.failures("forecast") == FAILED
    assert keeper.kept("forecast")["payload"] == ONE  # a failure takes nothing away
    keeper.note_failures("forecast", replace(FAILED, count=4))
    assert keeper.failures("forecast") == replace(FAILED, count=4)
    keeper.keep("forecast", replace(ONE, body=b"new"))
    assert keeper.kept("forecast")["payload"].body == b"new"
    assert keeper.failures("forecast") is None


def test_keeping_is_all_or_nothing(keeper: Keeper) -> None:
    keeper.keep("forecast", ONE)
    broken = replace(ONE, part="long", body="a text, which the table refuses")  # type: ignore[arg-type]  # on purpose
    with pytest.raises(SourceError, match="cannot be kept"):
        keeper.keep("forecast", replace(ONE, body=b"new"), broken)
    assert dict(keeper.kept("forecast")) == {"payload": ONE}


def test_forgetting(keeper: Keeper) -> None:
    keeper.keep("forecast", ONE)
    keeper.keep("club", replace(ONE, source="club"))
    keeper.note_failures("forecast", FAILED)
    keeper.forget("forecast")
    assert dict(keeper.kept("forecast")) == {}
    assert keeper.failures("forecast") is None
    assert set(keeper.kept("club")) == {"payload"}


def test_the_file_is_its_owners_alone_and_not_for_git(keeper: Keeper, path: Path) -> None:
    keeper.keep("forecast", ONE)
    assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700
    for file in path.parent.glob("facts.sqlite*"):
        assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert (path.parent / ".gitignore").read_text() == "*\n"


def test_a_broken_file_is_put_aside(path: Path) -> None:
    path.parent.mkdir(parents=True)
    path.write_bytes(b"this is no database, " * 1000)
    with Keeper(path) as keeper:
        keeper.keep("forecast", ONE)
        assert set(keeper.kept("forecast")) == {"payload"}
    assert path.with_name("facts.sqlite.broken").read_bytes().startswith(b"this is no database")


def test_a_file_of_another_edition_is_begun_anew(path: Path) -> None:
    with Keeper(path) as keeper:
        keeper.keep("forecast", ONE)
    with sqlite3.connect(path) as db:
        db.execute("PRAGMA user_version = 99")
    db.close()
    with Keeper(path) as keeper:
        assert dict(keeper.kept("forecast")) == {}
        keeper.keep("forecast", ONE)


def test_where_nothing_can_be_written_it_is_said_with_the_mend(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(SourceError, match="cannot be kept") as caught:
        Keeper(tmp_path / "file" / ".wallbill" / "facts.sqlite")
    assert caught.value.mend
    with pytest.raises(SourceError, match="cannot be kept"):
        Keeper(tmp_path)


def test_a_closed_keeper_says_so(path: Path) -> None:
    keeper = Keeper(path)
    keeper.close()
    for attempt in (lambda: keeper.kept("x"), lambda: keeper.failures("x"), lambda: keeper.keep("x", ONE)):
        with pytest.raises(SourceError):
            attempt()


def test_many_threads_and_two_keepers(path: Path, keeper: Keeper) -> None:
    with Keeper(path) as second:
        faults: list[Exception] = []

        def work(number: int) -> None:
            try:
                for turn in range(20):
                    kept = replace(ONE, source=f"s{number}", body=b"%d" % turn)
                    (keeper if turn % 2 else second).keep(kept.source, kept)
            except Exception as fault:  # noqa: BLE001  a thread's fault is brought back here
                faults.append(fault)

        threads = [threading.Thread(target=work, args=(number,)) for number in range(6)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert faults == []
        assert [second.kept(f"s{number}")["payload"].body for number in range(6)] == [b"19"] * 6


def test_a_process_that_dies_half_way_leaves_the_old(path: Path, keeper: Keeper) -> None:
    keeper.keep("forecast", ONE)
    program = """
import os, sqlite3, sys
db = sqlite3.connect(sys.argv[1], isolation_level=None)
db.execute("BEGIN IMMEDIATE")
db.execute("UPDATE kept SET body = ?", (b"half",))
os._exit(9)
"""
    done = subprocess.run([sys.executable, "-c", program, str(path)], check=False)
    assert done.returncode == 9
    assert keeper.kept("forecast")["payload"] == ONE
    keeper.keep("forecast", replace(ONE, body=b"new"))
    assert keeper.kept("forecast")["payload"].body == b"new"
