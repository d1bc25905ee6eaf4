"""Alerts of the US National Weather Service."""

import json
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.sources.alerts_bench import PAYLOADS, read

from wallbill.errors import SourceError
from wallbill.facts.alerts import Alerts, Severity

VALID = (PAYLOADS / "nws-alerts.json").read_bytes()
COAST = (44.1234, -69.4321)
NOW = datetime(2026, 3, 14, 10, 0, tzinfo=UTC)
BOX = [[-70.0, 44.0], [-69.0, 44.0], [-69.0, 45.0], [-70.0, 45.0], [-70.0, 44.0]]


def feature(number: int = 1, geometry: object = None, **words: Any) -> dict[str, Any]:
    told: dict[str, Any] = json.loads(VALID)["features"][0]
    told["geometry"] = geometry
    told["properties"] |= {"id": f"urn:oid:{number}"} | words
    return told


def collection(*features: object) -> bytes:
    return json.dumps({"type": "FeatureCollection", "features": list(features)}).encode()


def shown(data: bytes, **options: Any) -> list[str]:
    alerts = read(data, place=COAST, now=NOW, **options)
    return [alert.identifier for alert in alerts.active]


def test_an_advisory_ends_when_it_ends_and_not_when_its_message_expires() -> None:
    alert = read(VALID, place=COAST, now=NOW, service="nws").active[0]
    assert (alert.event, alert.severity) == ("Wind Advisory", Severity.MODERATE)
    assert alert.onset == datetime(2026, 3, 14, 18, 0, tzinfo=UTC)
    assert alert.ends == datetime(2026, 3, 15, 6, 0, tzinfo=UTC)
    assert alert.description == "* WHAT...Southwest winds 20 to 30 mph.\n\n* WHERE...Invented Coast."
    assert alert.areas == ("Invented Coast",)
    assert alert.codes == (("SAME", "023999"), ("UGC", "MEZ999"))
    assert alert.here is True
    assert not read(VALID, place=COAST, now=alert.ends, service="nws")
    assert read(VALID, place=COAST, now=NOW, service="nws").origin.credit == "US National Weather Service"
    unended = collection(feature(ends=None))
    assert read(unended, now=NOW, service="nws").active[0].ends == datetime(2026, 3, 14, 22, 0, tzinfo=UTC)


def test_a_file_is_judged_by_shapes_and_codes() -> None:
    inside = {"type": "Polygon", "coordinates": [BOX]}
    far = {"type": "Polygon", "coordinates": [[[lon, lat + 5] for lon, lat in BOX]]}
    holed = {
        "type": "Polygon",
        "coordinates": [BOX, [[-69.6, 44.0], [-69.2, 44.0], [-69.2, 44.3], [-69.6, 44.3]]],
    }
    many = {"type": "MultiPolygon", "coordinates": [far["coordinates"], inside["coordinates"]]}
    odd = {"type": "Polygon", "coordinates": [[["x", 1], [2, 3], [4, 5]]]}
    data = collection(*(feature(n, g) for n, g in enumerate((inside, far, holed, many, odd, None))))
    assert shown(data, file="a.json") == [f"urn:oid:{n}" for n in (0, 3, 4, 5)]
    assert shown(data, file="a.json", areas=["UGC=MEZ998"]) == [f"urn:oid:{n}" for n in (0, 3)]
    assert len(shown(data, file="a.json", areas=["MEZ999"])) == 6
    assert len(shown(data, service="nws")) == 6


def test_updates_and_tests() -> None:
    first = feature(1)
    reference = {
        "@id": "https://…/1",
        "identifier": "urn:oid:1",
        "sender": "desk@weather.invalid",
        "sent": "…",
    }
    second = feature(2, messageType="Update", references=[reference])
    assert shown(collection(first, second), service="nws") == ["urn:oid:2"]
    assert (
        shown(collection(first, feature(2, messageType="Cancel", references=[reference])), service="nws")
        == []
    )
    assert shown(collection(feature(1, status="Test"), feature(2, response="AllClear")), service="nws") == []


def test_one_bad_alert_does_not_lose_the_rest() -> None:
    alerts = read(collection(feature(1), {"properties": {"id": 5}}, 7), place=COAST, now=NOW, service="nws")
    assert len(alerts.active) == 1
    assert [f.where.field for f in alerts.origin.findings] == ["$.features[1].properties.id", "$.features[2]"]
    with pytest.raises(SourceError, match=r"field|string|missing") as caught:
        read(collection({"properties": {"id": 5}}), service="nws")
    assert caught.value.where.field.startswith("$.features[0]")


def test_no_alerts_and_an_error() -> None:
    none = read(collection(), service="nws")
    assert none.active == ()
    assert not none
    error = json.dumps({"title": "Not Found", "detail": "Point is out of\nbounds"}).encode()
    with pytest.raises(SourceError, match="Point is out of bounds"):
        read(error, service="nws")
    for data in (b"{", b"[]", b"[1]", b'{"features": 4}'):
        with pytest.raises(SourceError):
            read(data, service="nws")


@given(
    st.lists(st.tuples(st.integers(0, len(VALID) - 1), st.integers(0, 255)), max_size=10),
    st.integers(1, len(VALID)),
)
def test_mutated_payloads_give_alerts_or_a_source_error(changes: list[tuple[int, int]], cut: int) -> None:
    raw = bytearray(VALID)
    for at, value in changes:
        raw[at] = value
    try:
        alerts = read(bytes(raw if cut % 2 else raw[:cut]), place=COAST, now=NOW, file="a.json")
    except SourceError:
        return
    assert isinstance(alerts, Alerts)
    assert all(alert.ends > NOW for alert in alerts.active)


JSON = st.recursive(
    st.none() | st.booleans() | st.floats(allow_nan=False) | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=6), inner, max_size=4),
    max_leaves=12,
)


@given(st.sampled_from(["geometry", "sent", "geocode", "references", "ends", "severity"]), JSON)
def test_any_value_in_a_field(name: str, value: object) -> None:
    told = feature(1, value) if name == "geometry" else feature(1, **{name: value})
    try:
        alerts = read(collection(told), place=COAST, now=NOW + timedelta(hours=1), file="a.json")
    except SourceError:
        return
    assert isinstance(alerts, Alerts)
