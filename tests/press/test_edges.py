"""White space inside the edges of inline elements: kept as CSS Text Level 3, section 4.1.1 keeps it."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from lxml import html as lxml_html
from tests.press.makings import TWO, sheet
from tests.press.test_markup import pages, source_of

from wallbill.press.css import read_style
from wallbill.press.edges import Edges, edges_of, outer_spaces, probe_ids, spaces_of
from wallbill.press.model import Rgb
from wallbill.press.pressing import PressTools, press_page
from wallbill.press.splice import Edit, splice, undo

INLINE = ("b", "i", "span", "em", "q")


def written(html: str, css: str = "", *, inline: tuple[str, ...] = INLINE) -> str:
    """The page with its outer spaces, were the elements of these tags inline."""
    source = source_of(html)
    found = frozenset(i for i, e in enumerate(source.markup.elements) if e.tag in inline)
    spaces = spaces_of(read_style(css).declarations)
    edges = edges_of(source.markup, source.attributes, inline=found, spaces=spaces)
    edits = [Edit(space.at, space.at, space.text) for space in outer_spaces(source.markup, edges)]
    out = splice(html, edits)
    assert undo(out, html, edits) == html
    return out


def pressed(body: str, css: str, tools: PressTools) -> Rgb:
    style = f"body{{margin:0;color:#000;background:#fff;font:16px/20px sans-serif}}{css}"
    page = f"<!doctype html><style>{style}</style>{body}"
    return press_page(sheet(page, on=TWO, width_px=200, height_px=150), tools).rgb


@pytest.mark.parametrize(
    ("html", "expected"),
    [
        ("<p>x<b>Low </b>3", "<p>x<b>Low </b> 3"),
        ("<p>x<b> Low</b>3", "<p>x <b> Low</b>3"),
        ("<p><i>ab <b>x </b></i><em>y</em>", "<p><i>ab <b>x </b></i> <em>y</em>"),
        ("<p>x<i><b>\n\t y</b></i>", "<p>x <i><b>\n\t y</b></i>"),
        ("<p>x<b> </b>y", "<p>x <b> </b>y"),
        ("<p>x<b>5&nbsp;</b>m<i>&#8239;y</i>", "<p>x<b>5&nbsp;</b>&nbsp;m&#8239;<i>&#8239;y</i>"),
        ("<p>x<b>5 &nbsp;</b>m", "<p>x<b>5 &nbsp;</b> &nbsp;m"),
        ("<p>x<b>y &amp; </b>z<i>&amp; y</i>", "<p>x<b>y &amp; </b> z<i>&amp; y</i>"),
        ("<p>x<b>y &amp;</b>z<i>&lt;</i>", "<p>x<b>y &amp;</b>z<i>&lt;</i>"),
        ("<p>x<u>y </u>z", "<p>x<u>y </u>z"),  # not inline here
        ("<pre>x<b>y </b>z</pre>", "<pre>x<b>y </b>z</pre>"),
        ("<p style='white-space: pre-wrap'>x<b>y </b>z", "<p style='white-space: pre-wrap'>x<b>y </b>z"),
        ("<p style='white-space:nowrap'>x<b>y </b>z", "<p style='white-space:nowrap'>x<b>y </b> z"),
        ("<p>x<b>y <p>z", "<p>x<b>y <p>z"),  # never closed: no edge to speak of
        ("<b> x</b>", " <b> x</b>"),
        ("<p>x<b></b><i>", "<p>x<b></b><i>"),
    ],
)
def test_spaces_are_written_outside(html: str, expected: str) -> None:
    assert written(html) == expected


@pytest.mark.parametrize(
    ("css", "kept"),
    [
        ("b::before{content:'!'}", (False, True)),
        ("p > b:after{content:'!'}", (True, False)),
        ("i::before{content:'!'}", (True, True)),
        (".k b.u::before{content:'!'}", (True, True)),
        ("i, b::before{content:'!'}", (False, True)),
        ("b{&::before{content:'!'}}", (False, True)),
        ("i{em &::before{content:'!'}}", (True, True)),
        ("b{p &::after{content:'!'}}", (True, False)),
        (":is(b,i)::before{content:'!'}", (False, True)),
        ("b[title]::before{content:'!'}", (False, True)),
        ("#One::before{content:'!'}", (False, True)),
        (".a\\:b::before{content:'!'}", (False, True)),
        (":is(b){&::before{content:'!'}}", (False, True)),
        ("*|b::before{content:'!'}", (False, True)),
        ("*{white-space:pre}", (False, False)),
        ("p{white-space:var(--w)}", (False, False)),
        ("@media (width > 1px){p{white-space-collapse:preserve !important}}", (False, False)),
        ("p{white-space:nowrap}", (True, True)),
        ("i{white-space:pre}", (True, True)),
    ],
)
def test_what_styles_say_of_spaces(css: str, kept: tuple[bool, bool]) -> None:
    before, after = (" " if each else "" for each in kept)
    assert written("<p>x<b class=t id=one> y </b>z", css) == f"<p>x{before}<b class=t id=one> y </b>{after}z"


def test_ids_used_twice_and_parts_of_tables_are_not_asked() -> None:
    source = source_of("<p id=a>x<b id=a>y</b><i id=c>z</i><u>w</u><u id=>v</u><table><tr><td>u</table>")
    asked = probe_ids(source.markup, source.attributes)
    assert {source.markup.elements[i].tag: name for i, name in asked.items()} == {"i": "c", "u": None}


def test_no_edges_no_spaces() -> None:
    assert outer_spaces(source_of("<p>x<b> y </b>z").markup, Edges()) == ()


def _collapsed(html: str) -> str:
    return " ".join("".join(lxml_html.document_fromstring(f"<body>{html}</body>").itertext()).split())


@given(pages())
def test_text_stays_as_it_is_but_for_spaces(html: str) -> None:
    """``lxml`` (libxml2) says what the text is."""
    assert _collapsed(written(html)) == _collapsed(html)


_WORDS = st.sampled_from(["no", " no", "no ", " mo ", "mm", " ", "\n  on"])


@st.composite
def runs(draw: st.DrawFn, depth: int = 0) -> str:
    """Words in nested spans, spaces anywhere."""
    parts = []
    for _ in range(draw(st.integers(1, 3))):
        if depth < 3 and draw(st.booleans()):
            parts.append(f"<span>{draw(runs(depth + 1))}</span>")
        else:
            parts.append(draw(_WORDS))
    return "".join(parts)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(run=runs(), css=st.sampled_from(["", "p{text-align:right;width:120px}", "p{width:60px}"]))
def test_spans_set_as_the_text_without_them(run: str, css: str, tools: PressTools) -> None:
    plain = run.replace("<span>", "").replace("</span>", "")
    spanned, expected = (pressed(f"<p>x{text}x", css, tools) for text in (run, plain))
    assert (spanned == expected).all()


def test_a_kept_plan_serves_new_spaces_and_not_new_flow(tools: PressTools) -> None:
    """The first page has no space at an edge; the second does; in the third the element is no longer inline."""
    pages = ("<p>x<b>y</b>z", "<p>x<b>y </b>z", "<p>x<b style='float:none;position:relative'>y </b>z")
    plain, spaced, same = (pressed(page, "", tools) for page in pages)
    assert (plain != spaced).any()
    assert (spaced == same).all()
    away = pressed("<p>x<b style='position:absolute;left:90px'>y </b>z", "", tools)
    assert (away == pressed("<p>x<b style='position:absolute;left:90px'>y</b>z", "", tools)).all()


@pytest.mark.parametrize(
    "css", ["b{display:inline-block}", "p{display:flex}", "b{position:absolute;left:90px}"]
)
def test_edge_spaces_of_what_is_not_inline_stay_lost(css: str, tools: PressTools) -> None:
    """As in browsers: they stand at the begin and end of a line (CSS Text Level 3, section 4.1.2)."""
    assert (pressed("<p>x<b> y </b>z", css, tools) == pressed("<p>x<b>y</b>z", css, tools)).all()


def test_the_browser_gets_the_page_as_it_is(chromium_tools: PressTools) -> None:
    spaced = pressed("<p>x<b style='font-size:40px'>y </b> z", "", chromium_tools)
    assert (spaced == pressed("<p>x<b style='font-size:40px'>y </b>z", "", chromium_tools)).all()
