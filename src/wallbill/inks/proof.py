"""Proofs: how an impression will look on the real panel, for people at a screen.

A reflective panel's white sends back less than half the light and its black is a dark grey. A proof shows
that beside a sheet of plain paper, which is the screen's white.
"""

import io

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from wallbill.inks import colour
from wallbill.inks.colour import Floats
from wallbill.inks.impression import Impression, Rgb
from wallbill.inks.inkset import measured_xyz
from wallbill.panels.model import MM_PER_INCH, Ink, Panel

PAPER = 0.84  # luminance of plain office paper; common practice, no source. The screen's white stands for it
_MARGIN = 0.04  # of the longer side: the wall around the panel
_WALL = (236, 234, 229)
_FRAME = (205, 203, 198)
_FRAME_PX = 2


def ink_colours(inks: tuple[Ink, ...]) -> NDArray[np.uint8]:
    """Colours of a proof, sRGB codes (inks, 3): the measured ones, beside paper that is the screen's white."""
    return colour.linear_to_codes(_light(inks))


def _light(inks: tuple[Ink, ...]) -> Floats:
    """Linear sRGB light (inks, 3) of the measured inks beside paper, cut to what a screen can show."""
    return np.clip(colour.xyz_to_linear(measured_xyz(inks) / PAPER), 0, 1)


def proof(impression: Impression, *, scale: int = 1, surround: bool = True) -> Image.Image:
    """The impression in measured colours, each pixel a square of ``scale`` screen pixels.

    ``surround``: on a light wall with a thin frame, so that the eye sees how dull the panel's white is.
    Raises `ValueError` for a scale below 1.
    """
    if scale < 1:
        raise ValueError(f"a proof's scale is 1 or more, got {scale}")
    pixels = ink_colours(impression.inks)[impression.codes]
    large = np.repeat(np.repeat(pixels, scale, axis=0), scale, axis=1)
    return Image.fromarray(_hung(large) if surround else large)


def _hung(pixels: Rgb) -> Rgb:
    """A picture with a thin frame on a light wall: uint8 (height, width, 3)."""
    height_px, width_px = pixels.shape[:2]
    margin_px = max(12, round(_MARGIN * max(height_px, width_px)))
    wall = np.empty((height_px + 2 * margin_px, width_px + 2 * margin_px, 3), dtype=np.uint8)
    wall[:] = _WALL
    edge = margin_px - _FRAME_PX
    wall[edge:-edge, edge:-edge] = _FRAME
    wall[margin_px:-margin_px, margin_px:-margin_px] = pixels
    return wall


def true_size(impression: Impression, panel: Panel, *, screen_pixels_per_inch: float) -> Image.Image:
    """The impression at its true size on a screen of this many pixels to the inch, without surround.

    Each screen pixel is the mean of the light on its area (a box filter in linear light), so dots merge as
    they do for the eye. Raises `ValueError` unless ``screen_pixels_per_inch`` is above 0.
    """
    if not screen_pixels_per_inch > 0:
        raise ValueError(f"a screen has more than {screen_pixels_per_inch} pixels to the inch")
    scale = screen_pixels_per_inch / panel.pixels_per_inch
    size = (max(1, round(impression.width_px * scale)), max(1, round(impression.height_px * scale)))
    light = _light(impression.inks).astype(np.float32)[impression.codes]
    planes = [
        np.asarray(Image.fromarray(light[..., part]).resize(size, Image.Resampling.BOX)) for part in range(3)
    ]
    return Image.fromarray(colour.linear_to_codes(np.stack(planes, axis=-1)))


def proof_png(impression: Impression, panel: Panel, *, scale: int = 1, surround: bool = True) -> bytes:
    """A proof as a PNG that states the panel's pitch (pHYs), so that it prints at true size."""
    per_inch = float(MM_PER_INCH) / panel.pitch_mm * scale
    data = io.BytesIO()
    image = proof(impression, scale=scale, surround=surround)
    image.save(data, "PNG", dpi=(per_inch, per_inch), compress_level=6)
    return data.getvalue()
