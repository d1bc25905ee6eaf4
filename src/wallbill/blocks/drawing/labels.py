"""Labels over a drawing: HTML text in boxes of whole pixels that never overlap.

An engine paints HTML text with the fitted face, which it does not do for text inside an SVG.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
from markupsafe import Markup, escape

from wallbill.blocks.drawing.shapes import Box
from wallbill.inks.impression import Mask


class Align(StrEnum):
    """How a label's text stands in its box."""

    LEFT = "left"
    CENTRE = "center"
    RIGHT = "right"


class Kind(StrEnum):
    """What a label belongs to; its CSS class."""

    AXIS = "wb-axis"
    LABEL = "wb-label"


@dataclass(frozen=True, slots=True)
class Label:
    """A text and its box (left, top, width, height; pixels from the drawing's left top corner).

    ``style``: further CSS declarations, each with its semicolon, written by us and never by a sheet.
    """

    text: str
    box: Box
    align: Align = Align.CENTRE
    kind: Kind = Kind.LABEL
    style: str = ""


def apart(one: Box, other: Box, *, gap_px: int = 0) -> bool:
    """True where two boxes do not overlap: they leave at least ``gap_px`` to the side, or lie above one another."""
    return (
        one[0] + one[2] + gap_px <= other[0]
        or other[0] + other[2] + gap_px <= one[0]
        or one[1] + one[3] <= other[1]
        or other[1] + other[3] <= one[1]
    )


def free(box: Box, taken: Iterable[Box], *, gap_px: int = 0) -> bool:
    """True where a box is `apart` from every one that is taken."""
    left, top, right, bottom = box[0] - gap_px, box[1], box[0] + box[2] + gap_px, box[1] + box[3]
    for x, y, width, height in taken:  # written out: asked thousands of times for a chart
        if x < right and left < x + width and y < bottom and top < y + height:
            return False
    return True


def inside(box: Box, size: tuple[int, int]) -> bool:
    """True where the box lies on the drawing."""
    return box[0] >= 0 and box[1] >= 0 and box[0] + box[2] <= size[0] and box[1] + box[3] <= size[1]


def spread(
    labels: Iterable[Label], taken: Sequence[Label], *, size: tuple[int, int], gap_px: int
) -> tuple[Label, ...]:
    """The labels, in the order given, without those that leave the drawing or come too near to one before."""
    kept: list[Label] = []
    boxes = [label.box for label in taken]
    for label in labels:
        if inside(label.box, size) and free(label.box, boxes, gap_px=gap_px):
            kept.append(label)
            boxes.append(label.box)
    return tuple(kept)


def clearest(
    choices: Sequence[Label], taken: Sequence[Label], *, drawn: Mask, never: Mask | None = None
) -> Label | None:
    """The choice that covers the least of ``drawn`` (bool, shape of the drawing); the first of equals.

    ``never``: what no label may cover, of the same shape. None where every choice leaves the drawing, runs into a
    label that is ``taken``, or covers what it must not.
    """
    height, width = drawn.shape
    best: Label | None = None
    least = drawn.size + 1
    boxes = [label.box for label in taken]
    for label in choices:
        if not inside(label.box, (width, height)) or not free(label.box, boxes, gap_px=2):
            continue
        part = _type_of(label.box)
        if never is not None and never[part].any():
            continue
        covered = int(np.count_nonzero(drawn[part]))
        if covered < least:
            best, least = label, covered
    return best


def _type_of(box: Box) -> tuple[slice, slice]:
    """Rows and columns that a label's letters take, and a pixel to their sides: above and below them its box has air."""
    x, y, across, down = box
    air = down // 6
    return slice(y + air, y + down - air), slice(max(0, x - 1), x + across + 1)


def stacked(labels: Sequence[Label], *, top_px: int, bottom_px: int) -> tuple[Label, ...]:
    """Labels of one column, moved up and down as little as needed so that none overlaps, in their order of height.

    They stay between ``top_px`` and ``bottom_px``; those that find no room are left out, the last given first. The sum
    of the squares of what they move is the least there is. Source: isotonic regression by pooling adjacent violators,
    Ayer et al., Annals of Mathematical Statistics 26(4), 1955.
    """
    room = bottom_px - top_px
    kept = list(labels)
    while kept and sum(label.box[3] for label in kept) > room:
        kept.pop()
    order = sorted(range(len(kept)), key=lambda i: kept[i].box[1])
    pools: list[
        tuple[float, int]
    ] = []  # mean of the tops that are wanted, less what stands above; and how many
    above = 0
    for i in order:
        mean, count = float(kept[i].box[1] - above), 1
        above += kept[i].box[3]
        while pools and pools[-1][0] > mean:
            before, many = pools.pop()
            mean, count = (before * many + mean * count) / (many + count), count + many
        pools.append((mean, count))
    firsts = [round(min(max(mean, top_px), bottom_px - above)) for mean, count in pools for _ in range(count)]
    tops, above = [0] * len(kept), 0
    for i, first in zip(order, firsts, strict=True):
        tops[i] = first + above
        above += kept[i].box[3]
    return tuple(
        replace(label, box=(label.box[0], top, label.box[2], label.box[3]))
        for label, top in zip(kept, tops, strict=True)
    )


def to_html(labels: Iterable[Label]) -> Markup:
    """Each label as an absolutely placed ``<span>`` in a box of whole pixels."""
    parts = []
    for label in labels:
        left, top, width, height = label.box
        place = f"left:{left}px;top:{top}px;width:{width}px;height:{height}px"
        align = f"line-height:{height}px;text-align:{label.align};white-space:nowrap"
        parts.append(
            f'<span class="{label.kind}" style="{label.style}position:absolute;{place};{align}">{escape(label.text)}</span>'
        )
    return Markup("".join(parts))  # noqa: S704  every text is escaped
