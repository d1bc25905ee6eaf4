"""Gathering many sources of many kinds in one pass."""

import contextlib
import json
import socket
import subprocess
import sys
import textwrap
import threading
import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from tests.sources.broker import broker
from tests.sources.house_bench import NOW, House
from tests.sources.web_server import Web, plain, slow, web

from wallbill.errors import Place, SourceError
from wallbill.facts.origin import Freshness
from wallbill.facts.track import Track
from wallbill.sources.shell_files import read_files
from wallbill.sources.shell_keeping import Keeper
from wallbill.sources.shell_lanes import AT_ONCE, run_lanes
from wallbill.sources.spec import SourceSpec

SLOW_S = 1.0
BODY = json.dumps({"v": 5}).encode()
GPX = """<?xml version="1.0"?><gpx version="1.1" creator="Fennel Quay" xmlns="http://www.topografix.com/GPX/1/1">
<trk><trkseg><trkpt lat="50.3" lon="{lon}"><time>{at}</time></trkpt></trkseg></trk></gpx>"""


def named(name: str, kind: str, **options: Any) -> SourceSpec:
    return SourceSpec(name, kind, options, None, None, Place("wall.toml", 3))


def page(name: str, url: str, **more: Any) -> SourceSpec:
    hosts = [f"127.0.0.{number}" for number in range(1, 30)]
    return named(name, "json", url=url, private_hosts=hosts, values={"v": {"pick": "v"}}, **more)


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    with Keeper(tmp_path / ".wallbill" / "facts.sqlite") as keeper:
        yield House(tmp_path, keeper)


@contextlib.contextmanager
def hosts(count: int, delay_s: float) -> Iterator[list[Web]]:
    """So many servers, each at an address of the loopback of its own, and each slow."""
    with contextlib.ExitStack() as stack:
        running = [stack.enter_context(web(address=f"127.0.0.{number + 1}")) for number in range(count)]
        for one in running:
            one.pages["/v"] = slow(BODY, delay_s)
        yield running


def test_twelve_slow_sources_take_less_than_twice_as_long_as_the_slowest(house: House) -> None:
    with hosts(12, SLOW_S) as running:
        specs = [page(f"s{n}", one.url("/v", f"127.0.0.{n + 1}")) for n, one in enumerate(running)]
        begun = time.monotonic()
        found = house.gather(*specs).sources
        took_s = time.monotonic() - begun
    assert [given.trouble for given in found.values()] == [None] * 12
    assert list(found) == [spec.name for spec in specs]
    assert took_s < 2 * SLOW_S
    assert all(one.open_most == 1 for one in running)


def test_a_host_is_asked_one_thing_at_a_time_whatever_the_kind(house: House, tmp_path: Path) -> None:
    with broker(tmp_path / "b") as running, web() as server:
        running.publish("t", "1", retain=True)
        server.pages["/v"] = slow(BODY, 0.3)
        broker_spec = named(
            "mqtt", "mqtt", broker="127.0.0.1", port=running.port, values={"v": {"topic": "t"}}, listen="1 s"
        )
        specs = [page(f"s{n}", server.url(f"/v?{n}", "127.0.0.1")) for n in range(3)]
        found = house.gather(*specs, broker_spec).sources
    assert [given.trouble for given in found.values()] == [None] * 4
    assert server.open_most == 1


def test_slow_functions_and_queries_run_side_by_side(house: House) -> None:
    (house.folder / "facts").mkdir()
    (house.folder / "facts" / "slow.py").write_text(
        "import time\n\ndef wait():\n    time.sleep(1.5)\n    return 1\n"
    )
    specs = [named(f"own{n}", "own", function="slow:wait") for n in range(6)]
    begun = time.monotonic()
    found = house.gather(*specs).sources
    assert [given.trouble for given in found.values()] == [None] * 6
    assert time.monotonic() - begun < 6 * 1.5 / 2


def test_every_kind_of_trouble_at_once_leaves_the_others(house: House, tmp_path: Path) -> None:
    with web() as server, socket.create_server(("127.0.0.1", 0)) as silent:
        server.pages["/v"] = plain(BODY)
        server.pages["/bad"] = plain(b"{")
        port = silent.getsockname()[1]
        house.fetch_s = 1.0
        specs = [
            page("good", server.url("/v", "127.0.0.1")),
            page("bad", server.url("/bad", "127.0.0.1")),
            page("gone", server.url("/nothing", "127.0.0.1")),
            named("mute", "mqtt", broker="127.0.0.2", port=port, values={"v": {"topic": "t"}}),
            named(
                "dark",
                "sql",
                url=f"postgresql://k@127.0.0.3:{port}/x",
                query="SELECT 1 AS v",
                columns={"v": {}},
            ),
            named("file", "sql", file="nowhere.sqlite", query="SELECT 1 AS v", columns={"v": {}}),
            named("empty", "json", file="nowhere.json", values={"v": {}}),
            named("odd", "mqtt", values={"v": {"topic": "#/a"}}),
        ]
        found = house.gather(*specs, total_s=8.0).sources
    assert found["good"].trouble is None
    assert all(found[spec.name].trouble is not None for spec in specs[1:])
    assert all("its reader failed" not in str(given.trouble) for given in found.values())


def test_each_source_tells_when_it_is_asked_next(house: House, tmp_path: Path) -> None:
    (tmp_path / "v.json").write_bytes(BODY)
    with web() as server, broker(tmp_path / "b") as running:
        running.publish("t", "1", retain=True)
        server.pages["/v"] = plain(BODY)
        specs = [
            page("page", server.url("/v", "127.0.0.1")),
            page("gone", server.url("/nothing", "127.0.0.1")),
            named("mqtt", "mqtt", broker="127.0.0.1", port=running.port, values={"v": {"topic": "t"}}),
            named("file", "json", file="v.json", values={"v": {"pick": "v"}}),
        ]
        found = house.gather(*specs).sources
    due = {name: given.due_at for name, given in found.items()}
    assert due["file"] is None
    assert due["page"] is not None
    assert due["gone"] is not None
    assert due["mqtt"] is not None
    assert 780 <= (due["page"] - NOW).total_seconds() <= 1200
    assert 300 <= (due["gone"] - NOW).total_seconds() <= 600
    assert 50 <= (due["mqtt"] - NOW).total_seconds() <= 60


def test_facts_are_good_for_as_long_as_their_kind_says_where_the_wall_says_nothing(house: House) -> None:
    (house.folder / "v.json").write_text('{"v": 5, "at": "2026-03-14T00:00:00Z"}', encoding="ascii")
    spec = named("file", "json", file="v.json", time="at", values={"v": {"pick": "v"}})
    assert house.get(spec).freshness(house.now) is Freshness.STALE  # seven hours old, and good for six
    longer = replace(spec, good_for=timedelta(hours=8))
    assert house.get(longer).freshness(house.now) is Freshness.FRESH


# --- a track out of several files


def test_a_track_out_of_several_files(house: House) -> None:
    (house.folder / "second.gpx").write_text(
        GPX.format(lon=-4.1, at="2026-03-13T10:00:00Z"), encoding="utf-8"
    )
    (house.folder / "first.gpx").write_text(GPX.format(lon=-4.0, at="2026-03-12T10:00:00Z"), encoding="utf-8")
    given = house.get(named("way", "track", files=["second.gpx", "first.gpx"]))
    assert isinstance(given.fact, Track), given.trouble
    assert [segment[0].longitude_deg for segment in given.fact.segments] == [-4.0, -4.1]
    (house.folder / "first.gpx").unlink()
    again = house.get(named("way", "track", files=["second.gpx", "first.gpx"]))
    assert again.fact == given.fact
    assert again.trouble is not None
    assert "'first.gpx' cannot be read" in again.trouble.what
    other = house.get(named("way", "track", files=["second.gpx"]))
    assert isinstance(other.fact, Track)
    assert len(other.fact.segments) == 1


@pytest.mark.parametrize("files", [[], ["../x.gpx"], [3], "x.gpx", [""]])
def test_files_that_are_told_wrongly(house: House, files: object) -> None:
    given = house.get(named("way", "track", files=files))
    assert given.trouble is not None
    assert given.trouble.mend


def test_files_are_limited_together(tmp_path: Path) -> None:
    for name in ("a", "b"):
        (tmp_path / name).write_bytes(b"x" * 600)
    spec = named("way", "track", files=["a", "b"])
    assert len(read_files(spec, tmp_path, 1200)) == 1201
    with pytest.raises(SourceError, match="larger"):
        read_files(spec, tmp_path, 1199)


# --- late sources


def test_a_source_that_is_given_up_does_not_hold_the_program(tmp_path: Path) -> None:
    program = textwrap.dedent(
        """
        import socket, sys
        from pathlib import Path
        from tests.sources.house_bench import House
        from tests.sources.test_gather_all import page
        with socket.create_server(("127.0.0.1", 0)) as silent:
            house = House(Path(sys.argv[1]), None, fetch_s=60.0)
            given = house.get(page("v", f"http://127.0.0.1:{silent.getsockname()[1]}/v"), total_s=0.5)
            print(given.trouble.what)
        """
    )
    begun = time.monotonic()
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", program, str(tmp_path)],
        capture_output=True,
        check=True,
        timeout=40,
        cwd=Path(__file__).parents[2],
    )
    assert done.stdout.decode().strip() == "it was given up after 0.5 s"
    assert done.stderr == b""
    assert time.monotonic() - begun < 20


def test_lanes_do_all_work_and_leave_what_is_late() -> None:
    done: list[int] = []
    run_lanes([lambda n=n: done.append(n) for n in range(AT_ONCE * 3)], total_s=10)  # type: ignore[misc]  # a default binds the number
    assert sorted(done) == list(range(AT_ONCE * 3))
    over = threading.Event()
    begun = time.monotonic()

    def late() -> None:
        over.wait(30)

    run_lanes([lambda: done.append(-1), late], total_s=0.3)
    assert time.monotonic() - begun < 5
    assert done[-1] == -1
    over.set()
    run_lanes([], total_s=1)
