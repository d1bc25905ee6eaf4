"""Makes the side-by-side pictures of docs/explanation/inks.md: docs/pictures/inks-*.png.

A small cut of a photograph in six ways, pixels doubled, in the colours that the panel shows beside white paper. The photographs are
scikit-image's cat and coffee (both CC0) and the example wall's own. Run it after a change to how dots are found:
``python scripts/make_ink_sheets.py``.
"""

import sys
from collections.abc import Callable
from importlib import resources
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from benchmarks.inks_pictures import FOUR_GREYS, pictures
from benchmarks.inks_ways import Setting, best_library, ours, usual
from tests.inks import typical

from wallbill.inks import colour
from wallbill.inks.impression import Codes, Rgb
from wallbill.inks.manner import Way
from wallbill.inks.pictures import prepare
from wallbill.inks.proof import PAPER, ink_colours
from wallbill.inks.shell import load_picture
from wallbill.panels.model import Panel

ROOT = Path(__file__).resolve().parents[1]
TARGET = ROOT / "docs" / "pictures"
WIDTH_PX, HEIGHT_PX = 144, 112
SCALE = 2
GAP_PX, LABEL_PX, TYPE_PX = 8, 22, 14
FACE = str(resources.files("fontpkg_noto_sans") / "files" / "NotoSans[wdth,wght].ttf")
WAYS: tuple[tuple[str, Callable[[Rgb, Setting], Codes]], ...] = (
    ("the usual way", usual),
    ("the same library at its best", best_library),
    ("quick", ours(Way.QUICK)),
    ("fine", ours(Way.FINE)),
)
SHEETS: tuple[tuple[str, Panel, str, tuple[int, int]], ...] = (
    ("red", typical.BWR, "harbour", (205, 45)),
    ("four-inks", typical.BWRY, "coffee", (120, 60)),
    ("six-inks", typical.SIX, "cat", (110, 40)),
    ("four-greys", FOUR_GREYS, "harbour", (60, 60)),
)
"""Name, panel, photograph, and left and top of the cut in pixels of the photograph at 400 px."""


def photographs() -> dict[str, Rgb]:
    """The photographs by name, 400 pixels wide."""
    found = dict(pictures())
    harbour = load_picture(ROOT / "examples" / "fennel-quay" / "pictures" / "harbour.jpg")
    found["harbour"] = prepare(harbour, 400, 400 * harbour.shape[0] // harbour.shape[1])
    return found


def shown(rgb: Rgb, setting: Setting) -> NDArray[np.uint8]:
    """What the panel could show if it had no dots: the nearest mix of inks for each pixel, beside paper."""
    white = colour.luminance(setting.panel.inks[setting.inks.white].lab[0])
    return colour.linear_to_codes(np.clip(setting.targets(rgb)[0] * float(white) / PAPER, 0, 1))


def sheet(rgb: Rgb, panel: Panel, at: tuple[int, int]) -> Image.Image:
    """Six cuts in two rows, each with its name below."""
    setting = Setting(panel)
    left, top = at
    box = slice(top, top + HEIGHT_PX), slice(left, left + WIDTH_PX)
    cuts = [("on a screen", rgb), ("the nearest mixes of inks", shown(rgb, setting))]
    # Separated whole and then cut: the start of a picture flatters error diffusion.
    cuts += [(name, ink_colours(panel.inks)[way(rgb, setting)]) for name, way in WAYS]
    order = (0, 2, 3, 1, 4, 5)
    width, height = WIDTH_PX * SCALE, HEIGHT_PX * SCALE
    made = Image.new("RGB", (3 * width + 2 * GAP_PX, 2 * (height + LABEL_PX)), "white")
    draw, face = ImageDraw.Draw(made), ImageFont.truetype(FACE, TYPE_PX)
    for place, number in enumerate(order):
        name, pixels = cuts[number]
        x, y = (place % 3) * (width + GAP_PX), (place // 3) * (height + LABEL_PX)
        made.paste(Image.fromarray(pixels[box]).resize((width, height), Image.Resampling.NEAREST), (x, y))
        draw.text((x, y + height + 1), name, fill="black", font=face)
    return made


def main() -> None:
    """Writes one picture an ink set."""
    given = photographs()
    for name, panel, photograph, at in SHEETS:
        target = TARGET / f"inks-{name}.png"
        made = sheet(given[photograph], panel, at)
        made.save(target, optimize=True)
        print(target, target.stat().st_size)


if __name__ == "__main__":
    main()
