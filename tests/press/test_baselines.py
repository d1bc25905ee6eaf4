"""Boxes in a line stand on the line's baseline (CSS 2.2, section 10.8.1)."""

import numpy as np
import pytest
from tests.press.makings import sheet

from wallbill.press.model import Box, Pressed
from wallbill.press.pressing import PressTools, press_page

HEAD = "<!doctype html><style>body{margin:40px 0 0;font:16px/20px sans-serif}p{margin:0}</style>"


def foot(pressed: Pressed, box: Box) -> int:
    """The row below the lowest ink in the columns of a box."""
    left, right = round(box.x_px), round(box.x_px + box.width_px)
    inked = pressed.rgb[:, left:right].max(axis=2) < 128
    rows = np.nonzero(inked.any(axis=1))[0]
    return int(rows[-1]) + 1


def line_foot(pressed: Pressed) -> int:
    return foot(pressed, Box(0, 0, 20, 1))


def page(style: str, *, text: str = "HH", around: str = "", tag: str = "span") -> str:
    return f"{HEAD}<p style='{around}'>HH <{tag} id=s style='{style}'>{text}</{tag}> HH</p>"


@pytest.mark.parametrize(
    ("style", "around"),
    [
        ("display:inline-block", ""),
        ("display:inline-block", "line-height:30px"),
        ("display:inline-block", "line-height:normal"),
        ("display:inline-block", "font-size:23px;line-height:1.3"),
        ("display:inline-block;font-size:11px", ""),
        ("display:inline-block;font-size:30px;line-height:1", ""),
        ("display:inline-block;font-size:60px", "line-height:1.2"),
        ("display:inline-block;padding:3px 6px;border:1px solid red", ""),
        ("display:inline-block;margin:0 5px 7px", ""),
        ("display:inline-block;font-family:serif;font-weight:700", ""),
    ],
)
def test_text_in_a_box_stands_on_the_line(style: str, around: str, tools: PressTools) -> None:
    pressed = press_page(sheet(page(style, around=around)), tools)
    assert foot(pressed, pressed.boxes["s"]) == line_foot(pressed)
    assert not [f for f in pressed.findings if f.rule.startswith("press.")]


def test_of_two_lines_the_last_stands_on_the_line(tools: PressTools) -> None:
    pressed = press_page(sheet(page("display:inline-block", text="HH<br>HH")), tools)
    assert foot(pressed, pressed.boxes["s"]) == line_foot(pressed)


def test_a_line_without_a_box_is_where_it_was(tools: PressTools, chromium_tools: PressTools) -> None:
    """A box as high as its line moves nothing else: the page is the browser's to the pixel."""
    one = sheet(page("display:inline-block", text="Tide 4") + "<p>below")
    assert np.array_equal(press_page(one, tools).rgb, press_page(one, chromium_tools).rgb)


@pytest.mark.parametrize(
    "style", ["display:inline-block;overflow:hidden", "display:inline-block;width:20px;height:10px"]
)
def test_a_box_that_cuts_or_is_empty_keeps_its_lower_edge_on_the_line(style: str, tools: PressTools) -> None:
    text = "HH" if "overflow" in style else ""
    pressed = press_page(sheet(page(style, text=text)), tools)
    box = pressed.boxes["s"]
    assert box.y_px + box.height_px == line_foot(pressed)


@pytest.mark.parametrize(("style", "tag"), [("display:inline-flex", "span"), ("display:inline-grid", "span")])
def test_what_is_left_too_high_is_told(style: str, tag: str, tools: PressTools) -> None:
    pressed = press_page(sheet(page(style, tag=tag)), tools)
    (found,) = [f for f in pressed.findings if f.rule == "press.inline-block"]
    assert found.where.field == "span"


@pytest.mark.parametrize(
    "html",
    [
        "<p style='display:flex'><span style='display:inline-block'>HH</span> HH",
        "<p><span style='display:inline-flex'>HH</span></p><p>HH",
        "<p>HH<span style='display:inline-flex;position:absolute'>HH</span></p>",
        "<style>div span{display:inline-flex}</style><p>HH <span>HH</span></p>",
    ],
)
def test_what_stands_in_no_line_is_left_alone(html: str, tools: PressTools) -> None:
    assert not [f for f in press_page(sheet(HEAD + html), tools).findings if f.rule.startswith("press.")]


def test_what_was_measured_serves_only_pages_with_the_same_styles(tools: PressTools) -> None:
    for around in ("line-height:20px", "line-height:30px", "line-height:20px"):
        pressed = press_page(sheet(page("display:inline-block", around=around)), tools)
        assert foot(pressed, pressed.boxes["s"]) == line_foot(pressed)
