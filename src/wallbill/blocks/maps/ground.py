"""What lies under the tracks of a map: sea, coast, borders, countries that were visited, and the user's own map."""

import numpy as np

from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import ACCENT, INK, MUTED, PAPER
from wallbill.blocks.drawing.patterns import Hatch
from wallbill.blocks.maps.canvas import Canvas
from wallbill.blocks.maps.clip import edges_of
from wallbill.blocks.maps.coast import Coast, Lines, as_lines, cut
from wallbill.blocks.maps.geojson import Base, Feature
from wallbill.blocks.maps.looks import InkOf, Line, pattern_of
from wallbill.blocks.maps.pen import Part, eased, edges_along
from wallbill.blocks.maps.projection import Reals
from wallbill.blocks.maps.raster import (
    filled,
    globe,
    land_of,
    land_pieces,
    rim,
    shore,
    shore_lines,
    spread_out,
)
from wallbill.blocks.maps.spec import MapSpec, Sea
from wallbill.blocks.maps.view import View, laid
from wallbill.inks.impression import Mask

_BORDER_PX = (5, 4)
_FINE_BORDER_PX = (2, 3)  # on a map of the world
_CLAIM_PX = 4  # how far a country's coast may lie from the finer one
_SPECK_PX = 7  # a country that is smaller is marked by a dot of this size


def draw_world(canvas: Canvas, view: View, spec: MapSpec, *, coast: Coast) -> bool:
    """Sea and countries, the ground of a map; gives back whether a shore is seen on it."""
    land = land_of(coast, view)
    world = globe(view) if view.whole else ~shapes.nothing(spec.size)
    land &= world
    if spec.sea is Sea.SCREEN:
        # A clear rim, so that the coast stands out from the screen; an even grey needs none.
        clear = land if canvas.smooth else spread_out(spread_out(spread_out(land)))
        canvas.tint(world & ~clear, Hatch.DOTS_12)
    elif spec.sea is Sea.SHORE_LINES:
        canvas.lay(shore_lines(land) & world & ~land, MUTED)
    pattern = pattern_of(spec.tint)
    if spec.countries and pattern is not None:
        area = land & claimed(coast, spec.countries, view)
        canvas.tint(area, pattern, _accent(canvas))
        canvas.faint |= area
    canvas.ground()
    if spec.borders:
        _draw_borders(canvas, view, coast, codes=spec.countries, land=land)
    _draw_coast(canvas, view, spec, land=land)
    if view.whole and canvas.smooth:
        canvas.line(rim(view), line_px=1)
    elif view.whole:
        canvas.lay(shore(world))
    for code in spec.countries:
        _draw_speck(canvas, view, coast.outline(frozenset({code})))
    return bool(land.any() and not land.all())


def _accent(canvas: Canvas) -> int:
    return ACCENT if canvas.has_accent else INK


def _draw_borders(canvas: Canvas, view: View, coast: Coast, *, codes: tuple[str, ...], land: Mask) -> None:
    """Dashed borders; those between two countries that are filled on a line of paper."""
    if codes:
        inner = parts_of(coast.between(frozenset(codes)), view)
        canvas.line(edges_along(inner), line_px=3, code=PAPER, within=land)
    canvas.hair(
        parts_of(coast.borders, view), dash_px=_FINE_BORDER_PX if view.whole else _BORDER_PX, within=land
    )


def _draw_coast(canvas: Canvas, view: View, spec: MapSpec, *, land: Mask) -> None:
    """The land's edge: whole pixels of the land, or a smoothed line along the coast itself."""
    edge = shore(land)
    if view.whole:
        edge &= ~shore(globe(view))
    wide = edge
    for _ in range(spec.coast_px - 1):
        wide = spread_out(wide)
    if canvas.smooth and spec.coast is not None:
        edges = edges_of(land_pieces(spec.coast, view), view)
        canvas.line(edges, line_px=spec.coast_px, within=spread_out(spread_out(wide)))
    else:
        canvas.lay(wide)


def claimed(coast: Coast, codes: tuple[str, ...], view: View) -> Mask:
    """The pixels of these countries, and those close by that are no other's; bool, shape (height, width).

    The outlines of countries are coarser than the coast: so land between the two goes to the nearer country.
    """
    ours = frozenset(codes)
    area = filled(cut(coast.outline(ours)), view)
    others = filled(cut(coast.outline(frozenset(coast.bounds) - ours)), view)
    near = area
    for step in range(_CLAIM_PX):
        near = spread_out(near) if step % 2 else shapes.grown(near, 1)
    return area | (near & ~others)


def _draw_speck(canvas: Canvas, view: View, outline: Lines) -> None:
    """A dot for a country that is too small to be seen."""
    x, y = view.points(view.near(outline.places[:, 0]), outline.places[:, 1])
    left, right, top, bottom = float(x.min()), float(x.max()), float(y.min()), float(y.max())
    if max(right - left, bottom - top) < _SPECK_PX:
        middle = (round((left + right) / 2) + 0.5, round((top + bottom) / 2) + 0.5)
        canvas.disc(middle, across_px=_SPECK_PX + 2, code=PAPER)
        canvas.disc(middle, across_px=_SPECK_PX - 2, code=_accent(canvas))


def parts_of(lines: Lines, view: View) -> list[Part]:
    """Lines on the earth as lines on the drawing."""
    drawn = laid(lines, view)
    return [
        eased((drawn.x[a:b], drawn.y[a:b]))
        for a, b in zip(drawn.starts[:-1].tolist(), drawn.starts[1:].tolist(), strict=True)
    ]


def draw_areas(canvas: Canvas, view: View, base: Base) -> None:
    """The areas of the user's map."""
    for feature in base.features:
        if feature.rings and feature.look.area is not None:
            mask = filled(cut(_lines(feature.rings)), view)
            canvas.tint(mask, feature.look.area, _ink(canvas, feature))


def draw_lines(canvas: Canvas, view: View, base: Base) -> None:
    """The lines of the user's map, and the rims of its areas."""
    for feature in base.features:
        shown = (*feature.lines, *(stretch for ring in feature.rings for stretch in _without_cuts(ring)))
        if shown and feature.look.line is not Line.NONE:
            _draw_line(canvas, parts_of(_lines(shown), view), feature)


def _draw_line(canvas: Canvas, parts: list[Part], feature: Feature) -> None:
    code = _ink(canvas, feature)
    match feature.look.line:
        case Line.FINE:
            canvas.hair(parts, code=code)
        case Line.DASHED:
            canvas.line(edges_along(parts, dash_px=(8, 5)), line_px=2, code=code)
        case Line.DOTTED:
            canvas.line(edges_along(parts, dash_px=(0.01, 5)), line_px=2, code=code)
        case Line.BOLD:
            canvas.line(edges_along(parts), line_px=4, code=code)
        case _:
            canvas.line(edges_along(parts), line_px=2, code=code)


def _ink(canvas: Canvas, feature: Feature) -> int:
    return _accent(canvas) if feature.look.ink is InkOf.ACCENT else INK


def _lines(parts: tuple[Reals, ...]) -> Lines:
    return as_lines(np.concatenate(parts), np.array([len(part) for part in parts], dtype=np.int64))


def _without_cuts(ring: Reals) -> list[Reals]:
    """The ring without the edges that only cut it: those along 180 degrees, and along a pole (RFC 7946, 3.1.9)."""
    level = np.abs(np.abs(ring) - [180, 90]) < 1e-9
    cuts = np.any(level[:-1] & level[1:] & (ring[:-1] == ring[1:]), axis=1)
    if not cuts.any():
        return [ring]
    stretches = np.split(ring, np.flatnonzero(cuts) + 1)
    return [stretch for stretch in stretches if len(stretch) > 1]
