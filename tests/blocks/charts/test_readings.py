"""Readings on their way into a chart: peaks survive thinning, gaps stay gaps, facts become points."""

import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wallbill.blocks.charts.readings import (
    in_unit,
    is_number,
    micros,
    moment_of,
    nights,
    rain,
    reach,
    runs,
    stretch,
    telling,
    temperatures,
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


values = st.lists(st.floats(-50, 50, allow_nan=False), min_size=1, max_size=400)


@settings(deadline=None)
@given(values, st.data())
def test_every_column_keeps_its_first_last_lowest_and_highest(
    given_values: list[float], data: st.DataObject
) -> None:
    count = len(given_values)
    columns = sorted(data.draw(st.lists(st.integers(-3, 40), min_size=count, max_size=count)))
    kept = telling(np.array(columns), np.array(given_values)).tolist()
    assert kept == sorted(set(kept))
    for number in set(columns):
        whole = [place for place in range(count) if columns[place] == number]
        left = [place for place in kept if columns[place] == number]
        assert (left[0], left[-1]) == (whole[0], whole[-1])
        assert len(left) <= 4
        known, thin = ([given_values[place] for place in places] for places in (whole, left))
        assert (min(thin), max(thin)) == (min(known), max(known))


def test_no_readings_leave_none() -> None:
    assert telling(np.empty(0, dtype=np.int64), np.empty(0)).tolist() == []
    assert runs([]) == ()
    assert runs([reading(0, None), reading(1, math.nan)]) == ()


def test_what_is_no_number_is_a_gap() -> None:
    bad = (math.nan, math.inf, -math.inf, 1e300, -1e16)
    for value in bad:
        parts = runs([reading(0, 1), reading(10, value), reading(20, 3)])
        assert [[one.value for one in part] for part in parts] == [[1], [3]]
        assert reach([parts]) == (NOON, NOON + timedelta(minutes=20))
    assert [is_number(value) for value in (*bad, None, 1e15, -3.5, 0)] == [False] * 6 + [True] * 3


# A float of seconds is exact to the microsecond within 2^31 of 1970: to the 19th of January 2038.
def within_years(first: int, last: int) -> st.SearchStrategy[datetime]:
    begin = datetime(first, 1, 1, tzinfo=UTC)
    length_us = (datetime(last, 1, 1, tzinfo=UTC) - begin) // timedelta(microseconds=1)
    return st.integers(0, length_us).map(lambda us: begin + timedelta(microseconds=us))


moments = within_years(1902, 2038)


@given(moments, within_years(2, 9998))
def test_microseconds_there_and_back(near: datetime, far: datetime) -> None:
    for moment, off in ((near, 0), (far, 64)):
        assert moment_of(micros(moment)) == moment
        (run,) = runs([Reading(moment, 1.0)])
        assert abs(int(run.at_us[0]) - micros(moment)) <= off


@settings(deadline=None)
@given(st.lists(st.tuples(moments, st.one_of(st.none(), st.floats())), max_size=60))
def test_runs_hold_every_number_once_in_order_of_time(
    given_rows: list[tuple[datetime, float | None]],
) -> None:
    readings = [Reading(at, value) for at, value in given_rows]
    parts = runs(readings)
    joined = [one for part in parts for one in part]
    assert joined == sorted((one for one in readings if is_number(one.value)), key=lambda one: one.at)
    for part in parts:
        assert [micros(one.at) for one in part] == part.at_us.tolist()
        assert [one.value for one in part] == part.values.tolist()
        assert part[0] == part[:1][0]


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
