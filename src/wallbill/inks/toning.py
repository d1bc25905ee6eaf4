"""Tones of a picture for a panel that is no bright screen: its range filled, its middle lifted, its detail kept.

A reflective panel's white sends back less than half of the light, and its black is a dark grey. A picture made for a
screen looks dull and heavy on it. The curve works on lightness (CIE L*); local contrast is an unsharp mask of large
radius in linear light. Colours keep their hue, and as much of their chroma as there is room for.
"""

from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from wallbill.inks import colour
from wallbill.inks.colour import Floats
from wallbill.inks.impression import Rgb


@dataclass(frozen=True, slots=True)
class Tones:
    """How a picture's tones are changed.

    ``cut``: hundredths of the pixels that may become plain black, and as many plain white. ``stretch``: how many times
    the range of lightness may be widened at most, so that fog stays fog. ``lift``: exponent of lightness, below 1
    lightens the middle. ``local``: share of the local contrast that is added, 0 for none.
    """

    cut: float
    stretch: float
    lift: float
    local: float


AS_IS = Tones(cut=0.0, stretch=1.0, lift=1.0, local=0.0)
"""Changes nothing."""

PRESETS = MappingProxyType(
    {
        "as-is": AS_IS,
        "soft": Tones(cut=0.1, stretch=1.2, lift=0.92, local=0.15),
        "clear": Tones(cut=0.5, stretch=1.5, lift=0.85, local=0.3),
        "strong": Tones(cut=1.0, stretch=2.0, lift=0.8, local=0.6),
    }
)
"""Named tones; ``clear`` is taken where none is named. Figures in docs/reference/pictures.md are measured."""

USUAL = "clear"

_RADIUS = (
    1 / 12
)  # of the shorter side: what is larger than this counts as light and shade, what is smaller as detail
_PASSES = 3  # of a box filter: near enough to a Gaussian
_MOST_GAIN = 2.0  # no place gets more than so many times lighter or darker by local contrast: no halos
_WHITE = 100.0
_LUMINANCE = (0.21263900587151027, 0.715168678767756, 0.07219231536073371)  # linear sRGB: IEC 61966-2-1
_DARK = 1e-6
_STEPS = 1001


def toned(rgb: Rgb, tones: Tones) -> Rgb:
    """The picture with its tones changed: uint8 (height, width, 3), read-only. `AS_IS` changes nothing."""
    if tones == AS_IS:
        return rgb
    light = colour.LIGHT_OF_CODE[rgb]
    before = light @ np.array(_LUMINANCE)
    detailed = _detailed(before, tones.local)
    # The curve is worked out in even steps of lightness and read off in between: 384,000 cube roots take longer.
    steps = np.linspace(0, _WHITE, _STEPS)
    curve = colour.luminance(_curve(steps, _ends(detailed, tones), tones.lift))
    result = colour.linear_to_codes(
        _recoloured(light, before, np.interp(detailed, colour.luminance(steps), curve))
    )
    result.setflags(write=False)
    return result


def _detailed(luminance: Floats, amount: float) -> Floats:
    """Luminance (height, width) with its local contrast raised."""
    if amount == 0:
        return luminance
    around = blurred(luminance, max(1, round(min(luminance.shape) * _RADIUS)))
    wanted = luminance + amount * (luminance - around)
    detailed: Floats = np.clip(wanted, luminance / _MOST_GAIN, np.minimum(luminance * _MOST_GAIN, 1.0))
    return detailed


def _ends(luminance: Floats, tones: Tones) -> tuple[float, float]:
    """The lightness that becomes black, and that which becomes white, as far apart as they have to stay."""
    ends = np.percentile(luminance, (tones.cut, _WHITE - tones.cut))
    low, high = (float(end) for end in colour.lightness(ends))
    span = max(high - low, _WHITE / tones.stretch)
    start = min(max((low + high - span) / 2, 0.0), _WHITE - span)
    return start, start + span


def _curve(lightness: Floats, ends: tuple[float, float], lift: float) -> Floats:
    """Lightness with its ends brought to black and white, and its middle lifted."""
    return _WHITE * np.clip((lightness - ends[0]) / (ends[1] - ends[0]), 0, 1) ** lift


def _recoloured(light: Floats, before: Floats, after: Floats) -> Floats:
    """Linear light (height, width, 3) brought from one luminance to another; what leaves the range loses chroma."""
    gain = after / np.maximum(before, _DARK)
    result: Floats = light * gain[..., np.newaxis]
    black = before < _DARK
    result[black] = after[black][:, np.newaxis]
    over = result.max(axis=2) > 1
    if over.any():
        grey, some = after[over][:, np.newaxis], result[over]
        room = (1 - grey) / np.maximum(some.max(axis=1, keepdims=True) - grey, _DARK)
        result[over] = grey + (some - grey) * np.clip(room, 0, 1)
    return result


def blurred(plane: Floats, radius_px: int) -> Floats:
    """A plane under three box filters of 2 r + 1 pixels, its borders mirrored; shape kept, so is an even plane."""
    for _ in range(_PASSES):
        for axis in (0, 1):
            plane = _boxed(plane, min(radius_px, plane.shape[axis] - 1), axis=axis)
    return plane


def _boxed(plane: Floats, radius_px: int, *, axis: int) -> Floats:
    if radius_px < 1:
        return plane
    pads = [(radius_px + 1, radius_px) if a == axis else (0, 0) for a in (0, 1)]
    sums: NDArray[np.float64] = np.cumsum(np.pad(plane, pads, mode="symmetric"), axis=axis)
    wide = 2 * radius_px + 1
    last = np.take(sums, range(wide, sums.shape[axis]), axis=axis)
    first = np.take(sums, range(sums.shape[axis] - wide), axis=axis)
    boxed: Floats = (last - first) / wide
    return boxed
