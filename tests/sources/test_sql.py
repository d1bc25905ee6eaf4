"""Values and readings out of real databases: SQLite files and a PostgreSQL server."""

import json
import socket
import sqlite3
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.sources.broker import free_port
from tests.sources.database import PASSWORD, RunningDatabase, database
from tests.sources.house_bench import LONDON, NOW, House, context_of, spec_of

from wallbill.errors import SourceError, WallbillError
from wallbill.facts.origin import Freshness
from wallbill.facts.series import Series
from wallbill.facts.supply import Supplied
from wallbill.facts.values import Value, Values
from wallbill.sources.shell_keeping import Keeper
from wallbill.sources.sql import database_of, packed_rows, parse, query_of
from wallbill.units.quantity import Quantity

AIR = {"air": {"column": "temp", "unit": "°C"}}
SINCE = "SELECT at, temp FROM readings WHERE at >= :since AND at <= :now"


@pytest.fixture(scope="module")
def server() -> Iterator[RunningDatabase]:
    with database() as running:
        running.do(
            "CREATE TABLE readings (at timestamptz, local timestamp, temp double precision, damp numeric(5,2), ok boolean)",
            """INSERT INTO readings SELECT t, t AT TIME ZONE 'Europe/London', extract(minute FROM t), 51.25, true
            FROM generate_series(timestamptz '2026-03-14 05:00Z', '2026-03-14 07:00Z', interval '10 min') t""",
        )
        yield running


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    with sqlite3.connect(tmp_path / "house.sqlite") as made:
        made.execute("CREATE TABLE readings (at TEXT, unix INTEGER, temp REAL, word TEXT, bytes BLOB)")
        for minute in range(0, 120, 10):
            at = datetime(2026, 3, 14, 5, tzinfo=UTC) + timedelta(minutes=minute)
            text = f"{at:%Y-%m-%d %H:%M:%S}"
            made.execute(
                "INSERT INTO readings VALUES (?, ?, ?, 'on', x'00ff')",
                (text, int(at.timestamp()), minute / 10),
            )
    made.close()
    with Keeper(tmp_path / ".wallbill" / "facts.sqlite") as keeper:
        yield House(tmp_path, keeper)


def lite(query: str = SINCE, columns: Any = AIR, **options: Any) -> Any:
    named = {} if "url" in options else {"file": "house.sqlite"}
    return spec_of("sql", query=query, columns=columns, **{"time_zone": "UTC", **named, **options})


def great(server: RunningDatabase, query: str, columns: Any = AIR, **options: Any) -> Any:
    return spec_of("sql", url=server.url, password=PASSWORD, query=query, columns=columns, **options)


def series(given: Supplied) -> Series:
    assert isinstance(given.fact, Series), given.trouble
    return given.fact


def value(given: Supplied, name: str = "air") -> Value:
    assert isinstance(given.fact, Values), given.trouble
    found = given.fact[name]
    assert isinstance(found, Value)
    return found


def trouble(given: Supplied) -> WallbillError:
    assert given.trouble is not None
    assert given.trouble.mend
    assert PASSWORD not in str(given.trouble)
    assert "127.0.0.1" not in str(given.trouble)
    return given.trouble


# --- SQLite


def test_rows_of_a_file_are_a_series(house: House) -> None:
    given = house.get(lite(time="at", since="1 h"))
    readings = series(given).readings
    assert [reading.value for reading in readings] == [7.0, 8.0, 9.0, 10.0, 11.0]  # from 06:07 to 07:07
    assert readings[0].at == datetime(2026, 3, 14, 6, 10, tzinfo=UTC)
    assert given.freshness(house.now) is Freshness.FRESH
    assert given.due_at is None


@pytest.mark.parametrize(
    ("style", "column", "since"),
    [("iso", "at", "at"), ("unix", "unix", "unix"), ("unix-ms", "unix * 1000", "unix * 1000"),
     ("%d.%m.%Y %H:%M", "strftime('%d.%m.%Y %H:%M', at)", "strftime('%d.%m.%Y %H:%M', at)")],
)  # fmt: skip
def test_moments_are_bound_as_the_table_writes_them(
    house: House, style: str, column: str, since: str
) -> None:
    query = f"SELECT {column} AS t, temp FROM readings WHERE {since} >= :since ORDER BY 1"
    given = house.get(lite(query, time="t", time_format=style, since="30 min"))
    assert [reading.value for reading in series(given).readings] == [10.0, 11.0]


def test_one_row_gives_values(house: House) -> None:
    columns = {**AIR, "word": {}, "sum": {"column": "total", "unit": "1", "time": "at"}}
    query = "SELECT temp, word, max(at) AS at, 3 AS total FROM readings"
    given = house.get(lite(query, columns))
    assert value(given).quantity == Quantity(11.0, "°C")
    assert value(given, "word").value is True
    assert value(given, "sum").at == datetime(2026, 3, 14, 6, 50, tzinfo=UTC)


def test_a_query_that_finds_nothing(house: House) -> None:
    nothing = "SELECT at, temp FROM readings WHERE 0"
    assert series(house.get(lite(nothing, time="at"))).readings == ()
    given = house.get(lite(nothing))
    assert (value(given).value, given.trouble) == (None, None)
    assert given.freshness(house.now) is Freshness.MISSING


def test_rows_beyond_the_most_are_left_out_and_told(house: House) -> None:
    given = house.get(lite(SINCE, time="at", most_rows=3))
    assert len(series(given).readings) == 3
    assert [finding.rule for finding in given.findings] == ["sources.rows-cut"]


def test_a_file_by_address_lies_where_it_likes(
    house: House, tmp_path_factory: pytest.TempPathFactory
) -> None:
    elsewhere = tmp_path_factory.mktemp("elsewhere") / "odd name?.sqlite".replace("?", "")
    elsewhere.write_bytes((house.folder / "house.sqlite").read_bytes())
    assert series(house.get(lite(url=f"sqlite:///{elsewhere}", time="at"))).readings
    assert series(house.get(lite(url="sqlite:///house.sqlite", time="at"))).readings


def test_a_database_that_is_being_written_is_read_all_the_same(house: House) -> None:
    writer = sqlite3.connect(house.folder / "house.sqlite", isolation_level=None)
    writer.execute("PRAGMA journal_mode = WAL")
    writer.execute("BEGIN IMMEDIATE")
    writer.execute("DELETE FROM readings")
    assert len(series(house.get(lite(time="at"))).readings) == 12
    writer.execute("ROLLBACK")
    writer.close()


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"query": "SELECT at, temp FROM nowhere"}, "no such table"),
        ({"query": "SELECT at, tmp FROM readings"}, "no such column"),
        ({"query": "SELECT at FROM readings", "time": "at"}, "no column 'temp'"),
        ({"query": SINCE}, "nothing says when each was"),
        ({"query": SINCE, "time": "when"}, "no column 'when'"),
        ({"query": SINCE.replace(":now", ":then"), "time": "at"}, "asks for :then"),
        ({"query": SINCE, "time": "at", "columns": {"air": {"column": "temp"}}}, "no unit"),
        ({"query": "SELECT bytes AS temp FROM readings LIMIT 1"}, "none of its values can be read"),
        ({"query": "SELECT at AS temp FROM readings LIMIT 1"}, "no number"),
        ({"query": SINCE, "time": "temp"}, "no time of the format"),
        ({"file": "nowhere.sqlite"}, "no such database file"),
        ({"file": "../house.sqlite"}, "outside the wall folder"),
        ({"file": "wall.toml"}, "file is not a database"),
        ({"most_rows": 0}, "most_rows is 0"),
        ({"since": "ever"}, "no length of time"),
        ({"columns": {}}, "which values to read"),
        ({"columns": {"air": {"pick": "temp"}}}, "unknown key 'pick'"),
    ],
)
def test_what_is_told_wrongly(house: House, options: dict[str, Any], words: str) -> None:
    (house.folder / "wall.toml").write_text("[wall]\n" * 500, encoding="ascii")
    given = house.get(lite(**{"query": SINCE, **options}))
    assert words in trouble(given).what
    assert given.fact is None


@pytest.mark.parametrize(
    "query",
    [
        "",
        "DELETE FROM readings",
        "SELECT 1 AS temp; DELETE FROM readings",
        "WITH gone AS (DELETE FROM readings RETURNING *) SELECT * FROM gone",
        "PRAGMA user_version = 7",
        "ATTACH 'x.sqlite' AS x",
        "INSERT INTO readings SELECT * FROM readings",
        "/* SELECT */ UPDATE readings SET temp = 1",
        "VACUUM INTO 'copy.sqlite'",
    ],
)
def test_queries_that_would_do_more_than_read_are_refused(house: House, query: str) -> None:
    given = house.get(lite(query))
    assert trouble(given).where.field == "query"
    assert given.fact is None


def test_words_in_texts_comments_and_quotes_are_no_commands() -> None:
    for query in (
        "SELECT 'drop; delete :never' AS temp -- update; :never\n",
        'SELECT "update" AS temp FROM readings /* ; insert :never */',
        "SELECT t.update AS temp FROM t",
        "SELECT $x$ delete ; $x$ AS temp",
        "( SELECT 1 AS temp ) ;",
        "SELECT temp::text, '12:30' FROM t WHERE a[1:2] = :now",
    ):
        assert query_of(lite(query), LONDON).names <= {"now"}


def test_colons_in_texts_are_kept(house: House) -> None:
    given = house.get(lite("SELECT 'it is :now 12:30' AS temp", {"air": {"column": "temp"}}))
    assert value(given).value == "it is :now 12:30"


def test_the_connection_itself_cannot_write(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        "wallbill.sources.sql._WRITES", frozenset()
    )  # as if the look at the words had seen nothing
    before = (house.folder / "house.sqlite").read_bytes()
    for query in (
        "WITH x AS (SELECT 1) DELETE FROM readings",
        "WITH x AS (SELECT 1) INSERT INTO readings (temp) SELECT 1",
        "SELECT load_extension('x.so') AS temp",
    ):
        assert house.get(lite(query)).fact is None
    assert (house.folder / "house.sqlite").read_bytes() == before


ENDLESS = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT max(i) AS temp FROM n"


def test_a_query_that_never_ends_is_stopped(house: House) -> None:
    house.fetch_s = 0.5
    begun = time.monotonic()
    given = house.get(lite(ENDLESS))
    assert time.monotonic() - begun < 4
    assert "took longer than 0.5 s" in trouble(given).what


def test_a_query_that_gives_too_much_is_stopped(house: House) -> None:
    many = ENDLESS.replace("max(i) AS temp", "i, hex(zeroblob(1000)) AS temp")
    assert "more than 8 MiB" in trouble(house.get(lite(many, most_rows=100_000))).what
    large = "SELECT hex(zeroblob(4000000)) AS temp"
    assert "too big" in trouble(house.get(lite(large))).what


def test_a_file_that_goes_leaves_what_it_gave(house: House) -> None:
    spec = lite(time="at")
    before = series(house.get(spec)).readings
    (house.folder / "house.sqlite").unlink()
    house.pass_(hours=7)
    given = house.get(spec)
    assert series(given).readings == before
    assert "no such database file" in trouble(given).what
    assert given.freshness(house.now) is Freshness.STALE


def test_a_file_is_read_offline_too(house: House) -> None:
    assert series(house.get(lite(time="at"), offline=True)).readings


# --- PostgreSQL


def test_rows_of_a_server_are_a_series(house: House, server: RunningDatabase) -> None:
    given = house.get(great(server, SINCE, time="at", since="1 h"))
    assert [reading.value for reading in series(given).readings] == [10.0, 20.0, 30.0, 40.0, 50.0, 0.0]
    assert series(given).readings[0].at == datetime(2026, 3, 14, 6, 10, tzinfo=UTC)
    assert given.due_at is not None


def test_moments_without_a_zone_are_of_the_walls(house: House, server: RunningDatabase) -> None:
    query = (
        SINCE.replace("at", "local AS at", 1)
        .replace("WHERE at", "WHERE local")
        .replace("AND at", "AND local")
    )
    given = house.get(great(server, query, time="at", since="1 h"))
    assert series(given).readings[0].at == datetime(2026, 3, 14, 6, 10, tzinfo=UTC)


def test_one_row_of_a_server_gives_values(house: House, server: RunningDatabase) -> None:
    columns = {
        "damp": {"unit": "%"},
        "ok": {},
        "day": {"column": "day"},
        "air": {"column": "temp", "time": "at"},
    }
    query = "SELECT damp, ok, at, at::date AS day, temp FROM readings ORDER BY at DESC LIMIT 1"
    given = house.get(great(server, query, columns))
    assert value(given, "damp").quantity == Quantity(51.25, "%")
    assert value(given, "ok").value is True
    assert value(given, "day").value == "2026-03-14"
    assert value(given).at == datetime(2026, 3, 14, 7, tzinfo=UTC)


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("SELECT temp FROM nowhere", "does not understand: relation"),
        ("SELECT tmp FROM readings", "does not understand: column"),
        ("SELECT pg_sleep(30)::text AS temp", "took longer than 1 s"),
        ("SELECT nextval('counter') AS temp", "would do more than read: cannot execute nextval()"),
        ("SELECT 'NaN'::float8 AS temp", "none of its values"),
        ("SELECT repeat('x', 1000) AS temp FROM generate_series(1, 100000)", "more than 8 MiB"),
    ],
)
def test_queries_that_a_server_does_not_answer(
    house: House, server: RunningDatabase, query: str, words: str
) -> None:
    server.do("CREATE SEQUENCE IF NOT EXISTS counter")
    house.fetch_s = 1.0 if "sleep" in query else 10.0
    begun = time.monotonic()
    given = house.get(great(server, query, most_rows=100_000))
    assert time.monotonic() - begun < 8
    assert words in trouble(given).what


def test_the_session_itself_cannot_write(
    house: House, server: RunningDatabase, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("wallbill.sources.sql._WRITES", frozenset())
    query = "WITH gone AS (DELETE FROM readings RETURNING temp) SELECT max(temp) AS temp FROM gone"
    assert house.get(great(server, query)).fact is None
    assert server.one("SELECT count(*) FROM readings") == 13


def test_a_password_that_is_wrong_is_not_shown(house: House, server: RunningDatabase) -> None:
    spec = spec_of("sql", url=server.url, password="hunter3", query="SELECT 1 AS temp", columns=AIR)
    assert "does not let us in" in trouble(house.get(spec)).what
    assert "hunter3" not in str(trouble(house.get(spec)))


def test_a_password_in_the_address_is_taken(house: House, server: RunningDatabase) -> None:
    url = server.url.replace("keeper@", f"keeper:{PASSWORD}@").replace("postgresql:", "postgres:")
    spec = spec_of("sql", url=url, query="SELECT 1 AS temp", columns=AIR)
    assert value(house.get(spec)).value == 1.0


def test_a_server_that_is_not_there_and_one_that_says_nothing(house: House) -> None:
    dead = f"postgresql://keeper@127.0.0.1:{free_port()}/postgres"
    given = house.get(spec_of("sql", url=dead, query="SELECT 1 AS temp", columns=AIR))
    assert "cannot be reached" in trouble(given).what
    house.fetch_s = 1.0
    with socket.create_server(("127.0.0.1", 0)) as silent:
        mute = f"postgresql://keeper@127.0.0.1:{silent.getsockname()[1]}/postgres"
        begun = time.monotonic()
        given = House(house.folder, None, fetch_s=1.0).get(
            spec_of("sql", url=mute, query="SELECT 1 AS temp", columns=AIR)
        )
        assert time.monotonic() - begun < 6
    assert "cannot be reached" in trouble(given).what


def test_what_a_server_gave_is_kept(house: House, server: RunningDatabase) -> None:
    spec = great(server, "SELECT max(temp) AS temp FROM readings")
    assert value(house.get(spec)).value == 50.0
    assert value(house.get(spec, offline=True)).value == 50.0


# --- without a database


@pytest.mark.parametrize(
    "url", ["mysql://h/d", "oracle://h/d", "house.sqlite", "", "http://h/d", "://", "[::"]
)
def test_other_databases_are_not_asked(url: str) -> None:
    with pytest.raises(SourceError) as caught:
        database_of(spec_of("sql", url=url))
    assert caught.value.where.field == "url"
    assert caught.value.mend


def test_a_driver_that_is_not_there_is_named(
    house: House, server: RunningDatabase, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(__import__("sys").modules, "psycopg", None)
    given = house.get(great(server, "SELECT 1 AS temp"))
    assert "pip install 'wallbill[postgresql]'" in trouble(given).mend


_cells = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=12)


@given(
    rows=st.lists(st.lists(_cells, max_size=3), max_size=6),
    names=st.lists(st.sampled_from(["at", "temp", "x"]), max_size=3),
    timed=st.booleans(),
    cut=st.booleans(),
)
def test_any_rows_give_facts_or_our_own_error(
    rows: list[list[object]], names: list[str], *, timed: bool, cut: bool
) -> None:
    context = context_of(lite(**({"time": "at"} if timed else {})))
    try:
        fact = parse(packed_rows(names, rows, cut=cut), context)
    except SourceError as fault:
        assert fault.mend  # noqa: PT017  either outcome is right
    else:
        assert isinstance(fact, Values | Series)


@given(
    st.binary(max_size=100) | st.sampled_from([b"{}", b"[]", json.dumps({"columns": 1, "rows": 2}).encode()])
)
def test_any_kept_bytes_are_refused_as_ours(payload: bytes) -> None:
    with pytest.raises(SourceError, match="what was kept"):
        parse(payload, context_of(lite()))


@given(st.text(alphabet="sSelctwih ';\"-*/$:()\n,.abx", max_size=40) | st.text(max_size=20))
def test_any_query_is_taken_or_refused(text: str) -> None:
    for query in (text, f"SELECT {text}"):
        try:
            query_of(lite(query), LONDON)
        except SourceError as fault:
            assert fault.where.field == "query"  # noqa: PT017  either outcome is right


def test_now_is_the_moment_of_the_gathering(house: House) -> None:
    given = house.get(lite("SELECT :now AS temp", {"air": {"column": "temp"}}, time_zone="Europe/London"))
    assert value(given).value == f"{NOW.astimezone(LONDON):%Y-%m-%d %H:%M:%S}"
