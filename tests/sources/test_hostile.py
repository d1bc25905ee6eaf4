"""A server that means harm, whole way round: each attack ends in its time, is told, and leaves the last good facts."""

import gzip
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from tests.sources.fuzz_seeds import seeds
from tests.sources.web_server import Page, Web, plain, web

from wallbill.errors import Place
from wallbill.facts.agenda import Agenda
from wallbill.facts.supply import Supplied
from wallbill.sources.fetching import Limits
from wallbill.sources.shell import Gathering, gather
from wallbill.sources.shell_keeping import Keeper
from wallbill.sources.spec import SourceSpec

NOW = datetime(2026, 3, 14, 7, 7, tzinfo=UTC)
TOTAL_S = 4.0


class Bench:
    """A wall with one source after another, and a server that a test fills."""

    def __init__(self, server: Web, keeper: Keeper, folder: Path) -> None:
        self.web = server
        self._keeper = keeper
        self._wall = Gathering(
            folder,
            ZoneInfo("Europe/London"),
            50.31,
            -4.05,
            "en-GB",
            limits=Limits(total_s=TOTAL_S),
            total_s=12.0,
        )
        self._now = NOW

    def get(self, kind: str, page: Page, **options: Any) -> tuple[Supplied, float]:
        """What a source gives of a page, and the seconds that it took."""
        self.web.pages["/it"] = page
        self._now += timedelta(hours=9)
        told = {"url": self.web.url("/it"), "private_hosts": ["localhost"], **options}
        spec = SourceSpec("it", kind, told, timedelta(minutes=30), timedelta(hours=2), Place("wall.toml", 3))
        began = time.monotonic()
        given = gather([spec], self._wall, keeper=self._keeper, clock=lambda: self._now).sources["it"]
        return given, time.monotonic() - began


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with web() as server, Keeper(tmp_path / "facts.sqlite") as keeper:
        yield Bench(server, keeper, tmp_path)


def calendar(*entries: str) -> bytes:
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Fennel Quay//EN"]
    for number, entry in enumerate(entries):
        lines += [
            "BEGIN:VEVENT",
            f"UID:{number}",
            "DTSTAMP:20260101T000000Z",
            *entry.split("\n"),
            "END:VEVENT",
        ]
    return "\r\n".join([*lines, "END:VCALENDAR", ""]).encode()


GOOD = "DTSTART:20260320T100000Z\nSUMMARY:Row"


def lying(body: bytes, told: int) -> Page:
    """A page that says another length than it has."""

    def page(request: BaseHTTPRequestHandler) -> None:
        request.send_response_only(200)
        request.send_header("Content-Length", str(told))
        request.end_headers()
        request.wfile.write(body)

    return page


def test_a_server_that_lies_about_length(bench: Bench) -> None:
    body = calendar(GOOD)
    first, _ = bench.get("agenda", plain(body))
    assert first.trouble is None
    longer, took_s = bench.get("agenda", lying(body, len(body) + 1000))
    assert took_s < TOTAL_S + 1
    assert longer.trouble is not None
    assert longer.fact is not None
    shorter, _ = bench.get("agenda", lying(body, len(body) - 20))
    assert "END:VEV closes VEVENT" in str(shorter.trouble)
    assert isinstance(shorter.fact, Agenda)
    assert [event.summary for event in shorter.fact.events] == ["Row"]


def test_a_gzip_bomb(bench: Bench) -> None:
    bomb = gzip.compress(bytes(200_000_000), 9)
    assert len(bomb) < 250_000
    given, took_s = bench.get("agenda", plain(bomb, content_encoding="gzip"))
    assert "larger than 8 MiB" in str(given.trouble)
    assert took_s < 3


@pytest.mark.parametrize(
    "entry",
    [
        "DTSTART:19700101T000000Z\nRRULE:FREQ=MINUTELY\nSUMMARY:It",
        "DTSTART:20260101T000000Z\nRRULE:FREQ=SECONDLY;COUNT=1000000\nSUMMARY:It",
        "DTSTART:20260101T000000Z\nRRULE:FREQ=MINUTELY;COUNT=1000000\nSUMMARY:It",
        "DTSTART:00010101T000000Z\nRRULE:FREQ=HOURLY;COUNT=1000000\nSUMMARY:It",
        "DTSTART:19000101T000000Z\nRRULE:FREQ=DAILY;BYHOUR=" + ",".join(map(str, range(24))) + "\nSUMMARY:It",
        "DTSTART:20260101T000000Z\nRRULE:FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30\nSUMMARY:It",
        "DTSTART:20260101T000000Z\nRRULE:FREQ=YEARLY;BYDAY=MO,TU;BYSETPOS=999\nSUMMARY:It",
    ],
)
def test_a_calendar_with_a_million_recurrences(bench: Bench, entry: str) -> None:
    given, took_s = bench.get("agenda", plain(calendar(GOOD, entry)))
    assert took_s < 8
    assert isinstance(given.fact, Agenda)
    assert "Row" in {event.summary for event in given.fact.events}
    told = [finding.rule for finding in given.findings]
    assert told == ["sources.left-out"] or len(given.fact.events) < 20_000


def test_a_calendar_with_a_hundred_thousand_dates(bench: Bench) -> None:
    dates = ",".join(
        f"2026{n % 12 + 1:02d}{n % 28 + 1:02d}T{n % 24:02d}{n // 24 % 60:02d}00Z" for n in range(100_000)
    )
    given, took_s = bench.get(
        "agenda", plain(calendar(GOOD, f"DTSTART:20260101T000000Z\nRDATE:{dates}\nSUMMARY:It"))
    )
    assert took_s < 13
    assert given.fact is not None or given.trouble is not None


BOMB = '<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a0 "aaaaaaaaaa">' + "".join(
    f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 10)
)
BODIES = {
    "feed": BOMB + ']><rss version="2.0"><channel><title>&a9;</title></channel></rss>',
    "alerts": BOMB
    + ']><alert xmlns="urn:oasis:names:tc:emergency:cap:1.2"><identifier>&a9;</identifier></alert>',
    "track": BOMB + ']><gpx version="1.1"><trk><name>&a9;</name></trk></gpx>',
    "caldav": BOMB + ']><multistatus xmlns="DAV:"><response><href>&a9;</href></response></multistatus>',
}


@pytest.mark.parametrize("kind", BODIES)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_entities_that_would_fill_the_memory(bench: Bench, kind: str, encoding: str) -> None:
    status = 207 if kind == "caldav" else 200
    given, took_s = bench.get(kind, plain(BODIES[kind].encode(encoding), status))
    assert given.fact is None
    assert given.trouble is not None
    assert given.trouble.mend
    assert took_s < 2


@pytest.mark.parametrize("kind", ["feed", "alerts", "track", "agenda", "list", "pictures", "json", "series"])
def test_a_login_page_and_noise_are_no_payload(bench: Bench, kind: str) -> None:
    options = {key: value for key, value in seeds(kind)[0].options.items() if key != "folder"}
    for body in (b"<!DOCTYPE html><html><body>Log in</body></html>", b"\0\xff" * 5000):
        given, took_s = bench.get(kind, plain(body), **options)
        assert given.fact is None, kind
        assert given.trouble is not None
        assert given.trouble.mend
        assert took_s < 2
