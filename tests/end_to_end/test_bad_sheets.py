"""What can be wrong with a sheet: each fault names file and line, and the other displays are pressed."""

import json
import time
from pathlib import Path

import pytest

from tests.end_to_end.conftest import DemoPress, Press
from tests.end_to_end.running import AT, files_in, wallbill
from tests.end_to_end.walls import display, wall

FLOAT = (
    '<div style="width:200px"><div style="float:left;width:50px;height:50px"></div>' + "word " * 80 + "</div>"
)
"""Measured with blitz-py 0.5.0: it is never done with a float beside wrapping text."""


@pytest.mark.parametrize(
    ("sheet", "line", "words"),
    [
        ("<p>\n{% if %}</p>", 2, "Expected an expression"),
        ("<p>\n\n{% for boat in boats %}", 3, "end of template"),
        ("<p>\n{{ facts.skyy.sunset }}</p>", 2, "the wall has no source 'skyy'\n  mend: Write facts.sky."),
        ("{{ facts.tide }}", 1, "the wall has no source 'tide'\n  mend: The wall's sources: facts.sky."),
        ("{{ facts.sky.sunst|time }}", 1, "Sky has no 'sunst'\n  mend: Did you mean 'sunset'?"),
        ("\n{{ facts.sky.quarters[9].at }}", 2, "there is no member 9: the row has 4"),
        ("{{ displya.name }}", 1, "'displya' is undefined\n  mend: Did you mean 'display'?"),
        ("{{ icon(facts.sky.weather, size_px=20) }}", 1, "Sky has no 'weather'"),
        ("{{ sign(signn, size_px=20) }}", 1, "'signn' is undefined\n  mend: Did you mean 'sign'?"),
        ("{{ now|date(patern) }}", 1, "'patern' is undefined"),
        ("{{ facts.sky.sunset|tyme }}", 1, "No filter named 'tyme'"),
        ("{{ 'noon'|date }}", 1, "the filter 'date' cannot be put on 'noon'"),
        ("{{ facts.sky.sunset|number }}", 1, "the filter 'number' cannot be put on"),
        ("{{ 1 / 0 }}", 1, "ZeroDivisionError: division by zero"),
        ("{{ ''.__class__.__mro__ }}", 1, "unsafe"),
        ("{{ icon('rain', size_px=20) }}", 1, "an icon is drawn of a Weather, not of a text"),
        ("{{ icon(none) }}", 1, "icon needs size_px"),
        ("{{ sign('boot', size_px=20) }}", 1, "unknown sign 'boot'"),
        ("{{ picture('quay.jpg', width_px=20, height_px=20) }}", 1, "there is no picture 'quay.jpg'"),
        ("{% include 'porch.html' %}", 1, "includes or calls itself without end"),
        ("{% macro m() %}{{ m() }}{% endmacro %}\n{{ m() }}", 1, "includes or calls itself without end"),
        ("{% extends 'porsch.html' %}", None, "there is no sheet 'porsch.html'\n  mend: Did you mean 'porch.html'?"),
        ("\n{% for a in range(100001) %}x{% endfor %}", 2, "Range too big"),
    ],
)  # fmt: skip
def test_a_broken_sheet(press: Press, tmp_path: Path, *, sheet: str, line: int | None, words: str) -> None:
    folder = wall(tmp_path / "wall", sheets={"porch.html": sheet})
    said = press(folder, status=1)
    place = "sheets/porch.html" if line is None else f"sheets/porch.html:{line}"
    assert said.err.startswith(f"porch: {place}: "), said.err
    assert words in said.err
    assert "mend: " in said.err


def test_a_sheet_that_is_not_utf8(press: Press, tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall")
    (folder / "sheets" / "porch.html").write_bytes(b"<p>\nB\xf6rn")
    said = press(folder, status=1)
    assert said.err.startswith("sheets/porch.html:2: this is not UTF-8")


def test_a_missing_fact_goes_up_as_a_dash(press: Press, tmp_path: Path) -> None:
    sheet = '<p>{{ facts.club.upcoming(now)[0].summary }}</p><p class="foot">{{ ages.club.freshness }}</p>'
    folder = wall(
        tmp_path / "wall", '[sources.club]\nkind = "agenda"\nfile = "club.ics"', sheets={"porch.html": sheet}
    )
    said = press(folder, status=0)
    assert "a fact is missing; a dash stands in its place [sheets.missing-fact]" in said.err
    assert (
        "source club is missing: wall.toml:16 sources.club: 'club.ics' cannot be read: no such file"
        in said.err
    )
    record = json.loads((tmp_path / "out" / "porch.json").read_text(encoding="utf-8"))
    assert record["stale"] == ["club"]
    assert [finding["rule"] for finding in record["findings"]] == ["sheets.missing-fact"]
    page = (tmp_path / "out" / "porch.page.html").read_text(encoding="utf-8")
    assert '<p>–</p><p class="foot">missing</p>' in page


@pytest.mark.parametrize("sheet", ["", "<!-- nothing -->", '<p style="color:#fff">white on white</p>'])
def test_a_blank_page_is_remarked_upon(press: Press, tmp_path: Path, sheet: str) -> None:
    said = press(wall(tmp_path / "wall", sheets={"porch.html": sheet}), status=0)
    assert "sheets/porch.html: the page is of one ink all over" in said.err


def test_a_page_nested_fifty_thousand_deep(press: Press, tmp_path: Path) -> None:
    sheet = "{% for i in range(50000) %}<div>{% endfor %}x"
    folder = wall(tmp_path / "wall", display("shed"), sheets={"porch.html": sheet, "shed.html": "<p>x"})
    said = press(folder, status=1)
    assert "porch: porch.page.html:1 div: elements are nested more than" in said.err
    assert (tmp_path / "out" / "shed.png").is_file()
    assert not (tmp_path / "out" / "porch.png").exists()
    assert "<div><div>" in (tmp_path / "out" / "porch.page.html").read_text(encoding="utf-8")


def test_a_page_that_the_engine_is_never_done_with(demo: DemoPress, tmp_path: Path) -> None:
    """In a process of its own, so that a limit that does not hold fails the test and does not hang it."""
    folder = wall(tmp_path / "wall", display("shed"), sheets={"porch.html": FLOAT, "shed.html": "<p>x"})
    began_s = time.monotonic()
    said = wallbill("press", folder, "--offline", "--at", AT, "--out", tmp_path / "out", cache=demo.cache)
    assert said.status == 1
    assert "porch: porch.page.html: the page (296 x 128 px) is not done within" in said.err
    assert "float" in said.err
    assert time.monotonic() - began_s < 40
    assert (tmp_path / "out" / "shed.png").is_file()


def test_nothing_outside_the_wall_is_loaded(press: Press, tmp_path: Path) -> None:
    (tmp_path / "secret.png").write_bytes(b"not to be read")
    sheet = (
        f'<img src="file://{tmp_path}/secret.png" width=9 height=9><img src="../secret.png" width=9 height=9>'
        '<img src="pictures/../../secret.png"><p>x'
    )
    folder = wall(tmp_path / "wall", sheets={"porch.html": sheet})
    (folder / "pictures").mkdir()
    said = press(folder, status=1)
    assert "there is no picture '../../secret.png'" in said.err


def test_a_failed_display_keeps_the_picture_that_it_had(press: Press, tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall", display("shed", sheet="porch"))
    press(folder, status=0)
    good = files_in(tmp_path / "out")
    for sheet in ("{{ oops }}", "<div>" * 50_000):
        (folder / "sheets" / "porch.html").write_text(sheet, encoding="utf-8")
        press(folder, status=1)
        now = files_in(tmp_path / "out")
        assert now.keys() == good.keys()
        assert {name for name in now if now[name] != good[name]} <= {"porch.page.html", "shed.page.html"}


def test_one_display_that_fails_keeps_no_other_from_the_press(press: Press, tmp_path: Path) -> None:
    sheets = {"porch.html": "{{ oops }}", "last.html": "<p>Last"}
    folder = wall(tmp_path / "wall", display("first", sheet="last") + display("last"), sheets=sheets)
    said = press.run("press", folder, "--offline", "--at", AT, "--out", tmp_path / "out", "--json")
    assert said.status == 1
    assert [record["display"] for record in json.loads(said.out)] == ["first", "last"]
    assert {name for name in files_in(tmp_path / "out") if name.endswith(".png")} == {
        "first.png", "first.proof.png", "last.png", "last.proof.png",
    }  # fmt: skip
