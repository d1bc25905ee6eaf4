"""The ways from a picture to dots that the ink benchmarks hold side by side, each with the panel's figures at hand.

"usual": an image library's diffusion onto the pure CSS colours, as most scripts do it. "best library": the same library
given our link table and linear light, the best that it can do: one three-dimensional table, then its own quantise. ImageMagick
likewise, as its own process. "serpentine": a plain error diffusion of Floyd and Steinberg (1976) to and fro in linear light.
"""

import shutil
import subprocess
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numba
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from wallbill.inks import colour, gamut
from wallbill.inks.colour import Floats
from wallbill.inks.gamut import SIDE, Tables
from wallbill.inks.impression import Codes, Rgb
from wallbill.inks.inkset import InkSet, Neutrals, ink_set
from wallbill.inks.manner import Manner, Way
from wallbill.inks.separation import separate
from wallbill.inks.shell_compiled import compiled_step
from wallbill.panels.model import Panel, Tone

_TOP16 = 65535


@dataclass(frozen=True, eq=False)
class Setting:
    """A panel with all that the ways need, worked out once."""

    panel: Panel

    @cached_property
    def inks(self) -> InkSet:
        """The ink set with plain neutrals."""
        return ink_set(self.panel.inks)

    @cached_property
    def tables(self) -> Tables:
        """The link table with plain neutrals."""
        return gamut.make_tables(self.inks)

    @cached_property
    def mixed(self) -> Tables:
        """The link table with mixed neutrals."""
        return gamut.make_tables(ink_set(self.panel.inks, neutrals=Neutrals.MIXED))

    @cached_property
    def lights(self) -> Floats:
        """Linear light (inks, 3) of the inks, the panel's white = 1."""
        return colour.lms_to_linear(self.inks.shown)

    @cached_property
    def flat(self) -> Floats:
        """Linear light of the inks cut to what 8 or 16 bits can hold: the palette of the best library way."""
        return np.clip(self.lights, 0, 1)

    def targets(self, rgb: Rgb) -> tuple[Floats, Floats]:
        """Linear light (h, w, 3) wanted of the panel: mapped to its inks, and with its lightness fitted only."""
        light = colour.codes_to_linear(rgb.reshape(-1, 3))
        if self.panel.tone is Tone.INKS:
            fitted = colour.oklab_to_linear(gamut.fitted(light, self.inks))
            mapped = gamut.picture_coverages(light, self.inks) @ self.lights
        else:
            fitted = mapped = self._grey(light)
        return mapped.reshape(rgb.shape), fitted.reshape(rgb.shape)

    def _grey(self, light: Floats) -> Floats:
        levels = np.array([ink.lab[0] for ink in self.panel.inks])
        lightness = colour.lightness(colour.linear_to_xyz(light)[:, 1])
        wanted = levels.min() + lightness / 100 * (levels.max() - levels.min())
        grey = colour.luminance(wanted) / colour.luminance(levels.max())
        return grey[:, np.newaxis].repeat(3, axis=1)

    @cached_property
    def cube(self) -> ImageFilter.Color3DLUT:
        """sRGB to the linear light of the nearest mix, for Pillow: made of our own link table."""
        if self.panel.tone is Tone.INKS:
            sums = np.concatenate((self.tables.cumulative, np.full((1, *(SIDE,) * 3), _TOP16))).astype(float)
            shares = np.diff(sums, axis=0, prepend=0) / _TOP16
            light = np.moveaxis(shares, 0, -1) @ self.flat[list(self.inks.order)]
        else:
            steps = np.linspace(0, 1, SIDE)
            blue, green, red = np.meshgrid(steps, steps, steps, indexing="ij")
            light = self._grey(colour.srgb_to_linear(np.stack((red, green, blue), axis=-1).reshape(-1, 3)))
        return ImageFilter.Color3DLUT(SIDE, light.reshape(-1).astype(np.float32))

    @cached_property
    def css(self) -> Image.Image:
        """A palette of the pure CSS colours."""
        return _palette(np.array([ink.css for ink in self.panel.inks]))

    @cached_property
    def linear(self) -> Image.Image:
        """A palette of the inks' linear light."""
        return _palette(np.rint(self.flat * 255).astype(int))


def _palette(colours: NDArray[np.integer]) -> Image.Image:
    """A picture that holds a palette; places beyond the inks are copies of the first."""
    image = Image.new("P", (1, 1))
    flat = [int(part) for part in colours.reshape(-1)]
    image.putpalette(flat + flat[:3] * (256 - len(colours)))
    return image


def _quantised(image: Image.Image, palette: Image.Image, inks: int) -> Codes:
    codes = np.asarray(image.quantize(palette=palette, dither=Image.Dither.FLOYDSTEINBERG))
    return np.where(codes < inks, codes, 0).astype(np.uint8)


def usual(rgb: Rgb, setting: Setting) -> Codes:
    """The usual way: Pillow's error diffusion onto the pure CSS colours."""
    return _quantised(Image.fromarray(rgb), setting.css, len(setting.panel.inks))


def best_library(rgb: Rgb, setting: Setting) -> Codes:
    """Pillow in linear light with our link table: the best that a general image library can do."""
    return _quantised(Image.fromarray(rgb).filter(setting.cube), setting.linear, len(setting.panel.inks))


def serpentine(rgb: Rgb, setting: Setting) -> Codes:
    """Plain error diffusion to and fro in linear light onto the nearest ink."""
    return _to_and_fro(setting.targets(rgb)[0], setting.lights)


def serpentine_of(light: Floats, lights: Floats) -> Codes:
    """The same from linear light (height, width, 3) onto inks (inks, 3)."""
    return _to_and_fro(light, lights)


@numba.njit(cache=True)  # type: ignore[untyped-decorator,unused-ignore]  # Numba has no types
def _nearest(light: Floats, lights: Floats) -> int:
    best, found = np.inf, 0
    for ink in range(len(lights)):
        far = 0.0
        for part in range(3):
            far += (light[part] - lights[ink, part]) ** 2
        if far < best:
            best, found = far, ink
    return found


@numba.njit(cache=True)  # type: ignore[untyped-decorator,unused-ignore]  # Numba has no types
def _to_and_fro(light: Floats, lights: Floats) -> Codes:
    height, width = light.shape[:2]
    work = light.copy()
    codes = np.zeros((height, width), dtype=np.uint8)
    for y in range(height):
        step = 1 if y % 2 == 0 else -1
        x = 0 if step == 1 else width - 1
        for _ in range(width):
            codes[y, x] = _nearest(work[y, x], lights)
            for part in range(3):
                error = work[y, x, part] - lights[codes[y, x], part]
                if 0 <= x + step < width:
                    work[y, x + step, part] += error * 7 / 16
                if y + 1 < height:
                    work[y + 1, x, part] += error * 5 / 16
                    if 0 <= x - step < width:
                        work[y + 1, x - step, part] += error * 3 / 16
                    if 0 <= x + step < width:
                        work[y + 1, x + step, part] += error * 1 / 16
            x += step
    return codes


def ours(way: Way, *, mixed: bool = False, compiled: bool = False) -> Callable[[Rgb, Setting], Codes]:
    """One of our own ways, through the whole stage as a page goes through it."""

    def made(rgb: Rgb, setting: Setting) -> Codes:
        neutrals = Neutrals.MIXED if mixed else Neutrals.PLAIN
        manner = Manner(way, neutrals, step_for=(lambda _: compiled_step()) if compiled else None)
        tables = None
        if setting.panel.tone is Tone.INKS:
            tables = setting.mixed if mixed else setting.tables
        whole = np.ones(rgb.shape[:2], dtype=np.bool_)
        return separate(rgb, panel=setting.panel, picture=whole, tables=tables, manner=manner).codes

    return made


def magick() -> tuple[str, ...]:
    """How ImageMagick is called, or nothing where it is not installed (Debian: imagemagick)."""
    for name in ("magick", "convert"):
        if shutil.which(name):
            return (name,)
    return ()


def magick_usual(rgb: Rgb, setting: Setting) -> Codes:
    """ImageMagick's diffusion onto the pure CSS colours, in a process of its own."""
    return _magick(rgb, np.array([ink.css for ink in setting.panel.inks]), 255)


def magick_linear(rgb: Rgb, setting: Setting) -> Codes:
    """ImageMagick's diffusion in linear light of 16 bits with our mapping done for it."""
    light = np.clip(setting.targets(rgb)[0], 0, 1)
    return _magick(np.rint(light * _TOP16), np.rint(setting.flat * _TOP16), _TOP16)


def _magick(pixels: NDArray[np.generic], colours: NDArray[np.generic], top: int) -> Codes:
    with tempfile.TemporaryDirectory() as folder:
        given, palette, made = (Path(folder) / name for name in ("in.ppm", "inks.ppm", "out.ppm"))
        given.write_bytes(_ppm(pixels, top))
        palette.write_bytes(_ppm(colours[np.newaxis], top))
        asked = ("-dither", "FloydSteinberg", "-remap", str(palette), "-depth", "16" if top > 255 else "8")
        subprocess.run([*magick(), str(given), *asked, str(made)], check=True)
        found = _ppm_pixels(made.read_bytes(), pixels.shape)
    far = np.abs(found[:, :, np.newaxis] - colours.astype(np.int64)).sum(axis=-1)
    codes: Codes = far.argmin(axis=-1).astype(np.uint8)
    return codes


def _ppm(pixels: NDArray[np.generic], top: int) -> bytes:
    height, width = pixels.shape[:2]
    kind = ">u2" if top > 255 else "u1"
    return f"P6 {width} {height} {top}\n".encode() + pixels.astype(kind).tobytes()


def _ppm_pixels(data: bytes, shape: tuple[int, ...]) -> NDArray[np.int64]:
    """The pixels of a PPM as ImageMagick writes it: four words of head, then 8 or 16 bits a sample."""
    top = int(data.split(maxsplit=4)[3])
    kind = np.dtype(">u2" if top > 255 else "u1")
    body = data[len(data) - int(np.prod(shape)) * kind.itemsize :]
    return np.frombuffer(body, dtype=kind).reshape(shape).astype(np.int64)
