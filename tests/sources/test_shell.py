"""Gathering from files, a real server and what was kept."""

import itertools
import json
import socket
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from tests.sources.weather_bench import payload, spec_of
from tests.sources.web_server import Web, plain, slow, tagged, web

from wallbill.errors import Place
from wallbill.facts.agenda import Agenda
from wallbill.facts.forecast import Forecast
from wallbill.facts.origin import Freshness
from wallbill.facts.supply import Supplied, Supply
from wallbill.sources.fetching import Limits
from wallbill.sources.shell import Gathering, gather
from wallbill.sources.shell_keeping import Keeper
from wallbill.sources.spec import SourceSpec

START = datetime(2026, 3, 14, 7, 7, tzinfo=UTC)
MINUTE = timedelta(minutes=1)
CALENDAR = """BEGIN:VCALENDAR\r
VERSION:2.0\r
PRODID:-//Fennel Quay//EN\r
BEGIN:VEVENT\r
UID:1@fennel-quay.invalid\r
DTSTAMP:20260301T000000Z\r
DTSTART:20260314T180000Z\r
SUMMARY:{summary}\r
END:VEVENT\r
END:VCALENDAR\r
"""


@dataclass
class Clock:
    now: datetime = START

    def __call__(self) -> datetime:
        return self.now

    def pass_(self, length: timedelta) -> None:
        self.now += length


@dataclass
class Bench:
    """A wall with a server, a clock and a keeper."""

    web: Web
    clock: Clock
    keeper: Keeper
    context: Gathering

    def gather(self, *specs: SourceSpec, offline: bool = False, **changes: Any) -> Supply:
        context = replace(self.context, **changes)
        return gather(specs, context, keeper=self.keeper, offline=offline, clock=self.clock)

    def get(self, spec: SourceSpec, **more: Any) -> Supplied:
        return self.gather(spec, **more).sources[spec.name]

    def weather(self, path: str = "/weather", **options: Any) -> SourceSpec:
        url = self.web.url(path)
        return spec_of("open-meteo", url=url, private_hosts=["localhost", "127.0.0.1"], **options)

    def club(self, path: str = "/club.ics", host: str = "localhost", **options: object) -> SourceSpec:
        named = {"url": self.web.url(path, host), "private_hosts": ["localhost", "127.0.0.1"], **options}
        return SourceSpec("club", "agenda", named, 30 * MINUTE, timedelta(days=1), Place("wall.toml", 20))


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    folder = tmp_path / "wall"
    folder.mkdir()
    context = Gathering(
        folder=folder,
        zone=ZoneInfo("Europe/London"),
        latitude_deg=50.31,
        longitude_deg=-4.05,
        language="en-GB",
        elevation_m=12.0,
        contact="keeper@fennel-quay.invalid",
        limits=Limits(total_s=3.0),
        total_s=10.0,
    )
    with web() as server, Keeper(folder / ".wallbill" / "facts.sqlite") as keeper:
        yield Bench(server, Clock(), keeper, context)


def events(given: Supplied) -> list[str]:
    assert isinstance(given.fact, Agenda)
    return [event.summary for event in given.fact.events]


def calendar(summary: str) -> bytes:
    return CALENDAR.format(summary=summary).encode()


WEATHER = payload("open-meteo-forecast.json")


def test_weather_comes_from_the_network(bench: Bench) -> None:
    bench.web.pages["/weather"] = plain(WEATHER)
    given = bench.get(bench.weather())
    assert given.trouble is None
    assert isinstance(given.fact, Forecast)
    assert given.fact.origin.fetched_at == START
    assert given.freshness(START) is Freshness.FRESH
    assert given.due_at is not None
    assert given.due_at >= START + 25 * MINUTE
    ((path, sent),) = bench.web.asked
    assert path.startswith("/weather?latitude=50.31&longitude=-4.05&")
    assert "keeper@fennel-quay.invalid" in sent["user-agent"]


def test_a_source_is_not_asked_again_before_it_is_due(bench: Bench) -> None:
    bench.web.pages["/weather"] = plain(WEATHER)
    first = bench.get(bench.weather())
    bench.clock.pass_(5 * MINUTE)
    second = bench.get(bench.weather())
    assert len(bench.web.asked) == 1
    assert second.fact == first.fact
    assert second.due_at == first.due_at
    bench.clock.pass_(40 * MINUTE)
    bench.get(bench.weather())
    assert len(bench.web.asked) == 2


def test_what_has_not_changed_is_confirmed(bench: Bench) -> None:
    bench.web.pages["/club.ics"] = tagged(calendar("Rowing"), '"1"')
    bench.get(bench.club())
    bench.clock.pass_(40 * MINUTE)
    given = bench.get(bench.club())
    assert bench.web.asked[1][1]["if-none-match"] == '"1"'
    assert events(given) == ["Rowing"]
    assert given.facts[0].origin.fetched_at == START + 40 * MINUTE  # its publisher says that it still holds
    assert given.trouble is None
    bench.web.pages["/club.ics"] = tagged(calendar("Regatta"), '"2"')
    bench.clock.pass_(40 * MINUTE)
    assert events(bench.get(bench.club())) == ["Regatta"]


def test_last_modified_goes_back_exactly(bench: Bench) -> None:
    told = "Sat, 14 Mar 2026 05:37:00 GMT"
    bench.web.pages["/weather"] = plain(WEATHER, last_modified=told)
    bench.get(bench.weather())
    bench.clock.pass_(90 * MINUTE)
    bench.get(bench.weather())
    assert bench.web.asked[1][1]["if-modified-since"] == told


def test_expires_is_obeyed(bench: Bench) -> None:
    dates: dict[str, Any] = {
        "date": "Sat, 14 Mar 2026 07:07:00 GMT",
        "expires": "Sat, 14 Mar 2026 09:07:00 GMT",
    }
    bench.web.pages["/weather"] = plain(WEATHER, **dates)
    bench.get(bench.weather())
    bench.clock.pass_(119 * MINUTE)
    bench.get(bench.weather())
    assert len(bench.web.asked) == 1
    bench.clock.pass_(11 * MINUTE)
    bench.get(bench.weather())
    assert len(bench.web.asked) == 2


def test_when_a_service_is_down_the_last_good_facts_stand_in(bench: Bench) -> None:
    bench.web.pages["/weather"] = plain(WEATHER)
    good = bench.get(bench.weather())
    bench.web.pages["/weather"] = plain(b"", 503, retry_after="3600")
    bench.clock.pass_(40 * MINUTE)
    given = bench.get(bench.weather())
    assert given.fact == good.fact
    assert given.trouble is not None
    assert "503" in given.trouble.what
    assert given.due_at is not None
    assert given.due_at >= bench.clock.now + 60 * MINUTE

    bench.clock.pass_(50 * MINUTE)  # still within the time that the server asked for
    again = bench.get(bench.weather())
    assert len(bench.web.asked) == 2
    assert again.trouble is not None
    assert again.trouble.what == given.trouble.what
    assert again.fact == good.fact

    bench.web.pages["/weather"] = plain(WEATHER)
    bench.clock.pass_(20 * MINUTE)
    healed = bench.get(bench.weather())
    assert len(bench.web.asked) == 3
    assert healed.trouble is None
    assert healed.facts[0].origin.fetched_at == bench.clock.now


def test_facts_that_stand_in_grow_stale_as_their_age_says(bench: Bench) -> None:
    bench.web.pages["/weather"] = plain(WEATHER)
    spec = replace(bench.weather(), good_for=timedelta(hours=3))
    bench.get(spec)
    bench.web.pages["/weather"] = plain(b"", 500)
    bench.clock.pass_(timedelta(hours=2))
    assert bench.get(spec).freshness(bench.clock.now) is Freshness.FRESH
    bench.clock.pass_(timedelta(hours=2))
    given = bench.get(spec)
    assert given.freshness(bench.clock.now) is Freshness.STALE
    assert given.fact is not None


def test_failures_in_a_row_are_tried_less_and_less(bench: Bench) -> None:
    bench.web.pages["/weather"] = plain(b"", 500)
    waits = []
    for _ in range(5):
        given = bench.get(bench.weather())
        assert given.due_at is not None
        waits.append((given.due_at - bench.clock.now) / MINUTE)
        bench.clock.now = given.due_at
    assert len(bench.web.asked) == 5
    assert all(b > 1.5 * a for a, b in itertools.pairwise(waits))


def test_a_mended_source_is_tried_at_once(bench: Bench) -> None:
    bench.web.pages["/club.ics"] = plain(calendar("Rowing"))
    wrong = bench.club(ahead="soon")
    for _ in range(3):
        given = bench.get(wrong)
        assert given.trouble is not None
        assert "soon" in given.trouble.what
    assert len(bench.web.asked) == 1  # it is not asked over and over for what is not its fault
    assert events(bench.get(bench.club(ahead="60 days"))) == ["Rowing"]
    given = bench.get(wrong)  # now the payload is kept, and only its reading fails
    assert given.trouble is not None
    assert events(bench.get(bench.club(ahead="61 days"))) == ["Rowing"]
    assert len(bench.web.asked) == 2


def test_a_login_page_does_not_take_the_place_of_facts(bench: Bench) -> None:
    bench.web.pages["/weather"] = tagged(WEATHER, '"good"')
    good = bench.get(bench.weather())
    bench.web.pages["/weather"] = plain(b"<html>Please sign in</html>", etag='"login"')
    bench.clock.pass_(40 * MINUTE)
    given = bench.get(bench.weather())
    assert given.fact == good.fact
    assert given.trouble is not None
    assert "web page" in given.trouble.what
    bench.web.pages["/weather"] = tagged(WEATHER, '"good"')
    bench.clock.pass_(40 * MINUTE)
    assert bench.get(bench.weather()).trouble is None
    assert bench.web.asked[-1][1]["if-none-match"] == '"good"'  # the page's own tag was not taken


def test_one_broken_source_hides_no_other(bench: Bench) -> None:
    bench.web.pages["/weather"] = plain(b"", 500)
    bench.web.pages["/club.ics"] = plain(calendar("Rowing"))
    sky = SourceSpec("sky", "sky", {}, None, None, Place())
    odd = SourceSpec("odd", "tide", {}, None, None, Place("wall.toml", 3))
    supply = bench.gather(bench.weather(), bench.club(), sky, odd)
    assert list(supply.sources) == ["forecast", "club", "sky", "odd"]
    assert supply.sources["forecast"].trouble is not None
    assert events(supply.sources["club"]) == ["Rowing"]
    assert supply.sources["sky"].trouble is None
    assert supply.sources["odd"].trouble is not None
    assert supply.stale(START) == ("forecast", "odd")


def test_a_readers_own_mistake_is_a_trouble_too(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("wallbill.sources.shell.reader", lambda spec: broken)
    sky = SourceSpec("sky", "sky", {}, None, None, Place())
    given = bench.get(sky)
    assert given.fact is None
    assert given.trouble is not None
    assert "ZeroDivisionError" in given.trouble.what


def test_offline_opens_no_socket(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    bench.web.pages["/weather"] = plain(WEATHER)
    good = bench.get(bench.weather())
    bench.clock.pass_(timedelta(hours=20))

    def refused(*_: object, **__: object) -> None:
        raise AssertionError("a socket was opened")

    for name in ("socket", "create_connection", "getaddrinfo"):
        monkeypatch.setattr(socket, name, refused)
    given, missing = bench.gather(bench.weather(), bench.club(), offline=True).sources.values()
    assert given.fact == good.fact
    assert given.trouble is None
    assert given.freshness(bench.clock.now) is Freshness.STALE
    assert missing.fact is None
    assert missing.trouble is not None
    assert "nothing is kept of it" in missing.trouble.what
    assert missing.trouble.mend
    assert missing.freshness(bench.clock.now) is Freshness.MISSING


def test_another_address_makes_what_was_kept_useless(bench: Bench) -> None:
    bench.web.pages["/one.ics"] = plain(calendar("One"))
    bench.web.pages["/two.ics"] = plain(b"", 500)
    assert events(bench.get(bench.club("/one.ics"))) == ["One"]
    given = bench.get(bench.club("/two.ics"))
    assert given.fact is None
    assert given.trouble is not None
    assert bench.get(bench.club("/two.ics"), offline=True).fact is None


def test_without_a_contact_a_service_is_not_asked_and_old_facts_stay(bench: Bench) -> None:
    spec = replace(bench.weather(), options={**bench.weather().options, "service": "met-norway"})
    bench.web.pages["/weather"] = plain(payload("locationforecast-compact.json"))
    good = bench.get(spec)
    assert good.trouble is None
    given = bench.get(spec, contact="")
    assert given.trouble is not None
    assert "contact" in given.trouble.mend
    assert given.fact == good.fact
    assert len(bench.web.asked) == 1


def test_private_hosts_must_be_named(bench: Bench) -> None:
    bench.web.pages["/club.ics"] = plain(calendar("Rowing"))
    given = bench.get(bench.club(private_hosts=[]))
    assert given.trouble is not None
    assert "private network" in given.trouble.what
    assert bench.web.asked == []


def test_secrets_are_neither_printed_nor_kept(bench: Bench) -> None:
    spec = bench.club("/private/tok3n", user="keeper", password="hush", headers={"X-Key": "k3y"})
    for page in (plain(b'{"detail": "no such calendar /private/tok3n"}', 404), plain(b"BEGIN", 200)):
        bench.web.pages["/private/tok3n"] = page
        given = bench.get(spec)
        assert given.trouble is not None
        told = f"{given} {given.trouble} {given.trouble!r} {spec!r}"
        assert not any(secret in told for secret in ("tok3n", "hush", "k3y"))
        bench.clock.pass_(10 * MINUTE)
    bench.web.pages["/private/tok3n"] = plain(calendar("Rowing"))
    bench.clock.pass_(timedelta(hours=1))
    assert events(bench.get(spec)) == ["Rowing"]
    assert bench.web.asked[-1][1]["x-key"] == "k3y"
    bench.keeper.close()
    kept = b"".join(file.read_bytes() for file in (bench.context.folder / ".wallbill").iterdir())
    assert b"Rowing" in kept
    assert not any(secret in kept for secret in (b"tok3n", b"hush", b"k3y"))


def test_a_service_that_will_go_away_is_told(bench: Bench) -> None:
    # MET Norway answers 203 where an edition is beta or deprecated (metno/weatherapi-docs, StatusCodes).
    bench.web.pages["/weather"] = plain(WEATHER, 203)
    assert [f.rule for f in bench.get(bench.weather()).findings] == ["sources.deprecated"]
    assert [f.rule for f in bench.get(bench.weather()).findings] == [
        "sources.deprecated"
    ]  # and from what was kept


def test_who_is_late_is_given_up_and_the_others_are_there(bench: Bench) -> None:
    bench.web.pages["/weather"] = slow(WEATHER, 3.0)
    bench.web.pages["/club.ics"] = plain(calendar("Rowing"))
    begun = time.monotonic()
    late, there = bench.gather(bench.weather(), bench.club(host="127.0.0.1"), total_s=0.6).sources.values()
    assert time.monotonic() - begun < 2
    assert late.trouble is not None
    assert "given up after 0.6 s" in late.trouble.what
    assert events(there) == ["Rowing"]


def test_hosts_are_asked_at_once_but_each_one_thing_at_a_time(bench: Bench) -> None:
    for path in ("/a", "/b", "/c", "/d"):
        bench.web.pages[path] = slow(calendar(path), 0.25)
    at = [("/a", "localhost"), ("/b", "localhost"), ("/c", "127.0.0.1"), ("/d", "127.0.0.1")]
    specs = [replace(bench.club(path, host), name=f"club{path[1]}") for path, host in at]
    begun = time.monotonic()
    supply = bench.gather(*specs)
    assert time.monotonic() - begun < 0.95
    assert [given.trouble for given in supply.sources.values()] == [None] * 4
    assert bench.web.open_most == 2


def nws(bench: Bench) -> SourceSpec:
    base = bench.web.url("")
    for path, name in (("/points/50.31,-4.05", "nws-points"), ("/gridpoints/XYZ/71,42/forecast", "nws-forecast"),
                       ("/gridpoints/XYZ/71,42/forecast/hourly", "nws-forecast-hourly")):  # fmt: skip
        text = payload(f"{name}.json").decode().replace("https://weather.example", base)
        bench.web.pages[path] = plain(text.encode())
    return spec_of("nws", url=base, private_hosts=["localhost"])


def test_a_forecast_in_three_steps(bench: Bench) -> None:
    given = bench.get(nws(bench))
    assert given.trouble is None
    assert isinstance(given.fact, Forecast)
    assert len(given.fact.hours) == 50
    assert bench.web.paths == [
        "/points/50.31,-4.05",
        "/gridpoints/XYZ/71,42/forecast/hourly",
        "/gridpoints/XYZ/71,42/forecast",
    ]
    bench.clock.pass_(40 * MINUTE)
    bench.get(nws(bench))
    assert len(bench.web.asked) == 5  # the point is asked for once a day


def test_one_half_of_a_forecast_is_better_than_none(bench: Bench) -> None:
    spec = nws(bench)
    bench.web.pages["/gridpoints/XYZ/71,42/forecast/hourly"] = plain(b"", 500)
    given = bench.get(spec)
    assert isinstance(given.fact, Forecast)
    assert len(given.fact.hours) == 6
    assert given.trouble is not None
    bench.web.pages["/points/50.31,-4.05"] = plain(b"{}")
    bench.clock.pass_(timedelta(days=2))
    old = bench.get(spec)
    assert old.trouble is not None
    assert isinstance(old.fact, Forecast)


def test_a_point_that_leads_nowhere(bench: Bench) -> None:
    spec = nws(bench)
    bench.web.pages["/points/50.31,-4.05"] = plain(
        json.dumps({"title": "Not Found", "status": 404}).encode(), 404
    )
    given = bench.get(spec)
    assert given.fact is None
    assert given.trouble is not None
    assert "404" in given.trouble.what
    assert len(bench.web.asked) == 1


def filed(
    bench: Bench, body: bytes | None, name: str = "payloads/weather.json", **options: Any
) -> SourceSpec:
    if body is not None:
        path = bench.context.folder / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(body)
    return spec_of("met-norway", file=name, **options)


def test_a_file_is_read_in_place_of_the_network(bench: Bench) -> None:
    spec = filed(bench, payload("locationforecast-compact.json"))
    for offline in (True, False):
        given = bench.get(spec, offline=offline, contact="")
        assert given.trouble is None
        assert given.due_at is None
        origin = given.facts[0].origin
        # Its age is that of its issue; the file's own date, which a checkout makes new, says nothing.
        assert origin.issued_at == datetime(2026, 3, 14, 5, 37, tzinfo=UTC)
        assert origin.fetched_at == START
    assert bench.web.asked == []


def test_a_file_that_is_broken_just_now_is_stood_in_for_by_what_it_last_held(bench: Bench) -> None:
    good = bench.get(filed(bench, payload("locationforecast-compact.json")))
    for body in (payload("locationforecast-compact.json")[:3000], b""):
        given = bench.get(filed(bench, body))
        assert given.fact is not None
        assert isinstance(given.fact, Forecast)
        assert isinstance(good.fact, Forecast)
        assert given.fact.hours == good.fact.hours
        assert given.trouble is not None
    (bench.context.folder / "payloads" / "weather.json").unlink()
    gone = bench.get(filed(bench, None))
    assert gone.fact is not None
    assert gone.trouble is not None
    assert "no such file" in gone.trouble.what


@pytest.mark.parametrize(
    "name", ["../weather.json", "payloads/../../weather.json", "/etc/hostname", "link.json", "", "a\0b"]
)
def test_no_file_outside_the_wall_is_read(bench: Bench, name: str) -> None:
    outside = bench.context.folder.parent / "weather.json"
    outside.write_bytes(payload("locationforecast-compact.json"))
    (bench.context.folder / "link.json").symlink_to(outside)
    given = bench.get(filed(bench, None, name))
    assert given.fact is None
    assert given.trouble is not None
    assert given.trouble.where == Place("wall.toml", 9, "sources.forecast")


def test_a_file_that_is_too_large(bench: Bench) -> None:
    spec = filed(bench, payload("locationforecast-compact.json"))
    given = bench.get(spec, limits=Limits(body_bytes=1000))
    assert given.trouble is not None
    assert "larger than" in given.trouble.what


def test_own_functions_are_called(bench: Bench) -> None:
    (bench.context.folder / "facts").mkdir()
    file = bench.context.folder / "facts" / "rota.py"
    file.write_text("def who(today):\n    return {'who': 'Perran', 'day': today}\n")
    spec = SourceSpec("rota", "own", {"function": "rota:who"}, None, None, Place("wall.toml", 30))
    good = bench.get(spec, offline=True)
    assert good.trouble is None
    assert "Perran" in str(good.fact)
    file.write_text("def who(today):\n    return 1 / 0\n")
    given = bench.get(spec)
    assert "Perran" in str(given.fact)
    assert given.trouble is not None
    assert given.trouble.where.file == "facts/rota.py"


def test_without_a_keeper_there_is_no_yesterday(bench: Bench) -> None:
    bench.web.pages["/weather"] = plain(WEATHER)
    spec = bench.weather()
    (given,) = gather([spec], bench.context, keeper=None, clock=bench.clock).sources.values()
    assert given.fact is not None
    (missing,) = gather([spec], bench.context, keeper=None, offline=True, clock=bench.clock).sources.values()
    assert missing.fact is None


def test_a_keeper_that_fails_costs_nothing_but_the_keeping(bench: Bench) -> None:
    bench.web.pages["/weather"] = plain(WEATHER)
    bench.keeper.close()
    given = bench.get(bench.weather())
    assert given.fact is not None
    assert given.trouble is not None
    assert "cannot be kept" in given.trouble.what
    file = bench.get(filed(bench, payload("locationforecast-compact.json")))
    assert file.fact is not None
    assert file.trouble is not None
    assert bench.get(bench.weather(), offline=True).fact is None
