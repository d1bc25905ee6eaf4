"""Whole pages through the press."""

import base64
import io
from dataclasses import dataclass, field, replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image
from tests.press.makings import SIXTEEN, THREE, TWO, MemoryKeep, sheet
from tests.press.test_markup import pages

from wallbill.errors import PressError
from wallbill.faces.fitting import LARGEST_PX
from wallbill.findings import Finding
from wallbill.inks.manner import Way
from wallbill.panels.model import Panel
from wallbill.press.model import Box, Laid, Page, Pressed, Rgb
from wallbill.press.pressing import PAGE_LIMIT_PX, PressTools, press_page
from wallbill.press.shell import MemoryPlans

# Type, rules and boxes, centred, right-aligned, in tables, flex and grid; sizes and weights of many kinds.
PAGE = """<!doctype html><html lang=en><style>
  body { margin: 0; font: 15px/1.3 "Noto Sans", sans-serif; color: #000; background: #fff }
  h1 { font-size: 2.1em; margin: 4px 8px; border-bottom: 3px solid #f00 }
  .bar { background: #f00; color: #fff; padding: .3em 10px; font-weight: 700; text-align: center }
  .row { display: grid; grid-template-columns: repeat(3, 1fr); border: 1px solid #000; margin: 5px; width: 390px }
  .row > div { text-align: center; border-left: 2px solid #000; font-size: 13.4px }
  .big { font-size: 58px; line-height: 1; font-weight: 600 } small { font-size: .8em; letter-spacing: .04em }
  .mid { display: flex; justify-content: center; align-items: center; height: 31px; gap: 7px }
  table { width: 301px; margin: 0 8px; border-spacing: 0 } td { border-top: 1px solid #000 } td + td { text-align: right }
  li { font-weight: 300 }
</style><body><h1>Fennel Quay <small>harbour hut</small></h1><div class=bar>Frost on the slipway before 07:00</div>
<div class=row><div>09:00 <b>7°</b></div><div>12:00 <b>11°</b></div><div>15:00 <i>12.5°</i></div></div>
<div class=mid><span class=big>11°</span><span>Showers &amp; sun, ä ö ü ß</span></div>
<table><tr><td>Sunrise<td>06:32<tr><td>Sunset<td>18:14</table><ul><li>rota<li>tide</ul></body></html>"""


def off_ink(rgb: Rgb, panel: Panel) -> int:
    """Pixels that are none of the panel's inks."""
    inks = np.array([ink.css for ink in panel.inks], dtype=np.int16)
    return int((np.abs(rgb[:, :, None, :].astype(np.int16) - inks).sum(3).min(2) > 0).sum())


def rules(pressed: Pressed) -> set[str]:
    return {finding.rule for finding in pressed.findings}


def of_rule(pressed: Pressed, rule: str) -> list[Finding]:
    return [finding for finding in pressed.findings if finding.rule == rule]


def test_type_rules_and_boxes_leave_no_pixel_off_the_inks(tools: PressTools) -> None:
    pressed = press_page(sheet(PAGE), tools)
    assert pressed.rgb.shape == (300, 400, 3)
    assert pressed.rgb.dtype == np.uint8
    assert off_ink(pressed.rgb, THREE) == 0
    assert not pressed.picture.any()
    assert (pressed.rgb == (255, 0, 0)).all(2).sum() > 5000
    assert not [f for f in pressed.findings if f.rule.startswith("press.")]


def test_the_browser_gives_inks_but_for_halves(chromium_tools: PressTools) -> None:
    """Chromium leaves centred type at half pixels; elsewhere it paints fitted type without one soft pixel."""
    pressed = press_page(
        sheet(PAGE.replace("text-align: center", "").replace("justify-content: center;", "")), chromium_tools
    )
    assert off_ink(pressed.rgb, THREE) / pressed.rgb[..., 0].size < 0.01


@pytest.mark.parametrize("colours", ["#000;background:#fff", "#fff;background:#f00", "#f00;background:#000"])
@pytest.mark.parametrize("size_px", [11, 16, 24])
def test_centred_type_falls_back_on_the_grid(size_px: int, colours: str, tools: PressTools) -> None:
    """In a column one pixel wider a line begins half a pixel later: the same bitmap must come out."""
    page = (
        "<!doctype html><style>*{{margin:0}}div{{overflow:hidden;height:300px}}p{{text-align:center;width:{}px;"
        f"font-size:{size_px}px;color:{colours}}}}}</style><div><p>Quay 12:30 lmIWg — äöü 0123456789 “Aa” the quick brown fox "
        "<b>jumps</b> over <i>it</i></div>"
    )
    even, odd = (press_page(sheet(page.format(width)), tools).rgb for width in (280, 281))
    assert off_ink(even, THREE) == off_ink(odd, THREE) == 0
    fore = [int(digit * 2, 16) for digit in colours[1:4]]
    rows = [(picture == fore).all(2) for picture in (even[:, :279], odd[:, :279])]
    for first, second in zip(*rows, strict=True):  # each line may move by half a pixel or not at all
        assert any((np.roll(second, shift)[1:-1] == first[1:-1]).all() for shift in (0, -1))


def test_type_set_to_the_right_in_a_table_falls_back_too(tools: PressTools) -> None:
    page = (
        "<!doctype html><style>*{margin:0}table{border-spacing:0;width:WWpx}td{padding:0}td+td{text-align:right}</style>"
        "<table><tr><td>Sun<td>06:32<tr><td>Set<td>18:14</table>"
    )
    halves = 0
    for width_px in range(150, 170):
        painted = press_page(sheet(page.replace("WW", str(width_px)), on=TWO), tools).rgb
        halves += int(((painted > 115) & (painted < 140)).sum())
    assert halves == 0


def test_a_grey_tint_in_a_centred_cell_stays_a_tint(tools: PressTools) -> None:
    page = "<!doctype html><style>*{margin:0}td{text-align:center}</style><table><td>ab<div style='height:9px;background:#808080'></div></table>"
    assert (press_page(sheet(page), tools).rgb == 128).all(2).any()


def test_half_tones_fall_to_the_bitmap_at_a_threshold(tools: PressTools) -> None:
    """Type right-aligned in a fractional column is soft; the nearer ink gives the bitmap of whole columns back."""
    page = "<!doctype html><style>*{{margin:0}}p{{font:16px sans-serif;text-align:right;width:{}px}}</style><p>Quay 12:30</p>"
    whole = press_page(sheet(page.format(200), on=TWO), tools).rgb
    for width in (200.3, 199.7, 200.4):
        broken = press_page(sheet(page.format(width), on=TWO), tools).rgb
        assert off_ink(broken, TWO) > 0
        shift = round(width) - 200
        assert (np.roll(broken > 127, -shift, axis=1) == (whole > 127)).all()


def test_greys_keep_smooth_type_and_the_authors_sizes(tools: PressTools) -> None:
    page = "<!doctype html><style>*{margin:0}p{font-size:20.6px}</style><p id=a>Quay</p>"
    grey, two = (press_page(sheet(page, on=panel), tools) for panel in (SIXTEEN, TWO))
    assert len(np.unique(grey.rgb)) > 8
    assert len(np.unique(two.rgb)) == 2


def test_boxes_and_ids(tools: PressTools) -> None:
    html = (
        "<!doctype html><style>*{margin:0}</style><div id=mine><p>text</p><svg width=9 height=9></svg></div>"
    )
    pressed = press_page(sheet(html), tools)
    assert pressed.boxes["mine"] == Box(0, 0, 400, pressed.boxes["mine"].height_px)
    assert set(pressed.text_boxes) <= set(pressed.boxes)
    assert len(pressed.text_boxes) == 1
    assert pressed.boxes[pressed.text_boxes[0]].width_px == 400


def test_media_queries_mean_the_panel(tools: PressTools) -> None:
    page = """<!doctype html><style>*{margin:0} p{display:none;height:10px}
      @media (update: slow) {.slow{display:block}} @media (monochrome) {.mono{display:block}}
      @media (color-index: 3) {.three{display:block}} @media (color-index: 3) and (width > 500px) {.wide{display:block}}
      @media (min-width: 300px) and (hover: none) {.narrow{display:block}}</style>
      <style media="(monochrome)">.sheet{display:block}</style><style media="(width < 9px)">.tiny{display:block}</style>
      """ + "".join(
        f"<p class={c} id={c}>x</p>" for c in ("slow", "mono", "three", "wide", "narrow", "sheet", "tiny")
    )

    def shown(panel: Panel) -> set[str]:
        return {
            name
            for name, box in press_page(sheet(page, on=panel), tools).boxes.items()
            if box.height_px == 10
        }

    assert shown(THREE) == {"slow", "three", "narrow"}
    assert shown(TWO) == {"slow", "mono", "narrow", "sheet"}


@dataclass
class Counting:
    """An engine that counts what is asked of it."""

    engine: object
    name: str = "blitz"
    laid: list[Page] = field(default_factory=list)
    probed: list[Page] = field(default_factory=list)

    def lay(self, page: Page) -> object:
        self.laid.append(page)
        return self.engine.lay(page)  # type: ignore[attr-defined]  # the engine beneath

    def boxes(self, page: Page) -> object:
        self.probed.append(page)
        return self.engine.boxes(page)  # type: ignore[attr-defined]  # the engine beneath


def test_a_plan_serves_new_texts_and_not_new_styles(tools: PressTools) -> None:
    engine = Counting(tools.engine)
    mine = replace(tools, engine=engine, plans=MemoryPlans())  # type: ignore[arg-type]  # counts in the engine's place
    page = "<style>p{font-size:20px} [data-x]{font-weight:700}</style><p class=a style='width:3px'>one</p>"
    press_page(sheet(page), mine)
    first = engine.laid[-1]
    assert len(engine.probed) == 1
    for same in (page.replace("one", "tω"), page.replace("3px", "4px"), page.replace("<p ", "<p title=x ")):
        press_page(sheet(same), mine)
    assert len(engine.probed) == 1
    assert engine.laid[1].fonts != first.fonts  # a new letter needs a new face
    changed = (
        page.replace("20px", "21px"), page.replace("width:3px", "font-size:9px"), page.replace("class=a", "class=b"),
        page.replace("<p ", "<p data-x "), page + "<b>new</b>", page.replace("one", ""),
    )  # fmt: skip
    for number, other in enumerate(changed[:-1], 2):
        press_page(sheet(other), mine)
        assert len(engine.probed) == number, other
    press_page(sheet(changed[-1]), mine)  # no text, nothing to probe
    assert len(engine.probed) == 6
    press_page(sheet(page, on=TWO), mine)
    press_page(sheet(page, width_px=300), mine)
    assert len(engine.probed) == 8


def test_warm_and_cold_give_the_same_pixels(tools: PressTools) -> None:
    other = PAGE.replace("Showers", "Gales, Ω").replace("11°", "−3°")
    warm = replace(tools, plans=MemoryPlans())
    press_page(sheet(PAGE), warm)
    cold = replace(tools, keep=MemoryKeep(), plans=MemoryPlans())
    first, second = press_page(sheet(other), warm), press_page(sheet(other), cold)
    assert (first.rgb == second.rgb).all()
    assert first.boxes == second.boxes


def picture(colour: str = "#888", *, width_px: int = 40, height_px: int = 30) -> str:
    file = io.BytesIO()
    Image.new("RGB", (width_px, height_px), colour).save(file, "PNG")
    return f"data:image/png;base64,{base64.b64encode(file.getvalue()).decode()}"


def test_pictures_are_marked_as_they_show(tools: PressTools) -> None:
    page = f"""<!doctype html><style>*{{margin:0}} img{{position:absolute}}</style><div style="position:relative;height:100px">
      <img src="{picture()}" style="left:20px;top:10px;width:40px;height:30px">
      <img src="{picture()}" data-tone=line style="left:100px;top:10px;width:40px;height:30px">
      <div data-tone=picture style="position:absolute;left:200px;top:10px;width:40px;height:30px;background:#777">
      <div data-tone=line style="background:#000;width:10px;height:10px"></div></div>
      <b style="position:absolute;left:20px;top:10px;width:20px;height:10px;background:#000"></b></div>"""
    mask = press_page(sheet(page), tools).picture
    assert mask.dtype == np.bool_
    expected = np.zeros((300, 400), dtype=np.bool_)
    expected[10:40, 20:60] = True
    expected[10:20, 20:40] = False  # type laid over the picture
    expected[10:40, 200:240] = True
    expected[10:20, 200:210] = False  # line work inside of a picture
    assert (mask == expected).all()


def test_the_mask_follows_the_shape(tools: PressTools) -> None:
    page = f'<!doctype html><style>*{{margin:0}}</style><img src="{picture()}" style="width:40px;height:40px;border-radius:20px">'
    mask = press_page(sheet(page), tools).picture
    assert 1150 < mask.sum() < 1400  # pi * 20^2 = 1257
    assert not mask[0, 0]


def test_a_picture_may_ask_for_a_way_to_be_scattered(tools: PressTools) -> None:
    page = f"""<!doctype html><style>*{{margin:0}} img,div{{position:absolute;top:10px}}</style>
      <img src="{picture()}" data-tone="picture quick" style="left:20px;width:40px;height:30px">
      <img src="{picture()}" data-tone=diffused style="left:100px;width:40px;height:30px">
      <img src="{picture()}" style="left:150px;width:40px;height:30px">
      <div data-tone="picture soon" style="left:200px;width:40px;height:30px;background:#777"></div>"""
    pressed = press_page(sheet(page), tools)
    assert pressed.ways == (((20, 10, 40, 30), Way.QUICK), ((100, 10, 40, 30), Way.DIFFUSED))
    assert pressed.picture.sum() == 4 * 1200
    (finding,) = [one for one in pressed.findings if one.rule == "press.unknown-tone"]
    assert finding.where.line == 5


def test_the_browser_marks_the_same_pictures(tools: PressTools, chromium_tools: PressTools) -> None:
    page = f'<!doctype html><style>*{{margin:0}}</style><div style="height:7px"></div><img src="{picture()}" width=40 height=30>'
    first, second = (press_page(sheet(page), each).picture for each in (tools, chromium_tools))
    assert (first == second).all()
    assert first.sum() == 1200


def test_a_picture_without_a_size_gets_its_own(tools: PressTools) -> None:
    page = f'<!doctype html><style>body{{margin:0}}</style><img src="{picture()}" style="position:absolute;left:5px;top:5px">'
    pressed = press_page(sheet(page), tools)
    assert pressed.picture.sum() == 1200
    assert rules(pressed) == {"press.empty-picture"}
    hidden = press_page(sheet(page.replace("position:", "display:none;position:")), tools)
    assert not hidden.picture.any()
    assert rules(hidden) == set()


def test_text_that_leaves_the_page_is_told(tools: PressTools) -> None:
    page = "<!doctype html>\n<style>*{margin:0}</style>\n<p>fits</p>\n<p style='margin-top:280px;height:40px'>falls <b>off</b></p>"
    found = of_rule(press_page(sheet(page), tools), "press.overflow")
    assert [str(f.where) for f in found] == ["hall.html:4 p"]
    assert float(found[0].measured) > 10


def test_missing_signs_are_told_by_the_faces(tools: PressTools) -> None:
    pressed = press_page(sheet("<p>a \U00012000</p>"), tools)  # a cuneiform sign
    assert "faces.missing" in rules(pressed)
    pressed = press_page(sheet("<p>a b</p>"), tools)
    assert "faces.missing" not in rules(pressed)


def test_characters_that_css_makes(tools: PressTools) -> None:
    """Generated text, markers, case: each is drawn by a fitted face, so no pixel is off the inks."""
    page = """<!doctype html><style>*{margin:0} body{font-size:15px} .u{text-transform:uppercase} .c::before{content:"§ " counter(n) " – "}
      .c{counter-increment:n} ol{list-style:upper-alpha inside} .e{width:60px;overflow:hidden;white-space:nowrap;text-overflow:ellipsis}
      .q{quotes:"»" "«"} .s{font-variant:small-caps} .i::after{content:"→"} .h{hyphens:manual;width:30px}</style>
      <p class=u>äßx</p><p class=c>a</p><ol><li>x<li><b>y</b></ol><p class=e>abcdefghijklm</p><p class=q><q>z</q></p>
      <p class=s>Quay</p><i class=i></i><p class=h>har&shy;bour</p><ul><li><i>k</i><ul><li>l</ul></ul>"""
    pressed = press_page(sheet(page, on=TWO), tools)
    assert off_ink(pressed.rgb, TWO) == 0


def test_a_large_type_is_left_smooth(tools: PressTools) -> None:
    page = f"<style>p{{font-size:{LARGEST_PX + 40}.5px;margin:0;line-height:1}}</style><p>Q</p>"
    pressed = press_page(sheet(page, on=TWO, width_px=800, height_px=800), tools)
    assert "faces.large" in rules(pressed)
    assert pressed.boxes[pressed.text_boxes[0]].height_px > LARGEST_PX  # nor is its size rounded


def test_an_own_face_is_left_alone(tools: PressTools) -> None:
    page = "<style>@font-face{font-family:Own;src:url(data:font/ttf;base64,AAAA)}p{font-family:own,serif}</style><p>x</p>"
    pressed = press_page(sheet(page), tools)
    assert [str(f.where) for f in of_rule(pressed, "press.own-face")] == ["hall.html:1 p"]


@pytest.mark.parametrize(
    "html", ["", " ", "<!doctype html>", "<style>p{}</style>", "<p></p>", "<svg></svg>", "<body>"]
)
def test_empty_pages_are_white(html: str, tools: PressTools) -> None:
    pressed = press_page(sheet(html), tools)
    assert (pressed.rgb == 255).all()


def test_a_page_without_size_is_refused(tools: PressTools) -> None:
    for width_px, height_px in ((0, 5), (PAGE_LIMIT_PX, 2)):
        with pytest.raises(PressError, match="cannot be pressed"):
            press_page(sheet("<p>", width_px=width_px, height_px=height_px), tools)


def test_faults_name_the_sheet(tools: PressTools) -> None:
    with pytest.raises(PressError, match="nested more than") as caught:
        press_page(sheet("<style>" + "a{" * 99 + "</style>"), tools)
    assert caught.value.where.file == "hall.html"


def test_laid_pages_change_and_paint_again(tools: PressTools) -> None:
    page = Page(
        "<style>*{margin:0}</style><div id=a style='width:10px;height:10px;background:#000'></div>", 40, 40
    )
    with tools.engine.lay(page) as laid:
        assert black(laid) == 100
        laid.restyle([("a", "width", "20px"), ("none", "width", "1px")])
        assert laid.boxes()["a"] == Box(0, 0, 20, 10)
        assert black(laid) == 200
        laid.restyle([("a", "visibility", "hidden")])
        assert black(laid) == 0


def black(laid: Laid) -> int:
    return int((laid.paint()[..., 0] < 128).sum())


_STYLES = st.sampled_from(
    ["", "p{font:", "*{font-size:3em}", "@media (color){p{color:red}", "p::before{content:'x'", "}", "<", "p{--f:A,B;font-family:var(--f",
     "@import url(x);", ":nth-child(2n+1 of p){}", "@font-face{font-family:Z}", "p{font:1e9px x}", "p{letter-spacing:-1e4px}",
     "b{font-size:0}", "@layer a{@media not all and (monochrome){i{font-weight:1000}}}", "\\", "/*", "p{width:1e30px}"]
)  # fmt: skip


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(html=pages(), style=_STYLES)
def test_any_page_is_pressed(html: str, style: str, tools: PressTools) -> None:
    pressed = press_page(sheet(f"<style>{style}</style>{html}", on=TWO), tools)
    assert pressed.rgb.shape == (300, 400, 3)
    assert set(pressed.text_boxes) <= set(pressed.boxes)
