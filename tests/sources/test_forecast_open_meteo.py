"""Open-Meteo. Format: the service's own documents (open-meteo/open-meteo-website, docs)."""

import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from tests.sources.weather_bench import context_of, dumped, entry, met_norway, payload, spec_of, told

from wallbill.errors import SourceError
from wallbill.facts.forecast import Falling, Strength
from wallbill.sources.forecast_met_norway import parse_met_norway
from wallbill.sources.forecast_open_meteo import parse_open_meteo
from wallbill.units.quantity import Quantity

Change = Callable[[dict[str, Any]], object]
CONTEXT = context_of(spec=spec_of("open-meteo"))
MIDNIGHT = datetime(2026, 3, 14, tzinfo=UTC)


def columns(*rows: tuple[int, float | None, float | None, int | None], **more: list[object]) -> bytes:
    """Hours from midnight: hour, temperature, precipitation, weather code."""
    hours, temperatures, amounts, codes = zip(*rows, strict=True)
    hourly = {
        "time": [int(MIDNIGHT.timestamp()) + 3600 * hour for hour in hours],
        "temperature_2m": list(temperatures),
        "precipitation": list(amounts),
        "weather_code": list(codes),
        **more,
    }
    return dumped({"utc_offset_seconds": 0, "hourly": hourly})


def test_amounts_belong_to_the_hour_before_their_time() -> None:
    # "Preceding hour sum" in the service's table of variables: the amount at 01:00 fell from 00:00 to 01:00.
    forecast = parse_open_meteo(columns((0, 5.0, 9.0, 0), (1, 6.0, 0.4, 61), (2, 7.0, 0.0, 3)), CONTEXT)
    assert [hour.temperature for hour in forecast.hours] == [Quantity(t, "°C") for t in (5.0, 6.0, 7.0)]
    assert [hour.precipitation for hour in forecast.hours] == [Quantity(0.4, "mm"), Quantity(0.0, "mm"), None]
    first, second, _ = forecast.hours
    assert first.weather is not None
    assert second.weather is not None
    assert (first.weather.falling, first.weather.strength) == (Falling.RAIN, Strength.LIGHT)
    assert second.weather.dry


def test_gusts_and_chances_too_are_of_the_hour_before_and_the_wind_is_not() -> None:
    body = columns(
        (0, 5.0, 0.0, 0),
        (1, 5.0, 0.0, 0),
        wind_gusts_10m=[10.0, 20.0],
        precipitation_probability=[30, 70],
        wind_speed_10m=[36.0, 18.0],
    )
    first = parse_open_meteo(body, CONTEXT).hours[0]
    assert first.wind_gust == Quantity(20.0, "km/h").to("m/s")  # km/h is the service's default
    assert first.precipitation_chance == Quantity(70.0, "%")
    assert first.wind_speed == Quantity(10.0, "m/s")


def test_the_same_rain_reads_alike_from_both_conventions() -> None:
    """Rain from 18:00 to 19:00 is told at 18:00 by one service and at 19:00 by the other."""
    ours = parse_open_meteo(
        columns((17, 8.0, 0.0, 3), (18, 8.0, 0.0, 3), (19, 8.0, 1.2, 61), (20, 8.0, 0.0, 3)), CONTEXT
    )
    theirs = parse_met_norway(
        met_norway(
            [
                entry("2026-03-14T17:00:00Z", next_1_hours=("cloudy", 0.0)),
                entry("2026-03-14T18:00:00Z", next_1_hours=("lightrain", 1.2)),
                entry("2026-03-14T19:00:00Z", next_1_hours=("cloudy", 0.0)),
                entry("2026-03-14T20:00:00Z"),
            ]
        ),
        CONTEXT,
    )
    start = MIDNIGHT + timedelta(hours=17)
    assert [(c.at, c.turn) for c in ours.changes(start, timedelta(hours=3))] == [
        (c.at, c.turn) for c in theirs.changes(start, timedelta(hours=3))
    ]
    assert ours.changes(start, timedelta(hours=3))[0].at.hour == 18


def test_local_times_have_one_offset_even_over_a_change_of_clocks() -> None:
    # 29 March 2026, 01:00 UTC: clocks go forward in Copenhagen. The payload goes on with its one offset.
    times = ["2026-03-29T01:00", "2026-03-29T02:00", "2026-03-29T03:00", "2026-03-29T04:00"]
    body = dumped({"utc_offset_seconds": 3600, "hourly": {"time": times, "temperature_2m": [1, 2, 3, 4]}})
    starts = [hour.valid_from.hour for hour in parse_open_meteo(body, CONTEXT).hours]
    assert starts == [0, 1, 2, 3]


def test_units_come_from_the_payload() -> None:
    value = {
        "hourly": {
            "time": [0, 3600],
            "temperature_2m": [68.0, 32.0],
            "precipitation": [0, 1.0],
            "wind_speed_10m": [10.0, 10.0],
        },
        "hourly_units": {"temperature_2m": "°F", "precipitation": "inch", "wind_speed_10m": "mp/h"},
    }
    hour = parse_open_meteo(dumped(value), CONTEXT).hours[0]
    # NIST SP 811, appendix B: 68 °F is 20 °C, an inch 25.4 mm, a mile an hour 0.44704 m/s.
    assert hour.temperature == Quantity(20.0, "°C")
    assert hour.precipitation == Quantity(25.4, "mm")
    assert hour.wind_speed == Quantity(4.4704, "m/s")


def test_cloud_cover_refines_the_sky() -> None:
    body = columns((0, 5.0, 0.0, 2), (1, 5.0, 0.0, 2), cloud_cover=[61, 20])
    weather = parse_open_meteo(body, CONTEXT).hours[0].weather
    assert weather is not None
    assert weather.cloud == pytest.approx(0.61)


def test_day_and_night_are_taken_from_the_service() -> None:
    body = columns((0, 5.0, 0.0, 2), (1, 5.0, 0.0, 2), (2, 5.0, 0.0, 2), is_day=[1, 0, None])
    assert [hour.is_day for hour in parse_open_meteo(body, CONTEXT).hours] == [True, False, None]


def test_an_invented_payload_of_right_shape_is_read_whole() -> None:
    forecast = parse_open_meteo(payload("open-meteo-forecast.json"), CONTEXT)
    assert len(forecast.hours) == 72
    assert forecast.hours[0].valid_from == datetime(2026, 3, 13, 23, tzinfo=UTC)  # local midnight at UTC+1
    assert forecast.origin.credit == "Weather data by Open-Meteo.com"  # the text that its terms ask for
    assert forecast.origin.issued_at is None
    assert forecast.origin.dated == CONTEXT.fetched_at


def test_an_error_answer_is_told_with_its_reason() -> None:
    with pytest.raises(SourceError, match="parameter not understood") as caught:
        parse_open_meteo(payload("open-meteo-error.json"), CONTEXT)
    assert caught.value.where.field == "$.reason"


def test_bad_values_are_left_out_by_the_hour() -> None:
    body = columns(
        (0, 5.0, 0.0, 0), (1, float("nan"), 0.4, 61), (2, 7.0, 0.0, 3), (3, 7.0, -1.0, 3), (4, 7.0, 0.0, 3)
    )
    forecast = parse_open_meteo(body, CONTEXT)
    assert [hour.valid_from.hour for hour in forecast.hours] == [0, 2, 4]
    assert forecast.hours[0].precipitation is None  # the hour's closing entry is lost
    assert [f.where.field for f in forecast.origin.findings] == [
        "$.hourly.temperature_2m[1]",
        "$.hourly.precipitation[3]",
    ]


def test_a_time_that_is_none_loses_its_hour_only() -> None:
    value = json.loads(columns((0, 5.0, 0.0, 0), (1, 5.0, 0.0, 0), (2, 5.0, 0.0, 0)))
    value["hourly"]["time"] = ["2026-03-14T00:00", "noon", "2026-03-14T02:00"]
    forecast = parse_open_meteo(dumped(value), CONTEXT)
    assert [hour.valid_from.hour for hour in forecast.hours] == [0, 2]
    assert forecast.origin.findings[0].where.field == "$.hourly.time[1]"


def test_an_unknown_code_is_told_and_the_hour_stays() -> None:
    forecast = parse_open_meteo(columns((0, 5.0, 0.0, 42), (1, 5.0, 0.0, 42)), CONTEXT)
    assert [hour.weather for hour in forecast.hours] == [None, None]
    assert forecast.origin.findings[0].rule == "sources.unknown-weather"


@pytest.mark.parametrize(
    ("change", "field"),
    [
        (lambda v: v.pop("hourly"), "$.hourly.time"),
        (lambda v: v["hourly"].pop("time"), "$.hourly.time"),
        (lambda v: v["hourly"].update({name: [] for name in v["hourly"]}), "$.hourly"),
        (lambda v: v["hourly"]["precipitation"].pop(), "$.hourly.precipitation"),
        (
            lambda v: v["hourly_units"].update(wind_speed_10m="furlong/fortnight"),
            "$.hourly_units.wind_speed_10m",
        ),
        (lambda v: v["hourly"].update(temperature_2m=["x"] * 72), "$.hourly.temperature_2m[0]"),
        (lambda v: v["hourly"].update(time=["x"] * 72), "$.hourly.time[0]"),
    ],
)
def test_a_wrong_payload_is_refused_with_its_place(change: Change, field: str) -> None:
    value = told("open-meteo-forecast.json")
    change(value)
    with pytest.raises(SourceError) as caught:
        parse_open_meteo(dumped(value), CONTEXT)
    assert caught.value.where.field == field
