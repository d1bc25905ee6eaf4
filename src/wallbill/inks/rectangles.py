"""What changed between two impressions, as few rectangles, and when a panel is due a full refresh again."""

from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations

import numpy as np

from wallbill.inks.impression import Impression, Mask
from wallbill.panels.model import Panel

BYTE_PX = 8
"""Columns of a plate that share a byte: rectangles begin and end between bytes."""

_CELL_PX = 8  # rows that are looked at together
_MOST = 24  # rectangles that are weighed against one another; more are taken as one first
_HEAD_PX = 2048
"""What starting a rectangle costs, in pixels sent: common practice, no source; a controller is told the window and
waits for it."""


@dataclass(frozen=True, slots=True)
class Rectangle:
    """A part of an impression in pixels; ``left_px`` and the right end are multiples of 8, or the impression's end."""

    left_px: int
    top_px: int
    width_px: int
    height_px: int

    @property
    def area_px(self) -> int:
        """Pixels in it."""
        return self.width_px * self.height_px

    def around(self, other: "Rectangle") -> "Rectangle":
        """The smallest rectangle that holds both."""
        left, top = min(self.left_px, other.left_px), min(self.top_px, other.top_px)
        right = max(self.left_px + self.width_px, other.left_px + other.width_px)
        bottom = max(self.top_px + self.height_px, other.top_px + other.height_px)
        return Rectangle(left, top, right - left, bottom - top)

    def slices(self) -> tuple[slice, slice]:
        """Rows and columns, to cut it out of an array."""
        return (
            slice(self.top_px, self.top_px + self.height_px),
            slice(self.left_px, self.left_px + self.width_px),
        )


def changed_rectangles(
    before: Impression, after: Impression, *, head_px: int = _HEAD_PX
) -> tuple[Rectangle, ...]:
    """Rectangles that hold every pixel whose ink changed, from top to bottom; none where nothing did.

    Two are taken as one wherever that costs less: each costs its area and ``head_px``. Raises `ValueError` for
    impressions of other sizes or inks.
    """
    if before.codes.shape != after.codes.shape or before.inks != after.inks:
        raise ValueError("only impressions of one size and of the same inks can be compared")
    found = _patches(before.codes != after.codes)
    found = _merged(found, head_px=head_px)
    return tuple(sorted(found, key=lambda each: (each.top_px, each.left_px)))


def _patches(changed: Mask) -> list[Rectangle]:
    """Boxes around the cells that hang together (corners included) and hold a change, cut to the changed rows."""
    height, width = changed.shape
    rows, columns = -(-height // _CELL_PX), -(-width // BYTE_PX)
    padded = np.zeros((rows * _CELL_PX, columns * BYTE_PX), dtype=np.bool_)
    padded[:height, :width] = changed
    cells = padded.reshape(rows, _CELL_PX, columns, BYTE_PX).any(axis=(1, 3))
    left = {(int(y), int(x)) for y, x in np.argwhere(cells)}
    found = []
    while left:
        heap, group = [left.pop()], []
        while heap:
            y, x = heap.pop()
            group.append((y, x))
            near = {(y + down, x + along) for down in (-1, 0, 1) for along in (-1, 0, 1)} & left
            left -= near
            heap += near
        ys, xs = zip(*group, strict=True)
        box = (min(ys) * _CELL_PX, (max(ys) + 1) * _CELL_PX, min(xs) * BYTE_PX, (max(xs) + 1) * BYTE_PX)
        found.append(_tight(changed, box))
    return found


def _tight(changed: Mask, box: tuple[int, int, int, int]) -> Rectangle:
    """A box (top, bottom, left, right) without its outer rows that hold no change, cut to the page."""
    top, bottom, left, right = box
    height, width = changed.shape
    right = min(right, width)
    live = np.flatnonzero(changed[top : min(bottom, height), left:right].any(axis=1))
    return Rectangle(left, top + int(live[0]), right - left, int(live[-1] - live[0]) + 1)


def _merged(boxes: list[Rectangle], *, head_px: int) -> list[Rectangle]:
    """Takes two boxes as one, the pair that saves most first, for as long as that saves anything."""
    boxes = _fewer(boxes)
    while len(boxes) > 1:
        one, other = max(combinations(boxes, 2), key=lambda pair: _saved(*pair, head_px=head_px))
        if _saved(one, other, head_px=head_px) < 0:
            break
        boxes = [box for box in boxes if box not in (one, other)] + [one.around(other)]
    return boxes


def _saved(one: Rectangle, other: Rectangle, *, head_px: int) -> int:
    return one.area_px + other.area_px + head_px - one.around(other).area_px


def _fewer(boxes: list[Rectangle]) -> list[Rectangle]:
    """At most so many boxes as can be weighed pair by pair: those next to one another in order of reading go together."""
    ordered = sorted(boxes, key=lambda each: (each.top_px, each.left_px))
    while len(ordered) > _MOST:
        pairs = zip(ordered[::2], ordered[1::2], strict=False)
        odd = ordered[-1:] if len(ordered) % 2 else []
        ordered = [one.around(other) for one, other in pairs] + odd
    return list(dict.fromkeys(ordered))


class Kind(StrEnum):
    """What a panel does to show an impression."""

    NONE = "none"
    PARTIAL = "partial"
    FULL = "full"


@dataclass(frozen=True, slots=True)
class Showing:
    """How an impression gets onto a panel that shows another.

    ``rectangles``: to be refreshed partially. ``partials``: partial refreshes since the last full one, this one counted.
    """

    kind: Kind
    rectangles: tuple[Rectangle, ...]
    partials: int


@dataclass(frozen=True, slots=True)
class Partials:
    """When a panel may be refreshed in part.

    ``most``: so many in a row before ghosts must be driven out by a full one. ``share``: of the panel's area, above which
    a full refresh is no dearer. Both common practice, no source: heed what the panel's maker says.
    """

    most: int = 5
    share: float = 0.5


USUAL = Partials()


def showing(
    before: Impression | None, after: Impression, panel: Panel, *, partials: int = 0, rule: Partials = USUAL
) -> Showing:
    """Whether to refresh the panel at all, in part, or in full.

    ``before``: what it shows, None where nobody knows. ``partials``: partial refreshes since the last full one.
    """
    if before is not None and before == after:
        return Showing(Kind.NONE, (), partials)
    if before is None or panel.refresh.partial_s is None or partials >= rule.most:
        return Showing(Kind.FULL, (), 0)
    found = changed_rectangles(before, after)
    if sum(each.area_px for each in found) > rule.share * after.codes.size:
        return Showing(Kind.FULL, (), 0)
    return Showing(Kind.PARTIAL, found, partials + 1)
