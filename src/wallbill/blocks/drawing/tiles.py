"""Tints and hatches as backgrounds of CSS: one tile of whole pixels in a data address, locked to the page.

Locked to the page (``background-attachment: fixed``), so that neighbours with the same pattern meet without a seam
wherever they stand. Both engines paint it exactly, also in boxes that begin between two pixels.
"""

import base64
import io
from types import MappingProxyType

import numpy as np
from markupsafe import Markup
from numpy.typing import NDArray
from PIL import Image

from wallbill.blocks.drawing.grid import ACCENT, INK
from wallbill.blocks.drawing.light import rgb
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.patterns import PERIOD_PX, Hatch, hatch, share_of
from wallbill.errors import SheetError
from wallbill.inks import colour
from wallbill.inks.colour import Floats
from wallbill.inks.tints import bayer

MOST_STROKE_PX = 32
"""Wider strokes make no pattern but bars."""

INKS = MappingProxyType({"ink": INK, "accent": ACCENT})
"""What a pattern may be laid in."""

_GREYS = 16
_EVEN = 0.005  # share of full light within which one grey is taken for the tint
_MATRIX = 4  # side of the matrix that two greys are mixed by: 16 steps between neighbours

Rgb = tuple[int, int, int]


def hatch_css(pattern: Hatch, palette: Palette, *, stroke_px: int = 1, of: str = "ink") -> Markup:
    """The value of a ``background`` in CSS that fills a box with the pattern, of ink on paper.

    ``of``: "ink" or "accent". Raises `SheetError` for another, or for strokes below 1 or above `MOST_STROKE_PX`.
    """
    if not 1 <= stroke_px <= MOST_STROKE_PX:
        raise SheetError(
            f"a hatch's strokes are 1 to {MOST_STROKE_PX} pixels wide, got {stroke_px}",
            mend="Leave stroke_px out: it goes with the distance from which the display is read.",
        )
    side = PERIOD_PX * stroke_px
    mask = hatch((side, side), pattern, stroke_px=stroke_px)
    return _css(mask.astype(np.uint8), (rgb(palette.paper), rgb(palette.css(_code(of)))))


def tint_css(pattern: Hatch, palette: Palette, *, of: str = "ink") -> Markup:
    """The value of a ``background`` in CSS that fills a box with a tone of the pattern's mean.

    Few inks show it as the pattern. Greys show it even: as one grey where that is within half a hundredth of the
    mean light, else as two neighbouring greys whose dots no eye tells apart. ``of``: as for `hatch_css`.
    """
    if not palette.smooth:
        return hatch_css(pattern, palette, of=of)
    tile = grey_tile(palette, pattern, of=of)
    greys, places = np.unique(tile, return_inverse=True)
    return _css(places.reshape(tile.shape), tuple((int(grey),) * 3 for grey in greys))


def grey_tile(palette: Palette, pattern: Hatch, *, of: str = "ink") -> NDArray[np.uint8]:
    """The pattern's mean on a panel of sixteen even greys: uint8 (side, side), codes of one grey or two neighbours."""
    ends = colour.codes_to_linear((rgb(palette.css(_code(of))), rgb(palette.paper))) @ _LUMINANCE
    share = share_of(pattern)
    light = float(share * ends[0] + (1 - share) * ends[1])
    codes = np.arange(_GREYS) * (255 // (_GREYS - 1))
    steps = colour.codes_to_linear(codes)
    near = int(np.abs(steps - light).argmin())
    if abs(steps[near] - light) <= _EVEN:
        return np.full((PERIOD_PX, PERIOD_PX), codes[near], dtype=np.uint8)
    below = int(np.clip(np.searchsorted(steps, light, side="right") - 1, 0, _GREYS - 2))
    lighter = (light - steps[below]) / (steps[below + 1] - steps[below])
    dots = np.tile(bayer(_MATRIX), (PERIOD_PX // _MATRIX,) * 2) < round(lighter * _MATRIX**2)
    mixed: NDArray[np.uint8] = np.where(dots, codes[below + 1], codes[below]).astype(np.uint8)
    return mixed


def _fixed(rows: tuple[float, ...]) -> Floats:
    array = np.array(rows)
    array.setflags(write=False)
    return array


_LUMINANCE = _fixed((0.2126, 0.7152, 0.0722))  # of linear sRGB: IEC 61966-2-1


def _code(of: str) -> int:
    if of not in INKS:
        raise SheetError(
            f"a pattern is laid in ink or accent, not in {of!r}", mend='Write of="ink" or of="accent".'
        )
    return INKS[of]


def _css(places: NDArray[np.integer], colours: tuple[Rgb, ...]) -> Markup:
    """A tile (height, width) of places in ``colours`` that repeats all over the page."""
    size = (places.shape[1], places.shape[0])
    image = Image.frombytes("P", size, places.astype(np.uint8).tobytes())
    image.putpalette([part for one in colours for part in one])
    packed = io.BytesIO()
    image.save(packed, "PNG", optimize=True)
    data = base64.b64encode(packed.getvalue()).decode("ascii")
    return Markup(f"url(data:image/png;base64,{data}) fixed")  # noqa: S704  base64 holds nothing to escape
