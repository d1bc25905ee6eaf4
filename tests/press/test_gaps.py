"""Spaces in elements that have no text of their own are set in fitted faces."""

import numpy as np
import pytest
from tests.press.makings import sheet

from wallbill.press.gaps import holds_spaces
from wallbill.press.pressing import PressTools, press_page
from wallbill.press.reading import read_markup
from wallbill.press.subjects import subjects_of

HEAD = "<!doctype html><style>body{margin:0;font:16px/20px sans-serif}p{margin:0;line-height:40px}"
BETWEEN = {
    "between two elements": "p{font-size:30px}b,i{font-size:16px}</style><p><b>Low</b> <i>3°</i></p>",
    "between two boxes": ".c{display:inline-block}p{font-size:40px}.c{font-size:12px}</style>"
    "<p><span class=c>Low</span>\n <span class=c>3°</span></p>",
    "behind a drawing": "p{font-size:30px}b{font-size:16px}</style>"
    "<p><svg width=9 height=30><rect width=9 height=30 /></svg> <b>3°</b></p>",
    "of a weight and face of its own": "p{font:700 33px serif}b{font:16px sans-serif}</style><p><b>Low</b> <b>3°</b></p>",
}


def columns(html: str, tools: PressTools) -> list[int]:
    """The columns with ink."""
    rgb = press_page(sheet(HEAD + html), tools).rgb
    return np.nonzero((rgb.max(axis=2) < 128).any(axis=0))[0].tolist()


@pytest.mark.parametrize("case", BETWEEN)
def test_a_space_is_as_wide_as_in_the_browser(
    case: str, tools: PressTools, chromium_tools: PressTools
) -> None:
    assert columns(BETWEEN[case], tools) == columns(BETWEEN[case], chromium_tools)


@pytest.mark.parametrize(
    ("html", "tags"),
    [
        ("<p><b>a</b> <i>b</i></p>", ["p"]),
        ("<p><b>a</b><i>b</i></p>", []),
        ("<p>\n<b>a</b>\n</p>", []),
        ("<p><b>a </b><i>b</i></p>", ["p"]),
        ("<p><u><b>a </b></u><i>b</i></p>", ["p", "u"]),
        ("<div>\n<p>a</p>\n<p>b</p>\n</div>", []),
        ("<div style='display:flex'><b>a</b> <i>b</i></div>", []),
        ("<div><b style='position:absolute'>a</b> <b style='position:absolute'>b</b></div>", []),
        ("<div><div style='display:inline-block'>a</div> <b>b</b></div>", ["div"]),
        ("<p><img src='data:,'> <img src='data:,'></p>", ["p"]),
        ("<ul> <li>a</li> <li>b</li> </ul>", []),
    ],
)
def test_who_holds_spaces(html: str, tags: list[str]) -> None:
    markup = read_markup(f"<!doctype html><body>{html}")
    attributes = tuple(markup.attributes(element) for element in markup.elements)
    found = holds_spaces(markup, attributes, boxing=())
    assert sorted(markup.elements[index].tag for index in found) == tags


def test_a_style_sheet_may_put_an_element_in_a_line_or_take_it_out() -> None:
    markup = read_markup("<!doctype html><body><p class=row><b class=chip>a</b> <b class=chip>b</b></p>")
    attributes = tuple(markup.attributes(element) for element in markup.elements)
    boxing: list[tuple[frozenset[str], ...]] = [()] * 7
    boxing[4] = tuple(subjects_of(".row"))
    assert not holds_spaces(markup, attributes, boxing=tuple(boxing))
    assert holds_spaces(markup, attributes, boxing=())
