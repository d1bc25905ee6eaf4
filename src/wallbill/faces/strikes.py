"""Bitmap faces: drawn by hand for one size, taken as they are, or enlarged by a whole number."""

from dataclasses import replace

import numpy as np

from wallbill.faces.bench import smear_px, smeared
from wallbill.faces.charsets import Share, is_silent
from wallbill.faces.drawing import Fit, with_guests, with_spaces
from wallbill.faces.model import FaceAsk, Keep
from wallbill.faces.rasters import GlyphBitmap, Hinting, LineMetrics, Rasteriser
from wallbill.faces.shelf import FaceFile


def strike_for(face: FaceFile, size_px: int) -> tuple[int, int] | None:
    """The largest strike that fills a size by a whole multiple, and the multiple; None where there is none."""
    fitting = [strike for strike in face.strikes_px if size_px % strike == 0]
    return (max(fitting), size_px // max(fitting)) if fitting else None


def fit_strike(share: Share, ask: FaceAsk, keep: Keep) -> Fit:
    """Fit a bitmap face at a size for which ``strike_for`` finds a strike; every glyph of it that is encoded.

    A slant or a bold that the face lacks is made by shifting rows and by smearing.
    """
    face = share.face
    strike_px, times = strike_for(face, ask.size_px) or (0, 1)
    raster = Rasteriser(face.data, index=face.index, label=face.path)
    raster.place(strike_px)
    codes = [code for code in raster.charmap() if code >= 0x20 and not is_silent(chr(code))]
    glyphs = [GlyphBitmap(np.zeros((0, 0), np.bool_), 0, 0, ask.size_px // 2)]
    cmap = {}
    for code in sorted(codes):
        drawn = raster.draw(raster.glyph_of(chr(code)), Hinting.NATIVE)
        if ask.italic and not face.italic:
            drawn = leaning(drawn)
        cmap[code] = len(glyphs)
        glyphs.append(smeared(enlarged(drawn, times), smear_px(face, ask)))
    own = raster.metrics()
    metrics = LineMetrics(
        own.ascent_64 * times,
        own.descent_64 * times,
        own.underline_centre_64 * times,
        own.underline_64 * times,
    )
    fit = Fit(tuple(glyphs), cmap, metrics)
    return with_spaces(with_guests(fit, share, ask=ask, keep=keep), ask.size_px)


def enlarged(glyph: GlyphBitmap, times: int) -> GlyphBitmap:
    """A glyph with every pixel made a square of ``times`` by ``times``."""
    ink = np.kron(glyph.ink, np.ones((times, times), np.bool_)) if glyph.ink.size else glyph.ink
    return GlyphBitmap(ink, glyph.left_px * times, glyph.top_px * times, glyph.advance_px * times)


def leaning(glyph: GlyphBitmap) -> GlyphBitmap:
    """A glyph leaning to the right by a pixel for every four rows above the baseline."""
    if not glyph.ink.size:
        return glyph
    rows, columns = glyph.ink.shape
    shifts = [(glyph.top_px - 1 - row) // 4 for row in range(rows)]
    least = min(shifts)
    ink = np.zeros((rows, columns + max(shifts) - least), np.bool_)
    for row, shift in enumerate(shifts):
        ink[row, shift - least : shift - least + columns] = glyph.ink[row]
    return replace(glyph, ink=ink, left_px=glyph.left_px + least)
