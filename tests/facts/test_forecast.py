"""What a forecast can be asked: its hours, spans, wet spells and changes."""

import itertools
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallbill.errors import Place, SourceError
from wallbill.facts.forecast import Change, Day, Falling, Forecast, Hour, Strength, Turn, Weather
from wallbill.facts.origin import Freshness, Origin
from wallbill.facts.supply import Supplied, Supply
from wallbill.facts.wind import Point
from wallbill.findings import Finding
from wallbill.units.quantity import Quantity

START = datetime(2026, 3, 14, 12, tzinfo=UTC)
ORIGIN = Origin("forecast", "invented", "", START, START, timedelta(hours=3))
HOUR = timedelta(hours=1)
DRY = Weather(0.3)
RAIN = Weather(1.0, Falling.RAIN)
SNOW = Weather(1.0, Falling.SNOW)
SHOWERS = Weather(0.6, Falling.RAIN, showers=True)


def forecast(*weathers: Weather | None, amounts: tuple[float | None, ...] = ()) -> Forecast:
    fall = [*amounts, *[None] * (len(weathers) - len(amounts))]
    return Forecast(
        ORIGIN,
        tuple(
            Hour(
                START + n * HOUR,
                START + (n + 1) * HOUR,
                weather=weather,
                precipitation=None if (amount := fall[n]) is None else Quantity(amount, "mm"),
            )
            for n, weather in enumerate(weathers)
        ),
    )


def told(found: tuple[Change, ...]) -> list[tuple[int, Turn, Falling]]:
    return [(change.at.hour, change.turn, change.weather.falling) for change in found]


def test_showers_from_18() -> None:
    made = forecast(*[DRY] * 6, *[SHOWERS] * 3, *[DRY] * 4)
    assert told(made.changes(START, 12 * HOUR)) == [
        (18, Turn.BEGINS, Falling.RAIN),
        (21, Turn.ENDS, Falling.RAIN),
    ]
    assert made.changes(START, 12 * HOUR)[0].weather.showers


def test_what_falls_already_does_not_begin_and_what_goes_on_does_not_end() -> None:
    made = forecast(*[RAIN] * 3, *[DRY] * 3, *[RAIN] * 6)
    assert told(made.changes(START, 12 * HOUR)) == [
        (15, Turn.ENDS, Falling.RAIN),
        (18, Turn.BEGINS, Falling.RAIN),
    ]
    assert told(made.changes(START + HOUR / 2, 12 * HOUR)) == told(made.changes(START, 12 * HOUR))
    assert made.changes(START, 3 * HOUR) == ()
    assert forecast(*[RAIN] * 4).changes(START, 24 * HOUR) == ()  # the forecast breaks off, not the rain


def test_rain_turns_into_snow() -> None:
    made = forecast(DRY, RAIN, RAIN, SNOW, DRY, DRY, DRY)
    assert told(made.changes(START, 7 * HOUR)) == [
        (13, Turn.BEGINS, Falling.RAIN),
        (15, Turn.TURNS, Falling.SNOW),
        (16, Turn.ENDS, Falling.SNOW),
    ]


def test_a_short_pause_does_not_end_a_spell() -> None:
    made = forecast(DRY, SHOWERS, DRY, SHOWERS, DRY, DRY, SHOWERS, DRY, DRY)
    assert [(s.starts.hour, s.ends.hour) for s in made.spells(START, 9 * HOUR)] == [(13, 16), (18, 19)]
    strict = made.spells(START, 9 * HOUR, pause=timedelta(0))
    assert [(s.starts.hour, s.ends.hour) for s in strict] == [(13, 14), (15, 16), (18, 19)]
    assert len(made.spells(START, 9 * HOUR, pause=2 * HOUR)) == 1


def test_an_amount_without_a_weather_is_wet_from_a_tenth_of_a_millimetre() -> None:
    made = forecast(None, None, None, None, amounts=(0.0, 0.09, 0.1, 0.0))
    (spell,) = made.spells(START, 4 * HOUR)
    assert (spell.starts.hour, spell.weather.falling, spell.weather.strength) == (
        14,
        Falling.RAIN,
        Strength.LIGHT,
    )


def test_a_spell_is_cut_to_the_span_and_its_amount_with_it() -> None:
    made = forecast(RAIN, RAIN, RAIN, amounts=(2.0, 1.0, 2.0))
    (spell,) = made.spells(START + HOUR / 2, 2 * HOUR)
    assert (spell.starts, spell.ends) == (START + HOUR / 2, START + 2.5 * HOUR)
    assert spell.precipitation == Quantity(3.0, "mm")


def test_a_spell_has_its_gravest_weather() -> None:
    thunder = Weather(0.8, Falling.RAIN, Strength.HEAVY, thunder=True)
    (spell,) = forecast(RAIN, thunder, SNOW).spells(START, 3 * HOUR)
    assert spell.weather is thunder


@given(st.lists(st.sampled_from([DRY, RAIN, SNOW, SHOWERS, None]), max_size=30), st.integers(0, 3))
def test_changes_begin_and_end_in_turn(weathers: list[Weather | None], pause: int) -> None:
    made = forecast(*weathers)
    turns = [c.turn for c in made.changes(START, 48 * HOUR, pause=pause * HOUR) if c.turn is not Turn.TURNS]
    assert all(a is not b for a, b in itertools.pairwise(turns))
    wet = {h.valid_from for h in made.hours if h.wet}
    spells = made.spells(START, 48 * HOUR, pause=pause * HOUR)
    assert all(any(s.starts <= at < s.ends for s in spells) for at in wet)


def test_hours_are_found() -> None:
    made = forecast(DRY, RAIN, SNOW)
    assert made.at(START + 1.5 * HOUR) is made.hours[1]
    assert made.at(START + 3 * HOUR) is None
    assert made.between(START + HOUR, START + 3 * HOUR) == made.hours[1:]
    assert made.touching(START + 1.5 * HOUR, HOUR) == made.hours[1:]
    empty = Forecast(ORIGIN, ())
    assert (empty.at(START), empty.changes(START, HOUR), empty.span(START, HOUR)) == (None, (), None)


def test_span_and_strongest() -> None:
    warm = [
        Hour(
            START + n * HOUR,
            START + (n + 1) * HOUR,
            temperature=Quantity(t, "°C"),
            wind_speed=Quantity(w, "m/s"),
        )
        for n, (t, w) in enumerate([(3.0, 2.0), (9.0, 8.0), (5.0, 8.0)])
    ]
    long = Hour(START + 3 * HOUR, START + 9 * HOUR, low=Quantity(-2.0, "°C"), high=Quantity(11.0, "°C"))
    made = Forecast(ORIGIN, (*warm, long))
    assert made.span(START, 2 * HOUR) == (Quantity(3.0, "°C"), Quantity(9.0, "°C"))
    assert made.span(START, 9 * HOUR) == (Quantity(-2.0, "°C"), Quantity(11.0, "°C"))
    assert made.strongest(START, 9 * HOUR) is warm[1]
    assert forecast(DRY).strongest(START, HOUR) is None


def test_an_hour_says_its_force_its_point_and_how_it_feels() -> None:
    windy = Hour(
        START,
        START + HOUR,
        temperature=Quantity(-10, "°C"),
        wind_speed=Quantity(20, "km/h"),
        wind_from_deg=292.5,
    )
    assert windy.beaufort == 4  # 20 km/h: WMO No. 306, code table 1100
    assert windy.wind_point is Point.WNW
    assert windy.feels is not None
    assert windy.feels.value == pytest.approx(-17.8606, abs=1e-4)  # Environment Canada's index, see test_wind
    mild = Hour(START, START + HOUR, temperature=Quantity(18, "°C"), wind_speed=Quantity(20, "km/h"))
    assert mild.feels == mild.temperature
    still = Hour(START, START + HOUR)
    assert (still.beaufort, still.wind_point, still.feels) == (None, None, None)


def test_a_day_is_found_by_its_date() -> None:
    made = Forecast(ORIGIN, (), (Day(date(2026, 3, 14)), Day(date(2026, 3, 15), wind_from_deg=180.0)))
    found = made.day(date(2026, 3, 15))
    assert found is not None
    assert found.wind_point is Point.S
    assert made.day(date(2026, 3, 16)) is None


def test_a_supply_says_what_is_stale_and_what_was_doubted() -> None:
    finding = Finding("sources.left-out", Place("forecast"), "left out")
    doubted = Origin("forecast", "invented", "", START, START, timedelta(hours=3), (finding,))
    good = Supplied("good", "forecast", Forecast(doubted, ()))
    none = Supplied("none", "forecast", None, SourceError("cannot be reached"))
    supply = Supply({"good": good, "none": none})
    assert good.findings == (finding,)
    assert (none.facts, none.findings) == ((), ())
    assert supply.stale(START + 3 * HOUR) == ("none",)
    assert supply.stale(START + 3.1 * HOUR) == ("good", "none")
    assert none.freshness(START) is Freshness.MISSING


def test_a_span_is_as_long_as_it_says_when_the_clocks_change_in_it() -> None:
    """Europe/London, 25 October 2026, 02:00 BST is 01:00 GMT (IANA time zone database)."""
    start = datetime(2026, 10, 25, 0, tzinfo=ZoneInfo("Europe/London"))
    first = start.astimezone(UTC)
    hours = tuple(Hour(first + n * HOUR, first + (n + 1) * HOUR, weather=RAIN) for n in range(9))
    made = Forecast(ORIGIN, hours)
    assert made.touching(start, 3 * HOUR) == hours[:3]
    (spell,) = made.spells(start, 3 * HOUR)
    assert spell.ends.astimezone(UTC) - first == 3 * HOUR
