"""What the probes read: the engine's own cascade, checked in both engines, and values measured beforehand."""

import io
from collections.abc import Mapping

import pytest
from fontTools.ttLib import TTFont
from PIL import ImageFont
from tests.press.test_markup import source_of

from wallbill.errors import PressError
from wallbill.press.css import check_nesting, read_style
from wallbill.press.families import FamilyTable, replaced, variables_of
from wallbill.press.model import Engine, Page
from wallbill.press.probe import Reading
from wallbill.press.sfnt import font_label
from wallbill.press.shell_blitz import BlitzEngine
from wallbill.press.shell_chromium import ChromiumEngine
from wallbill.press.standin import CODES, stand_in
from wallbill.press.typeplan import plan_probe


def read(html: str, engine: Engine, *, width_px: int = 800) -> Mapping[str, Reading]:
    """Readings by the element's text."""
    source = source_of(html)
    probe = plan_probe(source)
    readings = probe.read(engine.boxes(Page(probe.html, width_px, 480, "hall.html", probe.fonts)))
    first = {run.owner: html[run.start : run.end].strip() for run in reversed(source.markup.texts)}
    return {first[i]: reading for i, reading in readings.items() if i in first}


@pytest.fixture(params=["blitz", "chromium"])
def engine(request: pytest.FixtureRequest, blitz: BlitzEngine, chromium: ChromiumEngine) -> Engine:
    return blitz if request.param == "blitz" else chromium


def test_sizes_come_from_the_engines_cascade(engine: Engine) -> None:
    # 28 px for .7em of calc(var(--s)*2) with 20 px, 33 px through a media query: worked out by hand.
    page = """<!doctype html><style>:root{--s:20px} body{font-size:16px} .big{font-size:calc(var(--s)*2)}
      small{font-size:.7em} @media (width > 700px){.m{font-size:33px;font-family:Serif}}</style>
      <div class=big>A<small>b</small></div><p class=m>c</p><h1>d</h1>"""
    found = read(page, engine)
    assert found["A"].size_px == pytest.approx(40)
    assert found["b"].size_px == pytest.approx(28)
    assert found["c"].size_px == pytest.approx(33)
    assert found["c"].families == ("serif",)
    assert found["d"].size_px == pytest.approx(32)  # HTML Standard, 15.3.7: h1 is 2em
    assert found["d"].weight == 700
    assert read(page, engine, width_px=600)["c"].size_px == pytest.approx(16)


def test_families_weights_slants(engine: Engine) -> None:
    found = read(
        """<!doctype html><style>body{font:italic 433 20px/1.3 "Noto Sans", Arial , sans-serif}
        h2{font-family:var(--f), Georgia;--f:'Foo Bar', SERIF} .v{font:700 12px var(--none, Inter, monospace)}
        .all{font:var(--whole)} :root{--whole:bold 14px/1 Pressed Words, serif} .up{font-style:normal;font-weight:bolder}
        .in{font-family:inherit} code{font-size:10px}</style>
        a<h2>b</h2><p class=v>c</p><p class=all>d</p><p class=up>e</p><p class=in>f</p><code>g</code>
        <p style="font-family:Own; font-weight:800">h</p>""",
        engine,
    )
    shown = {text: (r.families, r.weight, r.italic) for text, r in found.items()}
    assert shown == {
        "a": (("Noto Sans", "Arial", "sans-serif"), 433, True),
        "b": (("Foo Bar", "serif"), 700, True),
        "c": (("Inter", "monospace"), 700, False),
        "d": (("Pressed Words", "serif"), 700, False),
        "e": (("Noto Sans", "Arial", "sans-serif"), 700, False),
        "f": (("Noto Sans", "Arial", "sans-serif"), 433, True),
        "g": (("monospace",), 433, True),
        "h": (("Own",), 800, True),
    }


def test_a_page_without_styles(engine: Engine) -> None:
    found = read("only text", engine)
    assert found == {"only text": Reading(16.0, ("sans-serif",), 400, italic=False, letter_px=None)}


def test_structural_selectors_are_not_disturbed(engine: Engine) -> None:
    page = """<!doctype html><style>p{font-size:10px} b:first-child{font-size:11px} b:last-child{font-size:12px}
      b:only-child{font-size:13px} i:nth-child(2){font-size:14px} i:nth-child(2n+1){font-size:15px}
      i:first-of-type{font-weight:800} p > :is(u, s):first-child{font-size:17px} * + em{font-size:18px}
      .n{ b:first-child{font-size:19px} } b:not(:first-child){font-style:italic} q:nth-last-child(2){font-size:21px}
      .late b{font-size:22px} .late b:first-child{font-size:23px} .id b:first-child{font-size:24px} #x b{font-size:25px}
      </style>
      <p>x<b>b1</b>y<b>b2</b></p><p>z<b>b3</b></p><p><i>i1</i><i>i2</i><i>i3</i></p><p>t<u>u1</u><s>s1</s></p>
      <p>e<em>e1</em><em>e2</em></p><p class=n>f<b>b4</b><b>b5</b></p><p>g<q>q1</q><q>q2</q></p>
      <p class=late>h<b>b6</b><b>b7</b></p><p class=id id=x>k<b>b8</b></p>"""
    found = read(page, engine)
    assert {t: round(r.size_px) for t, r in found.items() if len(t) == 2} == {
        "b1": 11, "b2": 12, "b3": 13, "i1": 15, "i2": 14, "i3": 15, "u1": 17, "s1": 10, "e1": 10, "e2": 18,
        "b4": 19, "b5": 12, "q1": 21, "q2": 10, "b6": 23, "b7": 22, "b8": 25,
    }  # fmt: skip
    assert [t for t, r in found.items() if r.italic and t[0] == "b"] == ["b2", "b5", "b7"]
    assert [t for t, r in found.items() if r.weight == 800] == ["i1"]


def test_letter_space_and_broken_sizes(engine: Engine) -> None:
    found = read(
        """<!doctype html><style>body{font-size:13.6px}.a{letter-spacing:.04em}.b{letter-spacing:-.5px;font-size:7.3px}
        </style><p class=a>a</p><p class=b>b</p><p style="letter-spacing:2px">c</p>""",
        engine,
    )
    assert [found[t].size_px for t in "abc"] == pytest.approx([13.6, 7.3, 13.6], abs=0.05)
    assert [found[t].letter_px for t in "abc"] == pytest.approx([0.544, -0.5, 2.0], abs=0.05)


def test_what_is_not_displayed_is_left_out(engine: Engine) -> None:
    found = read(
        '<p style="display:none">a</p><p style="font-size:0">b</p><p style="visibility:hidden">c</p>', engine
    )
    assert set(found) == {"c"}


def test_probes_resist_the_authors_styles(engine: Engine) -> None:
    found = read(
        "<style>* { width: 3px !important; position: static !important } p > * { font: 9px serif !important }"
        " #a * { height: 2px !important; display: none !important }</style><p id=a style='font-size:20px'>a</p>",
        engine,
    )
    assert found["a"].size_px == 20


def test_stand_ins_say_who_they_are() -> None:
    data = stand_in("wbfam007", weight=433, italic=True, zero_em=12)
    assert font_label(data) == ("wbfam007", 433, True)
    for wrong in ("short", "wbfam0007", "wbfäm007"):
        with pytest.raises(ValueError, match="8 ASCII"):
            stand_in(wrong, weight=400, italic=False, zero_em=1)
    for wide in (0, CODES + 1):
        with pytest.raises(ValueError, match="em wide"):
            stand_in("wbfam007", weight=400, italic=False, zero_em=wide)


def test_a_stand_in_is_a_sound_font() -> None:
    """Read by fontTools and by FreeType, which Pillow brings."""
    data = stand_in("wbfam007", weight=700, italic=False, zero_em=12)
    font = TTFont(io.BytesIO(data))
    assert set(font.reader.tables) <= set(font.keys())
    assert font.getBestCmap() == {0x20: "space", 0x30: "zero"}
    assert font["hmtx"].metrics["zero"] == (12 * 16, 0)
    assert (font["OS/2"].usWeightClass, font["head"].unitsPerEm) == (700, 16)
    drawn = ImageFont.truetype(io.BytesIO(data), 32, layout_engine=ImageFont.Layout.BASIC)
    assert (drawn.getname(), drawn.getlength("00")) == (("wbfam007", "Regular"), 2 * 12 * 32)


def test_a_font_label_of_real_fonts() -> None:
    import importlib.resources  # noqa: PLC0415 - only here

    file = importlib.resources.files("fontpkg_noto_sans") / "files" / "NotoSans[wdth,wght].ttf"
    assert font_label(file.read_bytes())[:2] == ("Noto Sans", 400)
    with pytest.raises(ValueError, match="not a font"):
        font_label(b"no font at all")


def test_lists_are_replaced_whole() -> None:
    css = "a{font-family: A, 'B C' , SERIF} b{font: 1em/2 X} c{font:menu} d{font-family:inherit} e{font:12px var(--q,Y)}"
    declarations = read_style(css).declarations
    table, roles = FamilyTable(), variables_of(declarations)
    texts = [replaced(d, roles, table) for d in declarations]
    assert texts == ["wbfam002", "1em / 2 wbfam003", None, "inherit", "12px var(--q, wbfam004)"]
    assert table.lists[2:] == [("A", "B C", "serif"), ("X",), ("Y",)]


def test_deep_styles_are_refused() -> None:
    check_nesting("a{" * 60)
    check_nesting('"' + "{" * 1000 + '"' + "/*" + "(" * 1000 + "*/")
    with pytest.raises(PressError, match="nested more than"):
        check_nesting("(" * 70)
