"""The US National Weather Service. Format: its OpenAPI description 1.9.0 (weather-gov/api, openapi.yaml)."""

from datetime import UTC, date, datetime, timedelta

import pytest
from tests.sources.weather_bench import context_of, dumped, payload, spec_of, told

from wallbill.errors import SourceError
from wallbill.facts.forecast import Falling, Phenomenon
from wallbill.sources.forecast_nws import join_nws, parse_nws, parse_nws_point
from wallbill.units.quantity import Quantity

CONTEXT = context_of("America/New_York", spec=spec_of("nws"))


def periods(*rows: dict[str, object]) -> bytes:
    return dumped({"properties": {"updateTime": "2026-03-14T09:31:02+00:00", "periods": list(rows)}})


def hour(**more: object) -> dict[str, object]:
    return {
        "startTime": "2026-03-14T06:00:00-04:00",
        "endTime": "2026-03-14T07:00:00-04:00",
        "isDaytime": True,
        **more,
    }


def test_an_hour_is_read() -> None:
    first = parse_nws(payload("nws-forecast-hourly.json"), CONTEXT).hours[0]
    assert first.valid_from == datetime(2026, 3, 14, 10, tzinfo=UTC)
    assert first.valid_to == datetime(2026, 3, 14, 11, tzinfo=UTC)
    assert first.temperature is not None
    # NIST SP 811, appendix B: 35 °F = (35 - 32) / 1.8 °C.
    assert first.temperature.value == pytest.approx(3 / 1.8)
    assert first.wind_speed == Quantity(6 * 0.44704, "m/s")
    assert first.wind_from_deg == 0.0
    assert first.precipitation_chance == Quantity(40.0, "%")
    assert first.humidity == Quantity(90.0, "%")
    assert first.precipitation is None
    assert first.is_day is True


def test_quantities_and_words_read_alike() -> None:
    words = hour(temperature=50, temperatureUnit="F", windSpeed="10 mph", windGust="20 mph")
    measures = hour(
        temperature={"unitCode": "wmoUnit:degC", "value": 10},
        windSpeed={"unitCode": "wmoUnit:km_h-1", "value": 16.09344},
        windGust={"unitCode": "wmoUnit:km_h-1", "minValue": 8, "maxValue": 32.18688},
    )
    (one,), (other,) = (parse_nws(periods(row), CONTEXT).hours for row in (words, measures))
    for name in ("temperature", "wind_speed", "wind_gust"):
        assert getattr(one, name).value == pytest.approx(getattr(other, name).value)
        assert getattr(one, name).unit == getattr(other, name).unit


@pytest.mark.parametrize(
    ("words", "mph"),
    [("10 mph", 10), ("5 to 10 mph", 10), ("up to 15 mph", 15), ("0 mph", 0), ("Calm", 0), ("7.5 mph", 7.5)],
)
def test_wind_in_words(words: str, mph: float) -> None:
    (only,) = parse_nws(periods(hour(windSpeed=words)), CONTEXT).hours
    assert only.wind_speed is not None
    assert only.wind_speed.value == pytest.approx(mph * 0.44704)  # the mile an hour, NIST SP 811


@pytest.mark.parametrize(
    "words", ["", "strong", "10 furlongs", None, {"unitCode": "wmoUnit:degC", "value": 5}]
)
def test_a_wind_that_cannot_be_read_is_unknown(words: object) -> None:
    (only,) = parse_nws(periods(hour(windSpeed=words, windDirection="VRB")), CONTEXT).hours
    assert only.wind_speed is None
    assert only.wind_from_deg is None


@pytest.mark.parametrize(
    ("words", "falling", "marks", "cloud"),
    [
        ("Sunny", Falling.NONE, "", 0.0),
        ("Mostly Clear", Falling.NONE, "", 0.2),
        ("Partly Sunny", Falling.NONE, "", 0.5),
        ("Mostly Cloudy", Falling.NONE, "", 0.8),
        ("Cloudy", Falling.NONE, "", 1.0),
        ("Patchy Fog", Falling.NONE, "fog", 1.0),
        ("Slight Chance Rain Showers", Falling.RAIN, "showers", 0.7),
        ("Chance Showers And Thunderstorms", Falling.RAIN, "showers thunder", 0.7),
        ("Rain And Snow Likely", Falling.SLEET, "", 1.0),
        ("Freezing Rain", Falling.FREEZING_RAIN, "", 1.0),
        ("Snow Flurries", Falling.SNOW, "showers", 0.7),
        ("Blowing Snow And Mostly Sunny", Falling.NONE, "", 0.2),
        ("Drizzle", Falling.DRIZZLE, "", 1.0),
        ("Sunny then Chance T-storms", Falling.RAIN, "thunder", 1.0),
    ],
)
def test_words_of_the_short_forecast(words: str, falling: Falling, marks: str, cloud: float) -> None:
    # The words are those of the service's own forecasts, from memory.
    (only,) = parse_nws(periods(hour(shortForecast=words)), CONTEXT).hours
    weather = only.weather
    assert weather is not None
    assert weather.falling is falling
    assert " ".join(name for name in ("showers", "thunder", "fog") if getattr(weather, name)) == marks
    assert weather.cloud == cloud


@pytest.mark.parametrize(
    ("words", "phenomenon", "falling"),
    [
        ("Haze", Phenomenon.HAZE, Falling.NONE),
        ("Areas Of Smoke", Phenomenon.SMOKE, Falling.NONE),
        ("Blowing Dust", Phenomenon.DUST, Falling.NONE),
        ("Mostly Sunny And Blowing Snow", Phenomenon.BLOWING_SNOW, Falling.NONE),
        ("Blizzard", Phenomenon.BLOWING_SNOW, Falling.SNOW),
        ("Patchy Freezing Fog", Phenomenon.FREEZING_FOG, Falling.NONE),
        ("Sunny And Hot", Phenomenon.HOT, Falling.NONE),
        ("Bitter Cold", Phenomenon.COLD, Falling.NONE),
        ("Sleet Likely", Phenomenon.NONE, Falling.ICE_PELLETS),
        ("Ice Crystals", Phenomenon.DIAMOND_DUST, Falling.NONE),
        ("Volcanic Ash", Phenomenon.ASH, Falling.NONE),
        ("Rain And Gales", Phenomenon.GALE, Falling.RAIN),
    ],
)
def test_words_for_what_the_air_does(words: str, phenomenon: Phenomenon, falling: Falling) -> None:
    # The words are those of the service's own forecasts, from memory.
    (only,) = parse_nws(periods(hour(shortForecast=words)), CONTEXT).hours
    assert only.weather is not None
    assert (only.weather.phenomenon, only.weather.falling) == (phenomenon, falling)
    assert only.weather.fog == (phenomenon is Phenomenon.FREEZING_FOG)


def test_words_that_say_nothing_of_the_sky_are_told() -> None:
    forecast = parse_nws(periods(hour(shortForecast="Breezy")), CONTEXT)
    assert forecast.hours[0].weather is None
    assert forecast.origin.findings[0].where.field == "$.properties.periods[0].shortForecast"


def test_half_days_give_highs_by_day_and_lows_by_night() -> None:
    forecast = parse_nws(payload("nws-forecast.json"), CONTEXT)
    day, night = forecast.hours[:2]
    assert (day.temperature, night.temperature) == (None, None)
    assert day.high == Quantity(46, "°F").to("°C")
    assert night.low == Quantity(33, "°F").to("°C")
    assert day.low is None
    assert night.high is None
    assert forecast.origin.issued_at == datetime(2026, 3, 14, 9, 31, 2, tzinfo=UTC)


def test_the_low_of_a_night_belongs_to_the_morning() -> None:
    forecast = parse_nws(payload("nws-forecast.json"), CONTEXT)
    sunday = forecast.day(date(2026, 3, 15))
    assert sunday is not None
    assert sunday.low == Quantity(33, "°F").to("°C")  # Saturday night, 18 to 06
    assert sunday.high == Quantity(48, "°F").to("°C")


def test_both_forecasts_join() -> None:
    hourly, long = (parse_nws(payload(f"nws-forecast{part}.json"), CONTEXT) for part in ("-hourly", ""))
    both = join_nws([long, hourly], CONTEXT)
    assert both.hours[: len(hourly.hours)] == hourly.hours
    assert both.hours[-1] == long.hours[-1]
    assert all(a.valid_to <= b.valid_from for a, b in zip(both.hours, both.hours[1:], strict=False))
    saturday = both.day(date(2026, 3, 14))
    assert saturday is not None
    assert saturday.high == Quantity(46, "°F").to("°C")  # the forecaster's own
    assert both.hours[-1].valid_to - both.hours[-1].valid_from == timedelta(hours=12)


def test_a_point_leads_to_its_forecasts() -> None:
    hourly, long = parse_nws_point(payload("nws-points.json"), "forecast")
    assert hourly.endswith("/gridpoints/XYZ/71,42/forecast/hourly")
    assert long.endswith("/gridpoints/XYZ/71,42/forecast")


def test_a_bad_period_is_left_out() -> None:
    value = told("nws-forecast-hourly.json")
    value["properties"]["periods"][4]["temperature"] = "mild"
    value["properties"]["periods"][5]["startTime"] = None
    forecast = parse_nws(dumped(value), CONTEXT)
    assert len(forecast.hours) == 46
    assert [f.where.field for f in forecast.origin.findings] == [
        "$.properties.periods[4].temperature",
        "$.properties.periods[5].startTime",
    ]


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (
            {"title": "Data Unavailable", "detail": "Unable to provide data", "status": 404},
            "Unable to provide",
        ),
        ({"properties": {"periods": []}}, "not one hour"),
        ({"properties": {}}, "missing"),
        ({"properties": {"periods": [hour(endTime="2026-03-14T06:00:00-04:00")]}}, "ends before it begins"),
        ({"properties": {"periods": [hour(temperature=9999)]}}, "160"),
    ],
)
def test_a_wrong_payload_is_refused(value: object, words: str) -> None:
    with pytest.raises(SourceError, match=words):
        parse_nws(dumped(value), CONTEXT)
