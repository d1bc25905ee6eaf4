"""Which displays would look alike: their settings are equal, and no sheet asks for their name."""

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from tests.end_to_end.walls import display, wall

from wallbill.server.likeness import asks_for_name, like_displays
from wallbill.units.quantity import Quantity
from wallbill.wall.model import Display, Interrupt
from wallbill.wall.shell import load_wall


@pytest.fixture
def porch(tmp_path: Path) -> Display:
    return load_wall(wall(tmp_path / "wall", display("hall", sheet="porch"))).displays["porch"]


def named(*displays: Display) -> dict[str, Display]:
    return {f"d{number}": replace(each, name=f"d{number}") for number, each in enumerate(displays)}


PLAIN = {"porch.html": "<p>Boats</p>"}


def test_a_hundred_like_displays_are_one_group(porch: Display) -> None:
    assert like_displays(named(*[porch] * 100), PLAIN) == (tuple(f"d{n}" for n in range(100)),)


def test_any_setting_sets_apart_but_name_and_battery(porch: Display) -> None:
    others = (
        replace(porch, turned=180),
        replace(porch, every=porch.every + timedelta(minutes=1)),
        replace(porch, read_from=Quantity(3, "m")),
        replace(porch, interrupts=(Interrupt("facts.gale", "porch"),)),
    )
    empty = replace(porch, battery_empty=Quantity(3.3, "V"))
    found = like_displays(named(porch, *others, empty), PLAIN)
    assert found == (("d0", "d5"), ("d1",), ("d2",), ("d3",), ("d4",))


@pytest.mark.parametrize(
    "text",
    [
        "{{ display.name }}",
        "{{ display['name'] }}",
        "{{ display[part] }}",
        "{% set d = display %}{{ d.name }}",
        "{{ shown(display) }}",
        "{% include 'part.html' %}",
        "{% from 'part.html' import sign %}",
        "{% extends 'part.html' %}",
        "{% import 'part.html' as part %}",
        "{% include ['none.html', 'part.html'] %}",
        "{% include file %}",
        "{% if %}",  # cannot be read: it is told when it is pressed
    ],
)
def test_a_sheet_that_may_ask_for_the_name_sets_apart(porch: Display, text: str) -> None:
    texts = {"porch.html": text, "part.html": "{{ display . name }}", "other.html": ""}
    assert asks_for_name(["porch"], texts)
    assert like_displays(named(porch, porch), texts) == (("d0",), ("d1",))


@pytest.mark.parametrize(
    "text",
    [
        "{{ display.width_px }} {{ display.next_look|time }}",
        "{{ wall.name }} display.name {# display.name #} {{ 'display.name' }}",
        "{{ boat.display.name }}",
        "{% include 'other.html' %}",
        "{% include 'porch.html' %}",
    ],
)
def test_a_sheet_that_does_not_is_shared(porch: Display, text: str) -> None:
    texts = {"porch.html": text, "other.html": "<p>", "part.html": "{{ display.name }}"}
    assert not asks_for_name(["porch"], texts)
    assert like_displays(named(porch, porch), texts) == (("d0", "d1"),)


def test_a_condition_that_asks_for_the_name_sets_apart(porch: Display) -> None:
    asks = replace(porch, interrupts=(Interrupt("display.name == 'd0'", "porch"),))
    assert like_displays(named(asks, asks), PLAIN) == (("d0",), ("d1",))
