"""An all-day event has no time of day: asking for it prints a dash and never stops a page."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from wallbill.units.wording import Wording

WORDING = Wording("en-GB", ZoneInfo("Europe/London"))


@pytest.mark.parametrize("pattern", ["HH:mm", "EEE d MMM HH:mm", "Hm", "EEEjm"])
def test_a_date_asked_for_its_time_prints_a_dash(pattern: str) -> None:
    assert WORDING.date(date(2026, 3, 28), pattern) == "–"
    assert WORDING.date(datetime(2026, 3, 28, 9, 30, tzinfo=UTC), pattern) != "–"


def test_the_time_of_a_date_is_a_dash() -> None:
    assert WORDING.time(date(2026, 3, 28)) == "–"


@pytest.mark.parametrize("pattern", ["full", "short", "EEEEdMMMM", "d 'has' MMM"])
def test_a_date_is_shown_as_ever(pattern: str) -> None:
    assert "28" in WORDING.date(date(2026, 3, 28), pattern)
