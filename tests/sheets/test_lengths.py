"""Hours and days added to moments, in nights when the clocks change.

When the clocks change: the time zone database (IANA tzdata), Europe/London and America/New_York in 2026.
"""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallbill.sheets.environment import Environment
from wallbill.sheets.lengths import calendar_days, later

LONDON, NEW_YORK = ZoneInfo("Europe/London"), ZoneInfo("America/New_York")


def filled(text: str, now: datetime) -> str:
    scope = {"now": now, "hours": lambda count: timedelta(hours=count), "days": calendar_days}
    return Environment({"hall.html": text}, {}).fill("hall.html", scope)


@pytest.mark.parametrize(
    ("now", "wanted"),
    [
        (datetime(2026, 3, 29, 0, 30, tzinfo=LONDON), "00:30 02:30 03:30 04:30"),  # 01:00 GMT is 02:00 BST
        (datetime(2026, 10, 25, 0, 30, tzinfo=LONDON), "00:30 01:30 01:30 02:30"),  # 02:00 BST is 01:00 GMT
        (datetime(2026, 3, 8, 1, 30, tzinfo=NEW_YORK), "01:30 03:30 04:30 05:30"),
        (datetime(2026, 11, 1, 0, 30, tzinfo=NEW_YORK), "00:30 01:30 01:30 02:30"),
    ],
)
def test_hours_pass_also_when_the_clocks_change(now: datetime, wanted: str) -> None:
    text = "{% for i in range(4) %}{{ (now + hours(i)).strftime('%H:%M') }} {% endfor %}"
    assert filled(text, now).strip() == wanted
    turned = "{% for i in range(4) %}{{ (hours(1) * i + now).strftime('%H:%M') }} {% endfor %}"
    assert filled(turned, now).strip() == wanted


def test_days_keep_the_time_of_day() -> None:
    now = datetime(2026, 10, 24, 8, tzinfo=LONDON)
    assert filled("{{ now + days(1) }} {{ now + 2 * days(1) }} {{ now - days(-1) }}", now) == (
        "2026-10-25 08:00:00+00:00 2026-10-26 08:00:00+00:00 2026-10-25 08:00:00+00:00"
    )
    assert filled("{{ now + hours(24) }} {{ now.date() + days(1) }}", now) == (
        "2026-10-25 07:00:00+00:00 2026-10-25"
    )


def test_what_lies_between_two_moments_is_the_time_that_passes() -> None:
    now = datetime(2026, 10, 25, 0, tzinfo=LONDON)
    assert filled("{{ now + days(1) - now }}", now) == "1 day, 1:00:00"


def test_other_sums_are_as_ever() -> None:
    assert (
        filled("{{ 1 + 2 }} {{ 'a' + 'b' }} {{ [1] + [2] }} {{ 3 - 1 }}", datetime(2026, 3, 14, tzinfo=UTC))
        == "3 ab [1, 2] 2"
    )


@given(
    st.integers(0, 500_000),
    st.integers(-5000, 5000),
)
def test_so_many_hours_later_is_so_many_hours_away(since: int, count: int) -> None:
    moment = (datetime(1990, 1, 1, tzinfo=UTC) + timedelta(hours=since)).astimezone(LONDON)
    length = timedelta(hours=count)
    assert later(moment, length).astimezone(UTC) - moment.astimezone(UTC) == length
