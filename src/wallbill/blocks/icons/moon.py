"""The moon in its phase: the dark part in ink, the lit part left as paper, as almanacs print it."""

import math

import numpy as np
from markupsafe import Markup

from wallbill.blocks.asked import check_phase, check_size
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import INK, PAPER, Grid, Sketch
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.shapes import Point, Size
from wallbill.blocks.drawing.svg import to_svg
from wallbill.inks.impression import Mask

_NAMES = (
    "new moon",
    "waxing crescent moon",
    "first quarter moon",
    "waxing gibbous moon",
    "full moon",
    "waning gibbous moon",
    "last quarter moon",
    "waning crescent moon",
)


def moon(phase: float, *, size_px: int, palette: Palette, south: bool = False) -> Markup:
    """The moon as inline SVG, ``size_px`` square, with its phase in English as text alternative.

    ``phase``: 0 new, 0.25 first quarter, 0.5 full, 0.75 last quarter, up to 1. ``south``: as it is seen from
    the southern half of the earth, left and right exchanged. Raises `SheetError` for a phase outside 0 to 1 or a
    size below 8.
    """
    return to_svg(moon_grid(phase, size_px=size_px, south=south), palette, title=moon_words(phase))


def moon_grid(phase: float, *, size_px: int, south: bool = False) -> Grid:
    """The same picture as ink codes: a ring, and within it the lit part in `PAPER`, the dark one in `INK`."""
    check_size(size_px, least_px=8, what="a moon")
    line_px = 1 if size_px < 32 else max(2, round(size_px / 24))
    margin_px = size_px // 16
    centre = (size_px / 2, size_px / 2)
    size = (size_px, size_px)
    dark, lit = phase_masks(size, phase, centre=centre, radius_px=size_px / 2 - margin_px, line_px=line_px)
    grid = Sketch(*size).lay(lit, PAPER).lay(dark, INK).grid()
    return grid.mirrored() if south else grid


def phase_masks(
    size: Size, phase: float, *, centre: Point, radius_px: float, line_px: int
) -> tuple[Mask, Mask]:
    """The dark part with the rim, and the lit part within the rim.

    The border of light is half an ellipse, of half-axes r and r cos(2 pi phase), so that the lit share of the
    disc within the rim is (1 - cos(2 pi phase)) / 2, the phase angle taken as even in time (Meeus, Astronomical
    Algorithms, chapter 48, from memory). Raises `SheetError` for a phase outside 0 to 1.
    """
    check_phase(phase)
    whole = shapes.disc(size, centre, radius_px=radius_px)
    inner_px = radius_px - line_px
    inner = shapes.disc(size, centre, radius_px=inner_px)
    x, y = shapes.centres(size)
    border = np.sqrt(np.clip(inner_px**2 - (y - centre[1]) ** 2, 0, None)) * math.cos(2 * math.pi * phase)
    away = x - centre[0]
    lit = inner & np.asarray(away > border if phase <= 0.5 else away < -border)
    return whole & ~lit, lit


def moon_words(phase: float) -> str:
    """The phase by name: quarters, new and full hold for a sixteenth of the month to either side."""
    return _NAMES[round(phase * 8) % 8]
