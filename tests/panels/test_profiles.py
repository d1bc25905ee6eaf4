"""Every profile of the package: complete, sourced, and agreeing with itself and with its name."""

import re
from math import hypot

import pytest
from PIL import ImageColor

from wallbill.panels.model import Panel, Tone
from wallbill.panels.shell import load_panels

PANELS = load_panels()
NAMES = tuple(PANELS)
MM_PER_INCH = 25.4  # NIST Special Publication 811, appendix B.8: the inch, exact

# Size, pixels and inks, and nothing else: no maker, no maker's code.
INKS = r"(black-white(-red)?(-yellow)?|six-inks|seven-inks|(4|16)-greys)"
NAME = re.compile(rf"(\d{{1,2}}(?:\.\d{{1,2}})?)in-(\d{{3,4}})x(\d{{3,4}})-{INKS}")

FIGURES = {
    "pixels",
    "active_mm",
    "tone",
    "refresh.full_s",
    "refresh.fast_s",
    "refresh.partial_s",
    "refresh.least_interval_s",
    "refresh.longest_rest_s",
    "outline.size_mm",
    "outline.thickness_mm",
    "outline.active_offset_mm",
    "outline.tail",
    "climate.lowest_c",
    "climate.highest_c",
    "yule_nielsen_n",
}

every_panel = pytest.mark.parametrize("panel", PANELS.values(), ids=NAMES)


@pytest.mark.parametrize(
    ("name", "pixels", "inks"),
    [
        ("5.8in-648x480-black-white-red", (648, 480), ("black", "white", "red")),
        ("7.3in-800x480-black-white-red-yellow", (800, 480), ("black", "white", "red", "yellow")),
        ("4.2in-400x300-black-white", (400, 300), ("black", "white")),
        ("2.9in-296x128-black-white", (296, 128), ("black", "white")),
    ],
)
def test_the_panels_that_the_demo_hangs(name: str, pixels: tuple[int, int], inks: tuple[str, ...]) -> None:
    panel = PANELS[name]
    assert (panel.width_px, panel.height_px) == pixels
    assert tuple(ink.name for ink in panel.inks) == inks
    assert panel.tone is Tone.INKS


def test_a_panel_of_sixteen_greys() -> None:
    panel = PANELS["10.3in-1872x1404-16-greys"]
    assert panel.tone is Tone.GREYS
    assert [ink.css for ink in panel.inks] == [(17 * step,) * 3 for step in range(16)]
    assert [ink.name for ink in panel.inks][:2] == ["black", "grey-1"]
    assert panel.inks[-1].name == "white"
    steps = [after.lab[0] - before.lab[0] for before, after in zip(panel.inks, panel.inks[1:], strict=False)]
    assert max(steps) - min(steps) < 0.01  # even in lightness


def test_four_greys_are_inks_of_their_own() -> None:
    panel = PANELS["4.2in-400x300-4-greys"]
    assert panel.tone is Tone.INKS
    assert [ink.css[0] for ink in panel.inks] == [0, 85, 170, 255]


@every_panel
def test_the_name_is_size_pixels_and_inks(panel: Panel) -> None:
    found = NAME.fullmatch(panel.name)
    assert found, panel.name
    assert (panel.width_px, panel.height_px) == (int(found[2]), int(found[3]))
    diagonal_mm = hypot(panel.active_width_mm, panel.active_height_mm)
    assert diagonal_mm / MM_PER_INCH == pytest.approx(float(found[1]), rel=0.02)
    names = {ink.name for ink in panel.inks}
    count = {"six": 6, "seven": 7, "4": 4, "16": 16}.get(found[4].split("-")[0])
    if count:
        assert len(panel.inks) == count
        assert {"black", "white"} <= names
    else:
        assert tuple(ink.name for ink in panel.inks) == tuple(found[4].split("-"))


@every_panel
def test_the_pitch_is_the_active_area_over_the_pixels(panel: Panel) -> None:
    assert panel.pitch_mm == pytest.approx(panel.active_width_mm / panel.width_px, rel=0.01)
    assert panel.pitch_mm == pytest.approx(panel.active_height_mm / panel.height_px, rel=0.01)
    assert panel.pixels_per_inch == pytest.approx(MM_PER_INCH / panel.pitch_mm)
    assert panel.diagonal_in == pytest.approx(
        hypot(panel.active_width_mm, panel.active_height_mm) / MM_PER_INCH
    )


@every_panel
def test_every_figure_has_its_source(panel: Panel) -> None:
    inks = {f"ink.{ink.name}.{part}" for ink in panel.inks for part in ("css", "lab")}
    listed = "greys" if any(ink.name.startswith("grey") for ink in panel.inks) else "inks"
    assert set(panel.sources) == FIGURES | inks | {listed}
    assert all(source.strip() and "gives no source" not in source for source in panel.sources.values())


@every_panel
def test_inks_differ_and_answer_to_their_css_words(panel: Panel) -> None:
    assert len({ink.css for ink in panel.inks}) == len({ink.lab for ink in panel.inks}) == len(panel.inks)
    assert len({ink.name for ink in panel.inks}) == len(panel.inks)
    for ink in panel.inks:
        if not ink.name.startswith("grey-"):
            # CSS Color Module Level 4, section 6.1 "Named Colors", as Pillow has them
            assert ImageColor.getrgb(ink.name) == ink.css


@every_panel
def test_figures_are_of_a_likely_size(panel: Panel) -> None:
    refresh, outline = panel.refresh, panel.outline
    assert 0.2 <= refresh.full_s <= 40
    faster = [value for value in (refresh.partial_s, refresh.fast_s) if value is not None]
    assert [*faster, refresh.full_s] == sorted([*faster, refresh.full_s])
    assert refresh.least_interval_s < refresh.longest_rest_s == 86400
    left, top = outline.active_offset_mm
    assert outline.width_mm - panel.active_width_mm - left >= 0.5
    assert outline.height_mm - panel.active_height_mm - top >= 0.5
    assert 0.8 <= outline.thickness_mm <= 1.5
    assert panel.climate
    assert -20 <= panel.climate.lowest_c < panel.climate.highest_c <= 60
    assert panel.yule_nielsen_n == 1


@every_panel
def test_the_tail_leaves_where_the_margin_is_widest(panel: Panel) -> None:
    outline = panel.outline
    left, top = outline.active_offset_mm
    margins = {
        "left": left,
        "top": top,
        "right": outline.width_mm - panel.active_width_mm - left,
        "bottom": outline.height_mm - panel.active_height_mm - top,
    }
    assert margins[outline.tail] == max(margins.values())


def test_sizes_from_a_small_label_to_a_large_sheet() -> None:
    sizes = [panel.diagonal_in for panel in PANELS.values()]
    assert min(sizes) < 1.6
    assert max(sizes) > 13.2
    assert sizes == sorted(sizes, key=lambda size: round(size, 1)) or len(sizes) > 40
    classes = {name.split("-", 2)[2] for name in NAMES}
    assert classes == {
        "black-white",
        "black-white-red",
        "black-white-yellow",
        "black-white-red-yellow",
        "six-inks",
        "seven-inks",
        "4-greys",
        "16-greys",
    }
