"""Payloads that are cut in half, empty, not there or of another kind: the source is marked, the others are unharmed."""

import json
import shutil
from pathlib import Path

import pytest

from tests.end_to_end.conftest import DemoPress, Press
from tests.end_to_end.running import AT, Said

SOURCES = {
    "forecast": "locationforecast.json",
    "club": "club.ics",
    "ferries": "ferries.ics",
    "workshop": "readings.csv",
    "passage": "outing.gpx",
}


@pytest.fixture
def demo_copy(demo: DemoPress, tmp_path: Path) -> Path:
    """A copy of the example wall whose payloads may be spoilt."""
    shutil.copytree(demo.wall, tmp_path / "wall")
    return tmp_path / "wall"


def facts(press: Press, folder: Path) -> tuple[Said, dict[str, dict[str, object]]]:
    said = press.run("facts", folder, "--offline", "--at", AT, "--json")
    found = json.loads(said.out)
    assert isinstance(found, dict)
    return said, found


@pytest.mark.parametrize("spoilt", ["half", "empty", "gone", "binary", "markup"])
@pytest.mark.parametrize("source", SOURCES)
def test_a_spoilt_payload(press: Press, demo_copy: Path, *, source: str, spoilt: str) -> None:
    _, whole = facts(press, demo_copy)
    file = demo_copy / "payloads" / SOURCES[source]
    data = file.read_bytes()
    if spoilt == "gone":
        file.unlink()
    else:
        parts = {"half": data[: len(data) // 2], "empty": b"", "binary": bytes(range(256)) * 9}
        file.write_bytes(parts.get(spoilt, b"<!DOCTYPE html><title>502 Bad Gateway</title>"))
    said, found = facts(press, demo_copy)
    others = [name for name in whole if name != source]
    assert {name: found[name] for name in others} == {name: whole[name] for name in others}
    mine = found[source]
    if mine["state"] == "missing":
        assert said.status == 1
        assert mine["trouble"]
        assert "mend: " in str(mine["trouble"])
    else:
        assert mine["findings"] or mine["trouble"], f"{spoilt}: nothing is said"


def test_the_sheets_of_a_spoilt_wall_go_up_and_are_marked(
    press: Press, demo_copy: Path, tmp_path: Path
) -> None:
    for name in SOURCES.values():
        (demo_copy / "payloads" / name).write_bytes(b"<!DOCTYPE html><title>502 Bad Gateway</title>")
    (demo_copy / "facts" / "rota.py").write_text(
        "def who_is_on(today):\n    return today.nothing\n", encoding="utf-8"
    )
    said = press(demo_copy, status=0)
    for name, sources in (
        ("hall", {"forecast"}), ("kitchen", {"club", "forecast", "rota"}), ("workshop", {"workshop"}),
        ("study", {"passage"}), ("porch", {"ferries"}),
    ):  # fmt: skip
        record = json.loads((tmp_path / "out" / f"{name}.json").read_text(encoding="utf-8"))
        assert set(record["stale"]) == sources
        assert all(record["sources"][source]["trouble"] for source in sources)
        for source in sources:
            assert f"{name}: source {source} is missing: " in said.err
    for name in ("hall", "kitchen"):
        assert "no forecast" in (tmp_path / "out" / f"{name}.page.html").read_text(encoding="utf-8")
    assert "facts/rota.py:2" in said.err


def test_old_facts_are_marked_stale(press: Press, demo: DemoPress, tmp_path: Path) -> None:
    said = press.run(
        "press", demo.wall, "hall", "--offline", "--at", "2026-03-15T20:00", "--out", tmp_path / "out"
    )
    assert said.status == 0
    record = json.loads((tmp_path / "out" / "hall.json").read_text(encoding="utf-8"))
    assert record["stale"] == ["forecast"]
    assert "forecast of Sat" in (tmp_path / "out" / "hall.page.html").read_text(encoding="utf-8")


def test_beyond_its_forecast_a_sheet_says_nothing_of_the_weather(
    press: Press, demo: DemoPress, tmp_path: Path
) -> None:
    """Months without a forecast: no weather is made up."""
    said = press.run("press", demo.wall, "hall", "--offline", "--at", "2026-06-21T20:00", "--out", tmp_path)
    assert said.status == 0
    page = (tmp_path / "hall.page.html").read_text(encoding="utf-8")
    assert "No forecast" in page
    assert "forecast of 14 March 2026" in page
    assert not [word for word in ("Overcast", "dry", "all day") if word in page]
