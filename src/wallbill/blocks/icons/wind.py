"""Wind arrows: a dart that flies with the wind, in the sixteen directions of the compass rose."""

import math

import numpy as np
from markupsafe import Markup

from wallbill.blocks.asked import check_direction, check_size
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import INK, Grid, Sketch
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.svg import to_svg
from wallbill.inks.impression import Mask

POINTS = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")
"""The sixteen points of the compass, clockwise from north."""

_DART = ((0.0, -1.0), (0.62, 0.86), (0.0, 0.42), (-0.62, 0.86))
"""Tip, wing, notch, wing; the tip one half of the drawing from the middle."""


def wind_arrow(from_deg: float | None, *, size_px: int, palette: Palette) -> Markup:
    """An arrow as inline SVG, ``size_px`` square: it points where the wind goes.

    ``from_deg``: where the wind comes from, degrees clockwise from north, rounded to the nearest of 16 points;
    None for calm air, drawn as a ring. The text alternative is in English.
    Raises `SheetError` for a direction that is not a number, or a size below 8.
    """
    words = "calm" if from_deg is None else f"wind from {compass_point(from_deg)}"
    return to_svg(wind_grid(from_deg, size_px=size_px), palette, title=words)


def compass_point(from_deg: float) -> str:
    """The nearest of the sixteen points of the compass; a direction halfway goes clockwise."""
    return POINTS[_sixteenth(from_deg)]


def wind_grid(from_deg: float | None, *, size_px: int) -> Grid:
    """The same drawing as ink codes.

    Only three directions are drawn: the others are their turns and mirrors, so that no direction looks heavier.
    """
    check_size(size_px, least_px=8, what="a wind arrow")
    if from_deg is None:
        return _calm(size_px)
    towards = (_sixteenth(from_deg) + 8) % 16
    quarters, rest = divmod(towards, 4)
    if (
        rest == 3
    ):  # three sixteenths clockwise of a quarter are one sixteenth back from the next: a mirror image
        dart = _dart(size_px, sixteenths=1)[:, ::-1]
        quarters += 1
    else:
        dart = _dart(size_px, sixteenths=rest)
    turned = np.ascontiguousarray(np.rot90(dart, -quarters))
    return Sketch(size_px, size_px).lay(turned, INK).grid()


def _sixteenth(from_deg: float) -> int:
    """The number of the nearest point of the compass."""
    check_direction(from_deg)
    return math.floor(from_deg % 360 / 22.5 + 0.5) % 16


def _dart(size_px: int, *, sixteenths: int) -> Mask:
    """The dart pointing so many sixteenths clockwise from the top."""
    angle = math.radians(22.5 * sixteenths)
    middle, reach = size_px / 2, size_px / 2 - size_px // 16
    corners = [
        (
            middle + reach * (x * math.cos(angle) - y * math.sin(angle)),
            middle + reach * (x * math.sin(angle) + y * math.cos(angle)),
        )
        for x, y in _DART
    ]
    size = (size_px, size_px)
    mask = shapes.polygon(size, corners)
    if sixteenths == 0:  # exactly alike on both sides
        mask |= mask[:, ::-1]
    elif sixteenths == 2:
        mask |= mask[::-1, ::-1].T
    return mask


def _calm(size_px: int) -> Grid:
    """A ring: no wind."""
    size, middle = (size_px, size_px), size_px / 2
    line_px = max(1, size_px // 12)
    ring = shapes.ring(
        size, (middle, middle), radius_px=math.floor(size_px * 0.3) + middle % 1, line_px=line_px
    )
    return Sketch(*size).lay(ring, INK).grid()
