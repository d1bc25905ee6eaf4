"""Every weather source under every common fault of a payload."""

import itertools
import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.sources.weather_bench import context_of, payload, spec_of

from wallbill.errors import SourceError
from wallbill.facts.forecast import Forecast
from wallbill.sources.forecast_bright_sky import parse_bright_sky
from wallbill.sources.forecast_met_norway import parse_met_norway
from wallbill.sources.forecast_nws import parse_nws
from wallbill.sources.forecast_open_meteo import parse_open_meteo
from wallbill.sources.spec import Parse

SERVICES = [
    pytest.param(parse_met_norway, "locationforecast-compact.json", id="met-norway"),
    pytest.param(parse_nws, "nws-forecast-hourly.json", id="nws"),
    pytest.param(parse_nws, "nws-forecast.json", id="nws-long"),
    pytest.param(parse_open_meteo, "open-meteo-forecast.json", id="open-meteo"),
    pytest.param(parse_bright_sky, "brightsky-weather.json", id="bright-sky"),
]
CONTEXT = context_of(spec=spec_of(name="weather"))


@pytest.mark.parametrize(("parse", "name"), SERVICES)
def test_a_payload_cut_in_half_is_told_with_line_and_column(parse: Parse, name: str) -> None:
    body = payload(name)
    half = body[: len(body) // 2]
    with pytest.raises(SourceError) as caught:
        parse(half, CONTEXT)
    where = caught.value.where
    assert where.file == "weather"
    assert where.line is not None
    assert where.line <= half.count(b"\n") + 1
    assert where.field.startswith("column ")
    assert caught.value.mend


@pytest.mark.parametrize(("parse", "name"), SERVICES)
@pytest.mark.parametrize("share", [0.1, 0.37, 0.5, 0.9, 0.999])
def test_a_payload_cut_anywhere_is_said_to_be_cut_or_broken(parse: Parse, name: str, share: float) -> None:
    body = payload(name)
    with pytest.raises(SourceError, match=r"cut short|no JSON"):
        parse(body[: int(len(body) * share)], CONTEXT)


@pytest.mark.parametrize(("parse", "name"), SERVICES)
@pytest.mark.parametrize(
    ("body", "words"),
    [
        (b"", "empty"),
        (b" \n", "empty"),
        (b"<!DOCTYPE html><html><body>Sign in</body></html>", "web page"),
        (b"\xff\xfe\xfa", "no JSON"),
        (b"[" * 100_000, "nested too deep|cut short"),
        (b"9" * 5000, "no JSON|dictionary"),
        (b"null", "dictionary"),
        (b'"text"', "dictionary"),
        (b"[]", "dictionary"),
        (b"{}", "missing|no hourly|not one hour|answers with an error"),
        (
            b'{"error":true,"reason":"out of range"}',
            "missing|out of range|not one hour|answers with an error",
        ),
        (b"{'a': 1}", "no JSON"),
    ],
)
def test_what_is_no_payload_is_refused(parse: Parse, name: str, body: bytes, words: str) -> None:
    with pytest.raises(SourceError, match=words) as caught:
        parse(body, CONTEXT)
    assert caught.value.where.file == "weather"
    assert caught.value.mend


@pytest.mark.parametrize(("parse", "name"), SERVICES)
def test_when_most_is_bad_the_format_is_another(parse: Parse, name: str) -> None:
    value = json.loads(payload(name))
    _spoil(value)
    with pytest.raises(SourceError, match=r"of .* entries cannot be read"):
        parse(json.dumps(value).encode(), CONTEXT)


def _spoil(value: object) -> None:
    """Makes words of all temperatures, units aside."""
    if isinstance(value, list):
        for inner in value:
            _spoil(inner)
    elif isinstance(value, dict):
        for name, inner in value.items():
            if name in {"temperature", "air_temperature", "temperature_2m"} and isinstance(
                inner, list | int | float
            ):
                value[name] = ["mild"] * len(inner) if isinstance(inner, list) else "mild"
            else:
                _spoil(inner)


@pytest.mark.parametrize(("parse", "name"), SERVICES)
def test_a_byte_order_mark_does_no_harm(parse: Parse, name: str) -> None:
    assert isinstance(parse(b"\xef\xbb\xbf" + payload(name), CONTEXT), Forecast)


@pytest.mark.parametrize(("parse", "name"), SERVICES)
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_any_byte_may_be_wrong(parse: Parse, name: str, data: st.DataObject) -> None:
    """Whatever one byte turns into, there is a forecast or a `SourceError`, and nothing else."""
    body = bytearray(payload(name))
    at = data.draw(st.integers(0, len(body) - 1))
    body[at] = data.draw(st.integers(0, 255))
    _read_or_refuse(parse, bytes(body))


def _read_or_refuse(parse: Parse, body: bytes) -> None:
    """There must be a forecast whose hours do not overlap, or a `SourceError` that can be mended."""
    result: Forecast | SourceError
    try:
        forecast = parse(body, CONTEXT)
        assert isinstance(forecast, Forecast)
        result = forecast
    except SourceError as fault:
        result = fault
    if isinstance(result, SourceError):
        assert result.mend
        assert result.where.file == "weather"
        return
    assert result.hours
    assert all(a.valid_to <= b.valid_from for a, b in itertools.pairwise(result.hours))


_JUNK = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=5,
)


@pytest.mark.parametrize(("parse", "name"), SERVICES)
@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_any_value_may_be_another(parse: Parse, name: str, data: st.DataObject) -> None:
    """Any one value of the payload is replaced by anything at all."""
    value = json.loads(payload(name))
    node = value
    while True:
        keys = list(node) if isinstance(node, dict) else list(range(len(node)))
        key = data.draw(st.sampled_from(keys))
        if not isinstance(node[key], dict | list) or not node[key] or data.draw(st.integers(0, 4)) == 0:
            node[key] = data.draw(_JUNK)
            break
        node = node[key]
    _read_or_refuse(parse, json.dumps(value).encode())
