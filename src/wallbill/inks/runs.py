"""Soft pixels: those that are neither ink nor flat colour, in runs along rows and columns.

A run is a stretch of soft pixels with no other between them. What lies before and after it tells what it is:
the two sides of an edge, or the ground on both sides of a thin line.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wallbill.inks.impression import Mask
from wallbill.inks.packed import NONE, Packed

Places = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Runs:
    """The runs of one direction, one item a soft pixel, in the soft pixels' order of reading.

    ``number``: which run, from 0. ``position``: place in the run, from 0. ``length``: the run's pixels.
    ``order``: the soft pixels run after run. ``before``, ``after``: packed colour of the settled pixel at each end; where the page or a picture is in
    the way, the other end's; 0 if both are.
    """

    number: Places
    position: Places
    length: Places
    order: Places
    before: Packed
    after: Packed


@dataclass(frozen=True, slots=True, eq=False)
class Soft:
    """The soft pixels of a page in order of reading: their places, and their runs each way."""

    x_px: Places
    y_px: Places
    across: Runs
    down: Runs


def soft_runs(soft: Mask, settled: Packed) -> Soft:
    """Finds the runs. ``settled``: packed colours, 0 where a pixel is soft or of a picture; both (h, w)."""
    width_px = soft.shape[1]
    places = np.flatnonzero(soft)
    y_px, x_px = np.divmod(places, width_px)
    across = _runs((y_px, x_px), settled)
    turn = np.lexsort((y_px, x_px))
    turned = _runs((x_px[turn], y_px[turn]), settled.T)
    back = np.empty_like(turn)
    back[turn] = np.arange(len(turn))
    down = Runs(
        turned.number[back],
        turned.position[back],
        turned.length[back],
        turn,
        turned.before[back],
        turned.after[back],
    )
    return Soft(x_px, y_px, across, down)


def _runs(places: tuple[Places, Places], settled: Packed) -> Runs:
    """Runs of soft pixels at (line, place in the line), sorted so, on a page of settled colours."""
    line, along = places
    starts = np.ones(len(line), dtype=np.bool_)
    starts[1:] = (line[1:] != line[:-1]) | (along[1:] != along[:-1] + 1)
    first = np.flatnonzero(starts)
    number = np.cumsum(starts) - 1
    lengths = np.diff(first, append=len(line))
    end = along[first] + lengths
    head = np.where(along[first] > 0, settled[line[first], along[first] - 1], np.uint32(NONE))
    last = settled.shape[1] - 1
    tail = np.where(end <= last, settled[line[first], np.minimum(end, last)], np.uint32(NONE))
    before, after = np.where(head == NONE, tail, head), np.where(tail == NONE, head, tail)
    position = np.arange(len(line)) - first[number]
    return Runs(number, position, lengths[number], np.arange(len(line)), before[number], after[number])


def per_run(runs: Runs, mask: Mask) -> Mask:
    """For each soft pixel, whether ``mask`` (n,) holds for any pixel of its run."""
    if not len(mask):
        return mask
    counts = np.bincount(runs.number, weights=mask)
    held: Mask = counts[runs.number] > 0
    return held
