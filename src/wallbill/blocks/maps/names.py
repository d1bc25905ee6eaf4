"""Names of places on a map: each beside its dot, clear of every other name and dot, and of the track where it can be.

A name that finds no room beside its dot stands further off, and a fine line leads to it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wallbill.blocks.drawing.labels import Align, Label, apart, inside
from wallbill.blocks.maps.spec import MapSpec
from wallbill.inks.impression import Mask

_AIR_PX = 4
_NEAR = 8  # so many places close by, then as many a little further off
_RANK_COST = 0.4  # in label heights' worth of covered columns, judged by eye
_FAR_COST = 5.0
_CLOSE_COST = 4.0
_OFF_LINES = (1.5, 2.25, 3.25, 4.5, 6.0)  # how far off a led name stands, in lines of type
_OFF_WAYS = 24


@dataclass(frozen=True, slots=True)
class Named:
    """A place on the drawing: its name, its pixel, and how far its mark reaches. ``centred``: the name of an area."""

    name: str
    at: tuple[int, int]
    reach_px: int
    centred: bool = False


@dataclass(frozen=True, slots=True)
class Placed:
    """Labels in the order of their places, and the lines that lead to those further off: points on the drawing."""

    labels: tuple[Label, ...]
    leaders: tuple[tuple[tuple[float, float], tuple[float, float]], ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Under:
    """What lies under the names: the pixels of tracks with their casing, and those of coasts and borders.

    Both bool, of the drawing's shape. A track under a name hurts more than a coast, which can be interrupted.
    """

    tracks: Mask
    coasts: Mask


def placed_names(named: Sequence[Named], *, spec: MapSpec, under: Under) -> Placed:
    """A label for every name that finds room, in the order of the places.

    Names with the fewest places come first. A name without room may push one other aside, if that finds room
    elsewhere; or else stands off.
    """
    dots = [_dot(place) for place in named]
    choices: dict[int, tuple[Label, ...]] = {}
    for i, place in enumerate(named):
        if place.name:
            ranked = [
                (_cost(choice, rank, under=under) + _CLOSE_COST * _close(choice, dots, i), rank, choice)
                for rank, choice in enumerate(around(place, spec=spec))
                if _free(choice, dots, spec.size)
            ]
            choices[i] = tuple(choice for _, _, choice in sorted(ranked, key=lambda one: one[:2]))
    found: dict[int, Label] = {}
    for i in sorted(choices, key=lambda number: (len(choices[number]), number)):
        label = _first_free(choices[i], tuple(found.values()))
        if label is not None:
            found[i] = label
        else:
            found |= _with_one_aside(i, found, choices)
    leaders = []
    for i in choices:
        if i not in found:
            off = _off(
                named[i], (*found.values(), *(dot for j, dot in enumerate(dots) if j != i)), spec, under
            )
            if off is not None:
                found[i], leader = off
                leaders.append(leader)
    return Placed(tuple(found[i] for i in sorted(found)), tuple(leaders))


def _dot(place: Named) -> Label:
    """The room that a place's mark takes."""
    side = 2 * place.reach_px + 1
    return Label("", (place.at[0] - place.reach_px, place.at[1] - place.reach_px, side, side))


Leader = tuple[tuple[float, float], tuple[float, float]]


def _off(place: Named, taken: Sequence[Label], spec: MapSpec, under: Under) -> tuple[Label, Leader] | None:
    """The best place for a name further off, and the line that leads to it; None where there is none."""
    wide, high = spec.text_px(place.name), spec.line_height_px
    best: tuple[float, Label, Leader] | None = None
    for ring in _OFF_LINES:
        for turn in range(_OFF_WAYS):
            angle = 2 * math.pi * turn / _OFF_WAYS
            end = (
                place.at[0] + 0.5 + ring * high * math.cos(angle),
                place.at[1] + 0.5 - ring * high * math.sin(angle),
            )
            to_right = math.cos(angle) >= 0
            left = round(end[0]) + 3 if to_right else round(end[0]) - 3 - wide
            label = Label(
                place.name,
                (left, round(end[1]) - high // 2, wide, high),
                Align.LEFT if to_right else Align.RIGHT,
            )
            leader = ((place.at[0] + 0.5, place.at[1] + 0.5), end)
            if _free(label, taken, spec.size) and not _runs_through(leader, taken):
                cost = _cost(label, 0, under=under) + _FAR_COST * ring
                if best is None or cost < best[0]:
                    best = cost, label, leader
    return None if best is None else best[1:]


def _runs_through(leader: Leader, taken: Sequence[Label]) -> bool:
    """Whether a line touches one of the boxes."""
    (x0, y0), (x1, y1) = leader
    steps = max(2, int(math.hypot(x1 - x0, y1 - y0) / 2))
    points = [(x0 + (x1 - x0) * i / steps, y0 + (y1 - y0) * i / steps) for i in range(steps + 1)]
    return any(
        box[0] - 1 <= x <= box[0] + box[2] + 1 and box[1] - 1 <= y <= box[1] + box[3] + 1
        for box in (label.box for label in taken)
        for x, y in points
    )


def _cost(label: Label, rank: int, *, under: Under) -> float:
    """How bad a place is: tracks and coasts covered, in pixels by weight, and how far down the list it stands."""
    x, y, wide, high = label.box
    part = (slice(y, y + high), slice(x, x + wide))
    covered = 1.0 * np.count_nonzero(under.tracks[part]) + 0.25 * np.count_nonzero(under.coasts[part])
    return float(covered) / high + _RANK_COST * rank + (_FAR_COST if rank >= _NEAR else 0)


def _close(label: Label, dots: Sequence[Label], own: int) -> bool:
    """Whether the label comes so near to another place's dot that it may be taken for that place's name."""
    x, y, wide, high = label.box
    around_it = (x - high, y - high // 2, wide + 2 * high, 2 * high)
    return any(i != own and not apart(around_it, dot.box) for i, dot in enumerate(dots))


def _free(label: Label, taken: Sequence[Label], size: tuple[int, int]) -> bool:
    return inside(label.box, size) and all(apart(label.box, other.box, gap_px=2) for other in taken)


def _first_free(choices: Sequence[Label], taken: Sequence[Label]) -> Label | None:
    return next((c for c in choices if all(apart(c.box, other.box, gap_px=2) for other in taken)), None)


def _with_one_aside(
    number: int, found: dict[int, Label], choices: dict[int, tuple[Label, ...]]
) -> dict[int, Label]:
    """New places for a name and the one other that is in its way, or nothing where that does not help."""
    for choice in choices[number]:
        blocking = [i for i, label in found.items() if not apart(choice.box, label.box, gap_px=2)]
        if len(blocking) == 1:
            rest = [label for i, label in found.items() if i != blocking[0]]
            moved = _first_free(choices[blocking[0]], [*rest, choice])
            if moved is not None:
                return {number: choice, blocking[0]: moved}
    return {}


def around(place: Named, *, spec: MapSpec) -> tuple[Label, ...]:
    """Places for a name around a dot: right, left, above, below, the corners, and the same a little further off.

    Names above and below are kept within the map's sides.
    Source of the order: Imhof, "Positioning Names on Maps", The American Cartographer 2(2), 1975.
    """
    wide, high = spec.text_px(place.name), spec.line_height_px
    x, y = place.at
    spots: list[tuple[int, int, Align]] = []
    if place.centred:
        spots += [
            (x - wide // 2, y + down * high // 2 - high // 2, Align.CENTRE) for down in (0, -1, 1, -2, 2)
        ]
    for away in (0, high // 2):
        gap = place.reach_px + _AIR_PX + away
        level, over, under = y - high // 2, y - high - place.reach_px - away, y + place.reach_px + 1 + away
        right, left = x + gap, x - gap - wide + 1
        middle = max(2, min(x - wide // 2, spec.width_px - wide - 2))
        spots += [
            (right, level, Align.LEFT),
            (right, over, Align.LEFT),
            (right, under, Align.LEFT),
            (left, level, Align.RIGHT),
            (left, over, Align.RIGHT),
            (left, under, Align.RIGHT),
            (middle, over - 1, Align.CENTRE),
            (middle, under + 1, Align.CENTRE),
        ]
    return tuple(Label(place.name, (a, b, wide, high), align) for a, b, align in spots)
