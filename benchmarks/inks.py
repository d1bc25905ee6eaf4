"""Separation measured: how near to the wanted colours, and how fast, against the usual way of an image library.

The usual way is Pillow's error diffusion onto pure CSS colours. Quality is the mean CIEDE2000 after a filter
that does what the eye does at 0.7 m on pixels of 0.19 mm (in the manner of S-CIELAB: Zhang and Wandell 1996,
figures from memory), against the picture with its lightness fitted to the panel. Times are of this thread's
CPU, the least of several runs; read them as ratios.
"""

import math
import sys
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from tests.inks import typical

from wallbill.inks import colour, gamut
from wallbill.inks.bluenoise import scatter
from wallbill.inks.colour import Floats
from wallbill.inks.inkset import InkSet, ink_set
from wallbill.inks.separation import separate
from wallbill.panels.model import Panel, Tone

PIXELS_PER_DEGREE = 64.3
# Opponent channels and the eye's spreads in degrees with their weights, per channel (from memory).
_OPPONENT = np.array(((0.279, 0.72, -0.107), (-0.449, 0.29, -0.077), (0.086, -0.59, 0.501)))
_SPREADS = (
    ((0.0283, 0.921), (0.133, 0.105)),
    ((0.0392, 0.531), (0.494, 0.33)),
    ((0.0536, 0.488), (0.386, 0.371)),
)


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


def _blurred(plane: Floats, spread_deg: float) -> Floats:
    """A plane under a Gaussian of this spread (exp(-r²/s²)), borders mirrored."""
    sigma = spread_deg * PIXELS_PER_DEGREE / math.sqrt(2)
    reach = max(1, math.ceil(3 * sigma))
    kernel = np.exp(-(np.arange(-reach, reach + 1) ** 2) / (2 * sigma**2))
    kernel /= kernel.sum()
    for axis in (0, 1):
        pads = [(reach, reach) if a == axis else (0, 0) for a in (0, 1)]
        padded = np.pad(plane, pads, mode="reflect")
        windows = np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1, axis=axis)
        plane = windows @ kernel
    return plane


def seen(light: Floats) -> Floats:
    """CIELAB of linear light (height, width, 3) as the eye makes it out from 0.7 m."""
    opponent = colour.linear_to_xyz(light) @ _OPPONENT.T
    planes = []
    for part, spreads in enumerate(_SPREADS):
        total = sum(weight for _, weight in spreads)
        planes.append(sum(_blurred(opponent[..., part], s) * (w / total) for s, w in spreads))
    return colour.xyz_to_lab(np.stack(planes, axis=-1) @ np.linalg.inv(_OPPONENT).T)


def usual(rgb: NDArray[np.uint8], panel: Panel) -> NDArray[np.uint8]:
    """Codes by the usual way: Floyd and Steinberg's diffusion onto the pure CSS colours."""
    palette = Image.new("P", (1, 1))
    css = [part for ink in panel.inks for part in ink.css]
    palette.putpalette(css + css[:3] * (256 - len(panel.inks)))
    codes = np.asarray(Image.fromarray(rgb).quantize(palette=palette, dither=Image.Dither.FLOYDSTEINBERG))
    return np.where(codes < len(panel.inks), codes, 0).astype(np.uint8)


def _shown(inks: InkSet) -> Floats:
    """Linear light (inks, 3) of the inks, the panel's white = 1."""
    return colour.lms_to_linear(inks.shown)


def least_ms(work: Callable[[], object], runs: int = 9) -> float:
    """Least CPU time of this thread in milliseconds."""
    times = []
    for _ in range(runs):
        start = time.thread_time()
        work()
        times.append(time.thread_time() - start)
    return min(times) * 1000


def quality() -> list[str]:
    """The mean colour difference of both ways for each kind of panel, as rows of a table.

    "mapped": against the nearest colours that the inks can mix. "fitted": against the picture with only its
    lightness fitted to the panel, so that the loss of colour counts too.
    """
    rgb = scene(360, 300)
    whole = np.ones(rgb.shape[:2], dtype=np.bool_)
    rows = ["| inks | mapped: usual | ours | ratio | fitted: usual | ours | ratio |", "|" + " --- |" * 7]
    for name, panel in _panels():
        inks = ink_set(panel.inks)
        codes = (usual(rgb, panel), separate(rgb, panel=panel, picture=whole).codes)
        row = f"| {name} |"
        for target in _targets(rgb, panel):
            wanted = seen(target.reshape(rgb.shape))
            one, other = (colour.ciede2000(seen(_shown(inks)[each]), wanted).mean() for each in codes)
            row += f" {one:.2f} | {other:.2f} | {other / one:.2f} |"
        rows.append(row)
    return rows


def _targets(rgb: NDArray[np.uint8], panel: Panel) -> tuple[Floats, Floats]:
    """Linear light (pixels, 3) wanted of the panel: mapped to its inks, and with its lightness fitted only."""
    inks = ink_set(panel.inks)
    light = colour.codes_to_linear(rgb.reshape(-1, 3))
    if panel.tone is Tone.INKS:
        fitted = colour.oklab_to_linear(gamut.fitted(light, inks))
        return gamut.picture_coverages(light, inks) @ _shown(inks), fitted
    levels = np.array([ink.lab[0] for ink in panel.inks])
    lightness = colour.lightness(colour.linear_to_xyz(light)[:, 1])
    wanted = levels.min() + lightness / 100 * (levels.max() - levels.min())
    grey = colour.luminance(wanted) / colour.luminance(levels.max())
    return (grey[:, np.newaxis].repeat(3, axis=1),) * 2


def _panels() -> tuple[tuple[str, Panel], ...]:
    """The panels that are measured."""
    return (
        ("black, white", typical.BW),
        ("black, white, red", typical.BWR),
        ("black, white, red, yellow", typical.BWRY),
        ("six inks", typical.SIX),
        ("sixteen greys", typical.SIXTEEN),
    )


def speed() -> list[str]:
    """Times at 800 x 480, as rows of a table."""
    rgb, smoothed = scene(800, 480), _page()
    crisp = np.where((smoothed % 255 == 0).all(axis=2, keepdims=True), smoothed, 255).astype(np.uint8)
    rows = ["| what | usual, ms | ours, ms | ratio | link table, once, ms |", "|" + " --- |" * 5]
    for name, panel in _panels()[:4]:
        inks = ink_set(panel.inks)
        tables = gamut.make_tables(inks)
        other, ours = least_ms(partial(usual, rgb, panel)), least_ms(partial(scatter, rgb, tables))
        once = least_ms(partial(gamut.make_tables, inks), 2)
        rows.append(f"| a picture, {name} | {other:.1f} | {ours:.1f} | {ours / other:.2f} | {once:.0f} |")
    for name, page in (("a page of exact inks", crisp), ("a page with smoothed edges", smoothed)):
        other = least_ms(partial(usual, page, typical.BWR))
        ours = least_ms(partial(separate, page, panel=typical.BWR), 25)
        rows.append(f"| {name}, black, white, red | {other:.1f} | {ours:.1f} | {ours / other:.2f} | |")
    return rows


def _page() -> NDArray[np.uint8]:
    """A page of smoothed shapes in black and red on white: about 2 % of its pixels are soft."""
    chance = np.random.default_rng(0)
    image = Image.new("RGB", (3200, 1920), "white")
    draw = ImageDraw.Draw(image)
    for number in range(400):
        x, y, r = (int(v) for v in chance.integers((0, 0, 12), (3100, 1850, 60)))
        draw.ellipse((x, y, x + r, y + r), fill=("black", "red", "black", "white")[number % 4])
    return np.asarray(image.resize((800, 480), Image.Resampling.BOX))


def report() -> str:
    """Both tables as Markdown."""
    return "\n".join((*quality(), "", *speed(), ""))


if __name__ == "__main__":
    print(report())
