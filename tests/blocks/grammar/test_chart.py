"""Charts in the grammar of graphics: heights are right, no pixel is soft, categories differ, texts keep apart."""

from itertools import combinations
from typing import Any

import blitz_py
import numpy as np
import pytest
from tests.blocks.grammar.making import BARS, BLACK, GREYS, LOOK, RED, TIDES, made, setting
from tests.golden import check_golden

from wallbill.blocks.drawing.grid import ACCENT, INK
from wallbill.blocks.drawing.labels import apart, inside
from wallbill.blocks.drawing.markup import Drawing
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.grammar.chart import vega_lite
from wallbill.blocks.grammar.inking import fill_paint, line_look, rgba
from wallbill.blocks.grammar.rows import Row
from wallbill.blocks.grammar.spec import Look
from wallbill.blocks.grammar.theme import CATEGORIES, LADDER, RAMP
from wallbill.errors import SheetError

PLATE = ((255, 255, 255), (0, 0, 0), (200, 0, 0), (240, 240, 240), (120, 120, 120))
LINES: dict[str, Any] = {
    "mark": "line",
    "encoding": {
        "x": {"field": "hour", "type": "quantitative", "title": None},
        "y": {"field": "metres", "type": "quantitative", "title": None},
        "color": {"field": "quay", "title": None},
    },
}
SPECS: dict[str, dict[str, Any]] = {
    "bars": BARS,
    "lines": LINES,
    "stack": {**LINES, "mark": "bar"},
    "area": {**LINES, "mark": "area"},
    "points": {**LINES, "mark": "point"},
    "arc": {"mark": "arc", "encoding": {"theta": {"field": "metres"}, "color": {"field": "quay"}}},
    "heat": {
        "mark": "rect",
        "encoding": {
            "x": {"field": "hour", "type": "ordinal"},
            "y": {"field": "quay"},
            "color": {"field": "metres", "type": "quantitative"},
        },
    },
    "box": {"mark": "boxplot", "encoding": {"x": {"field": "quay"}, "y": {"field": "metres", "type": "quantitative"}}},
    "text": {**LINES, "mark": {"type": "text"}, "encoding": {**LINES["encoding"], "text": {"field": "metres"}}},
    "rows": {"width": 90, "height": 30, **LINES, "encoding": {**LINES["encoding"], "row": {"field": "quay"}}},
}  # fmt: skip


def runs(column: np.ndarray) -> int:
    """The number of inked pixels above the lowest one, all joined."""
    inked = np.nonzero(column == INK)[0]
    count = 1
    while inked.size > count and inked[-1 - count] == inked[-count] - 1:
        count += 1
    return count


def axis_row(drawing: Drawing) -> int:
    """The row of the axis: the lowest that is inked over more than half of the chart."""
    inked = (drawing.grid.codes == INK).sum(axis=1)
    return int(np.nonzero(inked > drawing.grid.width_px / 2)[0][-1])


def bar_heights(drawing: Drawing) -> list[int]:
    """The heights of the bars of `BARS`, from the left: of every run of columns that stands on the axis."""
    codes = drawing.grid.codes
    floor = axis_row(drawing)
    found: list[int] = []
    standing = False
    for column in codes[:floor].T:
        if column[-1] == INK:
            found += [] if standing else [runs(column)]
            standing = True
        else:
            standing = False
    return found


def test_bars_are_as_high_as_their_values() -> None:
    heights = np.array(bar_heights(made(BARS, TIDES).drawing))
    values = np.array([row["metres"] for row in TIDES], dtype=float)
    assert heights.size == values.size
    pixel = heights.max() / values.max()
    assert np.abs(heights - values * pixel).max() <= 1


def test_bars_and_the_room_between_them_are_equally_wide() -> None:
    drawing = made(BARS, TIDES).drawing
    row = drawing.grid.codes[axis_row(drawing) - 1] == INK
    edges = np.nonzero(np.diff(row.astype(int)))[0]
    assert len(set(np.diff(edges)[::2])) == 1, "bars"
    assert len(set(np.diff(edges)[1::2])) == 1, "room"


@pytest.mark.parametrize("name", SPECS)
@pytest.mark.parametrize("palette", [BLACK, RED], ids=["black", "red"])
def test_the_engine_paints_no_soft_pixel_but_in_type(name: str, palette: Palette) -> None:
    engraved = made(SPECS[name], TIDES, how=setting(palette))
    html = str(vega_lite(engraved, palette=palette, label_px=LOOK.label_px))
    head, _, rest = html.partition("</svg>")
    assert "<text" not in html, "an engine draws no text inside of a drawing"
    page = f'<body style="margin:0;background:#fff">{head}</svg></div>'
    assert rest
    width, height, data = blitz_py.render_rgba(page, width=LOOK.width_px, height=LOOK.height_px)
    rgb = np.frombuffer(bytes(data), np.uint8).reshape(height, width, 4)[:, :, :3]
    colours = {tuple(colour) for colour in np.unique(rgb.reshape(-1, 3), axis=0).tolist()}
    assert colours <= {(255, 255, 255), (0, 0, 0), (255, 0, 0)}
    assert len(colours) > 1


@pytest.mark.parametrize("name", SPECS)
@pytest.mark.parametrize("label_px", [9, 20])
def test_texts_keep_apart_and_stay_on_the_chart(name: str, label_px: int) -> None:
    room = 90 if name == "rows" else 0  # a row of charts has sizes of its own
    engraved = made(SPECS[name], TIDES, look=Look(LOOK.width_px + room, LOOK.height_px + room, label_px, 3))
    labels = engraved.drawing.labels
    assert labels
    assert all(inside(label.box, engraved.drawing.grid.size) for label in labels)
    for one, other in combinations(labels, 2):
        air = [box[3] // 6 for box in (one.box, other.box)]
        letters = [
            (box[0], box[1] + gap, box[2], box[3] - 2 * gap)
            for box, gap in zip((one.box, other.box), air, strict=True)
        ]
        assert apart(letters[0], letters[1]), (one, other)


@pytest.mark.parametrize("palette", [BLACK, RED, GREYS], ids=["black", "red", "greys"])
def test_the_first_six_categories_differ_without_colour(palette: Palette) -> None:
    lines = [line_look(colour, 1.0, palette) for colour in CATEGORIES[:6]]
    fills = [fill_paint(colour, 1.0, palette) for colour in CATEGORIES[:6]]
    assert len(set(lines)) == 6
    assert len(set(fills)) == 6


def test_the_steps_of_a_ramp_are_the_steps_of_the_hatches() -> None:
    steps = [fill_paint(colour, 1.0, BLACK).hatch for colour in RAMP]
    assert steps == [hatch for _, hatch in LADDER if hatch is not None]


@pytest.mark.parametrize(
    ("colour", "on_red", "on_black"),
    [("crimson", ACCENT, INK), ("black", INK, INK), ("#f00", ACCENT, INK), ("rgb(0, 0, 200)", INK, INK)],
)
def test_colours_of_the_second_inks_hue_are_laid_in_it(colour: str, on_red: int, on_black: int) -> None:
    assert fill_paint(colour, 1.0, RED).code == on_red
    assert fill_paint(colour, 1.0, BLACK).code == on_black


def test_colours_are_read_as_css_has_them() -> None:
    """Source: CSS Color Module Level 4, section 6.1 (named colours) and 5.1 (rgb)."""
    assert rgba("rebeccapurple") == (0x66 / 255, 0x33 / 255, 0x99 / 255, 1.0)
    assert rgba("rgba(255, 128, 0, 0.5)") == (1.0, 128 / 255, 0.0, 0.5)


def test_the_sheets_names_of_inks_are_colours() -> None:
    accent = {**BARS, "mark": {"type": "bar", "color": "accent"}}
    codes = made(accent, TIDES, how=setting(RED)).drawing.grid.codes
    assert (codes == ACCENT).sum() > 1000
    assert not (made(accent, TIDES).drawing.grid.codes == ACCENT).any()


def test_the_same_chart_has_the_same_bytes() -> None:
    first, second = (made(LINES, list(TIDES), how=setting(RED)) for _ in range(2))
    assert vega_lite(first, palette=RED, label_px=12) == vega_lite(second, palette=RED, label_px=12)


def test_hours_are_those_of_the_walls_zone() -> None:
    """Source: Tokyo keeps nine hours ahead of UTC all the year (IANA zone Asia/Tokyo)."""
    rows: list[Row] = [{"at": f"2026-03-27T{hour:02}:00:00+00:00", "m": hour} for hour in range(4)]
    spec = {
        "mark": "point",
        "encoding": {
            "x": {"field": "at", "type": "temporal", "axis": {"format": "%H:%M", "title": None}},
            "y": {"field": "m", "type": "quantitative"},
        },
    }
    for zone, first in (("Asia/Tokyo", "09:00"), ("Europe/London", "00:00"), ("America/New_York", "20:00")):
        texts = [label.text for label in made(spec, rows, how=setting(zone=zone)).drawing.labels]
        assert first in texts, (zone, texts)


def test_words_are_those_of_the_walls_language() -> None:
    """Source: CLDR: the month March is "März" in German and "mars" in French; German has a decimal comma."""
    rows: list[Row] = [{"day": f"2026-{month:02}-15T00:00:00", "m": month / 4} for month in range(1, 8)]
    spec = {
        "mark": "point",
        "encoding": {
            "x": {"field": "day", "type": "temporal", "axis": {"format": "%B", "tickCount": "month"}},
            "y": {"field": "m", "type": "quantitative", "axis": {"format": ".1f"}},
        },
    }
    wide = Look(700, 200, 12, 3)
    german = {label.text for label in made(spec, rows, look=wide, how=setting(language="de")).drawing.labels}
    french = {
        label.text for label in made(spec, rows, look=wide, how=setting(language="fr-FR")).drawing.labels
    }
    assert {"März", "0,5"} <= german
    assert "mars" in french


def test_the_description_stands_for_the_chart_else_its_title() -> None:
    told = {**BARS, "description": "Tides <today>", "title": "Tides"}
    html = vega_lite(made(told, TIDES), palette=BLACK, label_px=12)
    assert 'aria-label="Tides &lt;today&gt;"' in html
    titled = {**BARS, "title": {"text": ["Tides", "today"], "subtitle": "at the quay"}}
    assert made(titled, TIDES).drawing.title == "Tides today. at the quay"
    assert 'aria-hidden="true"' in vega_lite(made(BARS, TIDES), palette=BLACK, label_px=12)


def test_texts_of_the_data_cannot_break_out_into_the_page() -> None:
    rows: list[Row] = [{"hour": "</span><script>x</script>", "metres": 1}]
    html = str(vega_lite(made(BARS, rows), palette=BLACK, label_px=12))
    assert "<script" not in html


def test_turned_texts_are_set_level_and_the_reader_is_told() -> None:
    turned = {**BARS, "config": {"axisX": {"labelAngle": -90}}}
    assert "blocks.vega-turned" in {finding.rule for finding in made(turned, TIDES).findings}


def test_texts_without_room_are_told() -> None:
    names: list[Row] = [{"hour": f"a very long name {number}", "metres": 1} for number in range(12)]
    crowded = {**BARS, "config": {"axis": {"labelOverlap": False}}}
    found = [finding for finding in made(crowded, names).findings if finding.rule == "blocks.vega-labels"]
    assert found
    assert int(found[0].measured) < int(found[0].limit)


def test_a_chart_larger_than_its_place_is_told() -> None:
    with pytest.raises(SheetError, match=r"came out \d+ x \d+ pixels, it has 240 x 160"):
        made({**SPECS["rows"], "height": 300}, TIDES)


def test_several_sets_of_data_are_found_by_name() -> None:
    spec = {
        "layer": [
            {"data": {"name": "tides"}, **BARS},
            {
                "data": {"name": "limit"},
                "mark": "rule",
                "encoding": {"y": {"field": "metres", "type": "quantitative"}},
            },
        ]
    }
    drawn = made(spec, {"tides": TIDES, "limit": [{"metres": 4.5}]}).drawing
    assert len(bar_heights(drawn)) == len(TIDES)


def test_golden_lines() -> None:
    check_golden("vega-lines", made(LINES, TIDES, how=setting(RED)).drawing.flat().codes, PLATE)


def test_golden_stack() -> None:
    check_golden("vega-stack", made(SPECS["stack"], TIDES).drawing.flat().codes, PLATE)


def test_golden_heat() -> None:
    check_golden("vega-heat", made(SPECS["heat"], TIDES).drawing.flat().codes, PLATE)
