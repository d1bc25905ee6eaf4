"""The patches of a target, and their dots: each an exact share of one ink on another."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from wallbill.inks import colour
from wallbill.inks.impression import Mask
from wallbill.inks.tints import bayer
from wallbill.panels.model import Ink

PERIOD_PX = 8
"""Every pattern repeats after so many pixels, each way."""

CELL = PERIOD_PX * PERIOD_PX
"""Pixels in one repeat of a pattern: shares are told in this many parts."""

Box = tuple[int, int, int, int]
"""Left, top, width and height, pixels of the page."""


class Kind(StrEnum):
    """What a patch is for.

    ``SOLID``: one ink. ``FINE``: dots of one pixel. ``CLUSTER``: dots of 4 by 4. ``RAMP``: a step of a ramp. ``BAR``: a
    step to be matched by eye, ``EYE``: the checker around it. ``GHOST``: what stood there before should not be seen.
    """

    SOLID = "solid"
    FINE = "fine"
    CLUSTER = "cluster"
    RAMP = "ramp"
    BAR = "bar"
    EYE = "eye"
    GHOST = "ghost"


@dataclass(frozen=True, slots=True)
class Patch:
    """One field of a target: ``count`` of 64 pixels in ``ink``, the others in ``ground``; places in a panel's inks.

    ``sheet``: from 1. ``box``: on its sheet. ``number``: of a bar, as it is printed; 0 for all others.
    """

    name: str
    kind: Kind
    ink: int
    ground: int
    count: int
    sheet: int
    box: Box
    number: int = 0

    @property
    def share(self) -> float:
        """Coverage of ``ink``, 0 to 1."""
        return self.count / CELL


def by_written_light(inks: tuple[Ink, ...]) -> tuple[int, ...]:
    """Places of inks from white to black by their CSS colours: as written, so that no measuring changes a target."""
    light = np.array([colour.linear_to_xyz(colour.codes_to_linear(ink.css))[1] for ink in inks])
    return tuple(int(at) for at in np.argsort(-light, kind="stable"))


def dots(kind: Kind, count: int) -> Mask:
    """One repeat of a pattern with ``count`` of 64 pixels set: bool (8, 8).

    Clusters are squares of 4 by 4 at 16, 32 and 48, on a checkerboard; counts between grow or shrink them pixel by pixel.
    Fine dots and ramps are an ordered pattern (`bayer`), which at 32 is a checker of single pixels. Raises `ValueError`
    for a count outside 0 to 64.
    """
    if not 0 <= count <= CELL:
        raise ValueError(f"a pattern has 0 to {CELL} dots, got {count}")
    order = _cluster_order() if kind in {Kind.CLUSTER, Kind.BAR} else bayer(PERIOD_PX).astype(np.int64)
    found: Mask = order < count
    return found


def _cluster_order() -> np.ndarray[tuple[int, int], np.dtype[np.int64]]:
    """The order in which pixels of two squares of 4 by 4 take ink, from their middles out; then those of the other two.

    So 16 dots are one square in four, 32 a checkerboard of squares, 48 all but one square.
    """
    order = np.full((PERIOD_PX, PERIOD_PX), -1, dtype=np.int64)
    half = PERIOD_PX // 2
    for turn, (down, across) in enumerate(((0, 0), (half, half), (0, half), (half, 0))):
        order[down : down + half, across : across + half] = _within() + turn * half * half
    return order


def _within() -> np.ndarray[tuple[int, int], np.dtype[np.int64]]:
    """The order of the pixels of a square of 4 by 4 from one corner: a growing square, 1, 4, 9, 16."""
    square = np.zeros((4, 4), dtype=np.int64)
    rank = 0
    for side in range(4):
        for place in range(side):
            square[place, side], square[side, place] = rank, rank + 1
            rank += 2
        square[side, side] = rank
        rank += 1
    return square


def tile(pattern: Mask, width_px: int, height_px: int) -> Mask:
    """A pattern repeated over a box from its left top corner: bool (height, width)."""
    down, across = -(-height_px // PERIOD_PX), -(-width_px // PERIOD_PX)
    whole: Mask = np.tile(pattern, (down, across))[:height_px, :width_px]
    return whole
