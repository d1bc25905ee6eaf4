"""A net of round coordinates for maps on which no coast is seen, or only one that is too coarse for their scale."""

import math

import numpy as np

from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.labels import Align, Kind, Label, spread
from wallbill.blocks.maps.spec import MapSpec
from wallbill.blocks.maps.view import View
from wallbill.inks.impression import Mask

COAST_TRUE_M = 700.0
"""How far the coastline of the package may lie from the real one: its thinning and its unit, scripts/make_coastline.py."""

_COARSE_PX = 24  # a coast that may be wrong by more than this says nothing
_STEPS_S = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 18000, 36000)  # seconds of arc
_LEAST_PX = 90


def coast_is_coarse(view: View) -> bool:
    """Whether the package's coastline may be wrong by more than a glance forgives, at this scale."""
    return COAST_TRUE_M / view.metres_per_px() > _COARSE_PX


def net(view: View, spec: MapSpec) -> tuple[Mask, tuple[Label, ...]]:
    """Dotted lines of round longitude and latitude over a local map, and their labels along its left and top rim."""
    mask = shapes.nothing(spec.size)
    labels: list[Label] = []
    high = spec.line_height_px
    for column, text in _round_lines(view, upright=True):
        mask[::4, column] = True
        wide = spec.text_px(text, Kind.AXIS)
        labels.append(Label(text, (column - wide // 2, 4, wide, high), Align.CENTRE, Kind.AXIS))
    for row, text in _round_lines(view, upright=False):
        mask[row, ::4] = True
        labels.append(
            Label(text, (6, row - high // 2, spec.text_px(text, Kind.AXIS), high), Align.LEFT, Kind.AXIS)
        )
    return mask, spread(labels, (), size=spec.size, gap_px=4)


def _round_lines(view: View, *, upright: bool) -> list[tuple[int, str]]:
    """Column and label of each round meridian, or row and label of each round parallel, on the drawing."""
    middle_deg = view.centre[0] if upright else view.centre[1]
    length_px = view.size[0] if upright else view.size[1]
    px_per_deg = abs(
        _at_px(view, middle_deg + 0.5, upright=upright) - _at_px(view, middle_deg - 0.5, upright=upright)
    )
    step_s = next((step for step in _STEPS_S if step / 3600 * px_per_deg >= _LEAST_PX), _STEPS_S[-1])
    reach_deg = length_px / px_per_deg
    first = math.ceil((middle_deg - reach_deg) * 3600 / step_s)
    last = math.floor((middle_deg + reach_deg) * 3600 / step_s)
    found = []
    for number in range(first, last + 1):
        seconds = number * step_s
        at = math.floor(_at_px(view, seconds / 3600, upright=upright))
        if 0 <= at < length_px:
            found.append((at, sexagesimal(seconds, "EW" if upright else "NS", seconds=step_s < 60)))
    return found


def _at_px(view: View, degrees: float, *, upright: bool) -> float:
    longitude, latitude = (degrees, view.centre[1]) if upright else (view.centre[0], degrees)
    x, y = view.points(np.array([longitude]), np.array([latitude]))
    return float(x[0] if upright else y[0])


def sexagesimal(arc_s: int, letters: str, *, seconds: bool) -> str:
    """Seconds of arc as degrees, minutes and, if asked, seconds, such as 50°18′N; ``letters``: for plus and minus."""
    degrees, rest = divmod(abs(arc_s), 3600)
    minutes, small = divmod(rest, 60)
    tail = f"{small:02d}″" if seconds else ""
    side = letters[arc_s < 0] if arc_s else ""
    return f"{degrees}°{minutes:02d}′{tail}{side}"
