"""The ultraviolet index and the US air quality index, with their rounding traps."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallbill.facts.air import (
    AirBand,
    AirQuality,
    Pollutant,
    air_band,
    air_quality,
    nowcast,
    uv_band,
    uv_index,
    worst_air,
)


@pytest.mark.parametrize(
    ("index", "band"),
    # Source: WHO/WMO/UNEP/ICNIRP, Global Solar UV Index, 2002: low 0-2, moderate 3-5, high 6-7, very high 8-10, extreme 11+.
    [
        *((0, "low"), (2.4, "low"), (2.5, "moderate"), (3, "moderate"), (5, "moderate"), (5.5, "high")),
        *((7.49, "high"), (7.5, "very-high"), (10, "very-high"), (10.5, "extreme"), (17, "extreme")),
    ],
)
def test_uv_band(index: float, band: str) -> None:
    assert uv_band(index).value == band


def test_uv_index() -> None:
    assert uv_index(0.25) == 10  # Source: the same guide (from memory): 0.25 W/m² is index 10
    for bad in (-1.0, float("nan"), float("inf")):
        with pytest.raises(ValueError, match="no amount"):
            uv_band(bad)


@pytest.mark.parametrize(
    ("ug_m3", "index"),
    # Source: EPA-454/B-24-002, table 6 and its equation, worked out in decimals.
    [
        *((0, 0), (4.5, 25), (9.0, 50), (9.04, 50), (9.0999, 50), (9.1, 51), (12.0, 56), (35.4, 100)),
        *((35.49, 100), (35.5, 101), (35.9, 102), (55.4, 150), (55.5, 151), (100, 182), (125.4, 200)),
        *((125.5, 201), (150.4, 226), (225.4, 300), (225.5, 301), (325.4, 500), (900, 500)),
    ],
)
def test_fine_dust(ug_m3: float, index: int) -> None:
    assert air_quality(Pollutant.PM2_5, ug_m3) == AirQuality(index, Pollutant.PM2_5)


@pytest.mark.parametrize(
    ("pollutant", "concentration", "index"),
    [
        # Source: EPA-454/B-24-002 (from memory): 0.07853333 ppm is cut to 0.078, which is exactly 125.5, so 126.
        (Pollutant.OZONE_8H, 0.07853333, 126),
        # Source: the same (from memory): 8.4 ppm of carbon monoxide is 90.
        (Pollutant.CARBON_MONOXIDE, 8.4, 90),
        # Source: table 6, the ends of its rows.
        (Pollutant.OZONE_8H, 0.054, 50),
        (Pollutant.OZONE_8H, 0.0549, 50),
        (Pollutant.OZONE_8H, 0.055, 51),
        (Pollutant.OZONE_8H, 0.200, 300),
        (Pollutant.OZONE_8H, 0.3, 300),
        (Pollutant.OZONE_1H, 0.125, 101),
        (Pollutant.OZONE_1H, 0.604, 500),
        (Pollutant.PM10, 54.9, 50),
        (Pollutant.PM10, 55, 51),
        (Pollutant.PM10, 604, 500),
        (Pollutant.SULPHUR_DIOXIDE, 304, 200),
        (Pollutant.SULPHUR_DIOXIDE, 2000, 200),
        (Pollutant.NITROGEN_DIOXIDE, 100, 100),
        (Pollutant.NITROGEN_DIOXIDE, 101, 101),
        (Pollutant.NITROGEN_DIOXIDE, 2049, 500),
    ],
)
def test_the_other_pollutants(pollutant: Pollutant, concentration: float, index: int) -> None:
    told = air_quality(pollutant, concentration)
    assert told is not None
    assert told.index == index


def test_binary_noise_does_not_lose_a_step() -> None:
    assert 0.1 + 0.2 + 8.8 < 9.1 + 1e-12  # a sum that stands for 9.1 and may lie a hair below
    for value in (9.099999999999998, 9.1, 9.100000000000001):
        told = air_quality(Pollutant.PM2_5, value)
        assert told is not None
        assert told.index == 51


def test_little_ozone_of_one_hour_has_no_index() -> None:
    assert air_quality(Pollutant.OZONE_1H, 0.1249) is None
    assert worst_air({Pollutant.OZONE_1H: 0.1}) is None
    # Source: EPA-454/B-24-002: of several pollutants the highest index counts.
    told = worst_air({Pollutant.OZONE_1H: 0.1, Pollutant.PM2_5: 35.9, Pollutant.CARBON_MONOXIDE: 8.4})
    assert told == AirQuality(102, Pollutant.PM2_5)
    assert told is not None
    assert told.band is AirBand.UNHEALTHY_FOR_SENSITIVE_GROUPS


def test_bands() -> None:
    # Source: EPA-454/B-24-002, table 1.
    ends = {0: 0, 50: 0, 51: 1, 100: 1, 101: 2, 150: 2, 151: 3, 200: 3, 201: 4, 300: 4, 301: 5, 500: 5}
    assert {index: air_band(index).gravity for index in ends} == ends


def test_nowcast() -> None:
    # Source: the agency's worked example (from memory): 17.414, given as 17.4.
    hours = [13, 16, 10, 21, 74, 64, 53, 82, 90, 75, 80, 50]
    told = nowcast(hours)
    assert told == pytest.approx(17.414, abs=1e-3)
    assert told is not None
    assert air_quality(Pollutant.PM2_5, told) == air_quality(Pollutant.PM2_5, 17.4)


def test_nowcast_needs_two_of_the_last_three_hours() -> None:
    assert nowcast([None, None, 5, 5, 5]) is None
    assert nowcast([]) is None
    assert nowcast([None, 5.0, 5.0]) == 5
    assert nowcast([0.0, 0.0, 0.0]) == 0
    # A gap keeps its place: with a weight of one half the third hour weighs a quarter.
    assert nowcast([10.0, None, 40.0]) == pytest.approx((10 + 40 / 4) / (1 + 1 / 4))


@given(st.sampled_from(Pollutant), st.floats(0, 3000), st.floats(0, 100))
def test_more_is_never_better(pollutant: Pollutant, concentration: float, more: float) -> None:
    low, high = air_quality(pollutant, concentration), air_quality(pollutant, concentration + more)
    assert (low.index if low else 0) <= (high.index if high else 0) <= 500


@given(st.lists(st.floats(0, 500), min_size=3, max_size=12))
def test_a_nowcast_lies_within_its_hours(hours: list[float]) -> None:
    told = nowcast(hours)
    assert told is not None
    assert min(hours) - 1e-6 <= told <= max(hours) + 1e-6
