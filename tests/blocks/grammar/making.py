"""Charts in the grammar of graphics that the tests share. The rows are invented."""

from collections.abc import Mapping
from typing import Any

from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.ruler import Guess
from wallbill.blocks.grammar.chart import Engraved, Setting, vega_lite_drawing
from wallbill.blocks.grammar.rows import Row
from wallbill.blocks.grammar.shell import engraver
from wallbill.blocks.grammar.spec import Look

RED = Palette(accent="#ff0000")
BLACK = Palette()
GREYS = Palette(accent="#000000", smooth=True)
LOOK = Look(width_px=240, height_px=160, label_px=12, line_px=3)

ENGRAVE = engraver()
"""One for all tests: it keeps the last charts."""

TIDES: list[Row] = [
    {"hour": hour, "metres": (hour * 7) % 5 + 1, "quay": "ab"[hour % 2]} for hour in range(12)
]


def setting(palette: Palette = BLACK, *, language: str = "en-GB", zone: str = "Europe/London") -> Setting:
    """A setting whose spec stands in the sheet."""
    return Setting(palette, Guess(), language, zone)


def made(
    spec: Mapping[str, Any],
    data: list[Row] | Mapping[str, list[Row]] | None = None,
    *,
    look: Look = LOOK,
    how: Setting | None = None,
) -> Engraved:
    """The chart of a spec, laid out by the library itself."""
    return vega_lite_drawing(spec, data, look=look, setting=how or setting(), engrave=ENGRAVE)


BARS = {
    "mark": "bar",
    "encoding": {
        "x": {"field": "hour", "type": "ordinal", "title": None},
        "y": {"field": "metres", "type": "quantitative", "title": "m"},
    },
}
