"""Tables come about by migrations alone, once, whole, and never backwards."""

import shutil
import sqlite3
import stat
from pathlib import Path
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection

from tests.store import deeds, racing
from tests.store.houses import Great, House, Lite
from tests.store.memory import MemoryStore
from tests.store.reading import everything
from wallbill.errors import StoreError
from wallbill.store.addresses import read_address
from wallbill.store.shell import SqlStore, open_database, open_store, reach
from wallbill.store.shell_migrating import OURS, Migrations
from wallbill.store.tables import EDITION_TABLE, EDITIONS, METADATA

_NEXT = '''"""An edition that is only thought of."""
import sqlalchemy as sa
from alembic import op
revision = "0002"
down_revision = "0001"
def upgrade() -> None:
    with op.batch_alter_table("displays", recreate="always" if op.get_bind().dialect.name == "sqlite" else "auto") as batch:
        batch.add_column(sa.Column("colour", sa.Text(), nullable=False, server_default="red"))
{more}
'''

_COLUMNS = """
SELECT table_name, column_name, data_type, is_nullable, column_default, is_identity, identity_generation
FROM information_schema.columns WHERE table_schema = 'public' ORDER BY 1, 2
"""
_CONSTRAINTS = """
SELECT conrelid::regclass::text, conname, pg_get_constraintdef(oid) FROM pg_constraint
WHERE connamespace = 'public'::regnamespace ORDER BY 1, 2
"""
_INDEXES = "SELECT indexdef FROM pg_indexes WHERE schemaname = 'public' ORDER BY 1"


def later(tmp_path: Path, more: str = "") -> Migrations:
    """Our migrations with one more, as a later Wallbill may have it."""
    folder = tmp_path / "migrations"
    shutil.copytree(OURS.folder, folder, ignore=shutil.ignore_patterns("__pycache__"))
    (folder / "versions" / "edition_0002.py").write_text(_NEXT.format(more=more), encoding="utf-8")
    return Migrations(folder, (*EDITIONS, "0002"))


def _lite_shape(house: House) -> list[tuple[Any, ...]]:
    words = [(kind, name, " ".join((sql or "").split())) for kind, name, sql in house.ask(
        "SELECT type, name, sql FROM sqlite_master ORDER BY 1, 2"
    )]  # fmt: skip
    return [row for row in words if EDITION_TABLE not in row[1] + row[2]]


def _great_shape(house: House) -> list[tuple[Any, ...]]:
    rows = [row for query in (_COLUMNS, _CONSTRAINTS, _INDEXES) for row in house.ask(query)]
    return [row for row in rows if EDITION_TABLE not in str(row)]


def test_migrations_give_what_the_tables_say(house: House, tmp_path: Path) -> None:
    database = open_database(house.url)
    other: House = (
        Great(tmp_path / "other", house.server) if isinstance(house, Great) else Lite(tmp_path / "other")
    )
    straight = reach(read_address(other.url))
    straight.write(METADATA.create_all)
    try:
        shape = _lite_shape if house.is_lite else _great_shape
        assert len(shape(house)) > len(METADATA.tables)
        assert shape(house) == shape(other)

        def differences(connection: Connection) -> list[Any]:
            options = {"compare_type": True, "version_table": EDITION_TABLE}
            return list(compare_metadata(MigrationContext.configure(connection, opts=options), METADATA))

        assert database.read(differences) == []
    finally:
        straight.close()
        database.close()
        other.close()


def test_the_editions_are_those_of_the_migrations() -> None:
    config = Config()
    config.set_main_option("script_location", str(OURS.folder))
    known = [script.revision for script in ScriptDirectory.from_config(config).walk_revisions()]
    assert tuple(reversed(known)) == EDITIONS


def test_a_newer_edition_is_refused_and_left_alone(house: House, tmp_path: Path) -> None:
    deeds.begin(house.open())
    open_database(house.url, migrations=later(tmp_path)).close()
    with pytest.raises(StoreError, match="is of edition 0002, and this Wallbill knows up to 0001") as told:
        house.open()
    assert "newer Wallbill" in told.value.mend
    assert house.ask("SELECT colour FROM displays") == [("red",)] * 3


def test_an_older_edition_is_upgraded_when_it_is_opened(house: House, tmp_path: Path) -> None:
    store, plain = house.open(), MemoryStore()
    for each in (store, plain):
        deeds.begin(each)
        for step in range(18):
            deeds.do(each, step)
    store.close()
    upgraded = SqlStore(open_database(house.url, migrations=later(tmp_path)))
    assert everything(upgraded) == everything(plain)
    upgraded.close()
    assert house.ask(f"SELECT version_num FROM {EDITION_TABLE}") == [("0002",)]


def test_a_copy_of_the_older_file_stays_beside_it(tmp_path: Path) -> None:
    house = Lite(tmp_path / "wall")
    deeds.begin(house.open())  # it stays open: what is not yet in the file itself must be in the copy
    open_database(house.url, migrations=later(tmp_path)).close()
    house.close()
    copy = house.path.with_name("store.sqlite.edition-0001")
    assert stat.S_IMODE(copy.stat().st_mode) == 0o600
    old = sqlite3.connect(copy)
    assert old.execute("SELECT count(*) FROM displays").fetchone() == (3,)
    assert old.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    old.close()
    assert not list(house.path.parent.glob("*.part"))
    copy.rename(house.path)  # the way back
    for tail in ("-wal", "-shm"):
        house.path.with_name(house.path.name + tail).unlink(missing_ok=True)
    assert len(house.open().installed()) == 3
    house.close()


def test_an_upgrade_that_fails_leaves_all_as_it_was(house: House, tmp_path: Path) -> None:
    store = house.open()
    deeds.begin(store)
    deeds.do(store, 0)
    before = everything(store)
    broken = later(tmp_path, '    op.execute("INSERT INTO nowhere VALUES (1)")')
    with pytest.raises(StoreError, match="nowhere"):
        open_database(house.url, migrations=broken)
    assert everything(house.open()) == before
    assert house.ask(f"SELECT version_num FROM {EDITION_TABLE}") == [("0001",)]


def test_rows_that_refer_to_nothing_stop_an_upgrade(tmp_path: Path) -> None:
    house = Lite(tmp_path / "wall")
    deeds.begin(house.open())
    house.close()
    house.ask("INSERT INTO keys VALUES ('d', 'nobody', 0, NULL)")
    with pytest.raises(StoreError, match="refer to rows that are not there"):
        open_database(house.url, migrations=later(tmp_path))


@pytest.mark.parametrize("upgraded", [False, True], ids=["made", "upgraded"])
def test_processes_that_open_at_once_do_not_collide(house: House, tmp_path: Path, *, upgraded: bool) -> None:
    migrations = OURS
    if upgraded:
        deeds.begin(house.open())
        migrations = later(tmp_path)
    context = racing.beside()
    barrier, said = context.Barrier(4), context.SimpleQueue()
    children = [
        context.Process(target=racing.open_at_once, args=(house.url, str(migrations.folder), migrations.editions, barrier, said))
        for _ in range(4)
    ]  # fmt: skip
    for child in children:
        child.start()
    told = [said.get() for _ in children]
    for child in children:
        child.join(30)
    assert told == [migrations.last] * 4


def test_a_file_of_something_else_is_refused(tmp_path: Path) -> None:
    house = Lite(tmp_path)
    house.path.parent.mkdir()
    house.ask("CREATE TABLE recipes (name TEXT)")
    with pytest.raises(StoreError, match="something else: it has a table 'recipes'"):
        house.open()
    assert house.ask("SELECT name FROM sqlite_master") == [("recipes",)]


def test_a_server_may_hold_tables_of_others(great: House) -> None:
    great.ask("CREATE TABLE alembic_version (version_num TEXT)")
    great.ask("INSERT INTO alembic_version VALUES ('theirs')")
    deeds.begin(great.open())
    assert great.ask("SELECT * FROM alembic_version") == [("theirs",)]


def test_opening_what_is_made_loads_no_alembic(lite: House) -> None:
    open_store(lite.url).close()
    code = (
        "import sys; from wallbill.store.shell import open_store;"
        f" open_store({lite.url!r}).close(); sys.exit('alembic' in sys.modules or 'psycopg' in sys.modules)"
    )
    assert racing.python(code).returncode == 0
