"""Beaufort, compass and wind chill against published tables."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallbill.facts.wind import Point, beaufort, compass_point, wind_chill
from wallbill.units.quantity import Quantity

# WMO No. 306, code table 1100: the speeds of each force in m/s and in whole knots.
BEAUFORT = [
    (0, 0.0, 0.2, 0, 0), (1, 0.3, 1.5, 1, 3), (2, 1.6, 3.3, 4, 6), (3, 3.4, 5.4, 7, 10), (4, 5.5, 7.9, 11, 16),
    (5, 8.0, 10.7, 17, 21), (6, 10.8, 13.8, 22, 27), (7, 13.9, 17.1, 28, 33), (8, 17.2, 20.7, 34, 40),
    (9, 20.8, 24.4, 41, 47), (10, 24.5, 28.4, 48, 55), (11, 28.5, 32.6, 56, 63), (12, 32.7, 80.0, 64, 150),
]  # fmt: skip


@pytest.mark.parametrize(("force", "from_m_s", "to_m_s", "from_kn", "to_kn"), BEAUFORT)
def test_beaufort_by_wmo_306_table_1100(
    force: int, from_m_s: float, to_m_s: float, from_kn: int, to_kn: int
) -> None:
    assert [beaufort(Quantity(v, "m/s")) for v in (from_m_s, to_m_s)] == [force, force]
    assert [beaufort(Quantity(v, "kn")) for v in (from_kn, to_kn)] == [force, force]


@pytest.mark.parametrize(
    ("m_s", "force"), [(1.54, 1), (1.56, 2), (0.26, 1), (0.24, 0), (32.64, 11), (32.66, 12)]
)
def test_the_gaps_of_the_table_are_rounded_to_its_tenths(m_s: float, force: int) -> None:
    assert beaufort(Quantity(m_s, "m/s")) == force


@pytest.mark.parametrize("force", range(12))
def test_beaufort_near_its_formula(force: int) -> None:
    # v = 0.836 B^1.5 (the formula behind the table, from memory): the middle of each force lies in that force.
    assert beaufort(Quantity(0.836 * force**1.5, "m/s")) == force


def test_the_middle_of_each_point_is_that_point() -> None:
    # 32-point rose halved: sixteen points, 22.5 degrees apart, clockwise from north (standard, no source needed).
    assert [point.degrees for point in Point] == [22.5 * n for n in range(16)]
    assert all(compass_point(point.degrees) is point for point in Point)


@pytest.mark.parametrize(
    ("degrees", "point"),
    [
        (0, "N"),
        (360, "N"),
        (11.24, "N"),
        (11.25, "NNE"),
        (348.74, "NNW"),
        (348.75, "N"),
        (225, "SW"),
        (-45, "NW"),
        (725, "N"),
    ],
)
def test_compass_points(degrees: float, point: str) -> None:
    assert compass_point(degrees) == point


@given(st.floats(-1e6, 1e6))
def test_no_direction_is_further_than_half_a_point(degrees: float) -> None:
    away = abs((compass_point(degrees).degrees - degrees + 180) % 360 - 180)
    assert away <= 11.25 + 1e-6


# US National Weather Service, wind chill chart of 1 November 2001 (°F by mph): cells read off the published chart;
# -10/25 and -20/40 computed with its formula 35.74 + 0.6215 T - 35.75 V^0.16 + 0.4275 T V^0.16.
CHART_F = [(40, 5, 36), (30, 10, 21), (20, 15, 6), (10, 20, -9), (5, 30, -19), (0, 15, -19), (0, 30, -26), (-10, 25, -37),
           (-20, 40, -57), (-45, 60, -98)]  # fmt: skip


@pytest.mark.parametrize(("air_f", "wind_mph", "cell_f"), CHART_F)
def test_wind_chill_by_the_us_chart(air_f: float, wind_mph: float, cell_f: int) -> None:
    felt = wind_chill(Quantity(air_f, "°F"), Quantity(wind_mph, "mph"))
    assert felt is not None
    # The metric form differs from the US form by up to 0.1 °F.
    us = 35.74 + 0.6215 * air_f - 35.75 * wind_mph**0.16 + 0.4275 * air_f * wind_mph**0.16
    assert round(us) == cell_f
    assert felt.to("°F").value == pytest.approx(us, abs=0.1)


# Environment Canada, wind chill index of 2001 (°C by km/h): values of the metric formula, and the chart's whole degrees.
CHART_C = [
    (0, 10, -3.3147, -3), (0, 20, -5.2422, -5), (-5, 30, -12.9967, -13), (-10, 20, -17.8606, -18),
    (-10, 30, -19.5205, -20), (-15, 40, -27.4500, -27), (-20, 50, -35.4005, -35), (-30, 60, -50.3177, -50),
    (-40, 40, -60.8734, -61), (-50, 80, -80.8447, -81),
]  # fmt: skip


@pytest.mark.parametrize(("air", "wind", "value", "cell"), CHART_C)
def test_wind_chill_by_the_canadian_index(air: float, wind: float, value: float, cell: int) -> None:
    felt = wind_chill(Quantity(air, "°C"), Quantity(wind, "km/h"))
    assert felt is not None
    assert felt.unit == "°C"
    assert felt.value == pytest.approx(value, abs=1e-4)
    assert abs(felt.value - cell) <= 0.5 + 1e-9


def test_wind_chill_in_strong_wind() -> None:
    # A value of the tests of MetPy (windchill): -5 °C at 35 m/s.
    felt = wind_chill(Quantity(-5, "°C"), Quantity(35, "m/s"))
    assert felt is not None
    assert felt.value == pytest.approx(-18.9357, abs=1e-3)


@pytest.mark.parametrize(("air_f", "wind_mph"), [(51, 20), (30, 3), (30, 0)])
def test_wind_chill_is_not_defined_in_warm_or_still_air(air_f: float, wind_mph: float) -> None:
    # Limits of the US index: at or below 50 °F, above 3 mph.
    assert wind_chill(Quantity(air_f, "°F"), Quantity(wind_mph, "mph")) is None
