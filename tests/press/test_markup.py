"""Reading markup: against the browser's own parser, and by properties."""

import string
from html import unescape

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import html as lxml_html
from tests.press.makings import THREE

from wallbill.errors import PressError
from wallbill.faces.model import FaceAsk, FaceSet, FittedFace
from wallbill.press.markup import Markup
from wallbill.press.media import features_of
from wallbill.press.model import Page
from wallbill.press.probe import Reading
from wallbill.press.reading import DEPTH_LIMIT, read_markup
from wallbill.press.shell_chromium import ChromiumEngine
from wallbill.press.splice import splice, undo
from wallbill.press.stylefacts import style_facts
from wallbill.press.typeplan import Composed, Source, asked_characters, compose, make_plan, shows_text


def source_of(html: str) -> Source:
    markup = read_markup(html)
    css = [html[run.start : run.end] for run in markup.styles]
    facts = style_facts(css, [""] * len(css), features_of(THREE), engine="blitz")
    return Source(markup, tuple(markup.attributes(e) for e in markup.elements), facts, "hall.html")


def planned(html: str) -> tuple[Source, dict[int, frozenset[str]], Composed]:
    """A plan in which every element has a size of its own, so that characters show where they went."""
    source = source_of(html)
    readings = {
        i: Reading(i % 200 + 1.0, (f"F{i}",), 400, italic=False, letter_px=None) for i in shows_text(source)
    }
    plan = make_plan(source, readings, smooth=False)
    asked = asked_characters(source, plan)
    sets = {
        key: FaceSet(
            key[0],
            (FittedFace(f"fit{key[0].size_px}", key[0].size_px, 400, italic=False, data=b"", covered=c),),
        )
        for key, c in asked.items()
    }
    return source, {i: asked[s.key] for i, s in plan.settings.items()}, compose(source, plan, sets)


def texts_of(markup: Markup) -> list[tuple[str, str]]:
    return [
        (markup.elements[r.owner].tag, unescape(markup.source[r.start : r.end]).strip()) for r in markup.texts
    ]


# Left-out end tags, unclosed formatting, drawings, raw text: what the HTML Standard's tree construction does
# with these is asked of the browser below.
MALFORMED = (
    "hello <p class=a>one<p>two",
    "<!doctype html><title>no</title><p>yes",
    "<ul><li>a<li>b <ul><li>c</ul> d<li>e</ul>f",
    "<dl><dt>a<dd>b<dt>c<dd>d</dl>e",
    "<table><tr><td>x<td>y<tr><th>z</table>after",
    "<table><thead><tr><th>a<tbody><tr><td>b<tfoot><tr><td>c</table>",
    "<p>one <b>two<p>three</b> four",
    "<p>one <b>two <i>three<div>four</i> five</b> six</div> seven",
    "<p>a<h2>b</h2>c",
    "<div>a<p>b<ul><li>c</ul>d</div>e",
    "<p>x<table><tr><td>y</table>z",
    "<svg><text>drawn</text><g/></svg>after",
    "<p>a<svg viewBox='0 0 1 1'><path d='M0 0'/><div>out</div>b",
    "<pre>\n  a\n b</pre>c",
    "a<br>b<img alt=x>c<hr>d",
    "<p>5 < 6 &amp; 7 &lt; 8 &euro; &nbsp; &#x263a;</p>",
    "<a href=#>one<a href=#>two</a>",
    "<h1>a<h2>b</h2>",
    "</p>a</div>b",
    "<body class=x>a<body id=y>b</body>c</html>d",
    "<html lang=en><head><meta charset=utf-8></head><body><p>a",
    "<!-- <p>no --><p>yes<!-- > -->on<!--->more",
    "<p title='a>b' data-x=\"c>d\" hidden>x",
    "<p a=b/c>x</p a=b><p / >y",
    "<script>if (a<b) document.write('<p>no')</script>x<style>p>b{}</style>y",
    "<ruby>a<rt>b<rt>c</ruby>d",
    "<textarea><b>raw</b></textarea>x",
    "<button>a<button>b</button>",
    "<b>a<table><tr><td>b</td></tr></table>c</b>d",
    "<font size=2>a<p>b</font>c",
    "<details><summary>a</summary>b</details>",
    "<P CLASS=A>a<P>b",
    "<b>x<div>y</b>z</div>w",
    "<p><em>a<p>b</em>c",
    "<td>a</td>b",
    "<!doctype html><p>x<table><tr><td>y</table>z",
    "<div><span>a</div>b</span>c",
    "<li>a<div><li>b</div>c",
    "<p>a<span><p>b</span>c",
    "<table><caption>a<tr><td>b</table>",
    "<table><colgroup><col><tr><td>b<table><tr><td>c</table>d</table>e",
    "<a href=x>a<div>b<a href=y>c</div>d",
    "<section><h3>a</h3>b<section>c</section>d</section>",
    "<nobr>a<nobr>b",
    "<xmp><p>raw</xmp>b",
    "<math><mi>x</mi></math>b",
    "<select><option>a<option>b</select>c",
)


@pytest.mark.parametrize("html", MALFORMED)
def test_texts_belong_where_the_browser_puts_them(html: str, chromium: ChromiumEngine) -> None:
    source, _, composed = planned(html)
    mine = sorted(
        (composed.ids[r.owner] or "", " ".join(unescape(html[r.start : r.end]).split()))
        for r in source.markup.texts
    )
    script = """() => { const out = [], walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
      while (walk.nextNode()) { const e = walk.currentNode.parentElement;
        if (!e.closest('svg,style,script,title')) out.push([e.id, walk.currentNode.data]) } return out }"""
    page = Page(composed.html, 300, 200, "case")
    with chromium.lay(page):
        theirs = chromium.do(page, lambda tab: tab.evaluate(script))
    joined: dict[str, str] = {}
    for name, text in mine:
        joined[name] = f"{joined.get(name, '')} {text}"
    found: dict[str, str] = {}
    for name, text in theirs:
        if text.strip(" \t\n\r\f"):
            found[name] = f"{found.get(name, '')} {text}"
    assert {n: sorted("".join(t.split())) for n, t in joined.items()} == {
        n: sorted("".join(t.split())) for n, t in found.items()
    }


def test_unclosed_elements_are_told() -> None:
    markup = read_markup("<div><p>a<b>b</p></div><ul><li>x</ul><section>")
    assert [markup.elements[i].tag for i in markup.unclosed] == ["b", "section"]


def test_attributes_as_the_standard_reads_them() -> None:
    # HTML Standard, 13.1.2.3: empty, unquoted, single-quoted and double-quoted syntax; a second of one name is dropped.
    markup = read_markup("""<p a b=1 c='2"' d="3'" E = 4 f= a=9 g=&lt;x/>t""")
    found = {name: a.value for name, a in markup.attributes(markup.elements[1]).items()}
    assert found == {"a": "", "b": "1", "c": '2"', "d": "3'", "e": "4", "f": "a=9", "g": "<x/"}


def test_a_tag_without_end_names_its_line() -> None:
    with pytest.raises(PressError) as caught:
        read_markup('<p>a\n<p>b <i class="x>c\n', name="hall.html")
    assert str(caught.value.where) == "hall.html:2"


def test_depth_is_limited() -> None:
    read_markup("<div>" * (DEPTH_LIMIT - 2))
    with pytest.raises(PressError, match="nested more than"):
        read_markup("<div>" * (DEPTH_LIMIT + 2), name="hall.html")


def test_drawings_are_one_element() -> None:
    markup = read_markup("<svg><g><text>a</text></g><svg></svg></svg><p>b")
    assert [e.tag for e in markup.elements] == ["body", "svg", "p"]
    assert [tag for tag, _ in markup.drawn] == ["text"]
    assert texts_of(markup) == [("p", "b")]


_TEXT = st.text(alphabet=string.ascii_letters + "äß€☂ 0123&;'\"", min_size=0, max_size=12)
_ATTRIBUTE = st.sampled_from(
    ["", " class=a", ' style="color:red"', " style='margin:0'", " style=top:1px", " id=", " style", " style=",
     ' id="own"', " data-x='>'", " hidden", ' STYLE="x"', ' class = "b c" ', " style=\"font-family:'A B'\""]
)  # fmt: skip
_TAG = st.sampled_from(["p", "div", "b", "i", "li", "td", "span", "h2", "pre", "em", "section", "q"])


@st.composite
def pages(draw: st.DrawFn, depth: int = 0) -> str:
    """A page with every kind of thing in it, end tags now and then left out."""
    parts = []
    for _ in range(draw(st.integers(0, 4))):
        kind = draw(st.integers(0, 8 if depth < 3 else 3))
        if kind <= 2:
            parts.append(draw(_TEXT))
        elif kind == 3:
            parts.append(draw(st.sampled_from(["<!-- <p> -->", "<br>", "<img src='data:,'/>", "<svg><text>n</text></svg>",
                                               "<style>b{color:red}</style>", "<hr/>", "&nbsp;", "<!doctype html>"])))  # fmt: skip
        else:
            tag, end = draw(_TAG), draw(st.booleans())
            parts.append(f"<{tag}{draw(_ATTRIBUTE)}>{draw(pages(depth + 1))}{f'</{tag}>' if end else ''}")
    return "".join(parts)


@given(pages())
def test_what_is_added_can_be_taken_out(html: str) -> None:
    _, _, composed = planned(html)
    assert splice(html, composed.edits) == composed.html
    assert undo(composed.html, html, composed.edits) == html


@given(pages())
def test_every_character_of_text_reaches_the_plan(html: str) -> None:
    source, characters, _ = planned(html)
    for run in source.markup.texts:
        assert set(unescape(html[run.start : run.end])) - set("\n\r\t\f") <= characters[run.owner]


@given(pages())
def test_no_text_is_lost_against_another_parser(html: str) -> None:
    """``lxml`` (libxml2) as the reference for what is text at all."""
    _, characters, _ = planned(html)
    tree = lxml_html.document_fromstring(f"<body>{html}</body>")
    for dropped in tree.xpath("//style|//script|//svg|//comment()"):
        dropped.drop_tree()
    mine = frozenset().union(*characters.values())
    assert set("".join(tree.itertext())) - set("\n\r\t\f \xa0") <= mine


def test_asks_are_told_apart_by_weight_and_slant() -> None:
    source = source_of("<p>a<b>b</b><i>c</i></p>")
    readings = {
        i: Reading(16.4, ("A",), 700 if e.tag == "b" else 400, italic=e.tag == "i", letter_px=0.54)
        for i, e in enumerate(source.markup.elements) if e.tag in "pbi"
    }  # fmt: skip
    plan = make_plan(source, readings, smooth=False)
    assert {s.ask for s in plan.settings.values()} == {
        FaceAsk(("A",), 16, 400), FaceAsk(("A",), 16, 700), FaceAsk(("A",), 16, 400, italic=True)
    }  # fmt: skip
    assert {s.letter_px for s in plan.settings.values()} == {1}
