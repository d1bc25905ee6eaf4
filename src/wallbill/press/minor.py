"""Where elements with ``data-change="minor"`` lie: parts of the page whose change alone is no news.

An element counts with its box and with whatever it paints outside of it. What an inline element covers is told by its
paint alone, as the default engine gives it no box.
"""

import math
from collections.abc import Sequence

import numpy as np

from wallbill.press.model import Box, Laid, Mask, Rgba
from wallbill.press.typeplan import Attributes, Source

Rectangle = tuple[int, int, int, int]
"""Left, top, right and bottom in whole pixels of the page; right and bottom lie outside."""


def minor_parts(source: Source, ids: Sequence[str | None], laid: Laid) -> tuple[Rectangle, ...]:
    """The parts of the page that minor elements cover, rounded outwards and cut to the page. Leaves them hidden."""
    names = [
        name
        for name, attributes in zip(ids, source.attributes, strict=True)
        if name and _is_minor(attributes)
    ]
    if not names:
        return ()
    boxes, before, found = laid.boxes(), laid.paint(), []
    for name in names:
        laid.restyle([(name, "visibility", "hidden")])
        after = laid.paint()
        part = _joined(_outwards(boxes.get(name)), _extent(before, after))
        found.append(_cut(part, before) if part else None)
        before = after
    return tuple(dict.fromkeys(part for part in found if part and part[0] < part[2] and part[1] < part[3]))


def _is_minor(attributes: Attributes) -> bool:
    return "data-change" in attributes and attributes["data-change"].value.strip().lower() == "minor"


def _outwards(box: Box | None) -> Rectangle | None:
    if box is None or box.width_px <= 0 or box.height_px <= 0:
        return None
    left, top = math.floor(box.x_px), math.floor(box.y_px)
    return left, top, math.ceil(box.x_px + box.width_px), math.ceil(box.y_px + box.height_px)


def _extent(before: Rgba, after: Rgba) -> Rectangle | None:
    """The smallest rectangle around all pixels that differ."""
    differs: Mask = (before != after).any(axis=2)
    rows, columns = np.flatnonzero(differs.any(axis=1)), np.flatnonzero(differs.any(axis=0))
    if not rows.size:
        return None
    return int(columns[0]), int(rows[0]), int(columns[-1]) + 1, int(rows[-1]) + 1


def _joined(one: Rectangle | None, other: Rectangle | None) -> Rectangle | None:
    if one is None or other is None:
        return one or other
    return min(one[0], other[0]), min(one[1], other[1]), max(one[2], other[2]), max(one[3], other[3])


def _cut(part: Rectangle, page: Rgba) -> Rectangle:
    height_px, width_px = page.shape[:2]
    return max(part[0], 0), max(part[1], 0), min(part[2], width_px), min(part[3], height_px)
