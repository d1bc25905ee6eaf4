"""The parts that weather icons are composed of, as masks: clouds, sun, moon, bolt, and what falls."""

import math
from types import MappingProxyType

import numpy as np

from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import Grid, Sketch, from_letters
from wallbill.blocks.drawing.shapes import Point, Size
from wallbill.blocks.icons.sizes import Cloud, Sun
from wallbill.inks.impression import Mask

SLANTING = MappingProxyType({1: 0, 2: 1, 3: 2, 4: 2, 5: 3, 6: 4, 8: 5, 10: 7})
"""Diagonals to either side of the middle one that look as wide as an upright stroke of so many pixels."""


def cloud(size: Size, shape: Cloud, *, at: Point, inset_px: int = 0) -> Mask:
    """A cloud's whole area; ``at`` is the left end of its base.

    ``inset_px``: so many pixels smaller all round: the outline is the area without its inset.
    """
    x, base = at
    lobes = (
        (x + shape.left, base - shape.left, shape.left),
        (x + shape.peak, base - shape.height + shape.top, shape.top),
        (x + shape.width - shape.right, base - shape.right, shape.right),
    )
    left, top, right = ((cx, cy) for cx, cy, _ in lobes)
    body = [left, _valley(lobes[0], lobes[1], inset_px), top, _valley(lobes[1], lobes[2], inset_px), right]
    mask = shapes.polygon(size, [*body, (right[0], base - inset_px), (left[0], base - inset_px)])
    for cx, cy, radius in lobes:
        mask |= shapes.disc(size, (cx, cy), radius_px=radius - inset_px)
    return mask


def _valley(one: tuple[float, float, float], two: tuple[float, float, float], depth: float) -> Point:
    """The upper point where two circles (x, y, radius) meet, ``depth`` lower down."""
    across, down = two[0] - one[0], two[1] - one[1]
    apart = math.hypot(across, down)
    along = (apart**2 + one[2] ** 2 - two[2] ** 2) / (2 * apart)
    aside = math.sqrt(max(0.0, one[2] ** 2 - along**2))
    foot = (one[0] + along * across / apart, one[1] + along * down / apart)
    return foot[0] + aside * down / apart, foot[1] - aside * across / apart + depth


def sun_rays(size: Size, shape: Sun, *, centre: Point, pen_px: int) -> tuple[Mask, ...]:
    """Eight rays, evenly spaced, the first ``shape.gap`` outside the disc; clockwise from the top."""
    x, y = shapes.centres(size)
    across, down = x - centre[0], y - centre[1]
    start = shape.radius + shape.gap
    first, last = start / math.sqrt(2), (start + shape.slant) / math.sqrt(2)
    rays = []
    for dx, dy in ((0, -1), (1, -1), (1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1)):
        along, aside = across * dx + down * dy, np.abs(across * dy - down * dx)
        if dx * dy == 0:
            ray = (aside < pen_px / 2) & (along > start) & (along < start + shape.ray)
        elif pen_px >= _SQUARE_ENDS:
            ahead = along / math.sqrt(2)
            ray = (aside <= SLANTING[pen_px]) & (ahead > start) & (ahead < start + shape.slant)
        else:  # cut level and upright, so that the ends are clean
            near, far = np.minimum(across * dx, down * dy), np.maximum(across * dx, down * dy)
            ray = (aside <= SLANTING[pen_px]) & (near > first) & (far < last)
        rays.append(np.asarray(ray))
    return tuple(rays)


_SQUARE_ENDS = 8
"""From this pen on, slanting rays are wide enough to be cut square like the straight ones."""


def crescent(size: Size, *, centre: Point, radius_px: float) -> Mask:
    """A young moon as the north sees it: a slim crescent, its horns to the left."""
    x, y = centre
    bite_at = (x - round(radius_px * 0.4), y - round(radius_px * 0.25))
    bite = shapes.disc(size, bite_at, radius_px=radius_px - round(radius_px * 0.06))
    mask = shapes.disc(size, centre, radius_px=radius_px) & ~bite
    return shapes.without_specks(mask) if radius_px > 9 else mask


def slanted(size: Size, top: tuple[int, int], *, length_px: int, pen_px: int) -> Mask:
    """A stroke of rain from the pixel ``top`` down, one pixel to the left for every two down, cut level."""
    mask = shapes.nothing(size)
    x, y = top
    for row in range(length_px):
        mask |= shapes.rectangle(size, (x - row // 2, y + row, pen_px, 1))
    return mask


def flake(size: Size, *, centre: tuple[int, int], radius_px: int, arm_px: int) -> Mask:
    """A snow crystal of six arms; ``centre`` is the pixel in the middle, or left above it where ``arm_px`` is even."""
    if radius_px in _CRYSTALS:
        stamp = _CRYSTALS[radius_px]
        return _stamped(size, stamp, at=(centre[0] - radius_px, centre[1] - radius_px))
    x, y = centre[0] + (1 if arm_px % 2 == 0 else 0.5), centre[1] + (1 if arm_px % 2 == 0 else 0.5)
    mask = shapes.nothing(size)
    for turn in range(3):
        angle = math.radians(60 * turn)
        dx, dy = radius_px * math.sin(angle), radius_px * math.cos(angle)
        mask |= shapes.stroke(size, [(x - dx, y - dy), (x + dx, y + dy)], line_px=arm_px)
    return mask


def fog(size: Size, *, pitch_px: int, pen_px: int) -> Mask:
    """Banks of fog: level bars, broken here and there, ``pitch_px`` rows from one to the next."""
    top = (size[1] - pitch_px * (len(_BANKS) - 1) - pen_px) // 2
    return _bars(size, _BANKS, top=top, pitch_px=pitch_px, pen_px=pen_px)


def low_fog(size: Size, *, pitch_px: int, pen_px: int, ice: bool) -> Mask:
    """Two banks of fog at the foot of the drawing; the lower one is a whole bar where there is ``ice`` on it."""
    banks = (_LOW_BANKS[0], _ICE if ice else _LOW_BANKS[1])
    return _bars(size, banks, top=size[1] - pitch_px - pen_px, pitch_px=pitch_px, pen_px=pen_px)


_Banks = tuple[tuple[tuple[int, int], ...], ...]

_BANKS: _Banks = (((4, 13),), ((1, 6), (8, 15)), ((3, 16),), ((0, 9), (11, 15)), ((3, 12),))
_LOW_BANKS: _Banks = (((1, 6), (8, 16)), ((0, 9), (11, 15)))
_ICE = ((1, 15),)
"""Where the bars of fog begin and end, row by row, in sixteenths of the width."""


def _bars(size: Size, banks: _Banks, *, top: int, pitch_px: int, pen_px: int) -> Mask:
    """The bars of ``banks``, the first one's upper edge at the row ``top``."""
    mask = shapes.nothing(size)
    for row, bank in enumerate(banks):
        for start, end in bank:
            left, right = round(start * size[0] / 16), round(end * size[0] / 16)
            mask |= shapes.rectangle(size, (left, top + row * pitch_px, right - left, pen_px))
    return mask


def ball(size: Size, *, top: tuple[int, int], diameter_px: int) -> Mask:
    """A hailstone; ``top`` is the pixel in the middle of its uppermost row, or right of the middle."""
    x, y = top
    return shapes.disc(
        size, (x - diameter_px // 2 + diameter_px / 2, y + diameter_px / 2), radius_px=diameter_px / 2
    )


def pellet(size: Size, *, top: tuple[int, int], height_px: int) -> Mask:
    """A grain of ice: a small triangle, as on weather charts; ``top`` is the pixel of its tip."""
    x, y = top
    widest = pellet_width(height_px) // 2
    mask = shapes.nothing(size)
    for row in range(height_px):
        reach = widest if row == height_px - 1 else row * (widest + 1) // height_px
        mask |= shapes.rectangle(size, (x - reach, y + row, 2 * reach + 1, 1))
    return mask


def pellet_width(height_px: int) -> int:
    """Columns of a grain of ice, an odd number: about as many as its rows."""
    return 2 * ((height_px + 1) // 2) + 1


def bolt(size: Size, *, top: tuple[int, int], height_px: int) -> Mask:
    """A flash of lightning, ``height_px`` pixels high, with ``top`` its left top corner."""
    x, y = top
    if height_px in _FLASHES:
        return _stamped(size, _FLASHES[height_px], at=top)
    unit = height_px / 24
    points = [(6, 0), (0, 13), (5.5, 13), (2, 24), (3, 24), (14, 9), (8, 9), (13, 0)]
    return shapes.without_specks(shapes.polygon(size, [(x + px * unit, y + py * unit) for px, py in points]))


def _stamped(size: Size, stamp: Grid, *, at: tuple[int, int]) -> Mask:
    return Sketch(*size).stamp(stamp, at=at).grid().drawn()


_CRYSTALS = MappingProxyType(
    {
        1: from_letters("""
            #.#
            .#.
            #.#
        """),
        2: from_letters("""
            ..#..
            #.#.#
            .###.
            #.#.#
            ..#..
        """),
        3: from_letters("""
            ...#...
            #..#..#
            .#.#.#.
            ..###..
            .#.#.#.
            #..#..#
            ...#...
        """),
    }
)
"""Snow crystals too small for geometry, by radius."""

_FLASHES = MappingProxyType(
    {
        8: from_letters("""
            ..##.
            .##..
            ##...
            ####.
            ..##.
            .##..
            .#...
            #....
        """),
        12: from_letters("""
            ...###..
            ...##...
            ..###...
            ..##....
            .##.....
            .######.
            #######.
            ....##..
            ...##...
            ..##....
            ..#.....
            .#......
        """),
        16: from_letters("""
            ....#####.
            ....####..
            ...####...
            ...####...
            ..####....
            ..###.....
            .####.....
            .########.
            #########.
            ....####..
            ....###...
            ...###....
            ...##.....
            ..##......
            ..#.......
            .#........
        """),
    }
)
"""Flashes too small for geometry, by height."""
