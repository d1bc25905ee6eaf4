"""Durations, lengths, hours and days as people write them, and the mends for those that cannot be read."""

from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic_core import PydanticCustomError

from wallbill.units.quantity import Quantity
from wallbill.wall import values
from wallbill.wall.model import EVERY_DAY, Hours, TimetableEntry, Weekday

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


@pytest.mark.parametrize("text", ["23:00-06:00", "23:00 - 06:00", "23:00–06:00", "23:00 to 6:00"])
def test_hours_over_midnight(text: str) -> None:
    found = values.hours(text)
    assert found == Hours(time(23), time(6))
    assert found.over_midnight
    assert [found.covers(time(hour)) for hour in (22, 23, 0, 5, 6)] == [False, True, True, True, False]


def test_hours_within_a_day_and_up_to_its_end() -> None:
    morning = values.hours("06:30-09:00")
    assert [morning.covers(time(6, 29)), morning.covers(time(6, 30)), morning.covers(time(9))] == [
        False,
        True,
        False,
    ]
    evening = values.hours("18:00-24:00")
    assert evening.covers(time(23, 59))
    assert not evening.covers(time(0))
    assert not evening.over_midnight
    assert all(values.hours("00:00-24:00").covers(time(hour)) for hour in range(24))


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
        assert Hours(start, end).covers(at) is not Hours(end, start).covers(at)


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
