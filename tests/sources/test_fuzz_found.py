"""What the fuzzing has found, each once more in its shortest form."""

import json
from contextlib import suppress
from datetime import UTC, datetime
from typing import Any

import pytest
from tests.sources.fuzz_seeds import Seed, seeds
from tests.sources.world_bench import context

from wallbill.errors import SourceError
from wallbill.facts.forecast import Forecast
from wallbill.facts.track import Track
from wallbill.sources import agenda
from wallbill.sources.reading import reader


def spoilt(parser: str, change: Any) -> Any:
    """What a parser makes of its first seed with a change to its JSON."""
    seed = next(seed for seed in seeds(parser) if b"error" not in seed.data[:20])
    told = json.loads(seed.data)
    change(told)
    it = Seed(json.dumps(told).encode(), seed.options).context(parser)
    return reader(it.spec)(json.dumps(told).encode(), it)


@pytest.mark.parametrize(
    "time", ["9999-12-31T23:59:59Z", "0001-01-01T00:00:00+14:00", "2500-01-01T00:00:00Z"]
)
def test_times_near_the_ends_of_the_calendar_are_left_out(time: str) -> None:
    def late(told: Any) -> None:
        told["properties"]["timeseries"][5]["time"] = time

    found = spoilt("forecast met-norway", late)
    assert isinstance(found, Forecast)
    assert "sources.left-out" in [finding.rule for finding in found.origin.findings]
    assert found.hours


@pytest.mark.parametrize("time", [10**11, 253_402_300_799, -(10**10)])
def test_unix_times_near_the_ends_of_the_calendar_are_left_out(time: int) -> None:
    def late(told: Any) -> None:
        told["hourly"]["time"][5] = time

    found = spoilt("forecast open-meteo", late)
    assert "sources.left-out" in [finding.rule for finding in found.origin.findings]
    assert len(found.days) < 20


def test_an_offset_that_is_none_is_refused() -> None:
    with pytest.raises(SourceError, match="utc_offset"):
        spoilt("forecast open-meteo", lambda told: told.update(utc_offset_seconds=10**20))


def test_hours_a_century_apart_make_few_days() -> None:
    def late(told: Any) -> None:
        told["weather"][-1]["timestamp"] = "2150-01-01T00:00:00+00:00"

    assert len(spoilt("forecast bright-sky", late).days) < 5


def zoned(name: str, offset: str) -> bytes:
    """A calendar with an event at ten in a zone that it makes up."""
    lines = [
        "BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:x", "BEGIN:VTIMEZONE", f"TZID:{name}", "BEGIN:STANDARD",
        "DTSTART:19700101T000000", f"TZOFFSETFROM:{offset}", f"TZOFFSETTO:{offset}", "END:STANDARD", "END:VTIMEZONE",
        "BEGIN:VEVENT", "UID:a", "DTSTAMP:20260101T000000Z", f"DTSTART;TZID={name}:20260315T100000",
        f'DTEND;TZID="{name}":20260315T110000', "SUMMARY:Row", "END:VEVENT", "END:VCALENDAR", "",
    ]  # fmt: skip
    return "\r\n".join(lines).encode()


@pytest.mark.parametrize(
    "name", ["Customized Time Zone", "/hut.invalid/Europe/Nowhere", "Hut, north", "Europe/" + "Londo" * 80]
)
def test_a_zone_that_a_calendar_makes_up_is_its_own(name: str) -> None:
    told = name if "," not in name else name.replace(",", "")
    for offset, hour in (("+0100", 9), ("+0500", 5), ("-0300", 13), ("+0100", 9)):
        found = agenda.parse(zoned(told, offset), context("agenda"))
        (event,) = found.events
        assert event.starts == datetime(2026, 3, 15, hour, tzinfo=UTC)
        assert event.ends == datetime(2026, 3, 15, hour + 1, tzinfo=UTC)
        assert found.origin.findings == ()


@pytest.mark.parametrize(
    "rule",
    [
        "RRULE:FREQ=SECONDLY",
        "FREQ=DAILY;FREQ=SECONDLY",
        "COUNT=3",
        "FREQ=DAILY;X:FREQ=SECONDLY",
        "FREQ=OFTEN",
    ],
)
def test_a_rule_that_is_none_is_left_out(rule: str) -> None:
    text = zoned("Europe/London", "+0000").replace(b"SUMMARY:Row", f"SUMMARY:Row\r\nRRULE:{rule}".encode())
    found = agenda.parse(text, context("agenda"))
    assert found.events == ()
    assert found.origin.findings


def test_two_calendars_of_one_payload_have_each_their_own_zone() -> None:
    both = zoned("Customized Time Zone", "+0100") + zoned("Customized Time Zone", "+0500").replace(
        b"UID:a", b"UID:b"
    )
    found = agenda.parse(both, context("agenda"))
    assert [event.starts for event in found.events] == [
        datetime(2026, 3, 15, 5, tzinfo=UTC),
        datetime(2026, 3, 15, 9, tzinfo=UTC),
    ]


@pytest.mark.parametrize(
    "reply", [b'{"fault": 1}', b'{"fault": {}}', b'{"fault": {"what": "it broke", "line": "x"}}']
)
def test_a_spoilt_reply_of_a_function_is_told(reply: bytes) -> None:
    it = context("own", options={"function": "rota:who"})
    with pytest.raises(SourceError):
        reader(it.spec)(reply, it)


@pytest.mark.parametrize("inside", ["&#xD800;", "&#0;", "<61/>", "<a:61/>", "<é/>"])
def test_signs_that_no_feed_may_hold(inside: str) -> None:
    it = context("feed")
    body = f"<rss version='2.0'><channel><item><title>T {inside}</title></item></channel></rss>"
    found = reader(it.spec)(body.encode(), it)
    assert "T" in str(found)


@pytest.mark.parametrize(
    "odd", ["<x:9999KT xmlns:x='urn:x'/>", "<p xmlns9999KT='urn:x'/>", '<p xmlns9999KT="urn:x"/>']
)
def test_a_name_that_no_element_may_have_is_told(odd: str) -> None:
    point = f"<trkpt lat='50' lon='-4'>{odd}</trkpt>"
    body = f"<gpx xmlns='http://www.topografix.com/GPX/1/1' version='1.1'><trk><trkseg>{point}</trkseg></trk></gpx>"
    it = context("track")
    with suppress(SourceError):
        assert isinstance(reader(it.spec)(body.encode(), it), Track)


def test_a_feed_over_which_the_library_stumbles_is_refused() -> None:
    body = b"<rss version='2.0'><channel><item><link>a<item><title>x</title></item></link></item></channel></rss>"
    it = context("feed")
    with pytest.raises(SourceError, match="cannot be understood"):
        reader(it.spec)(body, it)
