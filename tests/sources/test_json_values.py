"""Values and readings out of JSON."""

import json
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.sources.house_bench import NOW, House, context_of, spec_of
from tests.sources.web_server import plain, web

from wallbill.errors import SourceError
from wallbill.facts.origin import Freshness
from wallbill.facts.series import Series
from wallbill.facts.values import Value, Values
from wallbill.sources.json_values import parse
from wallbill.sources.picking import pick_of
from wallbill.sources.saying import Saying
from wallbill.sources.spec import SourceSpec
from wallbill.units.quantity import Quantity

PAYLOAD = json.dumps(
    {
        "tank": {"level": "71.5 %", "at": "2026-03-14T06:00:00Z", "pump": "on"},
        "sensors": [{"name": "loft", "t": 14.5}, {"name": "quay", "t": None}],
        "note": "all well",
    }
).encode()


def read(payload: bytes, values: Any, **options: Any) -> Values:
    fact = parse(payload, context_of(spec_of("json", values=values, **options)))
    assert isinstance(fact, Values)
    return fact


def one(values: Values, name: str) -> Value:
    found = values[name]
    assert isinstance(found, Value)
    return found


def test_picks_of_one_payload() -> None:
    found = read(
        PAYLOAD,
        {
            "level": {"pick": "tank.level", "unit": "%", "time": "tank.at"},
            "pump": {"pick": "tank.pump"},
            "loft": {"pick": "sensors[?name=='loft'].t | [0]", "unit": "°C"},
            "note": {"pick": "note"},
        },
    )
    assert one(found, "level").quantity == Quantity(71.5, "%")
    assert one(found, "level").at == datetime(2026, 3, 14, 6, tzinfo=UTC)
    assert one(found, "pump").value is True
    assert one(found, "pump").at == NOW
    assert one(found, "loft").quantity == Quantity(14.5, "°C")
    assert one(found, "note").value == "all well"
    assert not found.origin.findings
    assert found.origin.issued_at == datetime(2026, 3, 14, 6, tzinfo=UTC)


def test_one_time_for_all() -> None:
    found = read(PAYLOAD, {"pump": {"pick": "tank.pump"}}, time="tank.at")
    assert one(found, "pump").at == datetime(2026, 3, 14, 6, tzinfo=UTC)
    assert found.freshness(NOW) is Freshness.FRESH
    assert found.freshness(NOW + timedelta(hours=5)) is Freshness.STALE


def test_what_is_not_there_is_a_gap_and_told() -> None:
    found = read(
        PAYLOAD, {"pump": {"pick": "tank.pump"}, "quay": {"pick": "sensors[1].t"}, "x": {"pick": "tank.x"}}
    )
    assert [one(found, name).value for name in found] == [True, None, None]
    assert [finding.where.field for finding in found.origin.findings] == ["quay", "x"]


@pytest.mark.parametrize(
    ("payload", "words"),
    [
        (b"", "empty"),
        (b"<html>", "a web page"),
        (b'{"a": 1', "cut short"),
        (b"{'a': 1}", "no JSON"),
        (b"[" * 100_000, "nested too deep"),
        (b'{"b": 1}', "none of its values can be read; the first: there is nothing at 'a'"),
        (b'{"a": NaN}', "none of its values can be read; the first: nan is no finite number"),
        (b'{"a": [1]}', "a list is no single value"),
        (b'{"a": "warm"}', "'warm' is no number"),
    ],
)
def test_payloads_that_cannot_be_read(payload: bytes, words: str) -> None:
    with pytest.raises(SourceError) as caught:
        read(payload, {"a": {"pick": "a", "unit": "°C"}})
    assert words in caught.value.what
    assert caught.value.mend
    assert caught.value.where.file == "house"


# --- rows


ROWS: dict[str, Any] = {
    "rows": "log",
    "time": "t",
    "values": {"air": {"pick": "air", "unit": "°C"}, "damp": {"pick": "damp", "unit": "%"}},
}


def series(log: list[Any], /, **options: Any) -> tuple[Series, ...]:
    spec = spec_of("json", **{**ROWS, **options})
    fact = parse(json.dumps({"log": log}).encode(), context_of(spec))
    assert not isinstance(fact, Values)
    return fact if isinstance(fact, tuple) else (fact,)


def row(minute: int, air: object, damp: object = 50) -> dict[str, object]:
    return {"t": f"2026-03-14T06:{minute:02}:00Z", "air": air, "damp": damp}


def test_rows_give_a_series_for_each_value() -> None:
    air, damp = series([row(10, 5), row(0, "4.5 °C"), row(20, None)])
    assert [reading.value for reading in air.readings] == [4.5, 5.0, None]
    assert (air.name, air.unit, damp.unit) == ("air", "°C", "%")
    assert [reading.at.minute for reading in damp.readings] == [0, 10, 20]
    assert air.origin.issued_at == datetime(2026, 3, 14, 6, 10, tzinfo=UTC)


def test_rows_may_be_lists_and_times_numbers() -> None:
    fact = parse(
        b"[[1000000000, 3], [1000000060, 4]]",
        context_of(
            spec_of(
                "json", rows="@", time="[0]", time_format="unix", values={"it": {"pick": "[1]", "unit": "1"}}
            )
        ),
    )
    assert isinstance(fact, Series)
    assert fact.readings[0].at == datetime(2001, 9, 9, 1, 46, 40, tzinfo=UTC)
    assert [reading.value for reading in fact.readings] == [3.0, 4.0]


def test_long_pauses_are_gaps_where_asked_for() -> None:
    air, _ = series([row(0, 1), row(50, 2)], gap_after="30 min")
    assert [reading.value for reading in air.readings] == [1.0, None, 2.0]


def test_a_few_bad_rows_are_left_out_and_told() -> None:
    rows = [row(n % 60, n) | {"t": f"2026-03-{1 + n // 60:02}T06:{n % 60:02}:00Z"} for n in range(120)]
    rows[7]["t"] = "yesterday"
    rows[9]["air"] = "warm"
    air, damp = series(rows)
    assert len(air.readings) == 119
    assert sum(reading.value is None for reading in air.readings) == 1
    assert [finding.where.field for finding in damp.origin.findings] == ["[7] t", "[9] air"]


@pytest.mark.parametrize(
    ("rows", "options", "words"),
    [
        ([1, 2, 3], {}, "nothing at 't'"),
        ([row(0, "warm"), row(1, "warm"), row(2, "warm")], {}, "no number"),
        ([row(0, 1)], {"rows": "lgo"}, "there is nothing at 'lgo'"),
        ([row(0, 1)], {"rows": "log[0].air"}, "there is no list"),
        ([row(0, 1)], {"rows": "sum(log)"}, "does not fit"),
        ([row(0, 1)], {"time": ""}, "does not say where a row has its time"),
        ([row(0, 1)], {"values": {"air": {"pick": "air"}}}, "no unit"),
        ([row(0, 1)], {"values": {"air": {"pick": "air", "unit": "°C", "as": "text"}}}, "no unit"),
        ([row(0, 1)], {"time_format": "clock"}, "no format of times"),
        ([row(0, 1)], {"time_zone": "Mars"}, "unknown time zone"),
    ],
)
def test_rows_that_cannot_be_read(rows: list[Any], options: dict[str, Any], words: str) -> None:
    with pytest.raises(SourceError) as caught:
        series(rows, **options)
    assert words in caught.value.what
    assert caught.value.mend


def test_no_rows_are_series_with_no_readings() -> None:
    air, damp = series([])
    assert (air.readings, damp.readings) == ((), ())


# --- from a server and from a file


def test_from_a_server_and_from_a_file(tmp_path: Any) -> None:
    (tmp_path / "tank.json").write_bytes(PAYLOAD)
    values = {"level": {"pick": "tank.level", "unit": "%"}}
    house = House(tmp_path, None)
    with web() as server:
        server.pages["/tank"] = plain(PAYLOAD)
        named: dict[str, Any] = {"url": server.url("/tank"), "private_hosts": ["localhost"]}
        given = house.get(spec_of("json", values=values, **named))
        assert server.asked[0][1]["accept"].startswith("application/json")
    assert isinstance(given.fact, Values)
    assert given.due_at is not None
    again = house.get(spec_of("json", values=values, file="tank.json"))
    assert isinstance(again.fact, Values)
    assert one(again.fact, "level").quantity == one(given.fact, "level").quantity == Quantity(71.5, "%")


# --- anything whatever


_json = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=12),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.sampled_from("abtv"), inner, max_size=4),
    max_leaves=15,
)
_picks = st.sampled_from(
    [
        "a",
        "a.b",
        "[0]",
        "[*]",
        "a[?b>`1`]",
        "@",
        "*",
        "length(a)",
        "join(',', a)",
        "sort_by(a, &b)",
        "avg(a)",
        "a || b",
    ]
)


@given(
    value=_json,
    pick=_picks,
    time=_picks | st.just(""),
    rows=_picks | st.just(""),
    style=st.sampled_from(["iso", "unix", "unix-ms", "%H:%M"]),
)
def test_any_json_gives_facts_or_our_own_error(
    value: object, pick: str, time: str, rows: str, style: str
) -> None:
    options: dict[str, Any] = {
        "time": time,
        "rows": rows,
        "time_format": style,
        "values": {"it": {"pick": pick, "unit": "°C"}},
    }
    context = context_of(spec_of("json", **options))
    try:
        fact = parse(json.dumps(value).encode(), context)
    except SourceError as fault:
        assert fault.mend  # noqa: PT017  either outcome is right
    else:
        assert isinstance(fact, Values | Series)


@given(st.binary(max_size=200) | st.text(max_size=60).map(lambda text: text.encode("utf-8", "replace")))
def test_any_bytes_give_facts_or_our_own_error(payload: bytes) -> None:
    try:
        parse(payload, context_of(spec_of("json", values={"it": {"pick": "@"}})))
    except SourceError as fault:
        assert fault.where.file == "house"  # noqa: PT017  either outcome is right


@pytest.mark.filterwarnings(
    "ignore:deprecated string literal"
)  # an old way to write texts that jmespath still reads
@given(st.text(alphabet="ab.[]*?|&@`'\"(){}:,-1 \\", max_size=30))
def test_any_text_is_a_pick_or_our_own_error(text: str) -> None:
    spec = SourceSpec("house", "json", {}, None, None, context_of(spec_of("json")).spec.where)
    try:
        pick_of(text, Saying({}, spec.where).at("pick"))
    except SourceError as fault:
        assert "JMESPath" in fault.what  # noqa: PT017  either outcome is right
        assert fault.where.field == "pick"  # noqa: PT017  either outcome is right
