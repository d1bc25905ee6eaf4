"""Blue noise: scattering the dots of a picture without worms and without a memory from pixel to pixel.

A pixel's ink depends on its own colour and its own place on the page, so what did not change on a page
keeps its dots.
"""

import math
from functools import cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from wallbill.inks.gamut import SIDE, Tables
from wallbill.inks.impression import Codes, Rgb

TILE = 64
_SIGMA = 1.5  # pixels: the spread of a dot's energy in the void-and-cluster method
_WHOLE = 1 << 20  # energies are whole numbers, so that every machine makes the same mask
_TAKEN = 1 << 40
_AT_ONCE = 4  # running sums that one pass of Pillow's table gives, as the channels of RGBA

Shares = NDArray[np.uint16]


def _energy_of_a_dot() -> NDArray[np.int64]:
    """Energy around a dot on a torus, tiled twice each way: shape (2 TILE, 2 TILE)."""
    line = [round(_WHOLE * math.exp(-(min(d, TILE - d) ** 2) / (2 * _SIGMA**2))) for d in range(TILE)]
    tile = np.outer(line, line) // _WHOLE
    return np.tile(tile, (2, 2)).astype(np.int64)


def _first_dots() -> list[int]:
    """A tenth of the tile's places, scattered by a fixed linear congruence, each once."""
    places: dict[int, None] = {}
    state = 1
    while len(places) < TILE * TILE // 10:
        state = (state * 1103515245 + 12345) % 2**31  # C's portable example generator (ISO C 7.22.2)
        places[(state >> 8) % (TILE * TILE)] = None
    return list(places)


@cache
def ranks() -> NDArray[np.uint16]:
    """The order in which the places of a tile fill with dots: uint16, shape (64, 64), read-only, 0 to 4095.

    Void and cluster: R. Ulichney, Proc. SPIE 1913, 1993. Takes about 0.1 s the first time.
    """
    spread = _energy_of_a_dot()
    energy = np.zeros((TILE, TILE), dtype=np.int64)

    def around(place: int) -> NDArray[np.int64]:
        y, x = divmod(place, TILE)
        return spread[TILE - y : 2 * TILE - y, TILE - x : 2 * TILE - x]

    dots = np.zeros(TILE * TILE, dtype=bool)
    for place in _first_dots():
        dots[place] = True
        energy += around(place)
    flat = energy.reshape(-1)
    while True:  # move the tightest dot to the widest void until it comes back to where it was
        tight = int(np.argmax(np.where(dots, flat, -1)))
        dots[tight] = False
        energy -= around(tight)
        void = int(np.argmin(np.where(dots, _TAKEN, flat)))
        dots[void] = True
        energy += around(void)
        if void == tight:
            break
    order = np.zeros(TILE * TILE, dtype=np.uint16)
    first, kept = dots.copy(), energy.copy()
    for rank in range(int(dots.sum()) - 1, -1, -1):  # take the first dots away, the tightest first
        tight = int(np.argmax(np.where(dots, flat, -1)))
        dots[tight] = False
        energy -= around(tight)
        order[tight] = rank
    np.copyto(energy, kept + _TAKEN * first.reshape(TILE, TILE))
    for rank in range(int(first.sum()), TILE * TILE):  # then fill the widest voids
        void = int(np.argmin(flat))
        energy += around(void)
        flat[void] += _TAKEN
        order[void] = rank
    tile = order.reshape(TILE, TILE)
    tile.setflags(write=False)
    return tile


def thresholds(width_px: int, height_px: int, *, origin: tuple[int, int] = (0, 0)) -> NDArray[np.uint8]:
    """Thresholds of 0 to 254 for a part of the page, shape (height, width).

    ``origin``: the part's left and top pixel on the page, so that a part has the dots of the whole.
    """
    left, top = origin
    tile = (ranks().astype(np.uint32) * 255 // (TILE * TILE)).astype(np.uint8)
    tile = np.roll(tile, (-(top % TILE), -(left % TILE)), axis=(0, 1))
    return np.tile(tile, (-(-height_px // TILE), -(-width_px // TILE)))[:height_px, :width_px]


def _sums(image: Image.Image, some: Shares) -> NDArray[np.uint8]:
    """Up to four running sums of coverages of an RGB picture, in 255ths: uint8 (height, width, 4), the last ones 255.

    ``some``: uint16 (sums, 33, 33, 33), from a link table. One pass of Pillow's table gives all four.
    """
    cube = np.ones((SIDE, SIDE, SIDE, _AT_ONCE), dtype=np.float32)
    for place, sums in enumerate(some):
        np.multiply(sums, np.float32(1 / 65535), out=cube[..., place])
    table = ImageFilter.Color3DLUT(SIDE, cube.reshape(-1), channels=_AT_ONCE, target_mode="RGBA")
    return np.asarray(image.filter(table))


def coverage_planes(rgb: Rgb, tables: Tables) -> NDArray[np.uint8]:
    """Running sums of the inks' coverages, darkest first, in 255ths: uint8, shape (inks - 1, height, width).

    ``rgb``: uint8 (height, width, 3).
    """
    image = Image.fromarray(np.ascontiguousarray(rgb))
    cumulative = tables.cumulative
    planes = np.empty((len(cumulative), *rgb.shape[:2]), dtype=np.uint8)
    for start in range(0, len(cumulative), _AT_ONCE):
        filtered = _sums(image, cumulative[start : start + _AT_ONCE])
        for place in range(min(_AT_ONCE, len(cumulative) - start)):
            planes[start + place] = filtered[..., place]
    return planes


def lay_by_thresholds(planes: NDArray[np.uint8], *, origin: tuple[int, int] = (0, 0)) -> Codes:
    """Place of each pixel's ink, counted from the darkest, uint8 (height, width), of running sums of coverages.

    ``planes``: as from `coverage_planes`. ``origin``: as for `thresholds`.
    """
    height_px, width_px = planes.shape[1:]
    limits = thresholds(width_px, height_px, origin=origin)
    step = np.zeros((height_px, width_px), dtype=np.uint8)
    for plane in planes:
        step += limits >= plane
    return step


def lay(rgb: Rgb, tables: Tables, *, origin: tuple[int, int] = (0, 0)) -> Codes:
    """The same as `lay_by_thresholds` of `coverage_planes`, in half the time.

    Four sums are compared with the thresholds at once. Of more than five inks some sums are put off: those between
    the inks that are seldom used. They are worked out for the few pixels that fall between their neighbours.
    """
    height_px, width_px = rgb.shape[:2]
    image = Image.fromarray(np.ascontiguousarray(rgb))
    late = _put_off(tables)
    first = [place for place in range(len(tables.cumulative)) if place not in late]
    limits = thresholds(width_px, height_px, origin=origin)
    passed = np.repeat(limits[..., np.newaxis], _AT_ONCE, axis=2) >= _sums(image, tables.cumulative[first])
    count = _counted(passed)
    if not late:
        return count
    # How many sums a pixel has passed that passed so many of the first ones; one more or less if it is between.
    below = np.array([sum(place < mark for place in late) for mark in (*first, len(tables.cumulative))])
    between = np.diff(below, prepend=0)
    step: Codes = (np.arange(len(below)) + below - between).astype(np.uint8).take(count)
    some = np.flatnonzero((between > 0).take(count))
    if len(some):
        few = rgb.reshape(-1, 3).take(some, axis=0)[np.newaxis]
        sums = _sums(Image.fromarray(few), tables.cumulative[list(late)])
        more = np.repeat(limits.take(some)[np.newaxis, :, np.newaxis], _AT_ONCE, axis=2) >= sums
        step.put(some, count.take(some) + _counted(more)[0])
    return step


def _counted(passed: NDArray[np.bool_]) -> Codes:
    """How many of four are true: bool (height, width, 4) to uint8 (height, width).

    Four bytes are added as one number of 32 bits: the sum gathers in its highest byte.
    """
    together = passed.view(np.uint32)[..., 0]
    together *= np.uint32(0x01010101)
    together >>= np.uint32(24)
    count: Codes = together.astype(np.uint8)
    return count


def _put_off(tables: Tables) -> tuple[int, ...]:
    """Which running sums are worked out late: so many that four are left, those between the inks used least.

    Black and white are never among those: pictures hold more of them than the table's cube does.
    """
    spare = len(tables.cumulative) - _AT_ONCE
    if spare <= 0:
        return ()
    means = [0.0, *(float(sums.mean()) for sums in tables.cumulative), 65535.0]
    used = [above - below for below, above in zip(means, means[2:], strict=False)]
    return tuple(sorted(sorted(range(1, len(used) - 1), key=used.__getitem__)[:spare]))


def scatter(rgb: Rgb, tables: Tables, *, origin: tuple[int, int] = (0, 0)) -> Codes:
    """Ink of each pixel of a picture, uint8 (height, width), as places in the panel's list.

    ``rgb``: uint8 (height, width, 3). ``origin``: as for `thresholds`.
    """
    codes: Codes = np.array(tables.order, dtype=np.uint8).take(lay(rgb, tables, origin=origin))
    return codes
