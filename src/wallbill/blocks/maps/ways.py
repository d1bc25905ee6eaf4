"""Tracks on a map: followed along great circles, cased in paper, with a ring at the start and a dot at the end."""

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from wallbill.blocks.drawing.grid import ACCENT, INK, PAPER
from wallbill.blocks.maps.canvas import Canvas
from wallbill.blocks.maps.pen import Part, eased, edges_along
from wallbill.blocks.maps.projection import Reals, between, great_circles_m
from wallbill.blocks.maps.spec import MapSpec
from wallbill.blocks.maps.view import View
from wallbill.facts.track import Position, Track

_LEG_M = 50_000  # longer legs follow the great circle in steps of this
_MOST_STEPS = 400
_CASING_PX = 2


def followed(segment: Sequence[Position]) -> Reals:
    """Longitude and latitude of a segment's places, shape (n, 2), with further ones on legs that are long.

    Those lie on the great circle.
    """
    places = np.array([(one.longitude_deg, one.latitude_deg) for one in segment], dtype=np.float64).reshape(
        -1, 2
    )
    if len(places) < 2:
        return places
    steps = np.minimum(_MOST_STEPS, np.ceil(great_circles_m(places[:-1], places[1:]) / _LEG_M)).astype(
        np.int64
    )
    found, done = [], 0
    for leg in np.flatnonzero(steps > 1).tolist():
        here, there = ((float(one[0]), float(one[1])) for one in places[leg : leg + 2])
        found += [
            places[done : leg + 1],
            np.array(between(here, there, steps=int(steps[leg]))[:-1]).reshape(-1, 2),
        ]
        done = leg + 1
    return np.concatenate([*found, places[done:]])


def way_of(track: Track, view: View) -> list[Part]:
    """The track's segments as lines on the drawing, cut where they leave one side of the world for the other."""
    parts: list[Part] = []
    for segment in track.segments:
        places = followed(segment)
        if not len(places):
            continue
        longitudes = view.near(places[:, 0])
        x, y = view.points(longitudes, places[:, 1])
        jumps = np.flatnonzero(np.abs(np.diff(longitudes)) > 180) + 1
        if not view.projection.wraps:
            jumps = jumps[:0]
        parts += [(x[a:b], y[a:b]) for a, b in pairwise([0, *jumps.tolist(), len(x)])]
    return parts


def code_of(canvas: Canvas, number: int) -> int:
    """The ink of the track with this number: the first is in the second ink, where there is one."""
    return ACCENT if number == 0 and canvas.has_accent else INK


def draw_way(canvas: Canvas, way: list[Part], *, spec: MapSpec, number: int) -> None:
    """A track on a casing, so that it stands out from coast and sea; all but the first are dashed."""
    parts = [eased(part) for part in way]
    line_px, code = spec.line_px, code_of(canvas, number)
    if number:
        canvas.line(edges_along(parts), line_px=line_px, code=PAPER, casing_px=_CASING_PX)
        dashes = edges_along(parts, dash_px=(3.5 * line_px, 2.5 * line_px))
        canvas.line(dashes, line_px=line_px, code=code, casing_px=0)
    else:
        canvas.line(edges_along(parts), line_px=line_px, code=code, casing_px=_CASING_PX)


def ends_of(way: list[Part]) -> list[tuple[int, int]]:
    """The pixels of the first and the last point; none where there is no point."""
    parts = [part for part in way if len(part[0])]
    if not parts:
        return []
    return [
        pixel_of(float(parts[0][0][0]), float(parts[0][1][0])),
        pixel_of(float(parts[-1][0][-1]), float(parts[-1][1][-1])),
    ]


def pixel_of(x: float, y: float) -> tuple[int, int]:
    """The pixel that a point lies in; a point far off the drawing is brought nearer."""
    return math.floor(min(max(x, -4096), 16384)), math.floor(min(max(y, -4096), 16384))


def draw_ends(canvas: Canvas, way: list[Part], *, spec: MapSpec, number: int) -> None:
    """A ring at the start and a dot at the end."""
    for at, hollow in zip(ends_of(way), (True, False), strict=False):
        middle, across = (at[0] + 0.5, at[1] + 0.5), spec.end_px
        canvas.disc(middle, across_px=across + 4, code=PAPER)
        canvas.disc(middle, across_px=across, code=code_of(canvas, number))
        if hollow:
            canvas.disc(middle, across_px=across - 2 * min(spec.line_px, 3), code=PAPER)
