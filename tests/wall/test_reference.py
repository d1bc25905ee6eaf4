"""What the reference says of ``wall.toml`` is what the reader takes; each command has its place."""

import re
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from pydantic import BaseModel
from tests.wall.conftest import GOOD, MakeWall

from wallbill.cli.commands import COMMANDS
from wallbill.units.quantity import UNITS
from wallbill.wall.model import Dates, SecretRef
from wallbill.wall.shell import load_wall
from wallbill.wall.tables import DisplayTable, EntryTable, InterruptTable, SourceTable, WallTable
from wallbill.wall.tables_server import MailTable, StoreTable, WatchTable

SHEETS = ("hall", "holidays", "morning", "warning")
REFERENCE = Path(__file__).resolve().parents[2] / "docs" / "reference"
PAGE = (REFERENCE / "wall-toml.md").read_text(encoding="utf-8")


def section(heading: str) -> str:
    return PAGE.split(f"## `{heading}`")[1].split("\n## ")[0]


def block_of(heading: str, begin: str) -> str:
    """The example of a section that begins so."""
    blocks = (re.sub(r"^    ", "", part, flags=re.MULTILINE) for part in section(heading).split("\n\n"))
    return next(part for part in blocks if part.startswith(begin)) + "\n"


def keys(model: type[BaseModel]) -> set[str]:
    return {field.alias or name for name, field in model.model_fields.items()}


def test_every_key_is_explained_and_no_other() -> None:
    for heading, model in (
        ("[wall]", WallTable),
        ("[sources.NAME]", SourceTable),
        ("[displays.NAME]", DisplayTable),
        ("[store]", StoreTable),
        ("[watch]", WatchTable),
    ):
        explained = set(re.findall(r"^\| `(\w+)` \|", section(heading), re.MULTILINE))
        assert explained == keys(model), heading
    for key in keys(EntryTable) | keys(InterruptTable):
        assert f"`{key}`" in section("[displays.NAME]")
    for key in keys(MailTable):
        assert f"`{key}`" in section("[watch]")


def test_what_is_needed_is_said_to_be_needed() -> None:
    for heading, model in (
        ("[wall]", WallTable),
        ("[sources.NAME]", SourceTable),
        ("[displays.NAME]", DisplayTable),
        ("[store]", StoreTable),
        ("[watch]", WatchTable),
    ):
        needed = set(re.findall(r"^\| `(\w+)` \|.*\| needed \|$", section(heading), re.MULTILINE))
        assert needed == {
            field.alias or name for name, field in model.model_fields.items() if field.is_required()
        }


def test_every_unit_is_listed_under_its_kind() -> None:
    text = " ".join(section("[wall]").split()).split("Kinds of quantity and their units:")[1]
    listed = {
        unit: part.split("`")[0].strip()
        for part in text.split(";")
        for unit in re.findall(r"`([^`]+)`", part)
    }
    assert listed == {sign: scale.kind for sign, scale in UNITS.items()}


def test_the_lists_of_the_page_can_be_read(make_wall: MakeWall) -> None:
    text = """
[wall]
name = "Quay"
place = { latitude = 50.31, longitude = -4.05, elevation = "12 m" }
time_zone = "Europe/London"
[sources.alerts]
kind = "sky"
[displays.hall]
panel = "2.9in-296x128-black-white"
read_from = "2 m"
sheet = "hall"
"""
    hall = load_wall(make_wall(text + block_of("[displays.NAME]", "timetable"), sheets=SHEETS)).displays[
        "hall"
    ]
    assert [entry.sheet for entry in hall.timetable] == ["holidays", "morning"]
    assert hall.timetable[0].dates == (Dates((12, 20), (1, 6)),)
    assert (hall.interrupts[0].when, hall.interrupts[0].even_quiet) == ("alerts.active", True)
    watch = load_wall(make_wall(text + block_of("[watch]", "[watch]"), sheets=SHEETS)).watch
    assert watch.mail is not None
    assert (watch.mail.port, watch.mail.password) == (587, SecretRef("MAIL_PASSWORD"))


def test_the_example_of_the_timetable_shows_what_the_page_says(make_wall: MakeWall) -> None:
    page = (REFERENCE / "timetable.md").read_text(encoding="utf-8")
    head = re.split(r"^\[sources\.rota\]", GOOD, flags=re.MULTILINE)[0] + '[sources.warnings]\nkind = "sky"\n'
    blocks = [re.sub(r"^    ", "", part, flags=re.MULTILINE) for part in page.split("\n\n")]
    example = next(part for part in blocks if part.startswith("[displays.hall]"))
    sheets = ("hall", "regatta", "holidays", "morning", "evening", "warning", "wind")
    hall = load_wall(make_wall(head + example + "\n", sheets=sheets)).displays["hall"]
    zone = ZoneInfo("Europe/London")
    expected = {
        "2026-06-07T08:00": "regatta",  # a Sunday
        "2027-06-07T08:00": "morning",  # a Monday
        "2026-12-31T08:00": "holidays",
        "2027-01-06T23:59": "holidays",
        "2027-01-07T08:00": "morning",
        "2026-03-30T01:00": "evening",  # Monday, belonging to Sunday
        "2026-03-28T01:00": "hall",  # Saturday
        "2026-03-27T09:00": "hall",
    }
    shown = {text: hall.sheet_at(datetime.fromisoformat(text).replace(tzinfo=zone)) for text in expected}
    assert shown == expected
    assert [interrupt.even_quiet for interrupt in hall.interrupts] == [True, False]


def test_each_command_has_its_place_in_the_reference() -> None:
    page = (REFERENCE / "commands.md").read_text(encoding="utf-8")
    assert [name for name in COMMANDS if f"## `wallbill {name}`" not in page] == []
