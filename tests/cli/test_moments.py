"""Moments as people write them on the command line, also where the clocks are changed."""

from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from wallbill.cli.bench import moment_of
from wallbill.wall.model import Place, Wall

QUAY = Wall(Path("quay"), "Fennel Quay", Place(50.31, -4.05), ZoneInfo("Europe/London"), "en-GB")


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("2026-03-14T08:00", "2026-03-14T08:00:00+00:00"),
        ("2026-07-14T08:00", "2026-07-14T08:00:00+01:00"),
        ("2026-07-14T08:00+09:00", "2026-07-14T00:00:00+01:00"),
        # As docs/reference/timetable.md says; gap and fold of PEP 495, dates of the IANA time zone database.
        ("2026-03-29T01:20", "2026-03-29T02:00:00+01:00"),  # skipped: the moment of the jump
        ("2026-10-25T01:20", "2026-10-25T01:20:00+01:00"),  # twice: the first
        ("2026-10-25T01:20+00:00", "2026-10-25T01:20:00+00:00"),
    ],
)
def test_moments_on_the_walls_clocks(written: str, expected: str) -> None:
    assert moment_of(datetime.fromisoformat(written), QUAY).isoformat() == expected


def test_no_moment_is_now() -> None:
    assert moment_of(None, QUAY).tzinfo == QUAY.time_zone
