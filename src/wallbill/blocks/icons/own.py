"""Signs of the user's own: an SVG file drawn like ours, in whole pixels and plain inks.

Read (`own_reading`), put on the pixel grid (`own_snapping`), turned into pixels (`own_inking`), its colours into the
nearest of ink, second ink and paper.
"""

import math

from markupsafe import Markup

from wallbill.blocks.asked import check_size
from wallbill.blocks.drawing import shapes as masks
from wallbill.blocks.drawing.grid import ACCENT, INK, PAPER, Grid, Sketch
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.svg import to_svg
from wallbill.blocks.icons.own_inking import MOST_SAMPLES, filled, samples, stroked
from wallbill.blocks.icons.own_reading import Shape, read_svg
from wallbill.blocks.icons.own_snapping import snapped
from wallbill.blocks.icons.own_styles import Paint, Rgb
from wallbill.errors import PictureError, Place, SheetError
from wallbill.inks.colour import lightness, linear_to_oklab, linear_to_xyz, srgb_to_linear
from wallbill.inks.impression import Mask

LEAST_PX, MOST_PX = 8, 512
"""The sizes of a sign; larger drawings are pictures."""

_FAINT = 0.08
"""Paint that is seen through more than this is not there at all."""


def own_sign(data: bytes, *, file: str, size_px: int, palette: Palette, title: str = "") -> Markup:
    """The drawing as inline SVG, ``size_px`` square, like a sign: pixels in the palette's inks.

    ``file``: its name, for messages. ``title``: a text alternative; without it the drawing is decoration. Raises
    `SheetError` for a size outside 8 to 512 pixels, `PictureError` for a file that cannot be read or drawn.
    """
    return to_svg(own_grid(data, file=file, size_px=size_px, palette=palette), palette, title=title)


def own_grid(data: bytes, *, file: str, size_px: int, palette: Palette) -> Grid:
    """The same drawing as ink codes; black is the palette's ink, white its paper."""
    check_size(size_px, least_px=LEAST_PX, what="a drawing of your own")
    if size_px > MOST_PX:
        raise SheetError(
            f"a drawing of your own is at most {MOST_PX} pixels wide, got {size_px}",
            mend="Draw it smaller, or use picture() for what fills a page.",
        )
    drawing = snapped(read_svg(data, file=file), size_px)
    if sum(samples(shape, size_px) for shape in drawing) > MOST_SAMPLES:
        raise PictureError(
            "too many large shapes lie over one another", where=Place(file), mend="Simplify the drawing."
        )
    sketch = Sketch(size_px, size_px)
    for shape in drawing:
        _lay(sketch, shape, size_px, palette)
    return sketch.grid()


def _lay(sketch: Sketch, shape: Shape, size_px: int, palette: Palette) -> None:
    """Paints one shape: its area, then its strokes."""
    style = shape.style
    if not style.visible:
        return
    cut = _cut(shape, size_px)
    for paint, alpha, draw in (
        (style.fill, style.fill_opacity, filled),
        (style.stroke, style.stroke_opacity, stroked),
    ):
        code = _code(paint, alpha * style.opacity, palette)
        if code is not None and (draw is filled or shape.stroke_width > 0):
            sketch.lay(draw(shape, size_px) & cut, code)


def _cut(shape: Shape, size_px: int) -> Mask:
    """Where a shape may show: within each of its clip paths."""
    mask = ~masks.nothing((size_px, size_px))
    for clip in shape.clips:
        inside = masks.nothing((size_px, size_px))
        for part in clip:
            inside |= filled(part, size_px) & _cut(part, size_px)
        mask &= inside
    return mask


def _code(paint: Paint, alpha: float, palette: Palette) -> int | None:
    """The ink of a paint as it looks on white; None for what is not painted.

    A colour of the second ink's hue goes to it. All others go to ink or paper by their lightness: to the eye a blue is
    no red, though a measure of distance may say so. What is clearly darker than the paper is ink.
    """
    alpha *= paint.alpha
    if paint.colour is None or alpha < _FAINT:
        return None
    r, g, b = (alpha * part + 1 - alpha for part in paint.colour)
    if palette.has_accent and _alike((r, g, b), _rgb(palette.accent)):
        return ACCENT
    luminance = float(linear_to_xyz(srgb_to_linear([r, g, b]))[1])
    return INK if float(lightness(luminance)) < _PAPER_FROM else PAPER


_PAPER_FROM = 65
"""From this lightness (L* of CIELAB) on a colour counts as paper: a grey of #9d9d9d; judged by eye."""


def _alike(colour: Rgb, accent: Rgb) -> bool:
    """Whether a colour is of the accent's hue, within 40 degrees, and at least two fifths as strong (Oklab)."""
    hue, chroma = _polar(colour)
    wanted, full = _polar(accent)
    return chroma >= 0.4 * full and abs((hue - wanted + 180) % 360 - 180) <= 40


def _polar(colour: Rgb) -> tuple[float, float]:
    """Hue in degrees and chroma of Oklab."""
    _, a, b = linear_to_oklab(srgb_to_linear([colour]))[0]
    return math.degrees(math.atan2(b, a)), math.hypot(a, b)


def _rgb(css: str) -> Rgb:
    return int(css[1:3], 16) / 255, int(css[3:5], 16) / 255, int(css[5:7], 16) / 255
