"""Values derived from temperature, humidity and wind, against published tables."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallbill.facts import comfort
from wallbill.facts.forecast import Hour
from wallbill.units.quantity import Quantity


def c(value: float) -> Quantity:
    return Quantity(value, "°C")


def f(value: float) -> Quantity:
    return Quantity(value, "°F")


def pc(value: float) -> Quantity:
    return Quantity(value, "%")


def hpa(value: float) -> Quantity:
    return Quantity(value, "hPa")


@pytest.mark.parametrize(
    ("air_f", "humid", "index_f"),
    [
        # Source: the procedure of SR 90-23; metpy 1.7 gives the same to four decimals from 80 °F on.
        (70, 50, 69.5250),
        (75, 80, 75.4800),
        (80, 40, 79.7900),
        (82, 90, 91.9917),
        (86, 90, 105.3944),
        (90, 45, 92.4929),
        (90, 60, 99.6777),
        (90, 70, 105.9220),
        (96, 50, 107.6373),
        (96, 65, 121.0316),
        (100, 10, 94.1225),
        (100, 40, 109.2556),
        (100, 55, 123.6383),
        (104, 40, 118.8771),
        (110, 5, 101.4017),
        (110, 40, 135.6570),
    ],
)
def test_heat_index_by_its_procedure(air_f: float, humid: float, index_f: float) -> None:
    assert comfort.heat_index(f(air_f), pc(humid)).to("°F").value == pytest.approx(index_f, abs=1e-3)


@pytest.mark.parametrize(
    ("air_f", "humid", "printed_f"),
    [
        # Source: the heat index chart of the US National Weather Service.
        *((80, 40, 80), (90, 45, 93), (90, 60, 100), (90, 70, 105), (96, 50, 108), (96, 65, 121)),
        *((100, 40, 109), (100, 55, 124), (104, 40, 119), (110, 40, 136), (86, 90, 105)),
        # Source: the calculator of the US National Weather Service.
        *((86, 45, 87), (96, 60, 116), (111, 27, 121)),
    ],
)
def test_heat_index_by_its_chart(air_f: float, humid: float, printed_f: float) -> None:
    assert comfort.heat_index(f(air_f), pc(humid)).to("°F").value == pytest.approx(printed_f, abs=1.3)


@pytest.mark.parametrize(
    ("air_c", "humid", "dew_c", "others"),
    [
        # Source: WMO-No. 8, annex 4.B (from memory), worked out; others: the constants 17.27/237.7 and 17.625/243.04, metpy.
        (20, 50, 9.2552, (9.2543, 9.2611, 9.2561)),
        (25, 60, 16.6931, (16.6842, 16.6977, 16.6801)),
        (30, 80, 26.1688, (26.1604, 26.1709, 26.1313)),
        (10, 90, 8.4339, (8.4352, 8.4349, 8.4299)),
        (0, 70, -4.8237, (-4.8098, -4.8208, -4.8275)),
        (-5, 80, -7.9174, (-7.9067, -7.9156, -7.9277)),
        (35, 20, 8.6882, (8.6604, 8.7016, 8.6673)),
    ],
)
def test_dew_point(air_c: float, humid: float, dew_c: float, others: tuple[float, ...]) -> None:
    dew = comfort.dew_point(c(air_c), pc(humid))
    assert dew is not None
    assert dew.value == pytest.approx(dew_c, abs=1e-4)
    assert all(dew.value == pytest.approx(other, abs=0.05) for other in others)
    assert comfort.relative_humidity(c(air_c), dew).value == pytest.approx(humid, abs=1e-9)


@pytest.mark.parametrize(
    ("air_c", "vapour_hpa"),
    # Source: WMO-No. 8, annex 4.B, worked out.
    [
        (-20, 1.25965),
        (-10, 2.87031),
        (0, 6.112),
        (10, 12.2603),
        (20, 23.32596),
        (30, 42.33724),
        (40, 73.67458),
    ],
)
def test_saturation(air_c: float, vapour_hpa: float) -> None:
    assert comfort.saturation_vapour_pressure(c(air_c)).value == pytest.approx(vapour_hpa, abs=1e-4)


def test_dew_point_at_its_ends() -> None:
    assert comfort.dew_point(c(20), pc(0)) is None
    assert comfort.dew_point_of(hpa(-1)) is None
    assert comfort.dew_point_of(hpa(float("nan"))) is None
    assert comfort.dew_point_of(hpa(1e9)) is None
    saturated = comfort.dew_point(c(20), pc(104))
    assert saturated is not None
    assert saturated.value == pytest.approx(20)
    assert comfort.relative_humidity(c(10), c(12)) == pc(100)
    with pytest.raises(ValueError, match="no temperature of air"):
        comfort.dew_point(Quantity(1e6, "K"), pc(50))


@pytest.mark.parametrize(
    ("air_c", "dew_c", "told"),
    # Source: Environment Canada's formula (from memory), worked out.
    [(30, 15, 33.969), (30, 20, 37.571), (35, 25, 47.340), (25, 20, 32.571)],
)
def test_humidex(air_c: float, dew_c: float, told: float) -> None:
    assert comfort.humidex(c(air_c), c(dew_c)).value == pytest.approx(told, abs=1e-3)


@pytest.mark.parametrize(
    ("air_c", "humid", "wind_m_s", "told"),
    # Source: the Australian Bureau of Meteorology's formula (from memory), worked out.
    [(30, 50, 2, 31.577), (10, 80, 8, 3.637)],
)
def test_apparent_temperature(air_c: float, humid: float, wind_m_s: float, told: float) -> None:
    felt = comfort.apparent_temperature(c(air_c), pc(humid), Quantity(wind_m_s, "m/s"))
    assert felt.value == pytest.approx(told, abs=1e-3)


def test_it_feels_colder_in_wind_hotter_in_damp_and_else_as_it_is() -> None:
    mph, still = Quantity(15, "mph"), Quantity(1, "m/s")
    # Source: wind chill chart of the US National Weather Service, 20 °F at 15 mph: 6 °F.
    cold = comfort.feels_like(f(20), wind_speed=mph, humidity=pc(80))
    assert cold is not None
    assert cold.to("°F").value == pytest.approx(6, abs=0.5)
    # Source: heat index chart, 90 °F at 60 %: 100 °F.
    hot = comfort.feels_like(f(90), wind_speed=mph, humidity=pc(60))
    assert hot is not None
    assert hot.to("°F").value == pytest.approx(100, abs=0.5)
    assert comfort.feels_like(c(18), wind_speed=mph, humidity=pc(60)) == c(18)
    assert comfort.feels_like(c(5), wind_speed=still, humidity=pc(60)) == c(5)
    assert comfort.feels_like(c(33)) == c(33)
    assert comfort.feels_like(None, wind_speed=mph) is None


@given(st.floats(-60, 55), st.floats(0.5, 100))
def test_dew_point_and_humidity_undo_each_other(air_c: float, humid: float) -> None:
    dew = comfort.dew_point(c(air_c), pc(humid))
    assert dew is not None
    assert dew.value <= air_c + 1e-9
    assert comfort.relative_humidity(c(air_c), dew).value == pytest.approx(humid, rel=1e-9)


@given(st.floats(27, 50), st.floats(0, 99))
def test_damp_air_never_feels_cooler(air_c: float, humid: float) -> None:
    # The two adjustments make steps of less than 1.2 °F in the procedure itself.
    drier, damper = (
        comfort.heat_index(c(air_c), pc(h)).to("°F").value for h in (humid, min(humid + 15, 100))
    )
    assert damper > drier - 1.2


def test_hours_feel_and_know_their_dew_point() -> None:
    from tests.facts.test_forecast import HOUR, START  # noqa: PLC0415  only here

    hour = Hour(START, START + HOUR, temperature=f(90), humidity=pc(60), wind_speed=Quantity(3, "m/s"))
    assert hour.feels == comfort.heat_index(f(90), pc(60))
    assert hour.dew_point == comfort.dew_point(f(90), pc(60))
    assert Hour(START, START + HOUR).feels is None
    assert Hour(START, START + HOUR).dew_point is None
