"""Locationforecast 2.0. Format and duties: the service's own documents (ForecastJSON, datamodel; metno/weatherapi-docs)."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from tests.sources.weather_bench import context_of, dumped, entry, met_norway, payload, told

from wallbill.errors import SourceError
from wallbill.facts.forecast import Falling, Strength
from wallbill.sources.forecast_met_norway import parse_met_norway
from wallbill.units.quantity import Quantity

Change = Callable[[dict[str, Any]], object]
SIX = datetime(2026, 3, 14, 6, tzinfo=UTC)


def test_an_hour_is_read_with_its_units() -> None:
    forecast = parse_met_norway(payload("locationforecast-compact.json"), context_of())
    first = forecast.hours[0]
    assert (first.valid_from, first.valid_to) == (SIX, SIX + timedelta(hours=1))
    assert first.temperature == Quantity(1.7, "°C")
    assert first.wind_speed == Quantity(4.1, "m/s")
    assert first.wind_from_deg == 212.0
    assert first.pressure == Quantity(1013.4, "hPa")
    assert first.humidity == Quantity(90.0, "%")
    assert first.precipitation == Quantity(0.0, "mm")
    assert first.is_day is True
    assert first.weather is not None
    assert first.weather.dry


def test_precipitation_is_that_of_the_period_that_begins() -> None:
    # Fifth entry of the payload: 0.5 mm in the hour from 10.
    forecast = parse_met_norway(payload("locationforecast-compact.json"), context_of())
    raw = told("locationforecast-compact.json")["properties"]["timeseries"]
    for hour, entry_ in zip(forecast.hours[:40], raw, strict=False):
        amount = entry_["data"]["next_1_hours"]["details"]["precipitation_amount"]
        assert hour.precipitation == Quantity(amount, "mm")


def test_hours_turn_into_six_and_never_overlap_and_the_last_instant_ends_them() -> None:
    forecast = parse_met_norway(payload("locationforecast-compact.json"), context_of())
    spans = [hour.valid_to - hour.valid_from for hour in forecast.hours]
    assert spans[0] == timedelta(hours=1)
    assert spans[-1] == timedelta(hours=6)
    assert sorted(spans) == spans
    assert all(a.valid_to <= b.valid_from for a, b in zip(forecast.hours, forecast.hours[1:], strict=False))
    raw = told("locationforecast-compact.json")["properties"]["timeseries"]
    assert len(forecast.hours) == len(raw) - 1  # the last entry has an instant only


def test_the_origin_says_who_when_and_what_to_print() -> None:
    origin = parse_met_norway(payload("locationforecast-compact.json"), context_of()).origin
    assert origin.issued_at == datetime(2026, 3, 14, 5, 37, tzinfo=UTC)
    assert origin.credit == "Data from MET Norway"  # the service's licence page asks for this credit
    assert origin.source == "forecast"
    assert origin.good_for == timedelta(hours=12)
    assert origin.findings == ()


def test_the_six_hour_period_counts_in_a_gap_of_six_hours_and_not_in_one_of_one() -> None:
    body = met_norway(
        [
            entry("2026-03-14T16:00:00Z", next_1_hours=("rain", 0.4), next_6_hours=("heavyrain", 9.0)),
            entry(
                "2026-03-14T17:00:00Z", next_6_hours=("snow", 6.0)
            ),  # no next_1_hours where the steps change
            entry("2026-03-14T18:00:00Z", next_6_hours=("sleet", 3.0)),
            entry("2026-03-15T00:00:00Z"),
        ]
    )
    hours = parse_met_norway(body, context_of()).hours
    assert [hour.valid_to.hour for hour in hours] == [17, 18, 0]
    assert [hour.precipitation for hour in hours] == [Quantity(0.4, "mm"), None, Quantity(3.0, "mm")]
    assert [hour.weather.falling for hour in hours if hour.weather] == [
        Falling.RAIN,
        Falling.SNOW,
        Falling.SLEET,
    ]


def test_a_bad_hour_leaves_a_hole_and_a_finding_and_the_rest_stays() -> None:
    value = told("locationforecast-compact.json")
    rows = value["properties"]["timeseries"]
    rows[3]["data"]["instant"]["details"]["air_temperature"] = "warm"
    forecast = parse_met_norway(dumped(value), context_of())
    assert len(forecast.hours) == len(rows) - 2
    assert forecast.at(SIX + timedelta(hours=3)) is None
    assert forecast.hours[2].valid_to == SIX + timedelta(hours=3)
    (finding,) = forecast.origin.findings
    assert finding.rule == "sources.left-out"
    assert finding.where.field == "$.properties.timeseries[3].data.instant.details.air_temperature"


@pytest.mark.parametrize("value", [9999, -9999, float("nan"), float("inf")])
def test_a_value_that_no_weather_has_is_no_value(value: float) -> None:
    raw = told("locationforecast-compact.json")
    raw["properties"]["timeseries"][0]["data"]["instant"]["details"]["air_temperature"] = value
    forecast = parse_met_norway(dumped(raw), context_of())
    assert forecast.hours[0].valid_from == SIX + timedelta(hours=1)
    assert len(forecast.origin.findings) == 1


def test_nulls_are_nothing_known() -> None:
    body = met_norway(
        [entry("2026-03-14T06:00:00Z", None, next_1_hours=(None, None)), entry("2026-03-14T07:00:00Z")]
    )
    (hour,) = parse_met_norway(body, context_of()).hours
    assert (hour.temperature, hour.weather, hour.precipitation, hour.is_day) == (None, None, None, None)


def test_an_unknown_symbol_is_told_once_and_the_hours_stay() -> None:
    body = met_norway(
        [
            entry("2026-03-14T06:00:00Z", next_1_hours=("frogs", 0.0)),
            entry("2026-03-14T07:00:00Z", next_1_hours=("frogs", 0.0)),
            entry("2026-03-14T08:00:00Z"),
        ]
    )
    forecast = parse_met_norway(body, context_of())
    assert [hour.weather for hour in forecast.hours] == [None, None]
    (finding,) = forecast.origin.findings
    assert finding.rule == "sources.unknown-weather"
    assert "frogs" in finding.what


def test_the_complete_variant_gives_gusts_chances_and_extremes() -> None:
    value = told("locationforecast-compact.json")
    first = value["properties"]["timeseries"][0]["data"]
    first["instant"]["details"]["wind_speed_of_gust"] = 11.2
    first["next_1_hours"]["details"]["probability_of_precipitation"] = 34.5
    last = value["properties"]["timeseries"][-2]["data"]["next_6_hours"]["details"]
    last |= {"air_temperature_min": -1.5, "air_temperature_max": 4.0}
    hours = parse_met_norway(dumped(value), context_of()).hours
    assert hours[0].wind_gust == Quantity(11.2, "m/s")
    assert hours[0].precipitation_chance == Quantity(34.5, "%")
    assert (hours[-1].low, hours[-1].high) == (Quantity(-1.5, "°C"), Quantity(4.0, "°C"))


def test_entries_out_of_order_or_twice_are_put_right() -> None:
    value = told("locationforecast-compact.json")
    rows = value["properties"]["timeseries"]
    straight = parse_met_norway(dumped(value), context_of()).hours
    value["properties"]["timeseries"] = [*rows[::-1], rows[0]]
    assert parse_met_norway(dumped(value), context_of()).hours == straight


def test_a_symbol_is_read_into_parts() -> None:
    body = met_norway(
        [
            entry("2026-03-14T06:00:00Z", next_1_hours=("lightssnowshowersandthunder_night", 0.2)),
            entry("2026-03-14T07:00:00Z"),
        ]
    )
    (hour,) = parse_met_norway(body, context_of()).hours
    assert hour.weather is not None
    assert (hour.weather.falling, hour.weather.strength) == (Falling.SNOW, Strength.LIGHT)
    assert (hour.weather.showers, hour.weather.thunder, hour.is_day) == (True, True, False)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        (lambda v: v.pop("properties"), "$.properties"),
        (lambda v: v["properties"].pop("timeseries"), "$.properties.timeseries"),
        (lambda v: v["properties"].update(timeseries=[]), "$.properties.timeseries"),
        (lambda v: v["properties"].update(timeseries={"0": 1}), "$.properties.timeseries"),
        (lambda v: v["properties"]["meta"].update(updated_at="today"), "$.properties.meta.updated_at"),
        (
            lambda v: v["properties"]["meta"].update(updated_at="2026-03-14T05:37:00"),
            "$.properties.meta.updated_at",
        ),
        (
            lambda v: v["properties"]["meta"]["units"].update(air_temperature="fahrenheit"),
            "$.properties.meta.units.air_temperature",
        ),
        (
            lambda v: [row["data"].pop("instant") for row in v["properties"]["timeseries"]],
            "$.properties.timeseries[0].data.instant",
        ),
    ],
)
def test_a_wrong_payload_is_refused_with_its_place(change: Change, field: str) -> None:
    value = told("locationforecast-compact.json")
    change(value)
    with pytest.raises(SourceError) as caught:
        parse_met_norway(dumped(value), context_of())
    assert caught.value.where.file == "forecast"
    assert caught.value.where.field == field
    assert caught.value.mend
