"""The look of a Vega-Lite chart on a panel of few inks: what its spec starts from, and what colours stand for.

A spec asks for colours; a panel has few. So the theme gives every category a colour of its own that no person would
write, and the painter knows it again as a style: an ink, a hatch, a dash, a mark.
"""

from types import MappingProxyType
from typing import Any

from wallbill.blocks.drawing.patterns import Hatch
from wallbill.inks.colour import linear_to_codes

CATEGORIES = tuple(f"#0b11{number:02x}" for number in range(8))
"""The colours that stand for the first, second, … category."""

GRID = "#0b1180"
"""The colour that stands for what stands back, such as grid lines."""

ACCENT_NAME = "#0b1181"
"""The colour that stands for the second ink; a spec may write "accent"."""

FACE = "Liberation Sans"
"""The face by which the layout is measured: the library brings it, so that every machine lays out alike."""

_BLACK = "#000000"

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
    """The grey whose light is that of paper with so much ink on it."""
    return "#" + f"{int(linear_to_codes(1 - ink_share)):02x}" * 3


RAMP = tuple(_grey(share) for share in (0.06, 0.12, 0.25, 0.5, 0.75, 1.0))
"""Greys from light to dark that fall on the steps of `LADDER`."""

NAMES = MappingProxyType({"ink": "#000000", "paper": "#ffffff", "accent": ACCENT_NAME, "muted": GRID})
"""Colours that a spec may write beside those of CSS: those of the sheet."""


def config(*, label_px: int, line_px: int) -> dict[str, Any]:
    """The ``config`` of a Vega-Lite spec for hard pixels; the spec's own goes over it.

    ``label_px``: size of all type. ``line_px``: width of data lines.
    """
    across = label_px // 2 * 2 - 3
    return {
        "background": None,
        "font": FACE,
        "padding": 1,
        "view": {"stroke": None},
        **_axes(label_px),
        **_keys(label_px, line_px=line_px, area_px=across * across),
        **_marks(label_px, line_px=line_px, area_px=across * across),
        "range": {
            "category": list(CATEGORIES),
            **{name: list(RAMP) for name in ("ordinal", "ramp", "heatmap", "diverging")},
        },
        "scale": {"round": True, "barBandPaddingInner": 0.3, "rectBandPaddingInner": 0},
    }


def _type(label_px: int) -> dict[str, Any]:
    """Labels and titles of one size, titles bold."""
    return {
        "labelFontSize": label_px,
        "titleFontSize": label_px,
        "titleFontWeight": "bold",
        "labelColor": _BLACK,
        "titleColor": _BLACK,
        "labelLimit": 40 * label_px,
    }


def _axes(label_px: int) -> dict[str, Any]:
    """Axes with level type only: the title of an upright axis stands above it."""
    above = {
        "titleAngle": 0,
        "titleAnchor": "end",
        "titleBaseline": "bottom",
        "titleX": 0,
        "titleY": -label_px // 2,
    }
    return {
        "axis": {
            **_type(label_px),
            "domainColor": _BLACK,
            "domainWidth": 1,
            "tickColor": _BLACK,
            "tickWidth": 1,
            "tickSize": 4,
            "tickRound": True,
            "labelAngle": 0,
            "labelPadding": 4,
            "labelOverlap": True,
            "gridColor": GRID,
            "gridWidth": 1,
            "gridDash": [1, 3],
            "titlePadding": label_px // 2,
        },
        "axisX": {"grid": False, "labelSeparation": label_px, "titleAnchor": "end", "titleAlign": "right"},
        "axisLeft": {**above, "titleAlign": "left"},
        "axisRight": {**above, "titleAlign": "right"},
        "axisYQuantitative": {"domain": False, "ticks": False},
    }


def _keys(label_px: int, *, line_px: int, area_px: int) -> dict[str, Any]:
    """The key above the chart, where it takes no width; titles and headers at the left."""
    return {
        "legend": {
            **_type(label_px),
            "orient": "top",
            "offset": label_px + 10,
            "symbolSize": area_px,
            "symbolStrokeWidth": line_px,
            "symbolFillColor": "transparent",
            "gradientLength": 8 * label_px,
            "gradientThickness": label_px,
        },
        "header": {**_type(label_px), "labelAngle": 0},
        "headerRow": {"labelAlign": "right", "labelBaseline": "middle", "titleAngle": 0},
        "title": {
            "fontSize": label_px,
            "subtitleFontSize": label_px,
            "color": _BLACK,
            "subtitleColor": _BLACK,
            "anchor": "start",
            "frame": "group",
        },
    }


def _marks(label_px: int, *, line_px: int, area_px: int) -> dict[str, Any]:
    """Marks in black, their lines whole pixels, areas in a light hatch. ``area_px``: of a point's mark."""
    point = {"size": area_px, "opacity": 1}
    return {
        "mark": {"color": _BLACK},
        "area": {"color": RAMP[2], "opacity": 1},
        "line": {"strokeWidth": line_px},
        "trail": {"color": _BLACK},
        "rule": {"strokeWidth": 1},
        "bar": {"color": _BLACK},
        "arc": {"stroke": "#ffffff", "strokeWidth": 2},
        "rect": {"color": _BLACK},
        "point": {**point, "strokeWidth": 2},
        "circle": point,
        "square": point,
        "tick": {"thickness": 2, "opacity": 1},
        "geoshape": {"fill": RAMP[1], "stroke": _BLACK, "strokeWidth": 1},
        "text": {"fontSize": label_px, "color": _BLACK},
        "boxplot": {"median": {"color": "#ffffff", "strokeWidth": 3}},
        "errorband": {"band": {"opacity": 1, "color": RAMP[2]}},
    }
