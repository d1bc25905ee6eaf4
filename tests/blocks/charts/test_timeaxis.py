"""Axes of time: local days of 23 and 25 hours, skipped midnights, and marks that never collide."""

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wallbill.blocks.charts.timeaxis import Step, TimeAxis, first_instant

LONDON = ZoneInfo("Europe/London")
ZONES = (
    "Europe/London",
    "America/Sao_Paulo",
    "America/St_Johns",
    "Asia/Kolkata",
    "Pacific/Apia",
    "Australia/Lord_Howe",
)


def axis(start: datetime, hours: float, width_px: int = 400) -> TimeAxis:
    return TimeAxis(start, start + timedelta(hours=hours), start.tzinfo or UTC, width_px)


# The changes of the clocks are those of the tz database.
def test_a_day_of_23_hours_has_no_mark_in_the_skipped_hour() -> None:
    spring = TimeAxis(datetime(2026, 3, 29, tzinfo=LONDON), datetime(2026, 3, 30, tzinfo=LONDON), LONDON, 231)
    assert spring.length_s == 23 * 3600
    hours = [tick.local.hour for tick in spring.ticks(Step.HOUR)]
    assert hours == [0, *range(2, 24), 0]
    assert {b.at - a.at for a, b in pairwise(spring.ticks(Step.HOUR))} == {timedelta(hours=1)}


def test_a_day_of_25_hours_marks_the_hour_that_comes_twice_twice() -> None:
    autumn = TimeAxis(
        datetime(2026, 10, 25, tzinfo=LONDON), datetime(2026, 10, 26, tzinfo=LONDON), LONDON, 251
    )
    assert autumn.length_s == 25 * 3600
    assert [tick.local.hour for tick in autumn.ticks(Step.HOUR)] == [0, 1, 1, *range(2, 24), 0]
    # Above an hour each round time is marked once.
    assert [tick.local.hour for tick in autumn.ticks(Step.HOURS_6)] == [0, 6, 12, 18, 0]


@pytest.mark.parametrize(
    ("zone", "day", "instant"),
    [
        ("Europe/London", date(2026, 7, 1), "2026-06-30T23:00+00:00"),
        (
            "America/Sao_Paulo",
            date(2017, 10, 15),
            "2017-10-15T03:00+00:00",
        ),  # midnight is skipped: 01:00 begins it
        ("America/Toronto", date(1919, 3, 31), "1919-03-31T04:30+00:00"),  # 23:30 to 00:30 is skipped
        ("Pacific/Apia", date(2011, 12, 30), "2011-12-30T10:00+00:00"),  # the whole day is skipped
        ("Pacific/Apia", date(2011, 12, 31), "2011-12-30T10:00+00:00"),
    ],
)
def test_a_day_begins_where_its_zone_says(zone: str, day: date, instant: str) -> None:
    assert first_instant(day, ZoneInfo(zone)) == datetime.fromisoformat(instant)


starts = st.integers(0, 18 * 365 * 24 * 60).map(
    lambda minutes: datetime(2009, 1, 1, tzinfo=UTC) + timedelta(minutes=minutes)
)


@settings(deadline=None)
@given(starts, st.floats(0.5, 24 * 400), st.sampled_from(ZONES), st.integers(40, 900), st.integers(8, 90))
def test_marks_rise_lie_on_the_axis_and_keep_apart(
    start: datetime, hours: float, zone: str, width_px: int, least_px: int
) -> None:
    shown = axis(start.astimezone(ZoneInfo(zone)), hours, width_px)
    step = shown.step(least_px)
    marks = shown.ticks(step)
    columns = [shown.x_px(tick.at) for tick in marks]
    assert columns == sorted(set(columns))
    assert all(0 <= column < width_px for column in columns)
    assert step.usual_s >= least_px / width_px * shown.length_s or step is Step.YEARS_1000
    for tick in marks:
        assert tick.local.astimezone(UTC) == tick.at
        assert tick.starts_day == (first_instant(tick.local.date(), shown.zone) == tick.at)


@settings(deadline=None)
@given(starts, st.floats(0.5, 24 * 40), st.sampled_from(ZONES))
def test_local_days_fill_the_axis_without_gap_or_overlap(start: datetime, hours: float, zone: str) -> None:
    shown = axis(start.astimezone(ZoneInfo(zone)), hours)
    days = shown.days()
    assert days[0][1] == shown.start
    assert days[-1][2] == shown.end
    assert all(before[2] == after[1] for before, after in pairwise(days))
    for day, begin, _ in days:
        assert begin.astimezone(shown.zone).date() == day


def test_weeks_begin_on_mondays_and_quarters_with_their_month() -> None:
    year = axis(datetime(2026, 1, 1, tzinfo=LONDON), 24 * 365)
    assert {tick.local.weekday() for tick in year.ticks(Step.WEEK)} == {0}
    assert [tick.local.month for tick in year.ticks(Step.MONTHS_3)] == [1, 4, 7, 10, 1]


def test_a_stretch_of_time_must_be_one() -> None:
    noon = datetime(2026, 1, 1, 12, tzinfo=UTC)
    with pytest.raises(ValueError, match="ends after it starts"):
        TimeAxis(noon, noon, UTC, 100)
    with pytest.raises(ValueError, match="aware"):
        TimeAxis(noon.replace(tzinfo=None), noon, UTC, 100)
    with pytest.raises(ValueError, match="2 pixels"):
        TimeAxis(noon, noon + timedelta(hours=1), UTC, 1)


def test_an_axis_of_ages_is_marked_in_round_years() -> None:
    ages = TimeAxis(datetime(2, 1, 1, tzinfo=UTC), datetime(9997, 12, 31, tzinfo=UTC), LONDON, 400)
    assert ages.step(60) is Step.YEARS_1000  # the largest there is
    assert [tick.local.year for tick in ages.ticks(Step.YEARS_1000)] == list(range(1000, 10_000, 1000))
    century = axis(datetime(1900, 6, 1, tzinfo=LONDON), 24 * 365.25 * 100)
    assert [tick.local.year for tick in century.ticks(Step.YEARS_20)] == [1920, 1940, 1960, 1980, 2000]
