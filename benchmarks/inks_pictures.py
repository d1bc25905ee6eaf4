"""The pictures and the panels that the ink benchmarks share.

Photographs come with general libraries that the tests already need: scikit-learn's china and flower, scikit-image's coffee,
cat (chelsea) and camera. The scene with its ramps is our own. Portraits of real people are not used.
"""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter
from skimage import data
from sklearn.datasets import load_sample_image
from tests.inks import typical

from wallbill.inks.impression import Rgb
from wallbill.inks.pictures import prepare, resized
from wallbill.panels.model import Panel, Tone

LONGEST_PX = 400
"""The longest side of the pictures whose quality is measured."""


def scene(width: int, height: int) -> NDArray[np.uint8]:
    """An invented harbour: sky, hills, water, a boat, patches of paint; below it a grey and a hue ramp."""
    top = height * 2 // 3
    sky = np.linspace((90, 140, 230), (200, 215, 205), top * 2)[:, np.newaxis].repeat(width * 2, axis=1)
    image = Image.fromarray(sky.astype(np.uint8))
    draw = ImageDraw.Draw(image)
    w, h = image.size
    draw.ellipse((w * 0.7, h * 0.08, w * 0.82, h * 0.28), fill=(255, 230, 120))
    hills = [(0, 0.6), (0.2, 0.4), (0.4, 0.62), (0.6, 0.45), (1, 0.65), (1, 1), (0, 1)]
    draw.polygon([(x * w, y * h) for x, y in hills], fill=(90, 130, 80))
    for row in range(int(h * 0.75), h):
        draw.line((0, row, w, row), fill=(40 + (row * 7) % 30, 80 + (row * 3) % 40, 120 + (row * 5) % 30))
    draw.polygon(
        [(w * 0.3, h * 0.85), (w * 0.55, h * 0.85), (w * 0.52, h * 0.92), (w * 0.33, h * 0.92)], (170, 40, 30)
    )
    draw.polygon([(w * 0.42, h * 0.35), (w * 0.42, h * 0.83), (w * 0.55, h * 0.83)], fill=(240, 235, 225))
    paints = ((200, 60, 60), (230, 140, 60), (240, 210, 80), (70, 150, 80), (60, 90, 180), (200, 150, 130))
    for place, paint in enumerate(paints):
        draw.rectangle((w * (0.03 + 0.06 * place), h * 0.55, w * (0.07 + 0.06 * place), h * 0.68), fill=paint)
    upper = image.filter(ImageFilter.GaussianBlur(1.5)).resize((width, top), Image.Resampling.LANCZOS)
    grey_rows = (height - top) // 3
    greys = np.linspace(0, 255, width)[np.newaxis, :, np.newaxis] * np.ones((grey_rows, 1, 3))
    hue_rows = height - top - grey_rows
    line = np.linspace(0, 255, width).astype(np.uint8)[np.newaxis].repeat(hue_rows, axis=0)
    fade = np.linspace(255, 60, hue_rows).astype(np.uint8)[:, np.newaxis].repeat(width, axis=1)
    planes = [Image.fromarray(p) for p in (line, np.full_like(line, 200), fade)]
    hues = Image.merge("HSV", planes).convert("RGB")
    return np.concatenate((np.asarray(upper), greys.astype(np.uint8), np.asarray(hues)))


def photographs() -> Iterator[tuple[str, Rgb]]:
    """The open photographs, uint8 (height, width, 3), as they come."""
    for name in ("china", "flower"):
        yield name, np.array(load_sample_image(f"{name}.jpg"), dtype=np.uint8)
    for name in ("coffee", "cat", "camera"):
        found = np.asarray(getattr(data, name)(), dtype=np.uint8)
        yield name, found if found.ndim == 3 else np.repeat(found[..., np.newaxis], 3, axis=2)


def pictures(longest_px: int = LONGEST_PX) -> tuple[tuple[str, Rgb], ...]:
    """All pictures with their names, their longest side of this length."""
    made = []
    for name, rgb in photographs():
        height, width = rgb.shape[:2]
        scale = longest_px / max(height, width)
        size = round(width * scale), round(height * scale)
        made.append((name, np.ascontiguousarray(resized(rgb, size, (0.0, 0.0, float(width), float(height))))))
    made.append(("scene", scene(longest_px * 9 // 10, longest_px * 3 // 4)))
    return tuple(made)


def full_page(width_px: int, height_px: int) -> Rgb:
    """China (a building before sky) that fills a page."""
    return prepare(dict(photographs())["china"], width_px, height_px)


BWY = typical.panel(typical.BLACK, typical.WHITE, typical.YELLOW)
FOUR_GREYS = typical.panel(*(typical.GREYS[place] for place in (0, 5, 10, 15)), tone=Tone.GREYS)

PANELS: tuple[tuple[str, Panel], ...] = (
    ("black, white", typical.BW),
    ("with red", typical.BWR),
    ("with yellow", BWY),
    ("with red, yellow", typical.BWRY),
    ("six inks", typical.SIX),
    ("four greys", FOUR_GREYS),
    ("sixteen greys", typical.SIXTEEN),
)
"""The ink sets by their names in the tables; colours typical of reflective panels, from memory."""
