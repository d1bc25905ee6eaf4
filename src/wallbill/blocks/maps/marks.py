"""Places on a map: dots, rings, squares and flags, and their names."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import ACCENT, INK, PAPER
from wallbill.blocks.maps.canvas import Canvas
from wallbill.blocks.maps.coast import as_lines, cut
from wallbill.blocks.maps.geojson import Base, Feature
from wallbill.blocks.maps.looks import InkOf, Mark
from wallbill.blocks.maps.names import Named, Placed, Under, placed_names
from wallbill.blocks.maps.raster import filled
from wallbill.blocks.maps.spec import MapSpec
from wallbill.blocks.maps.view import Spot, View
from wallbill.blocks.maps.ways import pixel_of
from wallbill.facts.track import Waypoint

_AIR_PX = 2
_WIDE_ENOUGH = 0.9
_LEAST_NAMED_PX = 400  # an area of fewer pixels is named beside it, if at all


@dataclass(frozen=True, slots=True)
class Marked:
    """A place as it is marked: ``accent``: in the second ink, where there is one."""

    name: str
    spot: Spot
    mark: Mark
    accent: bool = False


def marked_waypoints(waypoints: Sequence[Waypoint], *, mark: Mark) -> tuple[Marked, ...]:
    """The places of tracks and sheets, marked alike."""
    return tuple(
        Marked(one.name, (one.position.longitude_deg, one.position.latitude_deg), mark) for one in waypoints
    )


def marked_features(base: Base) -> tuple[Marked, ...]:
    """The points of a user's map, and its lines by their middle; those without a name or mark are nothing to see."""
    found = []
    for feature in base.features:
        accent = feature.look.ink is InkOf.ACCENT
        found += [Marked(feature.name, spot, feature.look.mark, accent) for spot in feature.points]
        if feature.lines and feature.name and not feature.rings:
            longest = max(feature.lines, key=len)
            middle = longest[len(longest) // 2]
            found.append(Marked(feature.name, (float(middle[0]), float(middle[1])), Mark.NONE))
    return tuple(one for one in found if one.name or one.mark is not Mark.NONE)


def named_of(
    marked: Sequence[Marked], view: View, spec: MapSpec, *, ends: Sequence[tuple[int, int]]
) -> list[tuple[Named, Marked]]:
    """The places that lie on the drawing; one at the end of a track takes that mark for its own."""
    found = []
    for place in marked:
        longitude, latitude = place.spot
        x, y = view.points(view.near(np.array([longitude])), np.array([latitude]))
        at = pixel_of(float(x[0]), float(y[0]))
        if not (0 <= at[0] < spec.width_px and 0 <= at[1] < spec.height_px):
            continue
        near = [end for end in ends if math.hypot(at[0] - end[0], at[1] - end[1]) <= spec.end_px]
        if near:
            found.append(
                (
                    Named(place.name, near[0], spec.end_px // 2 + _AIR_PX),
                    Marked(place.name, place.spot, Mark.NONE),
                )
            )
        else:
            across = 1 if place.mark is Mark.NONE else spec.dot_px
            found.append((Named(place.name, at, across // 2 + _AIR_PX), place))
    return found


def draw_marks(canvas: Canvas, named: Sequence[tuple[Named, Marked]], spec: MapSpec) -> None:
    """The marks of places, each on a rim of paper."""
    for place, marked in named:
        code = ACCENT if marked.accent and canvas.has_accent else INK
        middle, across = (place.at[0] + 0.5, place.at[1] + 0.5), spec.dot_px
        match marked.mark:
            case Mark.NONE:
                continue
            case Mark.FLAG:
                _draw_flag(canvas, place.at, spec=spec, code=ACCENT if canvas.has_accent else INK)
            case Mark.SQUARE:
                half = across // 2
                canvas.fill((place.at[0] - half - 2, place.at[1] - half - 2, across + 4, across + 4), PAPER)
                canvas.fill((place.at[0] - half, place.at[1] - half, across, across), code)
            case _:
                canvas.disc(middle, across_px=across + 4, code=PAPER)
                canvas.disc(middle, across_px=across, code=code)
                if marked.mark is Mark.RING:
                    canvas.disc(middle, across_px=across - 2 * (1 + (across > 6)), code=PAPER)


def _draw_flag(canvas: Canvas, at: tuple[int, int], *, spec: MapSpec, code: int) -> None:
    """A pennant on a pole that stands on the place."""
    x, y = at
    unit = max(1, spec.line_px // 2)
    high, wide, tall = 7 * spec.line_px // 2 + 4, 2 * spec.line_px + 4, spec.line_px + 3
    pennant = ((x + unit, y - high), (x + unit + wide, y - high + tall / 2), (x + unit, y - high + tall))
    cloth = shapes.polygon(spec.size, pennant)
    pole = shapes.rectangle(spec.size, (x, y - high, unit, high + 1))
    canvas.lay(shapes.grown(cloth | pole, 1), PAPER)
    canvas.lay(cloth, code)
    canvas.lay(pole, INK)
    canvas.disc((x + unit / 2, y + 0.5), across_px=2 * unit + 1, code=INK)


def area_names(base: Base, view: View, spec: MapSpec) -> list[Named]:
    """The names of the user's areas, each in the middle of its widest row."""
    found = []
    for feature in base.features:
        if feature.name and feature.rings:
            at = _inner(feature, view)
            if at is not None:
                found.append(Named(feature.name, at, 0, centred=True))
    return found


def _inner(feature: Feature, view: View) -> tuple[int, int] | None:
    """The middle of a long level run of an area's pixels; None for an area too small to be named in."""
    lines = as_lines(
        np.concatenate(feature.rings), np.array([len(ring) for ring in feature.rings], dtype=np.int64)
    )
    mask = filled(cut(lines), view)
    if np.count_nonzero(mask) < _LEAST_NAMED_PX:
        return None
    edges = np.diff(np.pad(mask, ((0, 0), (1, 1))).astype(np.int8), axis=1)
    rows, begins = np.nonzero(edges == 1)
    _, ends = np.nonzero(edges == -1)
    wide = np.flatnonzero(ends - begins >= _WIDE_ENOUGH * (ends - begins).max())
    best = int(
        wide[np.argmin(np.abs(rows[wide] - np.median(rows)))]
    )  # of the widest rows the one most in the middle
    return int(begins[best] + ends[best]) // 2, int(rows[best])


def draw_names(canvas: Canvas, named: Sequence[Named], spec: MapSpec) -> Placed:
    """Room for every name that finds some: under it coast and sea are cleared; and the lines that lead to names off."""
    placed = placed_names(named, spec=spec, under=Under(canvas.busy, canvas.faint))
    for label in placed.labels:
        x, y, width, height = label.box
        canvas.clear((x - 2, y, width + 4, height))
    for (x0, y0), (x1, y1) in placed.leaders:
        part = (np.array([x0, x1]), np.array([y0, y1]))
        canvas.hair([part])
    return placed
