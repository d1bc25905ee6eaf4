"""``wallbill facts``: the paths that it prints are what sheets may write, and give what is printed."""

import json
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from tests.end_to_end.conftest import DemoPress, Press
from tests.end_to_end.running import AT
from tests.end_to_end.walls import wall
from wallbill.cli.bench import gathered
from wallbill.cli.telling import on_one_line
from wallbill.facts.plain import plain_fact
from wallbill.sheets.environment import Environment
from wallbill.sheets.scope import FactsView
from wallbill.sources.spec import kinds
from wallbill.wall.shell import load_wall

CHUNK = 2000  # paths to a template: one template of all would be slow to compile


def printed(press: Press, folder: Path, *more: str) -> list[tuple[str, str]]:
    """The paths and values that the command prints."""
    said = press.run("facts", folder, *more, "--offline", "--at", AT)
    lines = [line[2:] for line in said.out.splitlines() if line.startswith("  facts.")]
    pairs = [tuple(line.split("  ", 1)) for line in lines]
    assert all(len(pair) == 2 for pair in pairs)
    return [(pair[0], pair[1]) for pair in pairs if not pair[0].endswith("[…]")]


def evaluated(folder: Path, paths: list[str]) -> list[Any]:
    """What each path gives in a sheet."""
    loaded = load_wall(folder)
    now = datetime.fromisoformat(AT).replace(tzinfo=loaded.time_zone)
    facts = FactsView(gathered(loaded, now, offline=True), lambda _: None)
    found: list[Any] = []
    for at in range(0, len(paths), CHUNK):
        text = "".join(f"{{% do put({path}) %}}" for path in paths[at : at + CHUNK])
        Environment({"all.html": text}, {}).fill("all.html", {"facts": facts, "put": found.append})
    return found


def as_printed(value: Any) -> str:
    plain = plain_fact(value)
    return "–" if plain is None else on_one_line(str(plain))


@pytest.mark.parametrize("more", [(), ("club", "--all"), ("sky", "--all"), ("rota", "--all")])
def test_every_path_gives_the_value_that_is_printed(
    press: Press, demo: DemoPress, more: tuple[str, ...]
) -> None:
    pairs = printed(press, demo.wall, *more)
    assert len(pairs) >= 6
    values = evaluated(demo.wall, [path for path, _ in pairs])
    wrong = [
        (path, text, as_printed(value))
        for (path, text), value in zip(pairs, values, strict=True)
        if as_printed(value) != text
    ]
    assert wrong == []


def test_paths_of_odd_names_work_too(press: Press, tmp_path: Path) -> None:
    """Names that a table has of its own, that begin with _, that are no words, or need a quotation mark."""
    names = ["items", "keys", "get", "_hidden", "__class__", "and", "none", "Tide's out", 'a"b', "back\\slash",
             "two  words", "Grüße", "ﬁt", "line\nend", "", "0", "{{ x }}", "%}"]  # fmt: skip
    folder = wall(tmp_path / "wall", '[sources.odd]\nkind = "own"\nfunction = "odd:all_of_them"')
    (folder / "facts").mkdir()
    (folder / "facts" / "odd.py").write_text(
        f"def all_of_them():\n    return {dict(zip(names, range(len(names)), strict=True))!r}\n",
        encoding="utf-8",
    )
    said = press.run("facts", folder, "odd", "--offline", "--at", AT)
    lines = [line[2:] for line in said.out.splitlines()[1:]]
    assert len(lines) == len(names)
    paths = [line.rsplit("  ", 1)[0] for line in lines]
    assert evaluated(folder, paths) == list(range(len(names)))


def test_texts_of_others_stay_on_their_line(press: Press, tmp_path: Path) -> None:
    lines = (
        "BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Test//EN", "BEGIN:VEVENT", "UID:1", "DTSTAMP:20260101T000000Z",
         "DTSTART:20260320T100000Z", "SUMMARY:Tea\\n  facts.club.name  Forged", "DESCRIPTION:\x1b[2J", "END:VEVENT",
        "END:VCALENDAR", "",
    )  # fmt: skip
    calendar = "\r\n".join(lines)
    folder = wall(tmp_path / "wall", '[sources.club]\nkind = "agenda"\nfile = "club.ics"')
    (folder / "club.ics").write_text(calendar, encoding="utf-8", newline="")
    said = press.run("facts", folder, "club", "--offline", "--at", AT)
    assert "  facts.club.events[0].summary  Tea\\n  facts.club.name  Forged" in said.out.splitlines()
    assert "\x1b" not in said.out


def test_json_is_json_and_holds_every_source(press: Press, demo: DemoPress) -> None:
    said = press.run("facts", demo.wall, "--offline", "--at", AT, "--json")
    found = json.loads(said.out, parse_constant=lambda name: pytest.fail(f"{name} is no JSON"))
    assert said.status == 0
    assert list(found) == list(load_wall(demo.wall).sources)
    for told in found.values():
        assert set(told) == {"kind", "state", "dated", "due", "credit", "trouble", "findings", "value"}
        assert told["state"] in {"fresh", "stale"}


def test_what_a_reader_left_out_is_told(press: Press, demo: DemoPress, tmp_path: Path) -> None:
    folder = wall(
        tmp_path / "wall",
        '[sources.shed]\nkind = "series"\nfile = "shed.csv"\n[sources.shed.columns]\nair = { column = "air", unit = "°C" }',
        sheets={"porch.html": "{{ facts.shed.latest }}"},
    )
    rows = [f"2026-03-{day:02}T{hour:02}:00:00Z,{hour}" for day in range(10, 14) for hour in range(24)]
    (folder / "shed.csv").write_text(
        "\n".join(["time,air", *rows, "2026-03-14T00:00:00Z,warm"]) + "\n", encoding="utf-8"
    )
    said = press.run("facts", folder, "shed", "--offline", "--at", AT)
    assert "[sources.left-out]" in said.out
    assert "shed.csv:98" in said.out
    told = press(folder, status=0)
    assert "[sources.left-out]" in told.err
    record = json.loads((tmp_path / "out" / "porch.json").read_text(encoding="utf-8"))
    assert [finding["rule"] for finding in record["findings"]] == ["sources.left-out"]


def test_kinds_lists_every_kind_and_option(press: Press) -> None:
    said = press.run("facts", "--kinds")
    assert said.status == 0
    assert [line.split(":")[0] for line in said.out.splitlines() if not line.startswith(" ")] == list(kinds())
    for kind in kinds().values():
        for option in kind.options:
            assert f"\n  {option.name}" in said.out
    found = json.loads(press.run("facts", "--kinds", "--json").out)
    assert {name: set(told["options"]) for name, told in found.items()} == {
        kind.name: {option.name for option in kind.options} for kind in kinds().values()
    }


def test_faults_of_the_command(press: Press, demo: DemoPress) -> None:
    assert press.run("facts").status == 2
    said = press.run("facts", demo.wall, "clubb")
    assert said.status == 1
    assert "the wall has no source 'clubb'" in said.err
    assert "'club'" in said.err
