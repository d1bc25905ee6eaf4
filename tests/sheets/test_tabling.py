"""Tables, lists and fitted texts in real sheets: what they say of wrong asks, and what the engine makes of them."""

import re
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from html import unescape

import numpy as np
import pytest

from tests.golden import check_golden
from tests.sheets.pressing import Pressing
from wallbill.errors import SheetError
from wallbill.facts.agenda import Agenda, Event
from wallbill.facts.departures import Departure, Departures
from wallbill.facts.origin import Origin
from wallbill.facts.supply import Supplied
from wallbill.panels.model import Panel
from wallbill.panels.shell import load_panels
from wallbill.press.pressing import SheetPage, press_page
from wallbill.sheets.making import Made

SMALL = "2.9in-296x128-black-white"
TWO = "4.2in-400x300-black-white"
RED = "4.2in-400x300-black-white-red"
GREY = "6in-800x600-16-greys"

EVENTS = (
    ("2026-03-14T09:30", "Early outing: coxless four to the breakwater and back", "Slipway"),
    ("2026-03-14T11:00", "Harbour committee", "Net loft, upper room"),
    ("2026-03-14T18:15", "Novices <on> the water & tea", "Slipway"),
    ("2026-03-15T08:00", "Winter league, third race", "Outer mark"),
    ("2026-03-15T12:10", "High water 5.2 m", ""),
    ("2026-03-16T15:30", "Cleaning", "Hut"),
)
_LINE = re.compile(
    r'<div (class="[\w-]*" style="position:absolute;left:-?\d+px;top:-?\d+px;)width:(\d+)px;([^"]*")>([^<]+)<'
)
ORIGIN = Origin("club", "Boat club", "", None, datetime(2026, 3, 14, 7, tzinfo=UTC))
AGENDA_TABLE = """{{ table(facts.club.events, columns=[
  {"key": "starts", "format": "time", "head": "At", "priority": 3},
  {"key": "summary", "head": "What", "priority": 2},
  {"key": "location", "head": "Where"}],
  width_px=W, height_px=H, size_px=S, group={"key": "starts", "format": "day_name"}) }}"""


def club() -> Mapping[str, Supplied]:
    """An agenda of three days."""
    events = []
    for at, (start, what, where) in enumerate(EVENTS):
        when = datetime.fromisoformat(start).replace(tzinfo=UTC)
        events.append(Event(str(at), what, when, when, location=where))
    return {"club": Supplied("club", "agenda", Agenda(ORIGIN, "Club", tuple(events)))}


def bus() -> Mapping[str, Supplied]:
    """Departures, one of them cancelled."""
    start = datetime(2026, 3, 14, 8, 3, tzinfo=UTC)
    rows = (
        ("12", "Harbour Station via Old Market", False),
        ("3", "Quay", True),
        ("N7", "Sandpit Lane", False),
    )
    made = tuple(
        Departure(
            start + timedelta(minutes=9 * at), start + timedelta(minutes=10 * at), line, to, cancelled=gone
        )
        for at, (line, to, gone) in enumerate(rows)
    )
    return {"bus": Supplied("bus", "departures", Departures(ORIGIN, "Stop", made))}


def sized(sheet: str, width_px: int, height_px: int, size_px: int) -> str:
    """A sheet with W, H and S put in."""
    for name, value in (("W", width_px), ("H", height_px), ("S", size_px)):
        sheet = re.sub(rf"\b{name}\b", str(value), sheet)
    return f"<style>main{{padding:4px 6px}}</style><main>{sheet}</main>"


def natural_px(made: Made, pressing: Pressing, panel: Panel) -> list[tuple[str, int, float]]:
    """Text, width that its box was given, and width that the engine finds it to have, of each line of the blocks."""
    given: list[tuple[str, int]] = []

    def freed(found: re.Match[str]) -> str:
        given.append((unescape(found[4]), int(found[2])))
        return f'<div id="q{len(given) - 1}" {found[1]}{found[3]}>{found[4]}<'

    html = _LINE.sub(freed, made.html)
    page = SheetPage(html, "free.html", panel.width_px, panel.height_px, panel)
    boxes = press_page(page, pressing.tools.press).boxes
    return [(text, wide, boxes[f"q{at}"].width_px) for at, (text, wide) in enumerate(given)]


LISTS = """{{ fitted_list([
  {"summary": "Varnish the sculls and hang them in the loft", "done": false, "due": "27 Mar"},
  {"summary": "Buy rope", "done": true, "due": None},
  {"summary": "Ask Orla about the trailer’s lights", "done": false, "due": "2 Apr"},
  {"summary": "Count the lifejackets", "done": false, "due": None}],
  width_px=W, height_px=H, size_px=S, marks="box", wrap=2, done="done", note="due") }}"""
BOARD = """{{ table(facts.bus.departures, columns=[
  {"key": "expected", "format": "time", "head": "Leaves", "priority": 3},
  {"key": "route", "head": "Line", "priority": 2},
  {"key": "headsign", "head": "To", "wrap": 2, "priority": 1},
  {"key": "late_min", "head": "Late", "numeric": true}],
  width_px=W, height_px=H, size_px=S, strike="cancelled", reverse=[true, false, false], lines="tint") }}"""
TEXT = """{{ fitted_text("Ground frost tonight: take care on the slip\xadway.", width_px=W, height_px=H, balance=true) }}"""


@pytest.mark.parametrize("panel", [TWO, RED, GREY])
@pytest.mark.parametrize(("block", "lines"), [(AGENDA_TABLE, 12), (LISTS, 6), (BOARD, 9), (TEXT, 2)])
def test_no_text_is_wider_than_its_box(pressing: Pressing, panel: str, block: str, *, lines: int) -> None:
    sheet = sized(block, 240, 200, 15)
    made = pressing(sheet, panel=panel, sources={**club(), **bus()})
    found = natural_px(made, pressing, load_panels()[panel])
    assert len(found) >= lines
    assert [line for line in found if line[2] > line[1]] == []
    assert [finding for finding in made.findings if "overflow" in finding.rule] == []


@pytest.mark.parametrize("size_px", [11, 16, 24])
def test_nothing_is_drawn_outside_of_the_box(pressing: Pressing, size_px: int) -> None:
    for block in (AGENDA_TABLE, LISTS, BOARD):
        made = pressing(sized(block, 150, 90, size_px), panel=TWO, sources={**club(), **bus()})
        inked = np.argwhere(made.impression.codes != made.impression.codes[-1, -1])
        assert inked.min() >= 4
        assert inked[:, 0].max() < 4 + 90
        assert inked[:, 1].max() < 6 + 150


@pytest.mark.parametrize(
    ("name", "block", "panel", "size_px"),
    [
        ("table-agenda-two", AGENDA_TABLE, TWO, 14),
        ("table-board-two", BOARD, TWO, 15),
        ("table-agenda-red", AGENDA_TABLE.replace("group=", "accent=[0,1,0,0,0,0], group="), RED, 15),
        ("list-jobs-two", LISTS, TWO, 15),
        ("list-jobs-grey", LISTS, "4.2in-400x300-4-greys", 15),
    ],
)
def test_they_look_as_they_were_accepted(
    pressing: Pressing, name: str, block: str, *, panel: str, size_px: int
) -> None:
    made = pressing(sized(block, 250, 130, size_px), panel=panel, sources={**club(), **bus()})
    palette = [ink.css for ink in load_panels()[panel].inks]
    check_golden(name, made.impression.codes[:140, :264], palette)


@pytest.mark.parametrize(
    ("block", "said", "mend"),
    [
        ('{{ table(facts.club.events, columns=["sumary"], width_px=90, height_px=90) }}', "no row has 'sumary'", "summary"),
        ('{{ table(facts.club.events, columns=["touches"], width_px=90, height_px=90) }}', "no row has 'touches'", ""),
        ('{{ table([{"a": 1}], widht=3, width_px=90, height_px=90) }}', "a table has no 'widht'", "width_px"),
        ('{{ table([{"a": 1}], columns=[{"key": "a", "format": "tme"}], width_px=90, height_px=90) }}', "no filter 'tme'", "time"),
        ('{{ table([{"a": "x"}], columns=[{"key": "a", "format": "time"}], width_px=90, height_px=90) }}', "cannot be put on 'x'", ""),
        ('{{ table("text", width_px=90, height_px=90) }}', "made of rows", "events"),
        ('{{ table(["text"], width_px=90, height_px=90) }}', "which columns", "columns"),
        ('{{ table([{"a": 1}], width_px=0, height_px=90) }}', "width_px is 1 to", ""),
        ('{{ table([{"a": 1}], lines="ruls", width_px=90, height_px=90) }}', "lines cannot be 'ruls'", "rules"),
        ('{{ table([{"a": 1}], group={"kee": "a"}, width_px=90, height_px=90) }}', "a group has no 'kee'", "key"),
        ('{{ table([{"a": 1}], reverse=[1, 2], width_px=90, height_px=90) }}', "as many values", ""),
        ('{{ fitted_list(["a"], marks="boks", width_px=90, height_px=90) }}', "marks cannot be 'boks'", "box"),
        ('{{ fitted_list(["a"], columns=0, width_px=90, height_px=90) }}', "columns is 1 to 12", ""),
        ('{{ fitted_text("a", leading=9, width_px=90, height_px=90) }}', "0.8 to 4", ""),
        ('{{ fitted_text("a", sizes=[], width_px=90, height_px=90) }}', "no size", ""),
    ],
)  # fmt: skip
def test_a_wrong_ask_is_told_with_its_line_and_the_mend(
    pressing: Pressing, block: str, said: str, *, mend: str
) -> None:
    with pytest.raises(SheetError) as told:
        pressing(block, panel=SMALL, sources=club())
    assert said in told.value.what
    assert mend in told.value.mend
    assert "porch.html:1" in str(told.value)


def test_gaps_are_dashes_and_nothing_to_list_says_so(pressing: Pressing) -> None:
    rows = '{{ table([{"a": None, "b": 1.5}, {"b": true}], width_px=90, height_px=60, size_px=14) }}'
    html = pressing(rows, panel=SMALL).html
    assert re.findall(r">([^<>]+)</div>", html) == ["–", "1.5", "–", "✓"]
    empty = '{{ table([], columns=["a"], width_px=90, height_px=60, size_px=14, empty="Nothing on") }}'
    assert re.findall(r">([^<>]+)</div>", pressing(empty, panel=SMALL).html) == ["Nothing on"]
    nothing = pressing("{{ table(facts.club.events, width_px=90, height_px=60) }}", panel=SMALL,
                       sources={"club": Supplied("club", "agenda", None)})  # fmt: skip
    assert 'class="wb-gap"' in nothing.html
    assert any(finding.rule == "sheets.missing-fact" for finding in nothing.findings)


def test_what_has_no_room_is_told(pressing: Pressing) -> None:
    low = pressing('{{ table([{"a": 1}], width_px=90, height_px=10, size_px=14) }}x', panel=SMALL)
    assert [finding.rule for finding in low.findings if finding.rule.startswith("blocks")] == [
        "blocks.table-small"
    ]
    long = pressing(
        '{{ fitted_text("Ground frost tonight", width_px=50, height_px=16, sizes=12) }}', panel=SMALL
    )
    assert [finding.rule for finding in long.findings if finding.rule.startswith("blocks")] == [
        "blocks.text-cut"
    ]
    assert "…" in long.html


def test_what_comes_from_outside_is_escaped(pressing: Pressing) -> None:
    html = pressing(
        '{{ table([{"a": "<b>&amp;"}], width_px=90, height_px=60, size_px=14) }}', panel=SMALL
    ).html
    assert "&lt;b&gt;&amp;amp;" in html
    assert "<b>" not in html


def test_a_column_is_formatted_by_a_filter_with_options_or_a_macro(pressing: Pressing) -> None:
    sheet = """{% macro loud(value) %}<b>{{ value|upper }}</b>!{% endmacro %}{{ table([{"a": "quay", "n": 1.25}],
      columns=[{"key": "a", "format": loud}, {"key": "n", "filter": ["number", 1, {"sign": true}]}],
      width_px=200, height_px=60, size_px=14) }}"""
    assert re.findall(r">([^<>]+)</div>", pressing(sheet, panel=SMALL).html) == ["QUAY!", "+1.3"]
    with pytest.raises(SheetError, match="no filter"):
        pressing(
            '{{ table([{"a": 1}], columns=[{"key": "a", "format": sign}], width_px=9, height_px=9) }}',
            panel=SMALL,
        )


def test_what_lasts_all_day_has_no_time_and_no_dash(pressing: Pressing) -> None:
    sheet = """{{ table([{"at": now.date(), "what": "Regatta"}, {"at": now, "what": "Tea"}, {"at": none, "what": "Rope"}],
      columns=[{"key": "at", "format": "time"}, {"key": "what"}], lines="none", width_px=200, height_px=90, size_px=14) }}"""
    assert re.findall(r">([^<>]+)</div>", pressing(sheet, panel=SMALL).html) == [
        "Regatta",
        "08:00",
        "Tea",
        "–",
        "Rope",
    ]
