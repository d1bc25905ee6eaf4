"""Panels for the tests of this room: colours typical of reflective panels, from memory, not measured.

CIELAB under D50: black 17, 1, -3 and white 68, -1.5, 1.5 and so on; sixteen greys of even L* from 17 to 68.
"""

from functools import cache

import numpy as np
from numpy.typing import NDArray

from wallbill.inks import gamut
from wallbill.inks.gamut import Tables
from wallbill.inks.impression import Impression, Rgb, frozen_codes
from wallbill.inks.inkset import ink_set
from wallbill.panels.model import Edge, Ink, Outline, Panel, Refresh, Tone

BLACK = Ink("black", (0, 0, 0), (17, 1, -3))
WHITE = Ink("white", (255, 255, 255), (68, -1.5, 1.5))
RED = Ink("red", (255, 0, 0), (31, 45, 30))
YELLOW = Ink("yellow", (255, 255, 0), (60, -4, 58))
GREEN = Ink("green", (0, 255, 0), (36, -25, 10))
BLUE = Ink("blue", (0, 0, 255), (30, 4, -34))
ORANGE = Ink("orange", (255, 128, 0), (45, 35, 45))
GREYS = tuple(Ink(f"grey-{n}", (17 * n, 17 * n, 17 * n), (17 + 3.4 * n, 0, 0)) for n in range(16))

LETTERS = {"#": BLACK, ".": WHITE, "r": RED, "y": YELLOW, "g": GREEN, "b": BLUE, "o": ORANGE}


def panel(*inks: Ink, size: tuple[int, int] = (800, 480), tone: Tone = Tone.INKS, n: float = 1.0) -> Panel:
    """A panel of these inks, pixels 0.19 mm apart."""
    width, height = size
    return Panel(
        name="test",
        width_px=width,
        height_px=height,
        active_width_mm=width * 0.19,
        active_height_mm=height * 0.19,
        inks=inks,
        tone=tone,
        refresh=Refresh(15, None, None, 180, 86400),
        outline=Outline(width * 0.19 + 10, height * 0.19 + 10, 1.2, (5, 5), Edge.BOTTOM),
        yule_nielsen_n=n,
    )


BW = panel(BLACK, WHITE)
BWR = panel(BLACK, WHITE, RED)
BWRY = panel(BLACK, WHITE, RED, YELLOW)
SIX = panel(BLACK, WHITE, RED, YELLOW, GREEN, BLUE)
SEVEN = panel(BLACK, WHITE, GREEN, BLUE, RED, YELLOW, ORANGE)
SIXTEEN = panel(*GREYS, tone=Tone.GREYS)


@cache
def tables(inks: tuple[Ink, ...]) -> Tables:
    """The link table of these inks, made once for all tests."""
    return gamut.make_tables(ink_set(inks))


def paint(letters: str, **more: tuple[int, int, int]) -> Rgb:
    """A raster from a letter grid, in the inks' CSS colours and ``more``; read-only, as the press gives it."""
    colours = {letter: ink.css for letter, ink in LETTERS.items()} | more
    rows = [row.strip() for row in letters.strip().splitlines()]
    return still(np.array([[colours[letter] for letter in row] for row in rows], dtype=np.uint8))


def letters(codes: NDArray[np.uint8], of: Panel) -> str:
    """The letter grid of ink codes."""
    signs = [next(s for s, ink in LETTERS.items() if ink.name == each.name) for each in of.inks]
    return "\n".join("".join(signs[code] for code in row) for row in codes)


def grid(text: str) -> str:
    """A letter grid without its indentation."""
    return "\n".join(row.strip() for row in text.strip().splitlines())


def still(rgb: NDArray[np.integer] | NDArray[np.float64]) -> Rgb:
    """A read-only uint8 copy."""
    copy = np.ascontiguousarray(rgb, dtype=np.uint8).copy()
    copy.setflags(write=False)
    return copy


def impression(of: Panel, *, seed: int = 1, size: tuple[int, int] = (37, 23)) -> Impression:
    """A picture of random inks; ``size`` is width and height."""
    codes = np.random.default_rng(seed).integers(0, len(of.inks), (size[1], size[0]))
    return Impression(frozen_codes(codes), of.inks)
