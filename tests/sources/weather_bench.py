"""What the tests of the weather sources share: payloads, and the context of the wall at Fennel Quay."""

import json
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from wallbill.errors import Place
from wallbill.sources.spec import ParseContext, SourceSpec

PAYLOADS = Path(__file__).with_name("payloads")
NOW = datetime(2026, 3, 14, 7, tzinfo=UTC)


def payload(name: str) -> bytes:
    return (PAYLOADS / name).read_bytes()


def told(name: str) -> Any:
    """A payload as JSON values, to be changed by a test."""
    return json.loads(payload(name))


def dumped(value: object) -> bytes:
    return json.dumps(value).encode()


def spec_of(service: str = "met-norway", name: str = "forecast", **options: object) -> SourceSpec:
    return SourceSpec(
        name=name,
        kind="forecast",
        options={"service": service, **options},
        every=timedelta(minutes=30),
        good_for=timedelta(hours=12),
        where=Place("wall.toml", 9, f"sources.{name}"),
    )


def context_of(zone: str = "Europe/London", spec: SourceSpec | None = None) -> ParseContext:
    return ParseContext(
        spec=spec or spec_of(),
        zone=ZoneInfo(zone),
        latitude_deg=50.31,
        longitude_deg=-4.05,
        now=NOW,
        fetched_at=NOW - timedelta(minutes=1),
        language="en-GB",
    )


def met_norway(entries: list[Mapping[str, object]], **meta: object) -> bytes:
    """A Locationforecast of some entries."""
    about = {"updated_at": "2026-03-14T05:37:00Z", **meta}
    return dumped({"type": "Feature", "properties": {"meta": about, "timeseries": entries}})


def entry(
    time: str, temperature: float | None = 5.0, **periods: tuple[str | None, float | None]
) -> dict[str, object]:
    """An entry with periods such as ``next_1_hours=("rain", 0.4)``."""
    data: dict[str, object] = {"instant": {"details": {"air_temperature": temperature}}}
    for name, (symbol, amount) in periods.items():
        data[name] = {"summary": {"symbol_code": symbol}, "details": {"precipitation_amount": amount}}
    return {"time": time, "data": data}
