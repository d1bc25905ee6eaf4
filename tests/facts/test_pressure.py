"""Pressure at the sea, in the standard atmosphere, and its tendency in words."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallbill.facts.origin import Origin
from wallbill.facts.pressure import (
    Tendency,
    pressure_tendency,
    sea_level_pressure,
    standard_height,
    standard_pressure,
    station_pressure,
)
from wallbill.facts.series import Reading, Series
from wallbill.units.quantity import Quantity


def hpa(value: float) -> Quantity:
    return Quantity(value, "hPa")


def m(value: float) -> Quantity:
    return Quantity(value, "m")


@pytest.mark.parametrize(
    ("at_hpa", "height_m", "air_c", "sea_hpa", "hypsometric_hpa"),
    [
        # Source: the formula, worked out; beside it the hypsometric equation with the mean layer temperature.
        (950, 500, 15, 1007.697, 1007.685),
        (1000, 100, 10, 1012.127, 1012.125),
        (900, 900, 5, 1004.065, 1004.039),
        (835, 1609.344, 20, 1004.005, 1003.949),
        (1013.25, 0, 15, 1013.25, 1013.25),
    ],
)
def test_sea_level_pressure(
    at_hpa: float, height_m: float, air_c: float, sea_hpa: float, hypsometric_hpa: float
) -> None:
    told = sea_level_pressure(hpa(at_hpa), m(height_m), Quantity(air_c, "°C")).value
    assert told == pytest.approx(sea_hpa, abs=1e-3)
    assert told == pytest.approx(hypsometric_hpa, abs=0.1)


@pytest.mark.parametrize(
    ("height_m", "told_hpa", "metpy_hpa"),
    # Source: the formula, worked out; metpy 1.7, pressure and height of the standard atmosphere, and its tests' 321.5 m and 487.6 m.
    [
        (500, 954.608, 954.577),
        (1000, 898.746, 898.687),
        (3000, 701.085, 700.941),
        (321.5, None, 975.2),
        (487.6, None, 956.0),
    ],
)
def test_standard_atmosphere(height_m: float, told_hpa: float | None, metpy_hpa: float) -> None:
    told = standard_pressure(m(height_m))
    assert told_hpa is None or told.value == pytest.approx(told_hpa, abs=1e-3)
    assert told.value == pytest.approx(metpy_hpa, abs=0.15)
    assert standard_height(told).value == pytest.approx(height_m, abs=1e-6)


def test_station_pressure_from_the_altimeter_setting() -> None:
    # Source: metpy 1.7, altimeter_to_station_pressure(29.92 inHg, 1609.344 m) = 834.450 hPa.
    told = station_pressure(Quantity(29.92, "inHg"), Quantity(1, "mi"))
    assert told.value == pytest.approx(834.450, abs=0.05)


def test_no_heights_beyond_the_land() -> None:
    for height in (-600.0, 9500.0, float("nan")):
        with pytest.raises(ValueError, match="no height"):
            standard_pressure(m(height))
    with pytest.raises(ValueError, match="no pressure"):
        standard_height(hpa(5))


@pytest.mark.parametrize(
    ("change_hpa", "word"),
    [
        # Source: UK Met Office, glossary of the marine forecasts: 0.1 to 1.5, 1.6 to 3.5, 3.6 to 6.0, more than 6.0 hPa.
        (0.0, "steady"),
        (0.04, "steady"),
        (-0.1, "falling-slowly"),
        (1.5, "rising-slowly"),
        (1.6, "rising"),
        (-3.5, "falling"),
        (-3.6, "falling-quickly"),
        (6.0, "rising-quickly"),
        (-6.1, "falling-very-rapidly"),
        (12.0, "rising-very-rapidly"),
    ],
)
def test_tendency_in_words(change_hpa: float, word: str) -> None:
    told = pressure_tendency(hpa(change_hpa))
    assert told.value == word
    assert told.way == (0 if word == "steady" else 1 if change_hpa > 0 else -1)
    assert pressure_tendency(Quantity(change_hpa * 100, "Pa")) is told


@given(st.floats(-50, 50))
def test_every_change_has_a_word(change_hpa: float) -> None:
    assert pressure_tendency(hpa(change_hpa)) in Tendency


START = datetime(2026, 3, 14, 6, tzinfo=UTC)
ORIGIN = Origin("hut", "csv", "", None, START)


def barometer(*values: float | None, minutes: int = 30, unit: str = "hPa") -> Series:
    readings = (Reading(START + n * timedelta(minutes=minutes), value) for n, value in enumerate(values))
    return Series(ORIGIN, "pressure", unit, tuple(readings))


def test_a_series_tells_its_change() -> None:
    series = barometer(1012.0, 1011.5, 1011.0, 1010.4, 1009.9, 1009.6, 1009.2, 1008.8)
    assert series.change() == Quantity(-2.7, "hPa")
    assert series.change(hours=1) == Quantity(-0.8, "hPa")
    assert series.tendency is Tendency.FALLING


def test_a_change_needs_a_reading_near_enough() -> None:
    assert barometer(1012.0, 1010.0).change() is None
    assert barometer().change() is None
    # The last reading that has a value counts, and a gap where the first should be is bridged by half an hour at most.
    assert barometer(1012.0, None, 1011.0, 1010.0, 1009.0, 1008.0, 1007.0, None).change() == Quantity(
        -5.0, "hPa"
    )
    assert barometer(1012.5, None, 1011.0, 1010.0, 1009.0, 1008.0, 1007.0, 1006.0).change() == Quantity(
        -6.5, "hPa"
    )
    assert barometer(None, None, None, 1010.0, 1009.0, 1008.0, 1007.0).change() is None


def test_only_pressure_has_a_tendency() -> None:
    warm = barometer(20.0, 20.5, 21.0, 21.5, 22.0, 22.5, 23.0, unit="°C")
    assert warm.change() == Quantity(3.0, "°C")
    assert warm.tendency is None
