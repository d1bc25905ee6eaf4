"""Facts as rows: names, units, gaps, nesting."""

import math
from datetime import UTC, date, datetime, timedelta

import pytest

from wallbill.blocks.grammar.rows import rows_of
from wallbill.errors import SheetError
from wallbill.facts.forecast import Falling, Forecast, Hour, Weather
from wallbill.facts.origin import Origin
from wallbill.facts.series import Reading, Series
from wallbill.units.quantity import Quantity

AT = datetime(2026, 3, 27, 7, tzinfo=UTC)
ORIGIN = Origin("hut", "invented", "", None, AT)


def fahrenheit(quantity: Quantity) -> float:
    return quantity.to("°F").value if quantity.kind == "temperature" else quantity.value


def test_a_series_gives_its_readings_and_gaps_stay_gaps() -> None:
    series = Series(ORIGIN, "quay", "°C", (Reading(AT, 4.5), Reading(AT + timedelta(hours=1), None)))
    assert rows_of(series, figure=fahrenheit) == [
        {"time": "2026-03-27T07:00:00+00:00", "value": 4.5, "series": "quay", "unit": "°C"},
        {"time": "2026-03-27T08:00:00+00:00", "value": None, "series": "quay", "unit": "°C"},
    ]


def test_several_series_follow_on_one_another() -> None:
    pair = [Series(ORIGIN, name, "°C", (Reading(AT, 1.0),)) for name in ("quay", "hut")]
    assert [row["series"] for row in rows_of(pair, figure=fahrenheit)] == ["quay", "hut"]


def test_a_forecast_gives_its_hours_in_the_walls_units() -> None:
    """Source: 0 °C is 32 °F by definition."""
    weather = Weather(0.5, Falling.RAIN)
    hour = Hour(AT, AT + timedelta(hours=1), temperature=Quantity(0.0, "°C"), weather=weather)
    (row,) = rows_of(Forecast(ORIGIN, (hour,)), figure=fahrenheit)
    assert row["valid_from"] == "2026-03-27T07:00:00+00:00"
    assert row["temperature"] == pytest.approx(32)
    assert row["weather_falling"] == "rain"
    assert row["weather_cloud"] == 0.5
    assert row["wind_speed"] is None


def test_lists_of_mappings_and_of_numbers_are_rows() -> None:
    given = [{"day": date(2026, 3, 27), "m": math.nan, "at": {"quay": 3}}, 7]
    assert rows_of(given, figure=fahrenheit) == [
        {"day": "2026-03-27T00:00:00", "m": None, "at_quay": 3},
        {"value": 7},
    ]


@pytest.mark.parametrize("given", ["rows", 7, {"a": 1}, b"x"])
def test_what_holds_no_rows_is_told(given: object) -> None:
    with pytest.raises(SheetError, match="a chart is drawn of rows"):
        rows_of(given, figure=fahrenheit)
