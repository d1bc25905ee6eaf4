"""The invented payloads of the example wall: both files tell the same weather, and the script makes them again."""

import runpy
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from tests.sources.weather_bench import context_of, spec_of

from wallbill.facts.forecast import Falling, Forecast, Turn
from wallbill.sources.forecast_met_norway import parse_met_norway
from wallbill.sources.forecast_open_meteo import parse_open_meteo

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "examples" / "fennel-quay" / "payloads"
CONTEXT = context_of(spec=spec_of())
MORNING = datetime(2026, 3, 14, 8, tzinfo=UTC)


@pytest.fixture(scope="module")
def both() -> tuple[Forecast, Forecast]:
    return (
        parse_met_norway((FOLDER / "locationforecast.json").read_bytes(), CONTEXT),
        parse_open_meteo((FOLDER / "open-meteo.json").read_bytes(), CONTEXT),
    )


def test_the_script_makes_the_files_again() -> None:
    made: dict[str, Any] = runpy.run_path(str(ROOT / "scripts" / "make_demo_payloads.py"))
    assert made["locationforecast"]() == (FOLDER / "locationforecast.json").read_text(encoding="utf-8")
    assert made["open_meteo"]() == (FOLDER / "open-meteo.json").read_text(encoding="utf-8")


def test_both_tell_the_same_weather(both: tuple[Forecast, Forecast]) -> None:
    one, other = both
    length = timedelta(hours=48)
    assert [(c.at, c.turn) for c in one.changes(MORNING, length)] == [
        (c.at, c.turn) for c in other.changes(MORNING, length)
    ]
    for hour in one.between(MORNING, MORNING + length):
        same = other.at(hour.valid_from)
        assert same is not None
        assert (hour.temperature, hour.precipitation) == (same.temperature, same.precipitation)
        assert hour.wind_point is same.wind_point
        assert hour.weather is not None
        assert same.weather is not None
        assert (hour.weather.falling, hour.weather.thunder, hour.weather.fog) == (
            same.weather.falling,
            same.weather.thunder,
            same.weather.fog,
        )


def test_the_story_of_the_day_is_in_it(both: tuple[Forecast, Forecast]) -> None:
    forecast = both[0]
    assert forecast.origin.findings == ()
    first = forecast.changes(MORNING, timedelta(hours=12))[0]
    assert (first.at.hour, first.turn, first.weather.showers) == (18, Turn.BEGINS, True)
    windiest = forecast.strongest(MORNING, timedelta(days=1))
    assert windiest is not None
    assert (windiest.beaufort, windiest.wind_point) == (6, "SW")
    assert sum(hour.weather.thunder for hour in forecast.hours[:48] if hour.weather) == 1
    kinds = [day.weather.falling if day.weather else None for day in forecast.days]
    assert kinds[:6] == [Falling.NONE, Falling.RAIN, Falling.NONE, Falling.SLEET, Falling.SNOW, Falling.NONE]
    monday = forecast.day(date(2026, 3, 16))
    assert monday is not None
    assert monday.weather is not None
    assert monday.weather.fog
