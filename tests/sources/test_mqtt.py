"""What MQTT messages say: topics, payloads, ages; no broker is needed for that."""

import json
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.sources.house_bench import NOW, context_of, spec_of

from wallbill.errors import SourceError
from wallbill.facts.origin import Freshness
from wallbill.facts.values import Group, Value, Values
from wallbill.sources.mqtt import broker_of, filters_of, parse, topics_of
from wallbill.sources.mqtt_messages import PAYLOAD_MOST, Message, heard, merged, packed, unpacked_messages
from wallbill.sources.mqtt_topics import filter_fault, is_open, opened
from wallbill.units.quantity import Quantity

HOUR = timedelta(hours=1)
MINUTE = timedelta(minutes=1)


# --- topics: OASIS MQTT 5.0, 4.7.1 and 4.7.2, the examples of the text (from memory)


@pytest.mark.parametrize(
    ("asked", "topic", "found"),
    [
        ("sport/tennis/player1/#", "sport/tennis/player1", ""),
        ("sport/tennis/player1/#", "sport/tennis/player1/ranking", "ranking"),
        ("sport/tennis/player1/#", "sport/tennis/player1/score/wimbledon", "score/wimbledon"),
        ("sport/#", "sport", ""),
        ("sport/tennis/+", "sport/tennis/player1", "player1"),
        ("sport/tennis/+", "sport/tennis/player1/ranking", None),
        ("sport/+", "sport", None),
        ("sport/+", "sport/", ""),
        ("+/+", "/finance", "/finance"),
        ("/+", "/finance", "finance"),
        ("+", "/finance", None),
        ("#", "$SYS/uptime", None),
        ("+/monitor/Clients", "$SYS/monitor/Clients", None),
        ("$SYS/#", "$SYS/uptime", "uptime"),
        ("$SYS/monitor/+", "$SYS/monitor/Clients", "Clients"),
        ("house/boiler", "house/boiler", ""),
        ("house/boiler", "House/boiler", None),
        ("house/boiler", "house/boiler/", None),
    ],
)
def test_filters_match_topics_as_the_standard_says(asked: str, topic: str, found: str | None) -> None:
    assert opened(asked, topic) == found


@pytest.mark.parametrize(
    "text", ["#", "+", "sport/#", "+/tennis/#", "sport/+/player1", "/", "a b/ü", "$SYS/#"]
)
def test_good_filters(text: str) -> None:
    assert filter_fault(text) is None


@pytest.mark.parametrize(
    "text",
    ["", "sport/tennis#", "sport/tennis/#/ranking", "sport+", "a/+b/c", "a\0b", "x" * 65536, "$share/g/a"],
)
def test_bad_filters(text: str) -> None:
    assert filter_fault(text)


# --- what a wall says


def house(**values: Any) -> Any:
    return spec_of("mqtt", broker="broker.lan", values=values)


def test_the_broker_and_its_defaults() -> None:
    plain = broker_of(spec_of("mqtt", broker="broker.lan"))
    assert (plain.host, plain.port, plain.tls, plain.protocol, plain.qos, plain.listen_s) == (
        "broker.lan", 1883, False, "3.1.1", 0, 3.0,
    )  # fmt: skip
    assert broker_of(spec_of("mqtt", broker="broker.lan", tls=True)).port == 8883
    assert broker_of(spec_of("mqtt", broker="broker.lan", ca="ca.pem")).tls
    assert broker_of(spec_of("mqtt", broker="[fd00::1]")).host == "fd00::1"
    assert "hunter2" not in repr(broker_of(spec_of("mqtt", broker="b", user="me", password="hunter2")))


@pytest.mark.parametrize(
    ("options", "field"),
    [
        ({}, "broker"),
        ({"broker": "mqtt://broker.lan"}, "broker"),
        ({"broker": "me@broker.lan"}, "broker"),
        ({"broker": "broker.lan:1883"}, "broker"),
        ({"broker": "b", "port": 0}, "port"),
        ({"broker": "b", "port": True}, "port"),
        ({"broker": "b", "qos": 3}, "qos"),
        ({"broker": "b", "protocol": "4"}, "protocol"),
        ({"broker": "b", "listen": "soon"}, "listen"),
        ({"broker": "b", "tls": "yes"}, "tls"),
    ],
)
def test_a_broker_that_is_told_wrongly(options: dict[str, Any], field: str) -> None:
    with pytest.raises(SourceError) as caught:
        broker_of(spec_of("mqtt", **options))
    assert (caught.value.where.file, caught.value.where.line, caught.value.where.field) == (
        "wall.toml",
        7,
        field,
    )
    assert caught.value.mend


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({}, "values"),
        ({"boiler": "house/boiler"}, "values.boiler"),
        ({"boiler": {"unit": "°C"}}, "values.boiler"),
        ({"boiler": {"topic": "a/#/b"}}, "values.boiler"),
        ({"boiler": {"topic": "a", "unit": "degrees"}}, "values.boiler.unit"),
        ({"boiler": {"topic": "a", "pick": "a..b"}}, "values.boiler.pick"),
        ({"boiler": {"topic": "a", "as": "colour"}}, "values.boiler.as"),
        ({"boiler": {"topic": "a", "good_for": "long"}}, "values.boiler.good_for"),
        ({"boiler": {"topic": "a", "tpoic": "b"}}, "values.boiler.tpoic"),
        ({"boiler": {"topic": "a", "availability": "a/+"}}, "values.boiler"),
        ({"items": {"topic": "a"}}, "values.items"),
        ({"two words": {"topic": "a"}}, "values.two words"),
        ({f"v{n}": {"topic": "a"} for n in range(201)}, "values"),
    ],
)
def test_values_that_are_told_wrongly(values: dict[str, Any], field: str) -> None:
    with pytest.raises(SourceError) as caught:
        topics_of(house(**values))
    assert caught.value.where.field == field
    assert caught.value.where.line == 7
    assert caught.value.mend


def test_each_filter_is_asked_for_once() -> None:
    spec = house(
        a={"topic": "x/y", "availability": "x/is"},
        b={"topic": "x/y", "availability": "x/is"},
        c={"topic": "z/#"},
    )
    assert filters_of(topics_of(spec)) == ("x/y", "z/#", "x/is")
    assert is_open("z/#")
    assert not is_open("x/y")


# --- payloads


def read(payload: bytes | str, *, at: datetime | None = NOW, **options: Any) -> Values:
    body = payload.encode() if isinstance(payload, str) else payload
    message = Message("house/it", body, retained=at is None, at=at, held_at=None, seen_at=NOW)
    spec = house(it={"topic": "house/it", **options})
    return parse(packed([message]), context_of(spec))


def it(values: Values) -> Value:
    found = values.it
    assert isinstance(found, Value)
    return found


@pytest.mark.parametrize(
    ("payload", "options", "value", "unit"),
    [
        ("61.5", {"unit": "°C"}, 61.5, "°C"),
        ("61.5", {}, 61.5, None),
        ("-3", {"unit": "°C"}, -3.0, "°C"),
        ("−3", {"unit": "°C"}, -3.0, "°C"),
        (" 61.5 °C\n", {"unit": "°C"}, 61.5, "°C"),
        ("61.5°C", {}, 61.5, "°C"),
        ("212 °F", {"unit": "°C"}, 100.0, "°C"),
        ("1e3", {"unit": "W"}, 1000.0, "W"),
        (".5", {"unit": "m"}, 0.5, "m"),
        ('"61.5"', {"unit": "°C"}, 61.5, "°C"),
        ("true", {}, True, None),
        ("false", {}, False, None),
        ("ON", {}, True, None),
        ("off", {}, False, None),
        ("online", {}, True, None),
        ('"Offline"', {}, False, None),
        ("open", {"as": "truth"}, True, None),
        ("closed", {"as": "truth"}, False, None),
        ("0", {"as": "truth"}, False, None),
        ("open", {}, "open", None),
        ("Spring tide", {}, "Spring tide", None),
        ("two\n lines\x07", {}, "two lines", None),
        ("12 A", {"as": "text"}, "12 A", None),
        ("007", {"as": "text"}, "007", None),
        ("", {}, None, None),
        ("  ", {"unit": "°C"}, None, None),
        ("null", {}, None, None),
        ("unavailable", {"unit": "°C"}, None, None),
        ('{"t": {"v": 7}}', {"pick": "t.v", "unit": "km/h"}, 7.0, "km/h"),
        (
            '{"sensors": [{"id": 1, "v": 3}, {"id": 2, "v": 9}]}',
            {"pick": "sensors[?id==`2`].v | [0]"},
            9.0,
            None,
        ),
        ('{"state": "ON"}', {"pick": "state"}, True, None),
        ('{"n": "x" ', {"as": "text"}, '{"n": "x"', None),
    ],
)
def test_payloads_that_can_be_read(
    payload: str, options: dict[str, Any], value: object, unit: str | None
) -> None:
    found = it(values := read(payload, **options))
    assert (found.value, found.unit) == (pytest.approx(value) if isinstance(value, float) else value, unit)
    assert type(found.value) is type(value)
    assert not values.origin.findings
    if isinstance(value, float) and unit:
        assert found.quantity is not None
        assert found.quantity.value == pytest.approx(value)
        assert found.quantity.unit == unit
    else:
        assert found.quantity is None


@pytest.mark.parametrize(
    ("payload", "options", "words"),
    [
        ("NaN", {"unit": "°C"}, "NaN is no number"),
        ("Infinity", {}, "Infinity is no number"),
        ('{"v": NaN}', {"pick": "v"}, "NaN is no number"),
        ("1e999", {"unit": "W"}, "no finite number"),
        ("nan", {"unit": "°C"}, "no number"),
        ("warm", {"unit": "°C"}, "no number"),
        ("61,5", {"unit": "°C"}, "no number"),
        ("1 234", {"unit": "m"}, "no number"),
        ("5 furlongs", {"unit": "m"}, "unknown unit"),
        ("5 kg", {"unit": "m"}, "cannot give kg"),
        ("true", {"unit": "°C"}, "no number"),
        ("[1, 2]", {}, "a list is no single value"),
        ("{}", {}, "a table is no single value"),
        ('{"a": 1}', {"pick": "b"}, "there is nothing at 'b'"),
        ('{"a": 1}', {"pick": "sum(a)"}, "does not fit"),
        ("61.5 warm", {"pick": "a"}, "no JSON"),
        ("perhaps", {"as": "truth"}, "neither yes nor no"),
        ("2", {"as": "truth"}, "neither yes nor no"),
        (b"\xff\xd8\xff\xe0", {}, "no text"),
        ("[" * 100_000, {}, "larger than"),
        ("[" * 60_000, {}, "nested too deep"),
    ],
)
def test_payloads_that_cannot_be_read_are_gaps(
    payload: str | bytes, options: dict[str, Any], words: str
) -> None:
    values = read(payload, **options)
    assert it(values).value is None
    (finding,) = values.origin.findings
    assert finding.rule == "sources.left-out"
    assert words in finding.what
    assert finding.where.file == "house"
    assert finding.mend


def test_one_gap_does_not_hide_the_others() -> None:
    spec = house(a={"topic": "a", "unit": "°C"}, b={"topic": "b", "unit": "°C"}, c={"topic": "c"})
    told = [heard(topic, body, retained=False, at=NOW) for topic, body in (("a", b"warm"), ("b", b"5"))]
    values = parse(packed(told), context_of(spec))
    assert [value.value for value in values.values() if isinstance(value, Value)] == [None, 5.0, None]
    assert len(values.origin.findings) == 1  # c has said nothing, and that is no fault


def test_many_gaps_become_a_few_findings() -> None:
    spec = house(**{f"v{n}": {"topic": f"t/{n}", "unit": "°C"} for n in range(9)})
    told = [heard(f"t/{n}", b"x", retained=False, at=NOW) for n in range(9)]
    findings = parse(packed(told), context_of(spec)).origin.findings
    assert len(findings) == 6
    assert findings[-1].what == "4 more gaps"


# --- ages


def test_a_live_message_has_an_age_and_a_retained_one_has_none() -> None:
    live, kept = read("1", at=NOW - HOUR), read("1", at=None)
    assert it(live).age(NOW) == HOUR
    assert live.freshness(NOW) is Freshness.FRESH
    assert live.freshness(NOW + 6 * HOUR) is Freshness.STALE
    assert live.origin.issued_at == NOW - HOUR
    assert (it(kept).at, it(kept).age(NOW), it(kept).age_known) == (None, None, False)
    assert kept.freshness(NOW) is Freshness.STALE  # nobody can say that it is not
    assert [finding.rule for finding in kept.origin.findings] == ["sources.age-unknown"]


def test_the_time_in_a_payload_goes_before_all_else() -> None:
    found = it(read('{"v": 1, "t": "2026-03-14T06:00:00Z"}', at=None, pick="v", time="t"))
    assert found.at == datetime(2026, 3, 14, 6, tzinfo=UTC)
    ahead = it(read('{"v": 1, "t": "2031-01-01T00:00:00Z"}', at=None, pick="v", time="t"))
    assert ahead.at == NOW  # a clock that is ahead makes no news
    without = it(read('{"v": 1, "t": "2026-03-14T06:00:00"}', at=None, pick="v", time="t"))
    assert without.at == datetime(2026, 3, 14, 6, tzinfo=UTC)  # London's winter time


def test_a_time_that_cannot_be_read_is_told_and_leaves_the_age_unknown() -> None:
    values = read('{"v": 1, "t": 1773472000}', pick="v", time="t")
    assert (it(values).value, it(values).at) == (1.0, None)
    assert "no time of the format 'iso'" in values.origin.findings[0].what
    assert "time_format" in values.origin.findings[0].mend


def test_seconds_since_1970() -> None:
    spec = spec_of(
        "mqtt", broker="b", time_format="unix", values={"it": {"topic": "t", "pick": "v", "time": "t"}}
    )
    told = packed([heard("t", b'{"v": 1, "t": 1000000000}', retained=False, at=NOW)])
    assert it(parse(told, context_of(spec))).at == datetime(
        2001, 9, 9, 1, 46, 40, tzinfo=UTC
    )  # a well-known moment


def availability(word: bytes, *, live_at: datetime | None = None) -> Values:
    spec = spec_of("mqtt", broker="b", availability="dev/is", values={"it": {"topic": "dev/t"}})
    told = [
        Message("dev/is", word, retained=True, at=None, held_at=None, seen_at=NOW),
        Message("dev/t", b"5", retained=True, at=live_at, held_at=None, seen_at=NOW),
    ]
    return parse(packed(told), context_of(spec))


def test_a_sender_that_is_online_vouches_for_its_values() -> None:
    values = availability(b"online")
    assert it(values).online is True
    assert values.freshness(NOW) is Freshness.FRESH
    assert values.freshness(NOW + 7 * HOUR) is Freshness.STALE  # the broker itself was heard too long ago


def test_a_sender_that_is_offline_makes_its_values_stale() -> None:
    values = availability(b"offline", live_at=NOW)
    assert it(values).online is False
    assert values.freshness(NOW) is Freshness.STALE


@pytest.mark.parametrize("word", [b"", b"perhaps", b"\xff"])
def test_a_sender_that_says_nothing_vouches_for_nothing(word: bytes) -> None:
    values = availability(word)
    assert it(values).online is None
    assert values.freshness(NOW) is Freshness.STALE


# --- filters that leave a level open


def test_a_level_left_open_gives_a_group() -> None:
    spec = house(rooms={"topic": "house/+/temp", "unit": "°C"})
    told = [
        heard(topic, body, retained=False, at=NOW)
        for topic, body in (
            ("house/sail loft/temp", b"14"),
            ("house/kitchen/temp", b"19.5"),
            ("house/hall/temp", b""),
        )
    ]
    values = parse(packed(told), context_of(spec))
    rooms = values.rooms
    assert isinstance(rooms, Group)
    assert list(rooms) == ["kitchen", "sail loft"]  # the hall's was cleared
    kitchen, loft = rooms.kitchen, rooms["sail loft"]
    assert isinstance(kitchen, Value)
    assert isinstance(loft, Value)
    assert (kitchen.quantity, loft.value) == (Quantity(19.5, "°C"), 14.0)
    with pytest.raises(AttributeError, match="there are: kitchen, sail loft"):
        _ = rooms.cellar


def test_a_group_of_nothing_is_there_and_empty() -> None:
    values = parse(packed([]), context_of(house(rooms={"topic": "house/+/temp"})))
    assert isinstance(values.rooms, Group)
    assert len(values.rooms) == 0
    assert values.freshness(NOW) is Freshness.MISSING


# --- what a later listening changes


def told(payload: str, *, retained: bool, at: datetime) -> Message:
    return heard("t", payload.encode(), retained=retained, at=at)


def after(*visits: list[Message]) -> Message:
    known: tuple[Message, ...] = ()
    for number, visit in enumerate(visits):
        known = merged(known, visit, filters=["t"], at=NOW + number * HOUR + MINUTE)
    (message,) = known
    return message


def test_a_retained_message_that_was_heard_live_keeps_its_moment() -> None:
    message = after([told("5", retained=False, at=NOW)], [told("5", retained=True, at=NOW + HOUR)])
    assert (message.at, message.retained, message.seen_at) == (NOW, True, NOW + HOUR)


def test_another_retained_message_is_younger_than_our_last_sight_of_the_former() -> None:
    message = after([told("5", retained=True, at=NOW)], [told("6", retained=True, at=NOW + HOUR)])
    assert (message.at, message.held_at) == (None, NOW)
    spec = house(it={"topic": "t"})
    values = parse(packed([message]), context_of(spec, fetched_at=NOW + HOUR))
    assert values.freshness(NOW + HOUR) is Freshness.FRESH
    assert values.freshness(NOW + 6 * HOUR + MINUTE) is Freshness.STALE


def test_a_topic_that_says_nothing_this_time_keeps_what_it_said_live() -> None:
    message = after([told("5", retained=False, at=NOW)], [])
    assert (message.payload, message.at) == (b"5", NOW)


def test_a_retained_message_that_was_cleared_while_we_were_away_is_no_value() -> None:
    message = after([told("5", retained=True, at=NOW)], [])
    assert message.payload == b""
    again = after([told("5", retained=True, at=NOW)], [], [told("7", retained=True, at=NOW + 2 * HOUR)])
    assert (again.payload, again.held_at) == (b"7", NOW + HOUR + MINUTE)


def test_a_live_message_after_a_retained_one_ends_the_doubt() -> None:
    at = NOW + timedelta(seconds=1)
    message = after([told("5", retained=True, at=NOW), told("5", retained=False, at=at)])
    assert message.at == at


def test_topics_that_nobody_asks_for_any_more_are_forgotten() -> None:
    known = merged([], [heard(t, b"1", retained=False, at=NOW) for t in ("a", "b")], filters=["b"], at=NOW)
    assert [message.topic for message in known] == ["b"]


# --- any payload whatever


_payloads = st.one_of(
    st.binary(max_size=200),
    st.text(max_size=60).map(lambda text: text.encode("utf-8", "replace")),
    st.recursive(
        st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=20),
        lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=5), inner, max_size=4),
        max_leaves=12,
    ).map(lambda value: json.dumps(value).encode()),
    st.sampled_from(
        [b"1e400", b"-", b"+", b"1e", b"9" * 5000, b"\xef\xbb\xbf5", b"0x10", b"1_0", "٣".encode()]
    ),
)


@given(
    payload=_payloads,
    unit=st.sampled_from([None, "°C", "%"]),
    kind=st.sampled_from(["", "number", "text", "truth"]),
    pick=st.sampled_from(
        ["", "a", "[0]", "*", "a.b | [0]", "length(@)", "keys(@)", "sort(@)", "to_number(@)", "max(@)"]
    ),
    time=st.sampled_from(["", "a", "@", "[1]"]),
    style=st.sampled_from(["iso", "unix", "unix-ms", "%d.%m.%Y"]),
)
def test_any_payload_gives_a_value_or_a_gap(
    payload: bytes, unit: str | None, kind: str, pick: str, time: str, style: str
) -> None:
    options = {"topic": "t", "as": kind, "pick": pick, "time": time, **({"unit": unit} if unit else {})}
    spec = spec_of("mqtt", broker="b", time_format=style, values={"it": options})
    values = parse(packed([heard("t", payload, retained=False, at=NOW)]), context_of(spec))
    found = it(values)
    assert found.value is None or isinstance(found.value, float | str | bool)
    assert not isinstance(found.value, float) or abs(found.value) < float("inf")
    assert not isinstance(found.value, str) or (found.value.isprintable() and len(found.value) <= 500)
    assert found.at is None or found.at <= NOW


@given(st.binary(max_size=300) | _payloads)
def test_any_kept_payload_is_read_or_refused(payload: bytes) -> None:
    try:
        parse(payload, context_of(house(it={"topic": "t"})))
    except SourceError as fault:
        assert fault.mend  # noqa: PT017  either outcome is right


@given(
    st.lists(
        st.builds(
            heard,
            st.text(max_size=8),
            st.binary(max_size=8),
            retained=st.booleans(),
            at=st.datetimes(timezones=st.just(UTC)),
        ),
        max_size=5,
    )
)
def test_messages_are_kept_as_they_are(messages: list[Message]) -> None:
    assert unpacked_messages(packed(messages), "house") == tuple(messages)


@given(st.text(max_size=20), st.text(max_size=20))
def test_a_topic_is_matched_by_itself_and_by_everything(topic: str, other: str) -> None:
    if filter_fault(topic) is None and not is_open(topic):
        assert opened(topic, topic) == ""
        assert (opened("#", topic) is None) == topic.startswith("$")
        assert (opened(topic, other) is not None) == (topic == other)


def test_a_payload_is_kept_just_long_enough_to_be_seen_to_be_too_long() -> None:
    message = heard("t", b"x" * (PAYLOAD_MOST + 50), retained=False, at=NOW)
    assert len(message.payload) == PAYLOAD_MOST + 1
