"""Markers: small signs on a line that tell it from others where neither colour nor weight does."""

from enum import StrEnum
from functools import lru_cache

import numpy as np

from wallbill.blocks.drawing.cover import Cover, Soft
from wallbill.blocks.drawing.grid import INK, NOTHING, PAPER, Sketch
from wallbill.blocks.drawing.shapes import Pixel, Reals
from wallbill.inks.impression import Mask

_FINE = 8  # samples across a pixel of a smoothed marker
_FULL = 255


class Marker(StrEnum):
    """A sign by its shape; the ring is open, all others are filled."""

    DISC = "disc"
    RING = "ring"
    SQUARE = "square"
    DIAMOND = "diamond"
    TRIANGLE = "triangle"
    CROSS = "cross"


@lru_cache(maxsize=128)
def marker_mask(marker: Marker, *, across_px: int) -> Mask:
    """The marker's pixels, alike on both sides: bool, shape (``across_px``, ``across_px``), which is odd; read-only."""
    middles = np.arange(across_px, dtype=np.float64) - (across_px - 1) / 2
    mask = _inside(marker, middles[np.newaxis, :], middles[:, np.newaxis], half=across_px / 2)
    mask.setflags(write=False)
    return mask


@lru_cache(maxsize=128)
def marker_cover(marker: Marker, *, across_px: int) -> Cover:
    """As `marker_mask`, smoothed: uint8 of that shape, from 64 samples a pixel; read-only."""
    middles = (np.arange(across_px * _FINE, dtype=np.float64) + 0.5) / _FINE - across_px / 2
    fine = _inside(marker, middles[np.newaxis, :], middles[:, np.newaxis], half=across_px / 2)
    shares = fine.reshape(across_px, _FINE, across_px, _FINE).mean(axis=(1, 3))
    cover = np.asarray(shares * _FULL + 0.5).astype(np.uint8)
    cover.setflags(write=False)
    return cover


def put_marker(sketch: Sketch, marker: Marker, at: Pixel, *, across_px: int, code: int) -> None:
    """Draws a marker about a pixel, with a clear rim of a pixel; the inside of a ring is paper."""
    rim, half = across_px + 2, across_px // 2
    around, corner = (at[0] - half - 1, at[1] - half - 1), (at[0] - half, at[1] - half)
    sketch.put(_solid(marker, across_px=rim), NOTHING, at=around)
    if marker is Marker.RING:
        sketch.put(_solid(marker, across_px=across_px - 2), PAPER, at=(corner[0] + 1, corner[1] + 1))
    if sketch.smooth and code == INK:
        sketch.shade(Soft(marker_cover(marker, across_px=across_px), corner))
    else:
        sketch.put(marker_mask(marker, across_px=across_px), code, at=corner)


def _solid(marker: Marker, *, across_px: int) -> Mask:
    return marker_mask(Marker.DISC if marker is Marker.RING else marker, across_px=across_px)


def _inside(marker: Marker, x: Reals, y: Reals, *, half: float) -> Mask:
    """Whether points about a marker's middle lie in it; ``half``: its reach from there."""
    away = x**2 + y**2
    if marker is Marker.RING:
        return np.asarray((away <= half**2) & (away > (half - max(1.0, half // 3)) ** 2))
    shapes = {
        Marker.DISC: away <= half**2,
        Marker.SQUARE: np.maximum(np.abs(x), np.abs(y)) <= half - 1,
        Marker.DIAMOND: np.abs(x) + np.abs(y) <= half,
        Marker.TRIANGLE: (np.abs(x) <= (y + half) * 0.6) & (y <= half - 1),
        Marker.CROSS: (np.minimum(np.abs(x - y), np.abs(x + y)) <= max(1.0, half / 4))
        & (np.maximum(np.abs(x), np.abs(y)) <= half - 0.5),
    }
    return np.asarray(shapes[marker])
