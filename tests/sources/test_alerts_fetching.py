"""An index of alerts from a real server: each alert once, dead links, what is gone, and the public services' addresses."""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from tests.sources.alerts_bench import cap, info, reference
from tests.sources.test_fetching_asking import ASKER
from tests.sources.web_server import Web, plain, web

from wallbill.errors import Place, SourceError
from wallbill.facts.alerts import Alerts
from wallbill.facts.observation import Observation
from wallbill.facts.origin import Freshness
from wallbill.facts.supply import Supplied
from wallbill.sources.asking import identity_of, steps
from wallbill.sources.shell import Gathering, gather
from wallbill.sources.shell_keeping import Keeper
from wallbill.sources.spec import SourceSpec

START = datetime(2026, 3, 14, 7, 7, tzinfo=UTC)
HOSTS = ["localhost", "127.0.0.1"]


@dataclass
class Bench:
    """A wall that asks a server for warnings."""

    web: Web
    keeper: Keeper
    context: Gathering
    now: datetime = START
    options: dict[str, Any] = field(default_factory=dict)

    def get(self, *, offline: bool = False, kind: str = "alerts") -> Supplied:
        spec = SourceSpec(
            "warnings",
            kind,
            {"url": self.web.url("/index"), "private_hosts": HOSTS, **self.options},
            timedelta(minutes=10),
            timedelta(hours=1),
            Place("wall.toml", 3),
        )
        found = gather([spec], self.context, keeper=self.keeper, offline=offline, clock=lambda: self.now)
        return found.sources["warnings"]

    def later(self) -> Supplied:
        self.now += timedelta(minutes=20)
        self.web.asked.clear()
        return self.get()

    def serve(self, path: str, text: str) -> None:
        self.web.pages[path] = plain(text.encode())


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    context = Gathering(
        folder=tmp_path,
        zone=ZoneInfo("Europe/London"),
        latitude_deg=50.31,
        longitude_deg=-4.05,
        language="en-GB",
        contact="keeper@fennel-quay.invalid",
        total_s=10.0,
    )
    with web() as server, Keeper(tmp_path / "facts.sqlite") as keeper:
        yield Bench(server, keeper, context)


def atom(*links: str, extra: str = "") -> str:
    entries = "".join(
        f'<entry><link rel="self" href="/self"/><link type="text/html" href="/page"/>'
        f'<link type="application/cap+xml" href="{link}"/>{extra}</entry>'
        for link in links
    )
    return f'<feed xmlns="http://www.w3.org/2005/Atom" xmlns:cap="urn:oasis:names:tc:emergency:cap:1.2">{entries}</feed>'


def events(given: Supplied) -> list[str]:
    assert isinstance(given.fact, Alerts)
    return [alert.event for alert in given.fact.active]


def test_each_alert_of_an_index_is_fetched_once(bench: Bench) -> None:
    bench.serve("/index", atom("/1", "2"))
    bench.serve("/1", cap(info(event="One", severity="Minor"), number="1"))
    bench.serve("/2", cap(info(event="Two", severity="Severe"), number="2"))
    given = bench.get()
    assert given.trouble is None
    assert events(given) == ["Two", "One"]
    assert bench.web.paths == ["/index", "/1", "/2"]
    bench.serve("/index", atom("/1", "/2", "/3"))
    bench.serve("/3", cap(number="3", kind="Cancel", references=reference("2")))
    again = bench.later()
    assert bench.web.paths == ["/index", "/3"]
    assert events(again) == ["One"]
    assert isinstance(again.fact, Alerts)
    assert again.fact.origin.fetched_at == bench.now
    assert again.freshness(bench.now) is Freshness.FRESH
    assert again.due_at is not None
    assert again.due_at <= bench.now + timedelta(minutes=15)


def test_what_the_index_no_longer_lists_is_forgotten(bench: Bench) -> None:
    bench.serve("/index", atom("/1", "/2"))
    bench.serve("/1", cap(info(event="One"), number="1"))
    bench.serve("/2", cap(info(event="Two"), number="2"))
    bench.get()
    bench.serve("/index", atom("/2"))
    assert events(bench.later()) == ["Two"]
    assert len(bench.keeper.kept("warnings")) == 2
    assert events(bench.get(offline=True)) == ["Two"]
    bench.serve("/index", atom())
    given = bench.later()
    assert events(given) == []
    assert not given.fact
    assert list(bench.keeper.kept("warnings")) == ["payload"]


def test_a_dead_link_is_told_and_hides_no_new_alert(bench: Bench) -> None:
    bench.serve("/index", atom("/dead", "/page.html", "/1"))
    bench.serve("/page.html", "<html><body>Log in</body></html>")
    bench.serve("/1", cap(info(event="One"), number="1"))
    given = bench.get()
    assert events(given) == ["One"]
    assert given.trouble is not None
    assert "404" in given.trouble.what
    bench.serve("/index", atom("/dead", "/1", "/2"))
    bench.serve("/2", cap(info(event="Two", severity="Severe"), number="2"))
    assert events(bench.later()) == ["Two", "One"]


def test_a_server_that_wants_peace_gets_it(bench: Bench) -> None:
    bench.serve("/index", atom("/1"))
    bench.web.pages["/1"] = plain(b"", 429, retry_after="3600")
    assert bench.get().trouble is not None
    bench.later()
    assert bench.web.paths == []


def test_a_broken_index_leaves_the_last_good_alerts_up(bench: Bench) -> None:
    bench.serve("/index", atom("/1"))
    bench.serve("/1", cap(info(event="One"), number="1"))
    bench.get()
    bench.web.pages["/index"] = plain(b"", 503)
    given = bench.later()
    assert events(given) == ["One"]
    assert given.trouble is not None
    assert isinstance(given.fact, Alerts)
    assert given.fact.origin.fetched_at == START
    assert given.freshness(START + timedelta(minutes=61)) is Freshness.STALE
    bench.serve("/index", "<rss><channel/>")
    bench.now += timedelta(hours=7)
    assert events(bench.later()) == ["One"]
    assert len(bench.keeper.kept("warnings")) == 2


def test_no_password_goes_to_another_host(bench: Bench) -> None:
    bench.options = {"user": "keeper", "password": "s3cret", "headers": {"X-Key": "k"}}
    other = bench.web.url("/1", "127.0.0.1")
    bench.serve("/index", atom(other, "/2"))
    bench.serve("/1", cap(info(event="One"), number="1"))
    bench.serve("/2", cap(info(event="Two"), number="2"))
    assert sorted(events(bench.get())) == ["One", "Two"]
    sent = dict(bench.web.asked)
    assert {"authorization", "x-key"} <= set(sent["/index"]) & set(sent["/2"])
    assert not {"authorization", "x-key"} & set(sent["/1"])
    assert "keeper@fennel-quay.invalid" in sent["/1"]["user-agent"]


def test_links_into_ones_own_network_are_not_followed_unasked(bench: Bench) -> None:
    bench.options = {"private_hosts": ["localhost"]}
    bench.serve(
        "/index", atom(bench.web.url("/1", "127.0.0.1"), "file:///etc/passwd", "ftp://x/y", "http://[")
    )
    given = bench.get()
    assert bench.web.paths == ["/index"]
    assert given.trouble is not None
    assert "private network" in given.trouble.what
    assert events(given) == []


def test_one_alert_and_rss(bench: Bench) -> None:
    bench.serve("/index", cap(info(event="Alone")))
    assert events(bench.get()) == ["Alone"]
    bench.serve(
        "/index",
        "<rss version='2.0'><channel><link>/home</link><item><title>One</title><link>/1</link></item></channel></rss>",
    )
    bench.serve("/1", cap(info(event="One"), number="1"))
    assert events(bench.later()) == ["One"]
    assert bench.web.paths == ["/index", "/1"]


@pytest.mark.parametrize(
    ("extra", "areas", "asked"),
    [
        ("<cap:expires>2026-03-11T00:00:00-00:00</cap:expires>", [], False),
        ("<cap:expires>2026-03-14T00:00:00-00:00</cap:expires>", [], True),
        ("<cap:status>Test</cap:status>", [], False),
        ("<cap:msgType>Alert</cap:msgType><cap:geocode><value>A1 B2</value></cap:geocode>", ["C3"], False),
        ("<cap:msgType>Alert</cap:msgType><cap:geocode><value>A1 B2</value></cap:geocode>", ["X=B2"], True),
        ("<cap:msgType>Update</cap:msgType><cap:geocode><value>A1 B2</value></cap:geocode>", ["C3"], True),
    ],
)
def test_what_the_index_itself_rules_out_is_not_asked_for(
    bench: Bench,
    extra: str,
    areas: list[str],
    asked: bool,  # noqa: FBT001 a column of the table
) -> None:
    bench.options = {"areas": areas}
    bench.serve("/index", atom("/1", extra=extra))
    bench.serve("/1", cap(info(), number="1"))
    bench.get()
    assert ("/1" in bench.web.paths) is asked


def test_an_index_without_end_is_cut(bench: Bench) -> None:
    spec = SourceSpec("warnings", "alerts", {"url": "https://alerts.invalid/index"}, None, None, Place())
    found = steps(spec, ASKER, {"payload": atom(*(f"/{n}" for n in range(500))).encode()})
    assert len(found) == 101
    assert len({step.part for step in found}) == 101
    bench.serve("/index", atom(*(f"/{n}" for n in range(101))))
    given = bench.get()
    assert [finding.rule for finding in given.findings] == ["sources.left-out"]


def test_the_public_services_are_asked_as_they_wish() -> None:
    nws = SourceSpec("w", "alerts", {"service": "nws"}, None, None, Place("wall.toml", 3))
    (step,) = steps(nws, ASKER, {})
    # Source: the service's OpenAPI description: /alerts/active?point=lat,lon, at most four decimals, a User-Agent.
    assert step.request.url == "https://api.weather.gov/alerts/active?point=50.3123,-4.05"
    sent = dict(step.request.headers)
    assert sent["Accept"] == "application/geo+json"
    assert ASKER.contact in sent["User-Agent"]

    with pytest.raises(SourceError, match="whom to write to"):
        steps(nws, replace(ASKER, contact=""), {})
    assert identity_of(nws, ASKER) != identity_of(nws, replace(ASKER, latitude_deg=51.0))

    field_ = SourceSpec("f", "observation", {"station": "eghd"}, None, None, Place("wall.toml", 3))
    (step,) = steps(field_, ASKER, {})
    # Source: the service's API pages: ids, format=raw, hours; at most 100 requests a minute.
    assert step.request.url == "https://aviationweather.gov/api/data/metar?ids=EGHD&format=raw&hours=4"
    assert step.least >= timedelta(minutes=1)
    other = SourceSpec("f", "observation", {"station": "EGHE"}, None, None, Place("wall.toml", 3))
    assert identity_of(field_, ASKER) != identity_of(other, ASKER)


def test_a_station_from_a_server(bench: Bench) -> None:
    bench.options = {"station": "EGHD"}
    bench.serve("/index", "METAR EGHD 140650Z 24016G28KT 9999 -RA BKN012 08/06 Q1001\n")
    given = bench.get(kind="observation")
    assert given.trouble is None
    assert isinstance(given.fact, Observation)
    assert given.fact.beaufort == 4
    assert given.fact.origin.issued_at == datetime(2026, 3, 14, 6, 50, tzinfo=UTC)
