"""Durations, lengths, hours and days as people write them, and the mends for those that cannot be read."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic_core import PydanticCustomError

from wallbill.units.quantity import Quantity
from wallbill.wall import values
from wallbill.wall.model import EVERY_DAY, Dates, Hours, TimetableEntry, Weekday

WORKDAYS = frozenset({Weekday.MON, Weekday.TUE, Weekday.WED, Weekday.THU, Weekday.FRI})
times = st.times().map(lambda at: at.replace(second=0, microsecond=0))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("30 min", timedelta(minutes=30)),
        ("30min", timedelta(minutes=30)),
        (" 3 h ", timedelta(hours=3)),
        ("2 d", timedelta(days=2)),
        ("90 s", timedelta(seconds=90)),
        ("1.5 h", timedelta(minutes=90)),
        ("1 h 30 min", timedelta(minutes=90)),
    ],
)
def test_durations(text: str, expected: timedelta) -> None:
    assert values.duration(text) == expected


@pytest.mark.parametrize(
    ("value", "what", "mend"),
    [
        (30, "30 has no unit", "'30 min'"),
        ("30", "no duration", "number and a unit"),
        ("soon", "no duration", "number and a unit"),
        ("", "no duration", "number and a unit"),
        ("30 minutes", "'minutes' is no unit", "'30 min'"),
        ("2 days", "'days' is no unit", "'2 d'"),
        ("3 hr", "'hr' is no unit", "'3 h'"),
        ("3 hh", "'hh' is no unit", "'h'"),
        ("3 km", "'km' is no unit", "d, h, min, s"),
        ("0 min", "not between", "longer"),
        ("-5 min", "not between", "longer"),
        ("99999 d", "not between", "shorter"),
        ("1 h, 30 min", "no duration", "number and a unit"),
        (True, "true has no unit", "'30 min'"),
        ([], "a list has no unit", "'30 min'"),
    ],
)
def test_durations_that_cannot_be_read(value: object, what: str, mend: str) -> None:
    with pytest.raises(PydanticCustomError) as caught:
        values.duration(value)
    context = caught.value.context or {}
    assert what in context["what"]
    assert mend in context["mend"]


def test_lengths_and_distances() -> None:
    assert values.length("-12.5 m") == Quantity(-12.5, "m")
    assert values.length("40ft") == Quantity(40, "ft")
    assert values.distance("80 cm") == Quantity(80, "cm")


@pytest.mark.parametrize(
    ("value", "what", "mend"),
    [
        (2, "2 has no unit", "'2 m'"),
        ("2", "no length", "number and a unit"),
        ("2 metres", "'metres' is no unit", "'2 m'"),
        ("6 feet", "'feet' is no unit", "'6 ft'"),
        ("2 °C", "'°C' is no unit", "Use one of"),
        ("0 m", "no distance", "how far away"),
        ("-1 m", "no distance", "how far away"),
        ("2 km", "no distance", "how far away"),
    ],
)
def test_distances_that_cannot_be_read(value: object, what: str, mend: str) -> None:
    with pytest.raises(PydanticCustomError) as caught:
        values.distance(value)
    context = caught.value.context or {}
    assert what in context["what"]
    assert mend in context["mend"]


def holds(hours: Hours, text: str) -> bool:
    """Whether a span holds on 27 March 2026 at a time of the day, in a zone whose clocks are never changed."""
    return any(
        True for _ in hours.days_at(datetime.combine(date(2026, 3, 27), time.fromisoformat(text), UTC))
    )


@pytest.mark.parametrize("text", ["23:00-06:00", "23:00 - 06:00", "23:00–06:00", "23:00 to 6:00"])
def test_hours_over_midnight(text: str) -> None:
    found = values.hours(text)
    assert found == Hours(time(23), time(6))
    shown = ("22:59", "23:00", "00:00", "05:59", "06:00")
    assert [holds(found, at) for at in shown] == [False, True, True, True, False]
    friday = datetime(2026, 3, 27, 1, tzinfo=UTC)
    assert list(found.days_at(friday)) == [date(2026, 3, 26)]
    assert found.span(date(2026, 3, 26), UTC) == (friday.replace(day=26, hour=23), friday.replace(hour=6))


def test_hours_within_a_day_and_up_to_its_end() -> None:
    morning = values.hours("06:30-09:00")
    assert [holds(morning, at) for at in ("06:29", "06:30", "09:00")] == [False, True, False]
    evening = values.hours("18:00-24:00")
    assert holds(evening, "23:59")
    assert not holds(evening, "00:00")
    assert all(holds(values.hours("00:00-24:00"), f"{hour:02}:00") for hour in range(24))


def test_a_moment_has_a_zone() -> None:
    with pytest.raises(ValueError, match="time zone"):
        list(Hours(time(1), time(2)).days_at(datetime.fromisoformat("2026-03-27T01:30")))


@pytest.mark.parametrize(
    ("value", "what"),
    [
        ("23:00", "no span"),
        ("11pm-6am", "no time of the day"),
        ("23:00-25:00", "no time of the day"),
        ("24:30-06:00", "no time of the day"),
        ("06:60-07:00", "no time of the day"),
        ("06:00-06:00", "empty"),
        (600, "no span"),
    ],
)
def test_hours_that_cannot_be_read(value: object, what: str) -> None:
    with pytest.raises(PydanticCustomError) as caught:
        values.hours(value)
    assert what in (caught.value.context or {})["what"]


@given(times, times, times)
def test_a_span_and_the_rest_of_the_day_share_no_moment(start: time, end: time, at: time) -> None:
    if start != end:
        shown = at.isoformat()
        assert holds(Hours(start, end), shown) is not holds(Hours(end, start), shown)


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        ("Mon-Fri", WORKDAYS),
        ("monday – friday", WORKDAYS),
        ("Sat,Sun", {Weekday.SAT, Weekday.SUN}),
        ("Sat-Mon", {Weekday.SAT, Weekday.SUN, Weekday.MON}),
        ("Mon-Wed, Sat", {Weekday.MON, Weekday.TUE, Weekday.WED, Weekday.SAT}),
        (["Tue", "Thu"], {Weekday.TUE, Weekday.THU}),
        ("Mon-Sun", EVERY_DAY),
        ("Wed-Tue", EVERY_DAY),
        ("Wed-Wed", {Weekday.WED}),
    ],
)
def test_days(value: object, expected: set[Weekday]) -> None:
    assert values.days(value) == expected


@pytest.mark.parametrize(
    ("value", "what", "mend"),
    [
        ("Mon-Fry", "'Fry'", "'Fri'"),
        ("weekdays", "'weekdays'", "Use one of"),
        ("", "names no days", "'Mon-Fri'"),
        (5, "names no days", "'Mon-Fri'"),
        ("Mon-Tue-Wed", "'Tue-Wed'", "'Wed'"),
        ("Mon,,Tue", "''", "Use one of"),
    ],
)
def test_days_that_cannot_be_read(value: object, what: str, mend: str) -> None:
    with pytest.raises(PydanticCustomError) as caught:
        values.days(value)
    context = caught.value.context or {}
    assert what in context["what"]
    assert mend in context["mend"]


def test_an_entry_over_midnight_belongs_to_the_day_on_which_it_begins() -> None:
    zone = ZoneInfo("Europe/London")
    late = TimetableEntry(Hours(time(22), time(2)), frozenset({Weekday.FRI}), "late")
    friday = datetime(2026, 3, 27, tzinfo=zone)  # 27 March 2026 is a Friday (ISO 8601 calendar)
    assert friday.isoweekday() == 5
    assert not late.covers(friday.replace(hour=1))
    assert late.covers(friday.replace(hour=23))
    assert late.covers(friday.replace(day=28, hour=1))
    assert not late.covers(friday.replace(day=28, hour=23))


# Days of the year.


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        ("2026-12-24", [Dates((12, 24), (12, 24), (2026, 2026))]),
        (date(2026, 12, 24), [Dates((12, 24), (12, 24), (2026, 2026))]),
        ("12-24", [Dates((12, 24), (12, 24))]),
        ("2026-12-20 to 2027-01-06", [Dates((12, 20), (1, 6), (2026, 2027))]),
        ("12-20 to 01-06", [Dates((12, 20), (1, 6))]),
        ("12-20 – 01-06", [Dates((12, 20), (1, 6))]),
        ("12-20 - 01-06", [Dates((12, 20), (1, 6))]),
        ("02-29", [Dates((2, 29), (2, 29))]),
        ("2028-02-29", [Dates((2, 29), (2, 29), (2028, 2028))]),
        ("05-01, 12-24 to 12-26", [Dates((5, 1), (5, 1)), Dates((12, 24), (12, 26))]),
        (["05-01", date(2026, 6, 7)], [Dates((5, 1), (5, 1)), Dates((6, 7), (6, 7), (2026, 2026))]),
    ],
)
def test_dates(value: object, expected: list[Dates]) -> None:
    assert values.dates(value) == tuple(expected)


@pytest.mark.parametrize(
    ("value", "what", "mend"),
    [
        ("24.12.", "'24.12.' is no day of the year", "'2026-12-24'"),
        ("Christmas", "'Christmas' is no day", "'12-24' for every year"),
        ("2026-02-29", "there is no day '2026-02-29'", "01 to 28"),
        ("02-30", "there is no day '02-30'", "01 to 29"),
        ("04-31", "there is no day '04-31'", "01 to 30"),
        ("04-00", "there is no day '04-00'", "01 to 30"),
        ("24-12", "'24-12' is no day", "year, month and day in this order"),
        ("2026-24-12", "'2026-24-12' is no day", "year, month and day in this order"),
        ("0000-12-24", "'0000-12-24' is no day", "year, month and day"),
        ("2026-12-20 to 01-06", "only one end of '2026-12-20 to 01-06' has a year", "at both ends"),
        ("2027-01-06 to 2026-12-20", "ends before it begins", "earlier day first"),
        ("12-20 to 12-24 to 12-26", "no range of days", "such as"),
        ("", "'' is no day", "such as"),
        ([], "the list is empty", "such as"),
        (1224, "1224 is no day", "such as"),
        ([["12-24"]], "a list is no day", "such as"),
        (datetime(2026, 12, 24, tzinfo=UTC), "is no day of the year", "such as"),
    ],
)
def test_dates_that_cannot_be_read(value: object, what: str, mend: str) -> None:
    with pytest.raises(PydanticCustomError) as caught:
        values.dates(value)
    context = caught.value.context or {}
    assert what in context["what"]
    assert mend in context["mend"]


def days_covered(dates: Dates, year: int) -> list[str]:
    day = date(year, 1, 1)
    return [
        f"{at:%m-%d}"
        for at in (day + timedelta(step) for step in range(366))
        if at.year == year and dates.covers(at)
    ]


def test_a_range_of_every_year_runs_over_new_year() -> None:
    holidays = Dates((12, 20), (1, 6))
    assert days_covered(holidays, 2026) == [
        *(f"01-{day:02}" for day in range(1, 7)),
        *(f"12-{day}" for day in range(20, 32)),
    ]
    once = Dates((12, 20), (1, 6), (2026, 2027))
    assert days_covered(once, 2026) == [f"12-{day}" for day in range(20, 32)]
    assert days_covered(once, 2027) == [f"01-{day:02}" for day in range(1, 7)]
    assert days_covered(once, 2028) == []


def test_29_february_is_met_in_leap_years_only() -> None:
    """2028 is a leap year, 2026 and 2100 are not (Gregorian calendar, ISO 8601-1:2019, 4.2.1)."""
    assert days_covered(Dates((2, 29), (2, 29)), 2028) == ["02-29"]
    assert days_covered(Dates((2, 29), (2, 29)), 2026) == days_covered(Dates((2, 29), (2, 29)), 2100) == []
    assert days_covered(Dates((2, 27), (2, 29)), 2026) == ["02-27", "02-28"]
    assert days_covered(Dates((2, 29), (3, 2)), 2026) == ["03-01", "03-02"]


@given(st.dates(), st.dates(), st.dates())
def test_a_range_that_holds_once_is_the_days_between_its_ends(first: date, last: date, day: date) -> None:
    first, last = sorted((first, last))
    dates = values.dates(f"{first.isoformat()} to {last.isoformat()}")[0]
    assert dates.covers(day) is (first <= day <= last)


def test_an_entry_with_dates_holds_on_the_days_it_begins_on() -> None:
    late = TimetableEntry(Hours(time(22), time(2)), EVERY_DAY, "late", values.dates("12-31"))
    eve = datetime(2026, 12, 31, tzinfo=ZoneInfo("Europe/London"))
    assert [late.covers(eve.replace(hour=hour)) for hour in (1, 21, 22)] == [False, False, True]
    assert late.covers(eve + timedelta(hours=25))
    assert not late.covers(eve + timedelta(hours=46))


@pytest.mark.parametrize("text", ["3.3 V", "3300 mV", "3300mV"])
def test_voltages_of_batteries(text: str) -> None:
    assert values.cell_voltage(text).to("V").value == pytest.approx(3.3)


@pytest.mark.parametrize(
    ("value", "what", "mend"),
    [
        (3.3, "3.3 has no unit", "'3.3 V'"),
        ("3.3", "no voltage", "'3.3 V' or '3300 mV'"),
        ("3.3 A", "'A' is no unit of voltage", "V, mV"),
        ("0 V", "no voltage of a battery", "how many volts"),
        ("3300 V", "no voltage of a battery", "how many volts"),
    ],
)
def test_voltages_that_cannot_be_read(value: object, what: str, mend: str) -> None:
    with pytest.raises(PydanticCustomError) as caught:
        values.cell_voltage(value)
    context = caught.value.context or {}
    assert what in context["what"]
    assert mend in context["mend"]
