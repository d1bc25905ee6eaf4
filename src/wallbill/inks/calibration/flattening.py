"""A photographed sheet laid flat: where each of its pixels is in the photograph, and how much light falls on it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wallbill.inks import colour
from wallbill.inks.calibration.patches import PERIOD_PX, Box
from wallbill.inks.colour import Floats
from wallbill.inks.impression import Mask, Rgb

_FINEST = 4  # samples along a pixel of the sheet, each way, at the most
_ROUNDS = 4  # of leaving out white that is no plain white: a reflection, a hair


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """How a sheet lies in a photograph. ``to_photo``: float64 (3, 3), from pixels of the sheet to pixels of the photograph.

    ``off_px``: mean distance of the marks' corners from where they should be, pixels of the sheet. ``scale``: pixels of
    the photograph for each of the sheet, where there are fewest.
    """

    to_photo: Floats
    off_px: float
    scale: float

    def at(self, points: Floats) -> Floats:
        """Places in the photograph (n, 2) of places on the sheet (n, 2), x before y, both counted from the edge."""
        return _projected(self.to_photo, points)


def view_of(sheet: Floats, photo: Floats, size: tuple[int, int]) -> View:
    """The perspective that brings points of a sheet (n, 2) to those of a photograph (n, 2), by least squares.

    ``size``: of the sheet, pixels. Source: the direct linear transformation with its points centred and scaled first
    (R. Hartley, IEEE PAMI 19(6), 1997).
    """
    before, after = _centring(sheet), _centring(photo)
    (x, y), (u, v) = _projected(before, sheet).T, _projected(after, photo).T
    nought, one = np.zeros_like(x), np.ones_like(x)
    rows = np.concatenate(
        (
            np.stack((x, y, one, nought, nought, nought, -u * x, -u * y, -u), axis=1),
            np.stack((nought, nought, nought, x, y, one, -v * x, -v * y, -v), axis=1),
        )
    )
    plain = np.linalg.svd(rows)[2][-1].reshape(3, 3)
    matrix = np.linalg.inv(after) @ plain @ before
    scale = min(_scale_at(matrix, corner) for corner in _corners(size))
    off = np.hypot(*(_projected(matrix, sheet) - photo).T).mean() / scale
    return View(matrix, float(off), scale)


def _centring(points: Floats) -> Floats:
    """The matrix that moves points to the middle and scales them to a mean distance of the square root of 2."""
    middle = points.mean(axis=0)
    scale = np.sqrt(2) / np.hypot(*(points - middle).T).mean()
    return np.array([[scale, 0, -scale * middle[0]], [0, scale, -scale * middle[1]], [0, 0, 1]])


def _projected(matrix: Floats, points: Floats) -> Floats:
    flat = np.column_stack((points, np.ones(len(points)))) @ matrix.T
    result: Floats = flat[:, :2] / flat[:, 2:]
    return result


def _corners(size: tuple[int, int]) -> Floats:
    width, height = size
    return np.array([(0, 0), (width, 0), (width, height), (0, height)], dtype=np.float64)


def _scale_at(matrix: Floats, point: Floats) -> float:
    """Pixels of the photograph for one of the sheet at a place, the shorter way."""
    moved = _projected(matrix, point + np.array([(0, 0), (1, 0), (0, 1)]))
    return float(min(np.hypot(*(moved[1] - moved[0])), np.hypot(*(moved[2] - moved[0]))))


def sampled(rgb: Rgb, view: View, box: Box) -> NDArray[np.uint8]:
    """The codes of a box of the sheet, several samples a pixel: uint8 (height, samples, width, samples, 3).

    Samples are the nearest pixels of the photograph; those outside of it are those of its edge.
    """
    left, top, width, height = box
    fine = int(np.clip(np.ceil(view.scale), 2, _FINEST))
    along = (np.arange(width * fine) + 0.5) / fine + left
    down = (np.arange(height * fine) + 0.5) / fine + top
    x, y = np.meshgrid(along, down)
    places = np.floor(view.at(np.column_stack((x.ravel(), y.ravel())))).astype(np.intp)
    rows = np.clip(places[:, 1], 0, rgb.shape[0] - 1)
    columns = np.clip(places[:, 0], 0, rgb.shape[1] - 1)
    return rgb[rows, columns].reshape(height, fine, width, fine, 3)


def light_of(codes: NDArray[np.uint8]) -> Floats:
    """Linear light (3,) of samples of a box: the median of the means of whole patterns of 8 by 8 pixels.

    The mean is what dots give together, whether the photograph shows them or not; the median leaves out dust.
    """
    height, fine, width, _, _ = codes.shape
    down, across = height // PERIOD_PX, width // PERIOD_PX
    whole = codes[: down * PERIOD_PX, :, : across * PERIOD_PX]
    parts = colour.codes_to_linear(whole).reshape(down, PERIOD_PX * fine, across, PERIOD_PX * fine, 3)
    result: Floats = np.median(parts.mean(axis=(1, 3)).reshape(-1, 3), axis=0)
    return result


def inner(box: Box, *, margin_px: int, most_px: int) -> Box:
    """The middle of a box, whole patterns wide and high, ``margin_px`` or more from its edges."""
    left, top, width, height = box
    wide, high = (
        max(PERIOD_PX, min(most_px, length - 2 * margin_px) // PERIOD_PX * PERIOD_PX)
        for length in (width, height)
    )
    return left + (width - wide) // 2, top + (height - high) // 2, wide, high


@dataclass(frozen=True, slots=True, eq=False)
class Evenness:
    """The light of plain white over a sheet: a polynomial of second degree in its places, for each channel.

    ``terms``: float64 (6, 3). ``size``: of the sheet, pixels. ``rough``: how far white is from that, a share of it.
    ``ratio``: the most light over the least.
    """

    terms: Floats
    size: tuple[int, int]
    rough: float
    ratio: float

    def at(self, points: Floats) -> Floats:
        """Linear light (n, 3) of white at places on the sheet (n, 2)."""
        return _powers(points, self.size) @ self.terms


def _powers(points: Floats, size: tuple[int, int]) -> Floats:
    x, y = (points / np.array(size) * 2 - 1).T
    return np.stack((np.ones_like(x), x, y, x * x, x * y, y * y), axis=1)


def evenness(points: Floats, lights: Floats, size: tuple[int, int]) -> Evenness:
    """The light over a sheet from places (n, 2) that are white and their linear light (n, 3).

    Places far from the rest are left out in turn. Raises `ValueError` for fewer than 12 places.
    """
    if len(points) < 12:
        raise ValueError(f"the light over a sheet is told from 12 places or more, got {len(points)}")
    powers = _powers(points, size)
    kept = np.ones(len(points), dtype=np.bool_)
    terms: Floats = np.zeros((6, 3))
    away: Floats = np.zeros(len(points))
    for _ in range(_ROUNDS):
        terms = np.asarray(np.linalg.lstsq(powers[kept], lights[kept], rcond=None)[0], dtype=np.float64)
        away = np.asarray(np.abs(lights - powers @ terms).max(axis=1), dtype=np.float64)
        limit = max(4 * float(np.median(away[kept])), 0.01 * float(lights.mean()))
        closer = away <= limit
        if closer.sum() < 12 or (closer == kept).all():
            break
        kept = closer
    field = _powers(_corners(size), size) @ terms
    whole = np.concatenate((field, lights[kept])).mean(axis=1)
    rough = float(np.median(away[kept]) / lights[kept].mean())
    return Evenness(terms, size, rough, float(whole.max() / max(whole.min(), 1e-6)))


def white_places(codes: NDArray[np.uint8], white: int, *, side_px: int) -> Floats:
    """Left top corners (n, 2) of squares of ``side_px`` that are white all over, spread over a sheet."""
    plain = codes == white
    sums = np.zeros((plain.shape[0] + 1, plain.shape[1] + 1), dtype=np.int64)
    sums[1:, 1:] = plain.cumsum(axis=0).cumsum(axis=1)
    held = (
        sums[side_px:, side_px:]
        - sums[:-side_px, side_px:]
        - sums[side_px:, :-side_px]
        + sums[:-side_px, :-side_px]
    )
    free: Mask = held == side_px * side_px
    places: list[tuple[int, int]] = []
    step = max(side_px, min(codes.shape) // 16)
    for top in range(0, free.shape[0], step):
        for left in range(0, free.shape[1], step):
            down, across = np.nonzero(free[top : top + step, left : left + step])
            if len(down):
                middle = len(down) // 2
                places.append((left + int(across[middle]), top + int(down[middle])))
    return np.array(places, dtype=np.float64).reshape(-1, 2)


def points_of(boxes: Sequence[Box]) -> Floats:
    """The middles (n, 2) of boxes."""
    return np.array([(left + width / 2, top + height / 2) for left, top, width, height in boxes]).reshape(
        -1, 2
    )
