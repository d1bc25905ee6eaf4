"""The look of a Vega-Lite chart on a panel of few inks: what its spec starts from, and what colours stand for.

A spec asks for colours; a panel has few. So the theme gives every category a colour of its own that no person would
write, and the painter knows it again as a style: an ink, a hatch, a dash, a mark.
"""

from types import MappingProxyType
from typing import Any

from wallbill.blocks.drawing.patterns import Hatch

CATEGORIES = tuple(f"#0b11{number:02x}" for number in range(8))
"""The colours that stand for the first, second, … category."""

GRID = "#0b1180"
"""The colour that stands for what stands back, such as grid lines."""

ACCENT_NAME = "#0b1181"
"""The colour that stands for the second ink; a spec may write "accent"."""

FACE = "Liberation Sans"
"""The face by which the layout is measured: the library brings it, so that every machine lays out alike."""

LADDER = (
    (0.03, None),
    (0.09, Hatch.DOTS_6),
    (0.18, Hatch.DOTS_12),
    (0.37, Hatch.DOTS_25),
    (0.62, Hatch.CHECKS_50),
    (0.87, Hatch.DOTS_75),
    (1.01, Hatch.SOLID),
)
"""Shares of ink up to which a tone is shown by which hatch, in linear light: half-way between neighbours."""


def _grey(ink_share: float) -> str:
    """The grey whose light is that of paper with so much ink on it: IEC 61966-2-1, the encoding of sRGB."""
    light = 1 - ink_share
    code = light * 12.92 if light <= 0.0031308 else 1.055 * light ** (1 / 2.4) - 0.055
    return "#" + f"{round(code * 255):02x}" * 3


RAMP = tuple(_grey(share) for share in (0.06, 0.12, 0.25, 0.5, 0.75, 1.0))
"""Greys from light to dark that fall on the steps of `LADDER`."""

NAMES = MappingProxyType({"ink": "#000000", "paper": "#ffffff", "accent": ACCENT_NAME, "muted": GRID})
"""Colours that a spec may write beside those of CSS: those of the sheet."""


def config(*, label_px: int, line_px: int) -> dict[str, Any]:
    """The ``config`` of a Vega-Lite spec for hard pixels; the spec's own goes over it.

    ``label_px``: size of all type. ``line_px``: width of data lines.
    """
    black = "#000000"
    mark = label_px // 2 * 2 - 3
    type_size = {"labelFontSize": label_px, "titleFontSize": label_px, "titleFontWeight": "bold"}
    axis = {
        **type_size,
        **dict.fromkeys(("labelColor", "titleColor", "domainColor", "tickColor"), black),
        "domainWidth": 1,
        "tickWidth": 1,
        "tickSize": 4,
        "tickRound": True,
        "labelAngle": 0,
        "labelPadding": 4,
        "labelOverlap": True,
        "labelLimit": 40 * label_px,
        "gridColor": GRID,
        "gridWidth": 1,
        "gridDash": [1, 3],
        "titlePadding": label_px // 2,
    }
    upright = {"titleAngle": 0, "titleAnchor": "end", "titleBaseline": "bottom", "titleX": 0, "titleY": -label_px // 2}
    return {
        "background": None,
        "font": FACE,
        "padding": 1,
        "view": {"stroke": None},
        "axis": axis,
        "axisX": {"grid": False, "titleAnchor": "end", "titleAlign": "right"},
        "axisLeft": {**upright, "titleAlign": "left"},
        "axisRight": {**upright, "titleAlign": "right"},
        "axisYQuantitative": {"domain": False, "ticks": False},
        "legend": {
            **type_size,
            "labelColor": black,
            "titleColor": black,
            "orient": "top",
            "labelLimit": 40 * label_px,
            "symbolSize": mark * mark,
            "symbolStrokeWidth": line_px,
            "symbolFillColor": "transparent",
            "gradientLength": 8 * label_px,
            "gradientThickness": label_px,
        },
        "header": {
            **type_size,
            "labelAngle": 0,
            "labelColor": black,
            "titleColor": black,
        },
        "headerRow": {"labelAlign": "right", "labelBaseline": "middle", "titleAngle": 0},
        "title": {
            "fontSize": label_px,
            "subtitleFontSize": label_px,
            "color": black,
            "subtitleColor": black,
            "anchor": "start",
            "frame": "group",
        },
        "mark": {"color": black},
        "area": {"color": RAMP[2], "opacity": 1},
        "line": {"strokeWidth": line_px},
        "trail": {"color": black},
        "rule": {"strokeWidth": 1},
        "bar": {"color": black},
        "arc": {"stroke": "#ffffff", "strokeWidth": 2},
        "rect": {"color": black},
        "point": {"size": mark * mark, "strokeWidth": 2, "opacity": 1},
        "circle": {"size": mark * mark, "opacity": 1},
        "square": {"size": mark * mark, "opacity": 1},
        "tick": {"thickness": 2, "opacity": 1},
        "geoshape": {"fill": RAMP[1], "stroke": black, "strokeWidth": 1},
        "text": {"fontSize": label_px, "color": black},
        "boxplot": {"median": {"color": "#ffffff", "strokeWidth": 3}},
        "errorband": {"band": {"opacity": 1, "color": RAMP[2]}},
        "range": {
            "category": list(CATEGORIES),
            "ordinal": list(RAMP),
            "ramp": list(RAMP),
            "heatmap": list(RAMP),
            "diverging": list(RAMP),
        },
        "scale": {"round": True, "bandPaddingInner": 0.3, "barBandPaddingInner": 0.3, "rectBandPaddingInner": 0},
    }
