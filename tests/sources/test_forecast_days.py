"""Local days out of hours. Changes of clocks: the IANA time zone database."""

from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallbill.facts.forecast import Falling, Hour, Phenomenon, Strength, Weather
from wallbill.sources.forecast_days import make_days
from wallbill.units.quantity import Quantity

LONDON = ZoneInfo("Europe/London")
RAIN = Weather(1.0, Falling.RAIN)
SUN = Weather(0.1)


def hours(start: datetime, count: int, **same: Any) -> list[Hour]:
    step = timedelta(hours=1)
    return [Hour(start + step * n, start + step * (n + 1), **same) for n in range(count)]


def utc(day: int, hour: int = 0, month: int = 3) -> datetime:
    return datetime(2026, month, day, hour, tzinfo=UTC)


@pytest.mark.parametrize(
    ("zone", "day", "length"),
    [
        ("Europe/London", date(2026, 3, 28), 24),
        ("Europe/London", date(2026, 3, 29), 23),  # clocks go forward at 01:00 UTC
        ("Europe/London", date(2026, 10, 25), 25),  # and back at 01:00 UTC
        ("America/New_York", date(2026, 3, 8), 23),
        ("Australia/Lord_Howe", date(2026, 4, 5), 24.5),  # half an hour
        ("Asia/Kathmandu", date(2026, 3, 14), 24),  # UTC+5:45
        ("Pacific/Kiritimati", date(2026, 3, 14), 24),  # UTC+14
    ],
)
def test_a_day_sums_as_many_hours_as_it_has(zone: str, day: date, length: float) -> None:
    start = datetime(day.year, day.month, day.day, tzinfo=UTC) - timedelta(days=2)
    days = make_days(hours(start, 120, precipitation=Quantity(1.0, "mm"), weather=RAIN), ZoneInfo(zone))
    (found,) = [d for d in days if d.day == day]
    assert found.precipitation == Quantity(length, "mm")


def test_low_and_high_are_of_the_local_day() -> None:
    # In Tokyo (UTC+9) the local 15 March is 14 March 15:00 to 15 March 15:00 UTC.
    made = [
        Hour(h.valid_from, h.valid_to, temperature=Quantity(float(n), "°C"))
        for n, h in enumerate(hours(utc(14), 48))
    ]
    (_, second, *_) = make_days(made, ZoneInfo("Asia/Tokyo"))
    assert second.day == date(2026, 3, 15)
    assert (second.low, second.high) == (Quantity(15.0, "°C"), Quantity(38.0, "°C"))


def test_a_span_over_midnight_is_shared_out() -> None:
    long = Hour(
        utc(14, 22), utc(15, 4), precipitation=Quantity(6.0, "mm"), weather=RAIN,
        low=Quantity(-1.0, "°C"), high=Quantity(9.0, "°C"),
    )  # fmt: skip
    before, after = make_days([*hours(utc(14), 22), long, *hours(utc(15, 4), 20)], LONDON)
    assert (before.precipitation, after.precipitation) == (Quantity(2.0, "mm"), Quantity(4.0, "mm"))
    assert (before.low, after.low) == (None, Quantity(-1.0, "°C"))


def test_snow_and_rain_are_told_apart() -> None:
    made = [
        *hours(utc(14), 12, precipitation=Quantity(0.5, "mm"), weather=Weather(1.0, Falling.SNOW)),
        *hours(utc(14, 12), 12, precipitation=Quantity(0.25, "mm"), weather=RAIN),
    ]
    (day,) = make_days(made, LONDON)
    assert (day.precipitation, day.snow, day.rain) == (
        Quantity(9.0, "mm"),
        Quantity(6.0, "mm"),
        Quantity(3.0, "mm"),
    )


def test_nothing_known_stays_unknown() -> None:
    (day,) = make_days(hours(utc(14), 24), LONDON)
    assert (day.low, day.high, day.precipitation, day.rain, day.snow, day.weather) == (None,) * 6


def test_the_strongest_wind_and_its_direction() -> None:
    made = hours(utc(14), 24, wind_speed=Quantity(4.0, "m/s"), wind_from_deg=90.0)
    made[20] = Hour(utc(14, 20), utc(14, 21), wind_speed=Quantity(12.0, "m/s"), wind_from_deg=315.0)
    (day,) = make_days(made, LONDON)
    assert (day.wind_speed, day.wind_from_deg, day.beaufort, day.wind_point) == (
        Quantity(12.0, "m/s"),
        315.0,
        6,
        "NW",
    )


def test_a_last_day_that_breaks_off_in_the_morning_is_left_out_and_in_the_evening_is_not() -> None:
    assert [d.day.day for d in make_days(hours(utc(14), 24 + 12), LONDON)] == [14]
    assert [d.day.day for d in make_days(hours(utc(14), 24 + 18), LONDON)] == [14, 15]
    assert [d.day.day for d in make_days(hours(utc(14, 15), 9), LONDON)] == [14]  # what is left of today
    assert make_days([], LONDON) == ()


def day_weather(*told: tuple[int, Weather], amount: float | None = None) -> Weather:
    """The weather of a day: so many hours of each, from midnight on."""
    made, at = [], utc(14)
    for count, weather in told:
        fall = None if weather.dry or amount is None else Quantity(amount, "mm")
        made += hours(at, count, weather=weather, precipitation=fall)
        at += timedelta(hours=count)
    (day,) = make_days(made, LONDON)
    assert day.weather is not None
    return day.weather


def test_the_night_does_not_decide_over_the_day() -> None:
    weather = day_weather((7, RAIN), (12, SUN), (5, RAIN))
    assert weather.dry
    assert weather.cloud == pytest.approx(0.1)


def test_a_service_that_says_when_it_is_day_is_believed() -> None:
    made = [
        *hours(utc(14), 10, weather=SUN, is_day=False),
        *hours(utc(14, 10), 4, weather=RAIN, is_day=True),
        *hours(utc(14, 14), 10, weather=SUN, is_day=False),
    ]
    (day,) = make_days(made, LONDON)
    assert day.weather is not None
    assert day.weather.falling is Falling.RAIN


def test_one_slight_hour_does_not_make_a_wet_day_and_two_do() -> None:
    assert day_weather((12, SUN), (1, RAIN), (11, SUN), amount=0.1).dry
    assert not day_weather((12, SUN), (2, RAIN), (10, SUN), amount=0.1).dry
    assert not day_weather((12, SUN), (1, RAIN), (11, SUN), amount=5.0).dry


def test_thunder_matters_however_short() -> None:
    weather = day_weather(
        (12, SUN), (1, Weather(0.7, Falling.RAIN, Strength.HEAVY, showers=True, thunder=True)), (11, SUN)
    )
    assert weather.thunder
    assert weather.falling is Falling.RAIN
    assert weather.showers


def test_snow_matters_more_than_rain_if_it_lasts() -> None:
    snow = Weather(1.0, Falling.SNOW, Strength.HEAVY)
    assert day_weather((8, RAIN), (8, snow), (8, RAIN)).falling is Falling.SNOW
    assert day_weather((9, RAIN), (1, snow), (14, RAIN)).falling is Falling.RAIN


def test_what_the_air_does_is_told_if_it_lasts_or_is_dangerous() -> None:
    haze, squall = Weather(0.2, phenomenon=Phenomenon.HAZE), Weather(0.2, phenomenon=Phenomenon.SQUALL)
    assert day_weather((11, haze), (13, SUN)).phenomenon is Phenomenon.HAZE
    assert day_weather((8, haze), (16, SUN)).phenomenon is Phenomenon.NONE
    assert day_weather((11, haze), (1, squall), (12, SUN)).phenomenon is Phenomenon.SQUALL


def test_a_foggy_morning_is_told() -> None:
    fog = Weather(1.0, fog=True)
    assert day_weather((11, fog), (13, SUN)).fog
    assert not day_weather((8, fog), (16, SUN)).fog


@given(
    st.sampled_from(
        ["Europe/London", "Asia/Kathmandu", "America/St_Johns", "Pacific/Apia", "Antarctica/Troll"]
    ),
    st.integers(0, 8760),
    st.lists(st.sampled_from([1, 3, 6, 12]), min_size=1, max_size=40),
)
def test_days_lose_no_rain(zone: str, start: int, lengths: list[int]) -> None:
    at, made = datetime(2026, 1, 1, tzinfo=UTC) + timedelta(hours=start), []
    for length in lengths:
        made.append(Hour(at, at + timedelta(hours=length), precipitation=Quantity(1.0, "mm"), weather=RAIN))
        at += timedelta(hours=length)
    made += hours(
        at, 24, precipitation=Quantity(0.0, "mm")
    )  # so that no last day is left out for being short
    days = make_days(made, ZoneInfo(zone))
    assert sum(day.precipitation.value for day in days if day.precipitation) == pytest.approx(
        len(lengths), abs=1e-4
    )
    assert [day.day for day in days] == sorted({day.day for day in days})
