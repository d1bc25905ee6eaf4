"""Photographs that were never taken: a sheet in perspective, in uneven light, blurred, with noise, as JPEG."""

import io
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from wallbill.inks import colour, halftone
from wallbill.inks.calibration.patches import Kind
from wallbill.inks.calibration.target import Target
from wallbill.inks.inkset import ink_set
from wallbill.panels.model import Ink

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Shot:
    """How a picture is taken. ``fill``: the panel's longer side as a share of the picture's. ``fall``: how much of the light is
    lost towards one corner. ``exposure``: the panel's white in linear light. ``cast``: what the camera's white balance is off
    by, for each channel. ``quality``: of JPEG, 0 for none.
    """

    turned_deg: float = 0.0
    side_px: int = 1600
    fill: float = 0.8
    lean: float = 0.1
    fall: float = 0.3
    exposure: float = 0.55
    blur_px: float = 0.8
    noise: float = 0.004
    cast: tuple[float, float, float] = (1.0, 1.0, 1.0)
    quality: int = 92


def on_panel(target: Target, sheet: int, inks: tuple[Ink, ...], n: float) -> Floats:
    """Linear light (height, width, 3) of a sheet, its white being 1: dots gain by Yule and Nielsen's factor."""
    lights = colour.lms_to_linear(ink_set(inks).shown)
    codes = target.sheets[sheet - 1].impression.codes
    light = lights[codes]
    for patch in target.patches:
        if patch.sheet == sheet and patch.kind not in {Kind.EYE, Kind.BAR}:
            left, top, width, height = patch.box
            part = light[top : top + height, left : left + width]
            shares = (patch.share, 1 - patch.share)
            ends = ink_set(inks).shown[[patch.ink, patch.ground]]
            wanted = colour.lms_to_linear(halftone.mix(shares, ends, n=n))
            part *= wanted / part.mean(axis=(0, 1))
    return light


def photograph(light: Floats, shot: Shot) -> NDArray[np.uint8]:
    """The picture: uint8 (side, side, 3), sRGB."""
    height, width = light.shape[:2]
    zoom = max(1, round(2 * shot.fill * shot.side_px / max(width, height)))
    large = np.repeat(np.repeat(light, zoom, axis=0), zoom, axis=1).astype(np.float32)
    side = shot.side_px
    ends = _ends(width, height, shot)
    way = _perspective(ends, np.array([(0, 0), (width, 0), (width, height), (0, height)]) * zoom)
    planes = []
    for part in range(3):
        plane = Image.fromarray(large[..., part])
        wall = Image.fromarray(np.full((side, side), 1.4, dtype=np.float32))
        bent = plane.transform(
            (2 * side, 2 * side),
            Image.Transform.PERSPECTIVE,
            _halved(way),
            Image.Resampling.BILINEAR,
            fillcolor=-1,
        )
        seen = np.asarray(bent).reshape(side, 2, side, 2).mean(axis=(1, 3))
        planes.append(np.where(seen < 0, np.asarray(wall), seen))
    picture = np.stack(planes, axis=-1)
    y, x = np.mgrid[0:side, 0:side] / side
    picture *= (
        (1 - shot.fall * (0.6 * x + 0.4 * y * y))[..., np.newaxis] * shot.exposure * np.array(shot.cast)
    )
    if shot.blur_px:
        picture = np.stack([_blurred(picture[..., part], shot.blur_px) for part in range(3)], axis=-1)
    picture += np.random.default_rng(7).normal(0, shot.noise, picture.shape)
    codes = colour.linear_to_codes(np.clip(picture, 0, 1))
    if not shot.quality:
        return codes
    data = io.BytesIO()
    Image.fromarray(codes).save(data, "JPEG", quality=shot.quality)
    return np.asarray(Image.open(data))


def _ends(width: int, height: int, shot: Shot) -> Floats:
    """Where the sheet's corners come to lie."""
    scale = shot.fill * shot.side_px / np.hypot(width, height)
    corners = (np.array([(0, 0), (width, 0), (width, height), (0, height)]) - (width / 2, height / 2)) * scale
    angle = np.radians(shot.turned_deg)
    turned = corners @ np.array([(np.cos(angle), np.sin(angle)), (-np.sin(angle), np.cos(angle))])
    away = 1 + shot.lean * (turned @ (0.7, 0.7)) / shot.side_px
    place: Floats = turned / away[:, np.newaxis] + shot.side_px / 2
    return place


def _perspective(photo: Floats, sheet: Floats) -> Floats:
    """The eight figures with which Pillow looks up a place of the sheet for one of the photograph."""
    rows, sides = [], []
    for (x, y), (u, v) in zip(photo, sheet, strict=True):
        rows += [(x, y, 1, 0, 0, 0, -u * x, -u * y), (0, 0, 0, x, y, 1, -v * x, -v * y)]
        sides += [u, v]
    return np.linalg.solve(np.array(rows), np.array(sides))


def _halved(way: Floats) -> list[float]:
    """The same for a picture of twice the size."""
    a, b, c, d, e, f, g, h = way
    return [a / 2, b / 2, c, d / 2, e / 2, f, g / 2, h / 2]


def _blurred(plane: Floats, radius_px: float) -> Floats:
    """A plane blurred as a lens does it, in light: by a kernel of our own, as Pillow blurs bytes only."""
    reach = int(np.ceil(3 * radius_px))
    line = np.exp(-(np.arange(-reach, reach + 1) ** 2) / (2 * radius_px**2))
    line /= line.sum()
    seen = plane
    for axis in (0, 1):
        padded = np.pad(seen, [(reach, reach) if one == axis else (0, 0) for one in (0, 1)], mode="edge")
        moved = [np.take(padded, range(at, at + seen.shape[axis]), axis=axis) for at in range(len(line))]
        seen = np.tensordot(line, np.stack(moved), axes=1)
    return seen
