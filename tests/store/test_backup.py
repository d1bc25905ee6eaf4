"""What is backed up comes back the same, in either database, or not at all."""

import hashlib
import json
import shutil
import sqlite3
import stat
import threading
import tracemalloc
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine, event

from tests.sources.database import RunningDatabase
from tests.store import deeds
from tests.store.houses import Great, House, Lite
from tests.store.memory import MemoryStore
from tests.store.reading import everything
from tests.store.test_contract import clear
from tests.store.test_migrating import later
from tests.store.values import NOW, filled
from wallbill.errors import StoreError
from wallbill.sources.fetching import Failures, Kept
from wallbill.store.addresses import read_address
from wallbill.store.archive import MANIFEST
from wallbill.store.model import Contact, Person, Report, Session
from wallbill.store.shell import SqlStore, open_database, open_keeper, reach
from wallbill.store.shell_backup import back_up
from wallbill.store.shell_moving import back_up_store, examine_store, restore_store
from wallbill.store.shell_restoring import restore

KEPT = Kept(
    "forecast", "payload", "i", "a", b"\x00{}\xff", {"etag": 'W/"ü"'}, NOW, NOW + timedelta(minutes=30)
)
FAILED = Failures("i", 3, NOW, "it is out of service", "Nothing.")


def _copy(plain: MemoryStore, store: Any) -> None:
    """Puts all that the one in memory holds into a real one, by the store's own methods."""
    known = everything(plain)
    store.install(*known["installed"])
    for key in known["keys"]:
        store.add_key(key)
    for wish in known["asked"]:
        store.ask(wish)
    for edition in plain._editions:
        assert store.put_up(edition, plain.impression(edition.digest))
    store.note_pressing(*plain._pressings)
    store.note_contacts(plain.contacts(), plain._reports)
    store.put_notices(plain.notices(ended=True))
    for person in plain.people():
        store.put_person(person)


def _bytes(file: Path) -> dict[str, bytes]:
    """The members of an archive, without the moment that it was made at."""
    with zipfile.ZipFile(file) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    manifest = json.loads(members[MANIFEST])
    members[MANIFEST] = json.dumps({**manifest, "made_at": ""}).encode()
    return members


@pytest.fixture
def twins(tmp_path: Path, server: RunningDatabase) -> Iterator[tuple[House, House, House]]:
    """SQLite, PostgreSQL, SQLite."""
    houses = (Lite(tmp_path / "one"), Great(tmp_path / "two", server), Lite(tmp_path / "three"))
    yield houses
    for house in houses:
        house.close()


def test_any_content_goes_to_the_other_database_and_back(
    twins: tuple[House, House, House], tmp_path: Path
) -> None:
    stores = [house.open() for house in twins]

    @settings(max_examples=15, suppress_health_check=[HealthCheck.too_slow])
    @given(filled())
    def same(plain: MemoryStore) -> None:
        for store in stores:
            clear(store)
        _copy(plain, stores[0])
        seen = everything(plain)
        assert everything(stores[0]) == seen
        before = {}
        for at, house in enumerate(twins):
            file = tmp_path / f"{at}.backup"
            back_up_store(house.url, house.folder, file, now=NOW)
            before[at] = _bytes(file)
            if at < 2:
                restore_store(twins[at + 1].url, twins[at + 1].folder, file)
                assert everything(stores[at + 1]) == seen
        assert before[0] == before[1] == before[2]

    same()


def test_facts_go_along(twins: tuple[House, House, House], tmp_path: Path) -> None:
    file = tmp_path / "backup"
    for at, house in enumerate(twins):
        deeds.begin(house.open()) if at == 0 else None
        keeper = open_keeper(house.url, house.folder)
        if at == 0:
            keeper.keep("forecast", KEPT, replace(KEPT, part="long"))
            keeper.note_failures("club", FAILED)
        else:
            keeper.keep("old", replace(KEPT, source="old"))  # of no use after a restore
            restore_store(house.url, house.folder, file)
        assert dict(keeper.kept("forecast")) == {"payload": KEPT, "long": replace(KEPT, part="long")}
        assert keeper.failures("club") == FAILED
        assert not keeper.kept("old") or at == 0
        keeper.close()
        made = back_up_store(house.url, house.folder, file, now=NOW)
        assert made.counts["facts_kept"] == 2
        assert made.counts["facts_failures"] == 1


def test_people_come_along_and_sessions_do_not(house: House, tmp_path: Path) -> None:
    store = house.open()
    store.put_person(Person("ada", "hash", added_at=NOW))
    store.put_session(Session("d", "ada", "c", begun_at=NOW, ends_at=NOW))
    made = back_up_store(house.url, house.folder, tmp_path / "b", now=NOW)
    assert "sessions" not in made.counts
    restore_store(house.url, house.folder, tmp_path / "b", replacing=True)
    assert [person.name for person in store.people()] == ["ada"]
    assert store.session("d") is None


def test_a_backup_is_of_one_moment_while_others_write(house: House, tmp_path: Path) -> None:
    store = house.open()
    deeds.begin(store)
    stop = threading.Event()

    def write() -> None:
        step = 0
        while not stop.is_set():
            at = NOW + timedelta(seconds=step)
            store.note_contacts([Contact("hall", at, 200, "", "", at)], [Report("hall", at)])
            number = step + 1
            assert store.put_up(deeds.edition("hall", number, number), deeds.impression(number, size=100))
            step += 1

    writer = threading.Thread(target=write)
    writer.start()
    try:
        counts = [
            back_up_store(house.url, house.folder, tmp_path / f"{at}", now=NOW).counts for at in range(4)
        ]
    finally:
        stop.set()
        writer.join()
    assert counts[0]["editions"] < counts[-1]["editions"]
    other = Lite(tmp_path / "other")
    for at, count in enumerate(counts):
        assert count["reports"] - count["editions"] in {0, 1}
        assert count["editions"] == count["impressions"]
        restore_store(other.url, other.folder, tmp_path / f"{at}", replacing=at > 0)
        assert examine_store(other.url).faults == ()
        restored = other.open()
        assert len(restored.history("hall", most=10**6)) == count["editions"]
        reports = restored.reports("hall", most=10**6)
        assert len(reports) == count["reports"]
        assert restored.contacts()[0].at == reports[0].at if reports else True
    other.close()


def test_what_is_there_is_not_overwritten_unless_it_is_said(house: House, tmp_path: Path) -> None:
    store = house.open()
    deeds.begin(store)
    for step in range(18):
        deeds.do(store, step)
    back_up_store(house.url, house.folder, tmp_path / "b", now=NOW)
    before = everything(store)
    mark, _ = store.editions_up()
    deeds.do(store, 18)
    after = everything(store)
    with pytest.raises(StoreError, match="the store is not empty: there are") as told:
        restore_store(house.url, house.folder, tmp_path / "b")
    assert "--replace" in told.value.mend
    assert everything(store) == after
    restore_store(house.url, house.folder, tmp_path / "b", replacing=True)
    found = everything(store)
    # Marks go on, so that a server that runs sees what came back as new.
    assert found.pop("mark") > before.pop("mark")
    assert found == before
    assert len(store.editions_up(after=mark + 1)[1]) == 2
    for step in range(18, 27):
        deeds.do(store, step)  # row numbers go on as well
    assert examine_store(house.url).faults == ()


def test_a_restore_that_fails_half_way_changes_nothing(house: House, tmp_path: Path) -> None:
    store = house.open()
    deeds.begin(store)
    for step in range(9):
        deeds.do(store, step)
    back_up_store(house.url, house.folder, tmp_path / "b", now=NOW)
    deeds.do(store, 9)
    before = everything(store)

    def fail(_connection: Any, _cursor: Any, statement: str, *_: Any) -> None:
        if statement.startswith("INSERT INTO reports"):
            raise StoreError("stopped", mend="Go on.")

    event.listen(Engine, "before_cursor_execute", fail)
    try:
        with pytest.raises(StoreError, match="stopped"):
            restore_store(house.url, house.folder, tmp_path / "b", replacing=True)
    finally:
        event.remove(Engine, "before_cursor_execute", fail)
    assert everything(store) == before


def _changed(file: Path, change: Callable[[dict[str, bytes]], None]) -> Path:
    """An archive whose members were changed."""
    with zipfile.ZipFile(file) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    change(members)
    changed = file.with_name("changed")
    with zipfile.ZipFile(changed, "w") as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return changed


def _told(**values: Any) -> Callable[[dict[str, bytes]], None]:
    def change(members: dict[str, bytes]) -> None:
        members[MANIFEST] = json.dumps({**json.loads(members[MANIFEST]), **values}).encode()

    return change


def _without(name: str) -> Callable[[dict[str, bytes]], None]:
    def change(members: dict[str, bytes]) -> None:
        del members[name]

    return change


def _row(line: bytes) -> Callable[[dict[str, bytes]], None]:
    """One more line, and a manifest that knows of it."""

    def change(members: dict[str, bytes]) -> None:
        members["people.jsonl"] += line
        manifest = json.loads(members[MANIFEST])
        for member in manifest["members"]:
            if member["table"] == "people":
                member["sha256"] = hashlib.sha256(members["people.jsonl"]).hexdigest()
                member["rows"] += 1
        members[MANIFEST] = json.dumps(manifest).encode()

    return change


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (_told(edition="0099"), "is of edition 0099, and this Wallbill knows up to"),
        (_told(form=2), "it has the form 2"),
        (_told(what="something"), "no backup of a store"),
        (_told(members=[]), "its tables are not those of edition"),
        (_told(members=7), "lacks what it should say"),
        (_told(made_at="never"), "lacks what it should say"),
        (lambda members: members.update({MANIFEST: b"{"}), "its manifest is no JSON"),
        (lambda members: members.update({MANIFEST: b"[" * 100_000}), "its manifest is no JSON"),
        (_without(MANIFEST), "There is no item named 'manifest.json'"),
        (_without("keys.jsonl"), "keys.jsonl: the backup is damaged, or none at all: it is not there"),
        (lambda members: members.update({"displays.jsonl": b""}), "its SHA-256 is not the one"),
        (_row(b"{}\n"), "people.jsonl:1: the backup is damaged, or none at all: not a list of 3 values"),
        (_row(b'["a", 1, "2026-03-14T08:00:00+00:00"]\n'), "password is no text"),
        (_row(b'["a", "b", "2026-03-14T08:00:00"]\n'), "added_at is no moment"),
        (_row(b'["a", "b", "2026-02-30T08:00:00Z"]\n'), "added_at is no moment"),
        (_row(b'["a", null, "2026-03-14T08:00:00Z"]\n'), "people"),
        (_row(b"nonsense\n"), "no JSON"),
    ],
)
def test_archives_that_are_not_what_they_should_be(
    lite: House, tmp_path: Path, change: Callable[[dict[str, bytes]], None], words: str
) -> None:
    deeds.begin(lite.open())
    back_up_store(lite.url, lite.folder, tmp_path / "b", now=NOW)
    other = Lite(tmp_path / "other")
    store = other.open()
    with pytest.raises(StoreError) as told:
        restore_store(other.url, other.folder, _changed(tmp_path / "b", change))
    assert words in str(told.value)
    assert told.value.mend
    assert list(store.installed()) == []
    other.close()


@pytest.mark.parametrize("data", [b"", b"PK", b"no zip at all", None])
def test_files_that_are_no_archives(lite: House, tmp_path: Path, data: bytes | None) -> None:
    file = tmp_path / "b"
    if data is not None:
        file.write_bytes(data)
    with pytest.raises(StoreError) as told:
        restore_store(lite.url, lite.folder, file)
    assert told.value.where.file == str(file)
    assert not (lite.folder / ".wallbill").exists()


def test_an_archive_with_a_wrong_byte_is_refused_or_does_no_harm(lite: House, tmp_path: Path) -> None:
    store = lite.open()
    deeds.begin(store)
    for step in range(9):
        deeds.do(store, step)
    back_up_store(lite.url, lite.folder, tmp_path / "b", now=NOW)
    right, seen = (tmp_path / "b").read_bytes(), everything(store)
    other = Lite(tmp_path / "other")
    target = other.open()
    nothing = everything(target)
    refused = 0

    @settings(max_examples=100, suppress_health_check=[HealthCheck.too_slow])
    @given(st.integers(0, len(right) - 1), st.integers(1, 255), st.booleans())
    def wrong(place: int, change: int, cut: bool) -> None:  # noqa: FBT001  of hypothesis
        nonlocal refused
        data = bytearray(right)
        data[place] ^= change
        (tmp_path / "wrong").write_bytes(data[:place] if cut else data)
        clear(target)
        try:
            restore_store(other.url, other.folder, tmp_path / "wrong")
        except StoreError:
            refused += 1
            assert everything(target) == nothing
        else:
            assert everything(target) == seen

    wrong()
    other.close()
    assert refused > 30


def test_an_archive_of_an_older_edition_is_upgraded_on_the_way(house: House, tmp_path: Path) -> None:
    store = house.open()
    deeds.begin(store)
    for step in range(18):
        deeds.do(store, step)
    back_up_store(house.url, house.folder, tmp_path / "b", now=NOW)
    seen = everything(store)
    store.close()
    migrations = later(tmp_path)
    open_database(house.url, migrations=migrations).close()
    database = reach(read_address(house.url), foreign_keys=False)
    restore(database, house.folder, tmp_path / "b", replacing=True, migrations=migrations)
    found = everything(SqlStore(database))
    assert found.pop("mark") > seen.pop("mark")
    assert found == seen
    assert house.ask("SELECT DISTINCT colour FROM displays") == [("red",)]
    assert house.ask("SELECT version_num FROM store_edition") == [("0002",)]
    database.close()


def test_a_backup_is_its_owners_alone_and_whole_or_not_there(
    lite: House, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    deeds.begin(lite.open())
    file = tmp_path / "b"
    back_up_store(lite.url, lite.folder, file, now=NOW)
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    good = file.read_bytes()

    def full(*_: Any, **__: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(zipfile.ZipFile, "writestr", full)
    with pytest.raises(StoreError, match="cannot be written: No space left on device") as told:
        back_up_store(lite.url, lite.folder, file, now=NOW)
    assert told.value.where.file == str(file)
    assert file.read_bytes() == good
    assert [each.name for each in tmp_path.iterdir() if each.is_file()] == ["b"]
    with pytest.raises(StoreError, match="cannot be written"):
        back_up_store(lite.url, lite.folder, tmp_path / "nowhere" / "b", now=NOW)


def test_a_large_store_is_backed_up_in_little_memory(lite: House, tmp_path: Path) -> None:
    store = lite.open()
    deeds.begin(store)
    for number in range(1, 61):
        assert store.put_up(deeds.edition("hall", number, number), deeds.impression(number, size=1_000_000))
    database = open_database(lite.url)
    tracemalloc.start()
    back_up(database, lite.folder, tmp_path / "b", now=NOW)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    database.close()
    assert most < 30_000_000


def test_a_store_that_is_not_there_is_not_made_by_looking(lite: House, tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="there is no store here yet"):
        back_up_store(lite.url, lite.folder, tmp_path / "b", now=NOW)
    with pytest.raises(StoreError, match="there is no store here yet"):
        examine_store(lite.url)
    assert not (lite.folder / ".wallbill").exists()


def test_looking_over(house: House) -> None:
    store = house.open()
    deeds.begin(store)
    for step in range(18):
        deeds.do(store, step)
    found = examine_store(house.url)
    assert (found.edition, found.wanted, found.faults) == ("0001", "0001", ())
    assert found.counts["displays"] == 5
    assert found.counts["editions"] == 2
    house.ask("DELETE FROM editions WHERE display = 'hall'")
    house.ask("UPDATE counters SET last = 0")
    faults = examine_store(house.url).faults
    assert "edition 1 of hall, which should be up, is not there" in faults
    assert any("the counter of marks stands at 0" in fault for fault in faults)


def test_a_file_with_torn_pages_is_not_sound(tmp_path: Path) -> None:
    house = Lite(tmp_path)
    store = house.open()
    deeds.begin(store)
    for step in range(45):
        deeds.do(store, step)
    house.close()
    data = bytearray(house.path.read_bytes())
    assert len(data) > 40 * 4096
    for page in range(20, 30):
        data[page * 4096 : page * 4096 + 512] = b"\xff" * 512
    house.path.write_bytes(data)
    assert examine_store(house.url).faults


def test_the_file_of_sqlite_itself_is_a_copy_too(lite: House, tmp_path: Path) -> None:
    """What docs/reference/store.md says of copying the file while the server is stopped."""
    store = lite.open()
    deeds.begin(store)
    store.close()
    (tmp_path / "other" / ".wallbill").mkdir(parents=True)
    shutil.copy(lite.folder / ".wallbill" / "store.sqlite", tmp_path / "other" / ".wallbill" / "store.sqlite")
    other = Lite(tmp_path / "other")
    assert len(other.open().installed()) == 3
    other.close()
    assert sqlite3.sqlite_version_info >= (3, 37)  # STRICT tables, https://www.sqlite.org/stricttables.html
