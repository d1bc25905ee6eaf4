"""From a spec's colours to a panel's few inks."""

import colorsys
import re
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from PIL import ImageColor

from wallbill.blocks.drawing.grid import ACCENT, INK, MUTED, NOTHING, PAPER
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.patterns import Hatch
from wallbill.blocks.grammar.theme import ACCENT_NAME, CATEGORIES, GRID, LADDER
from wallbill.inks.colour import srgb_to_linear

_SEEN_FROM = 0.05  # of its own light: a fainter thing was meant to be gone
_COLOURED = 0.35  # saturation from which a colour is one: judged by eye
_NEAR_HUE = 1 / 9  # 40 degrees of the circle: judged by eye
_GREY = "#808080"
_LUMINANCE = (0.2126, 0.7152, 0.0722)
_RGBA = re.compile(r"rgba?\(\s*([\d.]+)\s*,\s*([\d.]+)\s*,\s*([\d.]+)\s*(?:,\s*([\d.]+)\s*)?\)")


@dataclass(frozen=True, slots=True)
class Paint:
    """What an area or a line is laid in: an ink code, and the hatch in which it is, `Hatch.SOLID` for all of it."""

    code: int
    hatch: Hatch = Hatch.SOLID


CLEAR = Paint(NOTHING)
"""Nothing at all: what lies below stays."""


@dataclass(frozen=True, slots=True)
class LineLook:
    """How the line of a category differs from the others: ``more_px`` on its width, its dashes."""

    code: int
    more_px: int = 0
    dash: tuple[int, ...] = ()


def category(colour: str) -> int | None:
    """The number of the category that a colour of the theme stands for, from 0; None for any other colour."""
    return CATEGORIES.index(colour) if colour in CATEGORIES else None


def fill_paint(colour: str, alpha: float, palette: Palette) -> Paint:
    """What an area of a CSS colour is filled with."""
    number = category(colour)
    if alpha < _SEEN_FROM or not colour:
        return CLEAR
    if number is not None:
        return _fills(palette)[number % len(_fills(palette))]
    return _tone(colour, alpha, palette)


def _fills(palette: Palette) -> tuple[Paint, ...]:
    """Fills of categories, from the first: as unlike one another as the panel allows."""
    second = (Paint(ACCENT),) if palette.has_accent else ()
    steps: tuple[Hatch, ...]
    if palette.smooth:
        steps = (Hatch.DOTS_25, Hatch.DOTS_75, Hatch.DOTS_12, Hatch.CHECKS_50, Hatch.DOTS_6)
    else:
        steps = (
            Hatch.RISING_25,
            Hatch.DOTS_12,
            Hatch.CHECKS_50,
            Hatch.LEVEL_25,
            Hatch.CROSSED_43,
            Hatch.FALLING_25,
        )
    return (Paint(INK), *second, *(Paint(INK, step) for step in steps))


def line_look(colour: str, alpha: float, palette: Palette) -> LineLook:
    """How a line of a CSS colour is drawn; its code is `NOTHING` for one that is not seen."""
    number = category(colour)
    if alpha < _SEEN_FROM or not colour:
        return LineLook(NOTHING)
    if number is not None:
        looks = _lines(palette)
        return looks[number % len(looks)]
    if colour == GRID:
        return LineLook(MUTED)
    paint = _tone(colour, alpha, palette)
    if paint.code != INK:
        return LineLook(PAPER if paint.code == NOTHING else paint.code)
    return LineLook(INK if paint.hatch in {Hatch.SOLID, Hatch.DOTS_75, Hatch.CHECKS_50} else MUTED)


def _lines(palette: Palette) -> tuple[LineLook, ...]:
    """Lines of categories: by second ink, weight and dash, in the order of `wallbill.blocks.charts.marks`."""
    second = LineLook(ACCENT) if palette.has_accent else LineLook(INK, -1, (8, 5))
    return (
        LineLook(INK),
        second,
        LineLook(INK, -8),
        LineLook(INK, -1, (1, 4)),
        LineLook(ACCENT if palette.has_accent else INK, -1, (12, 4, 1, 4)),
        LineLook(INK, -1, (5, 3)),
    )


@lru_cache(maxsize=512)
def _tone(colour: str, alpha: float, palette: Palette) -> Paint:
    """An ordinary colour: the second ink where it is of that hue, else the hatch of its light."""
    if colour == ACCENT_NAME:
        return Paint(ACCENT if palette.has_accent else INK)
    red, green, blue, own_alpha = rgba(_GREY if colour == GRID else colour)
    alpha *= own_alpha
    hue, saturation, value = colorsys.rgb_to_hsv(red, green, blue)
    if palette.has_accent and saturation > _COLOURED and value > 0.3 and alpha > 0.3 and _near(hue, palette):
        return Paint(ACCENT)
    light = float(np.dot(_LUMINANCE, srgb_to_linear((red, green, blue))))
    share = (1 - light) * alpha
    hatch = next(step for limit, step in LADDER if share < limit)
    return Paint(PAPER) if hatch is None else Paint(INK, hatch)


def _near(hue: float, palette: Palette) -> bool:
    red, green, blue, _ = rgba(palette.accent)
    away = abs(hue - colorsys.rgb_to_hsv(red, green, blue)[0]) % 1
    return min(away, 1 - away) < _NEAR_HUE


def rgba(colour: str) -> tuple[float, float, float, float]:
    """A CSS colour as shares of 0 to 1; black for what is none."""
    if found := _RGBA.match(colour):
        red, green, blue = (min(255.0, float(found[i])) / 255 for i in (1, 2, 3))
        return red, green, blue, float(found[4] or 1)
    try:
        parts = ImageColor.getrgb(colour)
    except ValueError:
        return 0.0, 0.0, 0.0, 1.0
    return parts[0] / 255, parts[1] / 255, parts[2] / 255, (parts[3] / 255 if len(parts) > 3 else 1.0)
