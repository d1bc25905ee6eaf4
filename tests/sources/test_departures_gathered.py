"""Departures gathered whole: from a real server, from files of the wall, and from what was kept."""

import time
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from tests.sources.test_departures import message, trip
from tests.sources.web_server import Web, plain, tagged, web
from tests.sources.world_bench import counted, tables, zipped

from wallbill.errors import Place
from wallbill.facts.departures import Departures
from wallbill.facts.supply import Supplied
from wallbill.sources import departures_drawing, shell_departures
from wallbill.sources.fetching import Limits
from wallbill.sources.shell import Gathering, gather
from wallbill.sources.shell_keeping import Keeper
from wallbill.sources.spec import SourceSpec

START = datetime(2026, 3, 14, 6, 0, 20, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


@dataclass
class Bench:
    web: Web
    keeper: Keeper
    wall: Gathering
    now: datetime = field(default=START)

    def get(self, *, offline: bool = False, **options: Any) -> Supplied:
        told = {"stop": "QUAY", "private_hosts": ["localhost"], **options}
        spec = SourceSpec("boats", "departures", told, 5 * MINUTE, timedelta(days=3), Place("wall.toml", 3))
        found = gather([spec], self.wall, keeper=self.keeper, offline=offline, clock=lambda: self.now)
        return found.sources["boats"]

    def live(self, **options: Any) -> Supplied:
        return self.get(url=self.web.url("/gtfs.zip"), realtime=self.web.url("/news.pb"), **options)

    def news(self, delay_s: int) -> None:
        late = trip("T2", calls=({"stop_sequence": 1, "departure": {"delay": delay_s}},))
        self.web.pages["/news.pb"] = plain(message(late, made_at=self.now))


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    (tmp_path / "wall").mkdir()
    wall = Gathering(
        tmp_path / "wall",
        ZoneInfo("Europe/London"),
        50.31,
        -4.05,
        "en-GB",
        limits=Limits(total_s=3.0),
        total_s=10.0,
    )
    with web() as server, Keeper(wall.folder / "facts.sqlite") as keeper:
        server.pages["/gtfs.zip"] = tagged(zipped(tables()), '"1"')
        yield Bench(server, keeper, wall)


def late_of(given: Supplied) -> int | None:
    """Minutes that the boat of 07:20 is late, None if nothing is known of it."""
    assert isinstance(given.fact, Departures), given.trouble
    boat = next(d for d in given.fact.departures if d.trip == "T2")
    return boat.late_min if boat.live else None


def test_the_timetable_stays_and_the_news_are_asked_for_anew(bench: Bench) -> None:
    bench.news(240)
    assert late_of(bench.live()) == 4
    bench.now += 6 * MINUTE
    bench.news(300)
    second = bench.live()
    assert late_of(second) == 5
    assert second.trouble is None
    assert bench.web.paths == ["/gtfs.zip", "/news.pb", "/news.pb"]
    bench.now += timedelta(hours=14)
    bench.news(0)
    bench.live()
    assert bench.web.paths[3:] == ["/gtfs.zip", "/news.pb"]
    assert bench.web.asked[3][1]["if-none-match"] == '"1"'


def test_news_that_fail_leave_the_timetable(bench: Bench) -> None:
    bench.web.pages["/news.pb"] = plain(b"<html>", 200)
    given = bench.live()
    assert late_of(given) is None
    assert "news" in str(given.trouble)
    assert "sources.news-old" in [finding.rule for finding in given.findings]
    bench.now += 6 * MINUTE
    bench.news(60)
    again = bench.live()
    assert (late_of(again), again.trouble) == (1, None)


def test_the_last_news_stand_in_while_they_are_young(bench: Bench) -> None:
    bench.news(240)
    bench.live()
    bench.now += 6 * MINUTE
    bench.web.pages["/news.pb"] = plain(b"", 503)
    given = bench.live()
    assert late_of(given) == 4
    assert [finding.rule for finding in given.findings] == ["sources.news-old"]
    assert given.trouble is not None
    bench.now += 20 * MINUTE
    assert late_of(bench.live()) is None


def test_without_a_network_what_was_kept_is_laid_out_anew(bench: Bench) -> None:
    bench.news(0)
    bench.live()
    bench.now += timedelta(days=2)
    given = bench.get(offline=True, url=bench.web.url("/gtfs.zip"), realtime=bench.web.url("/news.pb"))
    assert isinstance(given.fact, Departures)
    assert [d.trip for d in given.fact.next(bench.now, 2)] == ["T5", "T6"]


def test_only_what_concerns_the_stop_is_kept(bench: Bench) -> None:
    rows = "".join(f"Z{n},08:00:00,08:00:00,S{n},1\nZ{n},08:10:00,08:10:00,HALL,2\n" for n in range(20_000))
    told = tables()
    told["stop_times.txt"] += rows
    whole = zipped(told)
    bench.web.pages["/gtfs.zip"] = plain(whole)
    assert isinstance(bench.get(url=bench.web.url("/gtfs.zip")).fact, Departures)
    (kept,) = bench.keeper.kept("boats").values()
    assert len(whole) > 50_000
    assert len(kept.body) < 3000


def test_a_long_timetable_is_let_in_and_one_beyond_all_measure_is_not(bench: Bench) -> None:
    filler = tables()
    filler["shapes.txt"] = "shape\n" + "".join(f"{n * 2654435761 % 2**32:x}\n" for n in range(20_000))
    bench.wall = replace(bench.wall, limits=Limits(total_s=3.0, body_bytes=20_000))
    body = zipped(filler)
    assert 20_000 < len(body) < 320_000
    bench.web.pages["/gtfs.zip"] = plain(body)
    assert isinstance(bench.get(url=bench.web.url("/gtfs.zip")).fact, Departures)
    bench.wall = replace(bench.wall, limits=Limits(total_s=3.0, body_bytes=1000))
    other = bench.get(url=bench.web.url("/gtfs.zip"), name="other", routes=["3"])
    assert "larger than" in str(other.trouble)


def test_a_timetable_of_the_wall_is_drawn_out_once(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    drawn_out, drawn = counted(departures_drawing.drawn_out)
    monkeypatch.setattr(shell_departures, "drawn_out", drawn_out)
    archive = bench.wall.folder / "boats.zip"
    archive.write_bytes(zipped(tables()))
    first = bench.get(file="boats.zip")
    assert isinstance(first.fact, Departures)
    assert len(first.fact.departures) == 6
    bench.now += MINUTE
    assert isinstance(bench.get(file="boats.zip").fact, Departures)
    assert len(drawn) == 1
    archive.write_bytes(zipped(tables(calendar="")))
    changed = bench.get(file="boats.zip")
    assert len(drawn) == 2
    assert isinstance(changed.fact, Departures)
    assert changed.fact.departures == ()


def test_a_folder_of_tables_and_news_in_a_file(bench: Bench) -> None:
    folder = bench.wall.folder / "boats"
    folder.mkdir()
    for name, text in tables().items():
        (folder / name).write_text(text, encoding="utf-8")
    late = trip("T2", calls=({"stop_sequence": 1, "departure": {"delay": 120}},))
    (bench.wall.folder / "news.pb").write_bytes(message(late))
    assert late_of(bench.get(file="boats", realtime="news.pb")) == 2
    assert bench.web.asked == []


def test_a_timetable_of_the_wall_with_news_of_the_web(bench: Bench) -> None:
    (bench.wall.folder / "boats.zip").write_bytes(zipped(tables()))
    bench.news(180)
    given = bench.get(file="boats.zip", realtime=bench.web.url("/news.pb"))
    assert (late_of(given), given.trouble) == (3, None)
    bench.now += 6 * MINUTE
    bench.news(240)
    assert late_of(bench.get(file="boats.zip", realtime=bench.web.url("/news.pb"))) == 4


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ({"file": "../boats.zip"}, "outside the wall folder"),
        ({"file": "nowhere.zip"}, "cannot be read"),
        ({"file": "\0"}, "cannot be read"),
        ({"url": "http://localhost/x", "realtime": "news.pb"}, "both as files"),
    ],
)
def test_wrong_places_are_told(bench: Bench, options: dict[str, Any], told: str) -> None:
    given = bench.get(**options)
    assert given.fact is None
    assert told in str(given.trouble)


def test_a_bomb_in_an_archive_is_refused_within_its_time(bench: Bench) -> None:
    (bench.wall.folder / "bomb.zip").write_bytes(zipped({**tables(), "stop_times.txt": "x" * 300_000_000}))
    began = time.monotonic()
    given = bench.get(file="bomb.zip")
    assert time.monotonic() - began < 5
    assert "too long" in str(given.trouble)
