"""Readings on their way into a chart: peaks survive thinning, gaps stay gaps, facts become points."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wallbill.blocks.charts.readings import (
    in_unit,
    nights,
    rain,
    runs,
    stretch,
    temperatures,
    thinned,
    wind_speeds,
)
from wallbill.errors import WallbillError
from wallbill.facts.forecast import Forecast, Hour
from wallbill.facts.origin import Origin
from wallbill.facts.series import Reading, Series
from wallbill.units.quantity import Quantity

NOON = datetime(2026, 2, 27, 12, tzinfo=UTC)
ORIGIN = Origin("hut", "invented", "", None, NOON)


def reading(minute: float, value: float | None) -> Reading:
    return Reading(NOON + timedelta(minutes=minute), value)


def column_of(width_px: int, minutes: float) -> Callable[[datetime], int]:
    return lambda at: round((at - NOON) / timedelta(minutes=minutes) * (width_px - 1))


values = st.lists(st.floats(-50, 50, allow_nan=False), min_size=1, max_size=400)


@settings(deadline=None)
@given(values, st.integers(2, 60))
def test_every_column_keeps_its_first_last_lowest_and_highest(
    given_values: list[float], width_px: int
) -> None:
    run = [reading(i, value) for i, value in enumerate(given_values)]
    column = column_of(width_px, max(1, len(run) - 1))
    kept = thinned(run, column)
    assert list(kept) == sorted(kept, key=lambda one: one.at)
    assert set(kept) <= set(run)
    for number in {column(one.at) for one in run}:
        whole = [one for one in run if column(one.at) == number]
        left = [one for one in kept if column(one.at) == number]
        assert (left[0], left[-1]) == (whole[0], whole[-1])
        assert len(left) <= 4
        known = [one.value for one in whole if one.value is not None]
        thin = [one.value for one in left if one.value is not None]
        assert (min(thin), max(thin)) == (min(known), max(known))


def test_a_reading_without_a_value_parts_the_line() -> None:
    parts = runs([reading(0, 1), reading(10, 2), reading(20, None), reading(30, 3), reading(40, 4)])
    assert [[one.value for one in part] for part in parts] == [[1, 2], [3, 4]]


def test_a_long_silence_parts_the_line_too() -> None:
    parts = runs([reading(0, 1), reading(10, 2), reading(20, 3), reading(51, 4), reading(61, 5)])
    assert [len(part) for part in parts] == [3, 2]
    joined = runs(
        [reading(0, 1), reading(10, 2), reading(20, 3), reading(51, 4)], gap_after=timedelta(hours=1)
    )
    assert [len(part) for part in joined] == [4]


def test_readings_out_of_order_are_put_in_order() -> None:
    (part,) = runs([reading(20, 3), reading(0, 1), reading(10, 2)])
    assert [one.value for one in part] == [1, 2, 3]


def hour(number: int, **parts: object) -> Hour:
    start = NOON + timedelta(hours=number)
    return Hour(start, start + timedelta(hours=1), **parts)  # type: ignore[arg-type]  # parts are named by the tests below


def test_a_forecast_becomes_series_in_the_asked_unit() -> None:
    forecast = Forecast(
        ORIGIN,
        (
            hour(
                0,
                temperature=Quantity(0, "°C"),
                wind_speed=Quantity(10, "m/s"),
                precipitation=Quantity(1, "in"),
            ),
            hour(1),
        ),
    )
    assert [one.value for one in temperatures(forecast, unit="°F").readings] == [32, None]
    assert [one.value for one in wind_speeds(forecast, unit="km/h").readings] == [36, None]
    (fall,) = rain(forecast, unit="mm")  # 1 in = 25.4 mm, exact: NIST SP 811
    assert (fall.value, fall.end - fall.start) == (25.4, timedelta(hours=1))


def test_nights_are_joined_hour_by_hour() -> None:
    dark = [True, True, False, False, True, None]
    forecast = Forecast(
        ORIGIN, tuple(hour(i, is_day=None if d is None else not d) for i, d in enumerate(dark))
    )
    assert nights(forecast) == (
        (NOON, NOON + timedelta(hours=2)),
        (NOON + timedelta(hours=4), NOON + timedelta(hours=5)),
    )


def test_a_series_changes_its_unit_and_keeps_its_gaps() -> None:
    series = Series(ORIGIN, "quay", "°C", (reading(0, 100), reading(1, None)))
    assert [one.value for one in in_unit(series, "°F").readings] == [212, None]
    with pytest.raises(WallbillError, match="cannot give"):
        in_unit(series, "km")


def test_the_stretch_runs_from_the_first_to_the_last_value() -> None:
    series = Series(ORIGIN, "quay", "°C", (reading(0, None), reading(5, 1), reading(9, 2), reading(12, None)))
    assert stretch([series]) == (NOON + timedelta(minutes=5), NOON + timedelta(minutes=9))
    assert stretch([]) is None
