"""A drawing with its tints and labels as one piece of HTML.

The pixels go into the inline SVG as a picture in indexed colours, one sample a pixel: a map with a dot screen is
then a few kilobytes where outlines would be hundreds, and both engines paint it exactly. See
``docs/decisions/0081-pixels-of-charts-and-maps.md``.
"""

import base64
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from markupsafe import Markup, escape

from wallbill.blocks.drawing.grid import ACCENT, INK, MUTED, NOTHING, PAPER, Grid
from wallbill.blocks.drawing.labels import Label, to_html
from wallbill.blocks.drawing.light import STEPS, decoded, rgb
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.patterns import Hatch, hatch
from wallbill.inks.colour import linear_to_srgb
from wallbill.inks.encoding import quick_png
from wallbill.inks.impression import Codes, Mask

_Colour = tuple[int, int, int, int]  # sRGB codes and opacity, each 0 to 255
_CLEAR: _Colour = (0, 0, 0, 0)

_HAIR = 1e-9
_PERIOD_PX = 12  # every hatch repeats within this


@dataclass(frozen=True, slots=True, eq=False)
class Tint:
    """An area under the drawing: a hatch where the panel has few inks, an even grey where it has greys.

    ``area``: bool, shape (height, width), of the drawing.
    """

    area: Mask
    pattern: Hatch


@dataclass(frozen=True, slots=True, eq=False)
class Drawing:
    """A grid, the tints under it, the labels over it, and the text that stands for it all (none: it is decoration).

    ``greys``: what stands for grid and tints on a panel that shows greys, if the drawing has smoothed lines: uint8 of
    the grid's shape, 0 where the page shows through, else 1 (black) to 16 (white) in equal steps of sRGB.
    """

    grid: Grid
    labels: tuple[Label, ...] = ()
    tints: tuple[Tint, ...] = ()
    title: str | None = ""
    kind: str = field(default="wb-chart")
    greys: Codes | None = None

    def flat(self) -> Grid:
        """The drawing in ink codes alone, as a panel of few inks shows it: tints as hatches, no labels."""
        codes = self.grid.codes.copy()
        free = codes == NOTHING
        for tint in self.tints:
            np.copyto(codes, np.uint8(INK), where=tint.area & hatch(self.grid.size, tint.pattern) & free)
        codes.setflags(write=False)
        return Grid(codes)


def to_markup(drawing: Drawing, palette: Palette, *, label_px: int) -> Markup:
    """A positioned ``<div>`` of the drawing's size with one inline SVG and the labels as HTML over it.

    The class is the drawing's kind. ``label_px``: size of the label type; face and weight are the sheet's.
    """
    width, height = drawing.grid.size
    name = f' role="img" aria-label="{escape(drawing.title)}"' if drawing.title else ' aria-hidden="true"'
    style = (
        f"position:relative;width:{width}px;height:{height}px;overflow:hidden;"
        f"font-size:{label_px}px;color:{palette.ink}"
    )
    picture = f'<image width="{width}" height="{height}" image-rendering="optimizeSpeed" href="{_data(drawing, palette)}"/>'
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" viewBox="0 0 {width} {height}" '
        f'style="position:absolute;left:0;top:0;image-rendering:pixelated">{picture}</svg>'
    )
    # The parts are our own text, or escaped.
    return Markup(f'<div class="{drawing.kind}"{name} style="{style}">{svg}{to_html(drawing.labels)}</div>')  # noqa: S704  see above


def tint_rgb(palette: Palette, pattern: Hatch) -> tuple[int, int, int]:
    """The even colour of a hatch of ink on paper: the mean of both in linear light, by their shares.

    sRGB codes, brought down to the next of sixteen equal steps, so that a panel of sixteen greys shows it evenly.
    """
    share = float(hatch((_PERIOD_PX, _PERIOD_PX), pattern).mean())
    ink, paper = rgb(palette.ink), rgb(palette.paper)
    red, green, blue = (
        int(float(linear_to_srgb(share * decoded(dark) + (1 - share) * decoded(light))) * STEPS + _HAIR) * 17
        for dark, light in zip(ink, paper, strict=True)
    )
    return red, green, blue


def _data(drawing: Drawing, palette: Palette) -> str:
    """The pixels as a data URI: a PNG in indexed colours, transparent where nothing is drawn."""
    codes = drawing.flat().codes
    colours = [_CLEAR, *((*rgb(palette.css(code)), 255) for code in (INK, ACCENT, PAPER, MUTED))]
    if palette.smooth and drawing.greys is not None:
        codes, colours = drawing.greys, [_CLEAR, *((level, level, level, 255) for level in range(0, 256, 17))]
    elif palette.smooth:
        codes = np.zeros_like(drawing.grid.codes)
        for tint in drawing.tints:
            codes[tint.area] = len(colours)
            colours.append((*tint_rgb(palette, tint.pattern), 255))
        codes = np.where(drawing.grid.codes == NOTHING, codes, drawing.grid.codes)
    packed = quick_png(*_few(codes, colours))
    return "data:image/png;base64," + base64.b64encode(packed).decode("ascii")


def _few(codes: Codes, colours: Sequence[_Colour]) -> tuple[Codes, list[_Colour]]:
    """The same picture with each colour that is used listed once, so that a pixel takes few bits."""
    raw = codes.tobytes()
    used = [code for code in range(len(colours)) if code in raw]
    kept = list(dict.fromkeys(colours[code] for code in used))
    table = bytearray(256)
    for code in used:
        table[code] = kept.index(colours[code])
    return np.frombuffer(raw.translate(table), dtype=np.uint8).reshape(codes.shape), kept
