"""Type that an engine left at half a pixel falls back on the grid.

A centred line begins at half a pixel when its width and its column's differ in parity, and a line set to the right
may do so in a table, whose columns are no whole numbers. Each pixel of fitted type
is then the mean of two neighbours of the true bitmap, left and right edges alike, so that no threshold can part
them. But the mean can be undone: with ``p`` painted and ``b`` true, ``p[x] = (b[x-1] + b[x]) / 2`` along a row, so
``b[x] = 2 p[x] - b[x-1]``, beginning at a pixel that is an ink. A run is undone only if it also ends as it must,
and only inside of elements whose lines are centred or set to the right; all other half tones stay what they are.
"""

from collections.abc import Iterator, Mapping, Sequence

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
_UNSETTLED = -1


def adrift_areas(
    source: Source, plan: TypePlan, ids: Sequence[str | None], *, boxes: Mapping[str, Box]
) -> tuple[Area, ...]:
    """The boxes in which text lies that is centred or set to the right, each once; text of an inline element lies in its parent's."""
    owners = {run.owner for run in source.markup.texts if run.owner in plan.settings}
    return tuple(
        dict.fromkeys(
            area
            for owner in sorted(owners)
            if plan.settings[owner].adrift and (area := _area(source, owner, ids, boxes=boxes))
        )
    )


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
    settled = None
    for left, top, right, bottom in areas:
        part = rgba[max(0, top) : max(0, bottom), max(0, left) : max(0, right), :3].astype(np.int16)
        codes = _codes(part, inks)
        runs = tuple(_runs(codes == _UNSETTLED))
        if not runs:
            continue
        undone = _undo(part, codes, inks)
        if settled is None:
            settled = rgba.copy()
        target = settled[max(0, top) : max(0, bottom), max(0, left) : max(0, right)]
        palette = np.array(inks, dtype=np.uint8)
        for row, start, end in runs:
            if _ends_well(undone[row], start, end):
                target[row, start:end, :3] = palette[undone[row, start:end]]
    if settled is None:
        return rgba
    settled[picture] = rgba[picture]
    return settled


def _codes(part: NDArray[np.int16], inks: Sequence[_Colour]) -> NDArray[np.int16]:
    """The ink of each pixel, -1 for a pixel that is none: shape (height, width)."""
    codes = np.full(part.shape[:2], _UNSETTLED, dtype=np.int16)
    for number, ink in enumerate(inks):
        codes[(part == np.array(ink, dtype=np.int16)).all(axis=2)] = number
    return codes


def _runs(soft: NDArray[np.bool_]) -> Iterator[tuple[int, int, int]]:
    """Row, start and end of every short run of soft pixels that has a pixel on either side."""
    edges = np.diff(np.pad(soft, ((0, 0), (1, 1))).astype(np.int8), axis=1)
    rows, starts = np.nonzero(edges == 1)
    _, ends = np.nonzero(edges == -1)
    width_px = soft.shape[1]
    for row, start, end in zip(rows.tolist(), starts.tolist(), ends.tolist(), strict=True):
        if end - start <= LONGEST_RUN_PX and start > 0 and end < width_px:
            yield row, start, end


def _undo(part: NDArray[np.int16], codes: NDArray[np.int16], inks: Sequence[_Colour]) -> NDArray[np.int16]:
    """Codes with each soft pixel worked out from its left neighbour, as far as that gives an ink."""
    palette = np.array(inks, dtype=np.int16)
    undone = codes.copy()
    rows, columns = np.nonzero((undone[:, 1:] == _UNSETTLED) & (undone[:, :-1] != _UNSETTLED))
    columns = columns + 1
    for _ in range(LONGEST_RUN_PX):
        if not rows.size:
            break
        here = part[rows, columns]
        nearest, away = _nearest(2 * here - palette[undone[rows, columns - 1]], palette)
        clear, unclear = _nearest(here, palette)
        nearest = np.where(unclear <= _OVERLAP, clear, nearest)
        good = np.minimum(away, np.where(unclear <= _OVERLAP, 0, 255)) <= 2 * TOLERANCE
        undone[rows[good], columns[good]] = nearest[good]
        rows, columns = rows[good], columns[good] + 1
        inside = columns < codes.shape[1]
        rows, columns = rows[inside], columns[inside]
        still = undone[rows, columns] == _UNSETTLED
        rows, columns = rows[still], columns[still]
    return undone


def _nearest(
    colours: NDArray[np.int16], palette: NDArray[np.int16]
) -> tuple[NDArray[np.intp], NDArray[np.int16]]:
    """The nearest ink of each colour, and how far it is off in its worst channel."""
    away = np.abs(colours[:, None, :] - palette[None]).max(axis=2)
    nearest = away.argmin(axis=1)
    return nearest, away[np.arange(len(colours)), nearest]


def _ends_well(row: NDArray[np.int16], start: int, end: int) -> bool:
    """Whether a run was undone whole, and its last pixel is the ink that follows, as a mean of two must be."""
    return bool((row[start:end] != _UNSETTLED).all()) and row[end - 1] == row[end]
