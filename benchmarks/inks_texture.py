"""What dots look like on flat greys, with no picture to hide them: direction, grain, and whether the tone is kept.

Anisotropy in the manner of R. Ulichney (Digital Halftoning, 1987, from memory): in rings of the power spectrum, the variance over
the square of the mean, in decibels, here the mean over all rings. 36 pieces of 80 x 80 pixels are averaged, so
a spectrum without any direction reads -15.6 dB; above 0 dB directions, that is worms, are seen.
"""

from collections.abc import Callable
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
from benchmarks import inks_ways as ways
from benchmarks.inks_eye import seen
from benchmarks.inks_pictures import PANELS
from benchmarks.inks_ways import Setting
from numpy.typing import NDArray

from wallbill.inks import colour
from wallbill.inks.bluenoise import coverage_planes
from wallbill.inks.colour import Floats
from wallbill.inks.greys import grey_planes, grey_scale
from wallbill.inks.impression import Codes, Rgb
from wallbill.inks.manner import Way
from wallbill.inks.scattering import shares_of
from wallbill.panels.model import Tone

SIDE_PX = 480
GREYS = (26, 50, 74, 98, 122, 146, 170, 194, 218, 242)
"""Codes of the ten flat fields."""

_PIECE_PX = 80

WAYS: MappingProxyType[str, Callable[[Rgb, Setting], Codes]] = MappingProxyType(
    {
        "best library": ways.best_library,
        "serpentine": ways.serpentine,
        "quick": ways.ours(Way.QUICK),
        "diffused": ways.ours(Way.DIFFUSED),
        "fine": ways.ours(Way.FINE, compiled=True),
        "fine, mixed": ways.ours(Way.FINE, mixed=True, compiled=True),
    }
)


class Texture(NamedTuple):
    """Means over the flat fields. ``anisotropy_db``; ``grain``: spread of L* that the eye makes out;
    ``tone`` and ``dots``: error of the mean light in percent of the panel's range, against the wanted light and against the
    coverages that the dots were to have.
    """

    anisotropy_db: float
    grain: float
    tone: float
    dots: float | None


def anisotropy_db(dots: NDArray[np.generic]) -> float:
    """Anisotropy of a field of dots (480, 480), the mean over the rings of its spectrum."""
    count = SIDE_PX // _PIECE_PX
    squares = dots.astype(float).reshape(count, _PIECE_PX, count, _PIECE_PX).swapaxes(1, 2)
    pieces = squares.reshape(-1, _PIECE_PX, _PIECE_PX)
    power = (np.abs(np.fft.fft2(pieces - pieces.mean(axis=(1, 2), keepdims=True))) ** 2).mean(axis=0)
    along = np.fft.fftfreq(_PIECE_PX) * _PIECE_PX
    ring = np.rint(np.hypot(along[:, np.newaxis], along)).astype(int)
    found = []
    for radius in range(1, _PIECE_PX // 2 + 1):
        some = power[ring == radius]
        if some.mean() > 0:
            found.append(10 * np.log10(some.var(ddof=1) / some.mean() ** 2))
    return float(np.mean(found))


def _asked(flat: Rgb, setting: Setting) -> Floats:
    """Luminance that the coverages of a flat field, as 8 bits hold them, add up to."""
    corner = np.ascontiguousarray(flat[:1, :1])
    if setting.panel.tone is Tone.GREYS:
        scale = grey_scale(setting.panel.inks)
        shares, order = shares_of(grey_planes(corner, scale)), scale.order
    else:
        shares, order = shares_of(coverage_planes(corner, setting.tables)), np.array(setting.inks.order)
    light: Floats = _luminance(setting)[order] @ (shares[:, 0, 0] / 255)
    return light


def _luminance(setting: Setting) -> Floats:
    return colour.linear_to_xyz(setting.lights)[:, 1]


def _texture(way: str, setting: Setting) -> Texture:
    luminance = _luminance(setting)
    span = float(np.ptp(luminance))
    rows = []
    for code in GREYS:
        flat = np.full((SIDE_PX, SIDE_PX, 3), code, dtype=np.uint8)
        codes = WAYS[way](flat, setting)
        light = luminance[codes]
        wanted = colour.linear_to_xyz(setting.targets(flat[:1, :1])[0])[0, 0, 1]
        rows.append(
            (
                anisotropy_db(light),
                seen(setting.lights[codes])[..., 0].std(),
                abs(light.mean() - wanted) / span * 100,
                abs(light.mean() - _asked(flat, setting)) / span * 100,
            )
        )
    made = np.mean(rows, axis=0)
    ours = way in {"quick", "diffused", "fine"}  # mixed greys are of other coverages
    return Texture(float(made[0]), float(made[1]), float(made[2]), float(made[3]) if ours else None)


def measure() -> dict[tuple[str, str], Texture]:
    """Textures by ink set and way. Greys of all panels of colours are black and white dots, unless they are mixed."""
    return {
        (name, way): _texture(way, Setting(panel))
        for name, panel in PANELS
        if name in {"black, white", "six inks", "four greys"}
        for way in WAYS
        if name == "six inks" or not way.endswith("mixed")
    }


def report(found: dict[tuple[str, str], Texture]) -> list[str]:
    """Both as a table."""
    rows = [
        "| inks | way | anisotropy, dB | grain, L\\* | tone, % of the range | the same, by the dots alone |",
        "|" + " --- |" * 6,
    ]
    for (name, way), each in found.items():
        dots = "" if each.dots is None else f"{each.dots:.3f}"
        rows.append(
            f"| {name} | {way} | {each.anisotropy_db:.1f} | {each.grain:.2f} | {each.tone:.3f} | {dots} |"
        )
    return rows
