"""Text that is cut, and text that only looks as if it were."""

import pytest
from tests.press.makings import sheet

from wallbill.findings import Finding
from wallbill.press.pressing import PressTools, press_page

HEAD = (
    "<!doctype html><style>html,body{margin:0;width:400px;height:300px;overflow:hidden}"
    "*{box-sizing:border-box}body{font:16px/20px sans-serif}p{margin:0}</style>"
)

CUT = {
    "one line in a narrow box": (
        "<p style='width:80px;white-space:nowrap;overflow:hidden'>Harbour office open",
        "right side (160 against 80 px)",
    ),
    "more lines than the height holds": (
        "<p style='width:100px;height:50px;overflow:hidden'>Harbour office is open today until five",
        "below (80 against 50 px)",
    ),
    "the foot of the letters": (
        "<p style='height:15px;overflow:hidden'>gypq nauo",
        "below (20 against 15 px)",
    ),
    "a long word": (
        "<p style='width:60px;overflow:hidden'>a harbour office",
        "right side (63 against 60 px)",
    ),
    "by the box around": (
        "<div style='height:50px;overflow:hidden'><p>one<p>two<p>three</div>",
        "below (20 against 10 px)",
    ),
    "an item of a row": (
        (
            "<div style='display:flex;width:120px'><span style='overflow:hidden;white-space:nowrap;flex:1'>"
            "Harbour office open</span><b>12</b></div>"
        ),
        "right side (160 against 102 px)",
    ),
    "text in several elements": (
        (
            "<style>.cut{overflow:hidden;white-space:nowrap}</style>"
            "<p class=cut style='width:100px'>a <b>Harbour office</b> open <i>today</i></p>"
        ),
        "right side (227 against 100 px)",
    ),
    "a centred line": (
        "<p style='width:100px;overflow:hidden;text-align:center;white-space:nowrap'>Harbour office is",
        "right side (132 against 100 px)",
    ),
    "beyond the padding": (
        "<p style='width:134px;padding:0 10px;overflow:hidden;white-space:nowrap'>Harbour office is",
        "right side (142 against 134 px)",
    ),
    "a paragraph wider than what holds it": (
        "<div style='width:100px;overflow:hidden'><p style='width:300px'>Harbour office is open today until five",
        "right side",
    ),
    "by the page": (
        "<p style='white-space:nowrap'>Harbour office open on weekdays from seven and on Sundays from nine",
        "right side",
    ),
}

WHOLE = {
    "a line that just fits": "<p style='width:116px;height:20px;overflow:hidden'>Harbour office",
    "leading only": "<p style='height:19px;overflow:hidden'>nauo ma",
    "out of its box but seen": "<p style='width:80px;white-space:nowrap'>Harbour office open",
    "into the padding": "<p style='width:134px;padding:0 5px;overflow:hidden;white-space:nowrap'>Harbour office",
    "hidden on purpose": "<p style='position:absolute;width:1px;height:1px;overflow:hidden'>for a screen reader</p><p>x",
    "a wide box with little text": "<div style='width:100px;overflow:hidden'><p style='width:300px'>Harbour</div>",
    "placed outside of what would cut it": (
        "<div style='overflow:hidden;height:20px'>a<p style='position:absolute;top:100px'>free</div>"
    ),
    "turned": "<p style='transform:rotate(90deg);margin:90px;width:60px;overflow:hidden;white-space:nowrap'>office is",
    "not shown": "<p style='display:none;width:80px;white-space:nowrap;overflow:hidden'>Harbour office open</p><p>x",
    "set to the right": "<p style='width:120px;text-align:right;overflow:hidden;white-space:nowrap'>Harbour office",
}


def clipped(html: str, tools: PressTools) -> list[Finding]:
    return [f for f in press_page(sheet(HEAD + html), tools).findings if f.rule == "press.clipped"]


@pytest.mark.parametrize("case", CUT)
def test_text_that_is_cut_is_told_with_what_it_needs(case: str, tools: PressTools) -> None:
    html, said = CUT[case]
    (found,) = clipped(html, tools)
    assert said in str(found)
    assert found.where.line == 1
    assert found.mend


@pytest.mark.parametrize("case", WHOLE)
def test_text_that_is_whole_is_not_told(case: str, tools: PressTools) -> None:
    assert not clipped(WHOLE[case], tools)


@pytest.mark.parametrize(
    "case", ["one line in a narrow box", "by the box around", "text in several elements"]
)
def test_the_browser_is_asked_too(case: str, chromium_tools: PressTools) -> None:
    """The same faces, so the same widths, by another engine's layout."""
    html, said = CUT[case]
    assert said in str(clipped(html, chromium_tools)[0])


@pytest.mark.parametrize(
    "case", ["a line that just fits", "leading only", "turned", "a wide box with little text"]
)
def test_the_browser_gives_no_false_alarm(case: str, chromium_tools: PressTools) -> None:
    assert not clipped(WHOLE[case], chromium_tools)


def test_one_pixel_too_few(tools: PressTools) -> None:
    """A line breaks where its box is a pixel narrower than the text, and the second line is lost."""
    page = "<p style='width:{}px;height:20px;overflow:hidden'>Harbour office"
    assert not clipped(page.format(115), tools)
    (found,) = clipped(page.format(114), tools)
    assert (found.measured, found.limit, found.unit) == ("40", "20", "px")


def test_what_is_kept_serves_only_the_same_text(tools: PressTools) -> None:
    """Pages of one skeleton share what was measured, but for texts and styles that changed."""
    page = "<div style='line-height:{}px'><p style='height:22px;overflow:hidden'>{}</p></div>"
    short, long = "Tide", "High water at the slip " * 9
    for _ in range(2):
        assert not clipped(page.format(20, short), tools)
        assert clipped(page.format(20, long), tools)
        assert clipped(page.format(60, short), tools)


def test_only_the_outermost_is_told(tools: PressTools) -> None:
    row = "<p style='width:20px;white-space:nowrap;overflow:hidden'>Harbour <b>office</b></p>"
    assert [found.where.field for found in clipped(row, tools)] == ["p"]


def test_no_more_than_a_few_are_told(tools: PressTools) -> None:
    row = "<p class=c{} style='width:20px;white-space:nowrap;overflow:hidden'>Harbour"
    assert len(clipped("".join(row.format(at) for at in range(12)), tools)) == 8
