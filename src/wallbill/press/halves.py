"""Type that an engine left at half a pixel falls back on the grid.

A centred line begins at half a pixel when its width and its column's differ in parity, and a line set to the right
may do so in a table, whose columns are no whole numbers. Each pixel of fitted type
is then the mean of two neighbours of the true bitmap, left and right edges alike, so that no threshold can part
them. But the mean can be undone: with ``p`` painted and ``b`` true, ``p[x] = (b[x-1] + b[x]) / 2`` along a row, so
``b[x] = 2 p[x] - b[x-1]``, beginning at a pixel that is an ink. A run is undone only if it also ends as it must,
and only inside of elements whose lines are centred or set to the right; all other half tones stay what they are.
"""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from wallbill.press.model import Box, Mask, Rgba
from wallbill.press.typeplan import Source, TypePlan

LONGEST_RUN_PX = 8  # type does not alternate ink and paper for longer; a tint may
_OVERLAP = 70  # where two glyphs touch, half over half covers three quarters: 64 codes from the ink
TOLERANCE = 12  # codes of 0 to 255: what two roundings and an engine's contrast add up to

Area = tuple[int, int, int, int]
"""Left, top, right, bottom in whole pixels."""

_Colour = tuple[int, int, int]
_Indices = NDArray[np.intp]


def adrift_areas(
    source: Source, plan: TypePlan, ids: Sequence[str | None], *, boxes: Mapping[str, Box]
) -> tuple[Area, ...]:
    """The boxes in which text lies that is centred or set to the right, each once; text of an inline element lies in its parent's."""
    owners = {run.owner for run in source.markup.texts if run.owner in plan.settings}
    found = []
    for owner in sorted(owners):
        setting = plan.settings[owner]
        area = _area(source, owner, ids, boxes=boxes) if setting.adrift else None
        if area:
            over_px = setting.ask.size_px // 4 + 2  # letters may hang over their element's box
            left, top, right, bottom = area
            found.append((left - over_px, top - over_px, right + over_px, bottom + over_px))
    return tuple(dict.fromkeys(found))


def _area(source: Source, owner: int, ids: Sequence[str | None], *, boxes: Mapping[str, Box]) -> Area | None:
    """The box of an element, or of the nearest one around it that has one."""
    index = owner
    while index >= 0:
        name = ids[index]
        box = boxes.get(name) if name else None
        if box is not None and box.width_px > 0 and box.height_px > 0:
            left, top = int(box.x_px), int(box.y_px)
            return left, top, int(box.x_px + box.width_px + 1), int(box.y_px + box.height_px + 1)
        index = source.markup.elements[index].parent
    return None


def settle_halves(rgba: Rgba, *, inks: Sequence[_Colour], areas: Sequence[Area], picture: Mask) -> Rgba:
    """The page with half-pixel type in ``areas`` undone: uint8 (height, width, 4); pictures stay as they are."""
    if not areas:
        return rgba
    rows, starts, ends = _runs(_soft(rgba, inks, areas) & ~picture)
    if not rows.size:
        return rgba
    palette = np.array(inks, dtype=np.int16)
    before = _nearest(rgba[rows, starts - 1, :3].astype(np.int16), palette)
    behind = _nearest(rgba[rows, ends, :3].astype(np.int16), palette)
    undone, good = _undo(rgba, (rows, starts, ends), before=before[0], palette=palette)
    last = undone[np.arange(rows.size), ends - starts - 1]
    good &= (before[1] == 0) & (behind[1] == 0) & (last == behind[0])
    settled = rgba.copy()
    settled.setflags(write=True)
    for step in range(LONGEST_RUN_PX):
        here = good & (starts + step < ends)
        settled[rows[here], starts[here] + step, :3] = palette[undone[here, step]].astype(np.uint8)
    return settled


def _soft(rgba: Rgba, inks: Sequence[_Colour], areas: Sequence[Area]) -> Mask:
    """Pixels in the areas that are none of the inks: bool (height, width)."""
    packed = np.ascontiguousarray(rgba).view(np.uint32)[..., 0]
    soft = np.zeros(packed.shape, dtype=np.bool_)
    for left, top, right, bottom in areas:
        soft[max(0, top) : max(0, bottom), max(0, left) : max(0, right)] = True
    for ink in inks:
        soft &= packed != np.array([*ink, 255], dtype=np.uint8).view(np.uint32)[0]
    return soft


def _runs(soft: Mask) -> tuple[_Indices, _Indices, _Indices]:
    """Row, start and end of every short run of soft pixels that has a pixel on either side."""
    edges = np.diff(np.pad(soft, ((0, 0), (1, 1))).view(np.int8), axis=1)
    rows, starts = np.nonzero(edges == 1)
    ends = np.nonzero(edges == -1)[1]
    short = (ends - starts <= LONGEST_RUN_PX) & (starts > 0) & (ends < soft.shape[1])
    return rows[short], starts[short], ends[short]


def _undo(
    rgba: Rgba,
    runs: tuple[_Indices, _Indices, _Indices],
    *,
    before: _Indices,
    palette: NDArray[np.int16],
) -> tuple[_Indices, Mask]:
    """The ink of each pixel of each run, shape (runs, `LONGEST_RUN_PX`), and which runs gave inks throughout."""
    rows, starts, ends = runs
    undone = np.zeros((rows.size, LONGEST_RUN_PX), dtype=np.intp)
    good = np.ones(rows.size, dtype=np.bool_)
    left = before
    for step in range(LONGEST_RUN_PX):
        inside = starts + step < ends
        if not inside.any():
            break
        here = rgba[rows, np.minimum(starts + step, ends - 1), :3].astype(np.int16)
        wanted, away = _nearest(2 * here - palette[left], palette)
        clear, unclear = _nearest(here, palette)
        found = np.where(unclear <= _OVERLAP, clear, wanted)
        good &= ~inside | (unclear <= _OVERLAP) | (away <= 2 * TOLERANCE)
        undone[inside, step] = found[inside]
        left = np.where(inside, found, left)
    return undone, good


def _nearest(colours: NDArray[np.int16], palette: NDArray[np.int16]) -> tuple[_Indices, NDArray[np.int16]]:
    """The nearest ink of each colour, and how far it is off in its worst channel."""
    away = np.abs(colours[:, None, :] - palette[None]).max(axis=2)
    nearest = away.argmin(axis=1)
    return nearest, away[np.arange(len(colours)), nearest]
