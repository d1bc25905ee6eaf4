"""The example wall's own payloads read as they should, and are made again by their script."""

import runpy
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from types import MappingProxyType
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from wallbill.errors import Place
from wallbill.sources import agenda, own, series, shell_own, track
from wallbill.sources.spec import ParseContext, SourceSpec
from wallbill.units.wording import Wording

ROOT = Path(__file__).resolve().parents[2]
HUT = ROOT / "examples" / "fennel-quay"
LONDON = ZoneInfo("Europe/London")
NOW = datetime(2026, 3, 14, 7, 45, tzinfo=UTC)


def _context(kind: str, **options: Any) -> ParseContext:
    spec = SourceSpec(kind, kind, MappingProxyType(options), None, timedelta(minutes=45), Place("wall.toml"))
    return ParseContext(spec, LONDON, 50.31, -4.05, NOW, NOW, "en-GB")


def _payload(name: str) -> bytes:
    return (HUT / "payloads" / name).read_bytes()


def test_the_clubs_calendar() -> None:
    club = agenda.parse(_payload("club.ics"), _context("agenda"))
    wording = Wording("en-GB", LONDON)
    told = [(str(e.starts)[:10], wording.span(e.starts, e.ends), e.summary) for e in club.events]
    assert not club.origin.findings
    assert club.name == "Fennel Quay Rowing Club"
    assert told[:4] == [
        ("2026-03-14", "09:30–11:30", "Club outing"),
        ("2026-03-14", "12:30–14:00", "Soup lunch"),
        ("2026-03-15", "10:00–13:00", "Scrub the slip"),
        ("2026-03-17", "19:30–21:00", "Committee"),
    ]
    outings = [str(e.starts)[:16] for e in club.events if e.summary.startswith("Club outing")]
    # The third is a day later, the fourth gives way to the regatta; after the clock change 09:30 is 08:30 UTC.
    assert outings[:4] == ["2026-03-14 09:30", "2026-03-22 10:00", "2026-04-04 08:30", "2026-04-11 08:30"]
    for day in (28, 29):
        assert club.on(date(2026, 3, day), LONDON)[0].summary == "Spring regatta"
    assert "Spring regatta" not in [e.summary for e in club.on(date(2026, 3, 30), LONDON)]
    assert "Paint the hut" not in [e.summary for e in club.events]
    assert [todo.summary for todo in club.undone][:2] == ["Varnish the oars", "Lay out the regatta buoys"]
    assert len(club.todos) - len(club.undone) == 1


def test_the_ferrys_timetable() -> None:
    boats = agenda.parse(_payload("ferries.ics"), _context("agenda"))
    times = [e.starts.astimezone(LONDON) for e in boats.starting(NOW, 60) if isinstance(e.starts, datetime)]
    # The boat of 09:35 is cancelled today.
    assert [f"{at:%H:%M}" for at in times[:6]] == ["08:05", "08:35", "09:05", "10:05", "11:05", "12:05"]
    sunday = [f"{at:%H:%M}" for at in times if at.date() == date(2026, 3, 15)]
    assert sunday == ["09:15", "11:15", "13:15", "15:15", "17:15"]
    assert [f"{at:%H:%M}" for at in times if at.date() == date(2026, 3, 16)][:6] == [
        "07:05", "07:35", "08:05", "08:35", "09:05", "09:35",
    ]  # fmt: skip
    assert not boats.origin.findings


def test_the_workshops_readings() -> None:
    columns = {
        "temperature": {"column": "temperature_c", "unit": "°C"},
        "humidity": {"column": "humidity_pct", "unit": "%"},
        "battery": {"column": "battery_v", "unit": "V"},
    }
    made = series.parse(_payload("readings.csv"), _context("series", columns=columns))
    assert isinstance(made, tuple)
    air, damp, cell = made
    assert [len(s.readings) for s in made] == [673] * 3
    assert air.latest is not None
    assert air.latest.at == NOW
    assert air.readings[-1].at - air.readings[0].at == timedelta(days=7)
    gap = [reading.at for reading in air.readings if reading.value is None]
    assert gap[-1] - gap[0] + timedelta(minutes=15) == timedelta(hours=3)
    peak = air.between(NOW - timedelta(days=2), NOW).maximum
    assert peak is not None
    assert peak.at == datetime(2026, 3, 13, 16, 45, tzinfo=UTC)
    assert all(20 <= r.value <= 100 for r in damp.readings if r.value is not None)
    assert all(3.6 < r.value < 4.2 for r in cell.readings if r.value is not None)
    assert not air.origin.findings


def test_the_passage() -> None:
    passage = track.parse(_payload("outing.gpx"), _context("track"))
    assert (len(passage.segments), len(passage.positions), len(passage.waypoints)) == (6, 600, 6)
    assert 250 < passage.length_m / 1852 < 350
    for segment in passage.segments:
        times = [position.at for position in segment if position.at is not None]
        assert times == sorted(times)
        assert len(times) == 100
    assert not passage.origin.findings


def test_the_rota_turns_by_one_and_is_called_for_real() -> None:
    context = _context("own", function="rota:who_is_on")
    value: Any = own.parse(shell_own.call_own(HUT, context), context).value
    assert value["week"] == 11
    assert list(value["this_week"]) == ["Opens the hut", "Soup and stove", "Safety boat"]
    assert len(set(value["this_week"].values())) == 3
    rota = runpy.run_path(str(HUT / "facts" / "rota.py"))
    monday = date(2026, 12, 21)
    turns = [rota["on_duty"](monday + timedelta(days=7 * n))["Opens the hut"] for n in range(6)]
    assert len(set(turns)) == 6  # the 53rd week of 2026 gives nobody two turns running


@pytest.mark.parametrize(("name", "maker"), [("readings.csv", "readings"), ("outing.gpx", "passage")])
def test_the_script_makes_the_same_files_again(name: str, maker: str) -> None:
    script = runpy.run_path(str(ROOT / "scripts" / "make_demo_readings.py"))
    assert "\n".join(script[maker]()) + "\n" == _payload(name).decode("utf-8")
