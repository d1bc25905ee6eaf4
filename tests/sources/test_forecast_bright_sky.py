"""Bright Sky. Format: the service's own models (jdemaeyer/brightsky, brightsky/web/models.py), units=dwd."""

from datetime import UTC, datetime, timedelta

import pytest
from tests.sources.weather_bench import context_of, dumped, payload, spec_of, told

from wallbill.errors import SourceError
from wallbill.facts.forecast import Falling, Strength
from wallbill.sources.forecast_bright_sky import parse_bright_sky
from wallbill.units.quantity import Quantity

CONTEXT = context_of("Europe/Berlin", spec=spec_of("bright-sky"))


def records(*rows: dict[str, object]) -> bytes:
    start = datetime(2026, 3, 14, 6, tzinfo=UTC)
    return dumped(
        {
            "weather": [
                {"timestamp": (start + timedelta(hours=number)).isoformat(), **row}
                for number, row in enumerate(rows)
            ]
        }
    )


def test_fall_and_wind_are_of_the_hour_before_the_rest_holds_at_the_time() -> None:
    # "Total precipitation during previous 60 minutes", "Mean wind speed during previous hour", "at timestamp".
    body = records(
        {
            "temperature": 1.0,
            "precipitation": 9.9,
            "wind_speed": 99.0,
            "pressure_msl": 1001.0,
            "condition": "hail",
        },
        {
            "temperature": 2.0,
            "precipitation": 3.0,
            "precipitation_probability": 80,
            "wind_speed": 36.0,
            "wind_gust_speed": 72.0,
            "wind_direction": 270,
            "condition": "rain",
            "cloud_cover": 100,
        },
    )
    first, last = parse_bright_sky(body, CONTEXT).hours
    assert first.temperature == Quantity(1.0, "°C")
    assert first.pressure == Quantity(1001.0, "hPa")
    assert first.precipitation == Quantity(3.0, "mm")
    assert first.precipitation_chance == Quantity(80.0, "%")
    assert first.wind_speed == Quantity(10.0, "m/s")
    assert first.wind_gust == Quantity(20.0, "m/s")
    assert first.wind_from_deg == 270.0
    assert first.weather is not None
    assert (first.weather.falling, first.weather.strength) == (Falling.RAIN, Strength.MODERATE)
    assert last.precipitation is None


@pytest.mark.parametrize(
    ("condition", "falling", "marks"),
    [
        ("dry", Falling.NONE, []),
        ("fog", Falling.NONE, ["fog"]),
        ("rain", Falling.RAIN, []),
        ("sleet", Falling.SLEET, []),
        ("snow", Falling.SNOW, []),
        ("hail", Falling.HAIL, []),
        ("thunderstorm", Falling.RAIN, ["thunder"]),
        (None, Falling.NONE, []),
    ],
)
def test_every_condition_is_known(condition: str | None, falling: Falling, marks: list[str]) -> None:
    weather = (
        parse_bright_sky(records({}, {"condition": condition, "cloud_cover": 40}), CONTEXT).hours[0].weather
    )
    assert weather is not None
    assert weather.falling is falling
    assert [name for name in ("thunder", "fog") if getattr(weather, name)] == marks


def test_without_a_condition_the_amount_decides() -> None:
    weather = (
        parse_bright_sky(records({}, {"condition": None, "precipitation": 0.4}), CONTEXT).hours[0].weather
    )
    assert weather is not None
    assert weather.falling is Falling.RAIN


def test_day_and_night_come_from_the_icon() -> None:
    body = records({"icon": "clear-day"}, {"icon": "partly-cloudy-night"}, {"icon": "rain"}, {})
    assert [hour.is_day for hour in parse_bright_sky(body, CONTEXT).hours] == [True, False, None, None]


def test_an_invented_payload_of_right_shape_is_read_whole() -> None:
    forecast = parse_bright_sky(payload("brightsky-weather.json"), CONTEXT)
    assert len(forecast.hours) == 24
    assert forecast.origin.credit
    assert forecast.origin.findings == ()


def test_kelvin_is_not_taken_for_celsius() -> None:
    value = told("brightsky-weather.json")
    for row in value["weather"]:
        row["temperature"] += 273.15
    with pytest.raises(SourceError) as caught:
        parse_bright_sky(dumped(value), CONTEXT)
    assert caught.value.where.field == "$.weather[0].temperature"


@pytest.mark.parametrize(
    ("value", "words"),
    [
        ({"detail": "No sources match your criteria"}, "No sources match"),
        ({"weather": []}, "not one hour"),
        ({"weather": [{"temperature": 1.0}]}, "missing"),
        ({"weather": [{"timestamp": "2026-03-14T06:00:00"}]}, "no offset"),
        ([], "dictionary"),
    ],
)
def test_a_wrong_payload_is_refused(value: object, words: str) -> None:
    with pytest.raises(SourceError, match=words):
        parse_bright_sky(dumped(value), CONTEXT)
