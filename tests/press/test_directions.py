"""Paragraphs in ``dir="rtl"`` run as the browser has them (Unicode Standard Annex 9, rule HL1)."""

import numpy as np
import pytest
from tests.press.makings import SIXTEEN, TWO, sheet

from wallbill.press.pressing import PressTools, press_page

HEAD = "<!doctype html><html lang=he dir=rtl><style>body{margin:10px;font:20px/30px sans-serif}p{margin:0}</style>"
TEXTS = (
    "12:30 שלום עולם",
    "שלום עולם 12:30",
    "12 עד 15 מעלות",
    "7° טקס",
    "(12) שלום",
    "Noto שלום 12",
    "21.3°C בחוץ",
    '5-7 ימים, 3 מ"מ',
    '100% לחות, 5 קמ"ש',
    "שלום!",
    "12:30",
    "12:30 14:00",
    "28–30",
    "−5°",
    "12 km",
    "14.3.2026, 08:00 טקס",
    "<b>Noto</b> שלום <i>12</i>",
    "<b> Noto</b> 7 <b>טקס</b>",
    "טקס<br>Noto 12",
    "שלום עולם Noto 12 עד 15 מעלות היום",
)


@pytest.mark.parametrize("text", TEXTS)
def test_lines_are_the_browsers(text: str, tools: PressTools, chromium_tools: PressTools) -> None:
    page = sheet(f"{HEAD}<p>{text}</p><p dir=ltr>{text}</p>", on=TWO)
    ours, browser = press_page(page, tools), press_page(page, chromium_tools)
    assert np.array_equal(ours.rgb, browser.rgb)


def cropped(html: str, tools: PressTools) -> list[list[bool]]:
    """The ink of a page without the white around it."""
    rgb = press_page(sheet(HEAD + html, on=TWO), tools).rgb
    ink = rgb.max(axis=2) < 128
    rows: list[list[bool]] = ink[ink.any(axis=1)][:, ink.any(axis=0)].tolist()
    return rows


@pytest.mark.parametrize("width_px", [130, 240])
def test_a_paragraph_of_several_lines_is_the_browsers(
    width_px: int, tools: PressTools, chromium_tools: PressTools
) -> None:
    text = "שלום עולם Noto 12 עד 15 מעלות היום בחוץ 7 קמ״ש, 21.3°C עד 30.5°C מחר"
    page = f"<p style='width:{width_px}px'>{text}"
    assert cropped(page, tools) == cropped(page, chromium_tools)


@pytest.mark.parametrize(
    "html",
    [
        "<p>\n  7 טקס</p>",
        "<div>Noto<p>12</p>7° ו</div>",
        "<table><tr><td>12<td>Noto</table>",
        "<div style='display:flex'><span style='display:inline-block;width:90px'>12</span><b>7</b></div>",
        "<pre>  12 Noto</pre>",
    ],
)
def test_each_paragraph_has_one_mark(html: str, tools: PressTools) -> None:
    """A mark in the wrong place would be a line, or an item, of its own."""
    with_dir = press_page(sheet(HEAD + html, on=TWO), tools)
    without = press_page(sheet(HEAD.replace(" dir=rtl", "") + html, on=TWO), tools)
    assert {n: (b.y_px, b.height_px) for n, b in with_dir.boxes.items()} == {
        n: (b.y_px, b.height_px) for n, b in without.boxes.items()
    }


def columns(html: str, tools: PressTools) -> list[int]:
    rgb = press_page(sheet(HEAD + html, on=TWO), tools).rgb
    return np.nonzero((rgb.max(axis=2) < 128).any(axis=0))[0].tolist()


def test_a_box_in_a_line_is_a_paragraph_of_its_own(tools: PressTools, chromium_tools: PressTools) -> None:
    for html in (
        "<p><span style='display:inline-block'>12 עד Noto</span> היום 7",
        "<p>Noto <span style='display:inline-block'>12 עד Noto</span> 7 היום",
    ):
        assert columns(html, tools) == columns(html, chromium_tools)


def test_a_mark_shows_nothing_on_greys(tools: PressTools) -> None:
    """The engine takes the second paragraph's direction from its first letter, so it needs no mark."""
    marked, plain = (
        press_page(sheet(f"{HEAD}<p>{text}</p>", on=SIXTEEN), tools).rgb for text in ("7", "\u200f7")
    )
    assert np.array_equal(marked, plain)
    inked = np.nonzero((marked < 200).all(axis=2).any(axis=0))[0]
    assert inked[0] > 370
    assert inked[-1] - inked[0] < 12
