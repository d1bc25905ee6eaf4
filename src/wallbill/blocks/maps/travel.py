"""Maps of travels: coast, tracks, places and a scale bar, as HTML that lies on the pixel grid."""

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

import numpy as np
from markupsafe import Markup

from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import ACCENT, INK, MUTED, PAPER, Sketch
from wallbill.blocks.drawing.labels import Align, Kind, Label, clearest, spread
from wallbill.blocks.drawing.markup import Drawing, Tint, to_markup
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.patterns import Hatch
from wallbill.blocks.maps.graticule import coast_is_coarse, net
from wallbill.blocks.maps.names import Named, Under, placed_names
from wallbill.blocks.maps.projection import Equirectangular, between, great_circle_m
from wallbill.blocks.maps.raster import dashed, globe, land_of, shore, spread_out
from wallbill.blocks.maps.spec import MapSpec, Measure, Sea
from wallbill.blocks.maps.view import Spot, View, laid, view_of
from wallbill.facts.track import Position, Track, Waypoint
from wallbill.inks.impression import Mask

_LEG_M = 50_000  # longer legs follow the great circle in steps of this
_MOST_STEPS = 400
_SHORE_LINES_PX = (3, 7, 12, 18)
_EDGE_PX = 10  # from the scale bar to the map's edge


def travel_map(tracks: Sequence[Track], *, spec: MapSpec, palette: Palette) -> Markup:
    """A map of the tracks and the places on the way.

    The projection follows from the extent. Legs follow great circles; segments do not join. A ring marks each
    track's start, a dot its end. Raises ValueError where there is neither a track nor a place.
    """
    return to_markup(map_drawing(tracks, spec=spec, palette=palette), palette, label_px=spec.label_px)


def map_drawing(tracks: Sequence[Track], *, spec: MapSpec, palette: Palette) -> Drawing:
    """The drawing behind `travel_map`."""
    waypoints = [*(point for track in tracks for point in track.waypoints), *spec.places]
    spots = [spot for track in tracks for segment in track.segments for spot in _followed(segment)]
    spots += [_spot(waypoint.position) for waypoint in waypoints]
    view = view_of(spots, size=spec.size, margin_px=spec.margin_px, least_m=spec.least_m)
    sketch = Sketch(*spec.size)
    tints: tuple[Tint, ...] = ()
    rim: tuple[Label, ...] = ()
    if isinstance(view.projection, Equirectangular) and coast_is_coarse(view):
        lines_of_net, rim = net(view, spec)
        sketch.lay(lines_of_net, MUTED)
    else:
        tints = _base(sketch, view, spec)
    coast = sketch.drawn()
    ways = [_way(track, view) for track in tracks]
    lines = shapes.nothing(spec.size)
    for number, way in reversed(list(enumerate(ways))):
        lines |= _draw_way(sketch, way, spec=spec, code=_code(palette, number), dash=number > 0)
    for number, way in enumerate(ways):
        _draw_ends(sketch, way, spec=spec, code=_code(palette, number))
    marks = [at for way in ways for at in _ends(way)]
    labels = _draw_places(
        sketch, _named(waypoints, view, spec, marks=marks), spec=spec, lines=lines, coast=coast
    )
    labels += spread(rim, labels, size=spec.size, gap_px=4)
    sketch.erase(_ground(labels, spec.size) & coast & ~lines)
    labels += _scale_bar(sketch, view, spec=spec, taken=labels, lines=lines)
    if spec.frame:
        sketch.lay(shapes.frame(spec.size, (0, 0, *spec.size)))
    ground = _ground(labels, spec.size)
    if palette.smooth:  # text on an even light grey reads as well, and leaves no boxes
        ground = shapes.nothing(spec.size)
    cleared = tuple(Tint(tint.area & ~ground, tint.pattern) for tint in tints)
    return Drawing(sketch.grid(), labels, cleared, spec.title, kind="wb-map")


def _spot(position: Position) -> Spot:
    return position.longitude_deg, position.latitude_deg


def _code(palette: Palette, number: int) -> int:
    return ACCENT if number == 0 and palette.has_accent else INK


def _base(sketch: Sketch, view: View, spec: MapSpec) -> tuple[Tint, ...]:
    """The land's edge, borders if asked, and the sea."""
    if spec.coast is None:
        return ()
    land = land_of(spec.coast, view)
    world = globe(view) if view.whole else ~shapes.nothing(spec.size)
    land &= world
    sea = world & ~land
    edge = shore(land) & ~(shore(world) if view.whole else shapes.nothing(spec.size))
    if spec.borders:
        sketch.lay(dashed(laid(spec.coast.borders, view), spec.size, dash_px=(5, 4)) & land)
    wide = edge
    for _ in range(spec.coast_px - 1):
        wide = spread_out(wide)
    sketch.lay(wide & world)
    if view.whole:
        sketch.lay(shore(world))
    near = spread_out(
        spread_out(spread_out(land))
    )  # a clear rim, so that the coast stands out from the screen
    if spec.sea is Sea.SCREEN:
        return (Tint(sea & ~near, Hatch.DOTS_12),)
    if spec.sea is Sea.SHORE_LINES:
        sketch.lay(_shore_lines(land) & sea, MUTED)
    return ()


def _shore_lines(land: Mask) -> Mask:
    """Fine lines that follow the coast out to sea, further apart the further out, as engravers draw water."""
    lines = np.zeros_like(land)
    grown, before = land, land
    for distance in range(1, _SHORE_LINES_PX[-1] + 1):
        # Side by side and corner by corner in turn, so that the lines bend round capes.
        grown = spread_out(grown) if distance % 2 else shapes.grown(grown, 1)
        if distance in _SHORE_LINES_PX:
            lines |= grown & ~before
        before = grown
    return lines


def _way(track: Track, view: View) -> list[list[tuple[float, float]]]:
    """The track's segments as points on the drawing, cut where they leave one side of the world for the other."""
    parts: list[list[tuple[float, float]]] = []
    for segment in track.segments:
        spots = _followed(segment)
        if not spots:
            continue
        longitudes = view.near(np.array([spot[0] for spot in spots]))
        x, y = view.points(longitudes, np.array([spot[1] for spot in spots]))
        cut = [
            0,
            *(i + 1 for i in range(len(spots) - 1) if abs(longitudes[i + 1] - longitudes[i]) > 180),
            len(spots),
        ]
        parts += [list(zip(x[a:b].tolist(), y[a:b].tolist(), strict=True)) for a, b in pairwise(cut)]
    return parts


def _followed(segment: Sequence[Position]) -> list[Spot]:
    """The places of a segment, with further ones between those that lie far apart, along the great circle."""
    spots = [_spot(position) for position in segment]
    found = list(spots[:1])
    for here, there in pairwise(spots):
        steps = min(_MOST_STEPS, math.ceil(great_circle_m(here, there) / _LEG_M))
        found += between(here, there, steps=steps) if steps > 1 else [there]
    return found


def _pixels(points: Iterable[tuple[float, float]]) -> list[tuple[int, int]]:
    """The pixels that the points lie in, without repeats; points far off the drawing are brought nearer."""
    found: list[tuple[int, int]] = []
    for x, y in points:
        pixel = (math.floor(min(max(x, -4096), 16384)), math.floor(min(max(y, -4096), 16384)))
        if not found or found[-1] != pixel:
            found.append(pixel)
    return found


def _draw_way(
    sketch: Sketch, way: list[list[tuple[float, float]]], *, spec: MapSpec, code: int, dash: bool
) -> Mask:
    """The track with a paper casing, so that it stands out from coast and sea; gives back the line's pixels."""
    casing, line = shapes.nothing(spec.size), shapes.nothing(spec.size)
    for part in way:
        pixels = _pixels(part)
        casing |= shapes.line(spec.size, pixels, line_px=spec.line_px + 4)
        dash_px = (4 * spec.line_px, 2 * spec.line_px) if dash else ()
        line |= shapes.line(spec.size, pixels, line_px=spec.line_px, dash_px=dash_px)
    sketch.lay(casing, PAPER).lay(line, code)
    return casing


def _ends(way: list[list[tuple[float, float]]]) -> list[tuple[int, int]]:
    """The pixels of the first and the last point; none where there is no point."""
    parts = [part for part in way if part]
    return [*_pixels(parts[0][:1]), *_pixels(parts[-1][-1:])] if parts else []


def _draw_ends(sketch: Sketch, way: list[list[tuple[float, float]]], *, spec: MapSpec, code: int) -> None:
    """A ring at the start and a dot at the end."""
    for at, hollow in zip(_ends(way), (True, False), strict=False):
        middle, across = (at[0] + 0.5, at[1] + 0.5), spec.end_px
        sketch.lay(shapes.disc(sketch.size, middle, radius_px=across / 2 + 2), PAPER)
        sketch.lay(shapes.disc(sketch.size, middle, radius_px=across / 2), code)
        if hollow:
            sketch.lay(shapes.disc(sketch.size, middle, radius_px=across / 2 - min(spec.line_px, 3)), PAPER)


def _named(
    waypoints: Sequence[Waypoint], view: View, spec: MapSpec, *, marks: Sequence[tuple[int, int]]
) -> tuple[Named, ...]:
    """The places that lie on the drawing; one at the end of a track takes that mark for its own."""
    found = []
    for waypoint in waypoints:
        spot = waypoint.position
        x, y = view.points(view.near(np.array([spot.longitude_deg])), np.array([spot.latitude_deg]))
        at = _pixels([(float(x[0]), float(y[0]))])[0]
        if not (0 <= at[0] < spec.width_px and 0 <= at[1] < spec.height_px):
            continue
        marked = any(math.hypot(at[0] - mark[0], at[1] - mark[1]) <= spec.end_px for mark in marks)
        found.append(
            Named(waypoint.name, at, (spec.end_px if marked else spec.dot_px) // 2 + 2, own_dot=not marked)
        )
    return tuple(found)


def _draw_places(
    sketch: Sketch, named: Sequence[Named], *, spec: MapSpec, lines: Mask, coast: Mask
) -> tuple[Label, ...]:
    """A dot for each place, and its name beside it where it covers no other place, no name and little else."""
    for place in named:
        middle = (place.at[0] + 0.5, place.at[1] + 0.5)
        if place.own_dot:
            sketch.lay(shapes.disc(sketch.size, middle, radius_px=spec.dot_px / 2 + 2), PAPER)
            sketch.lay(shapes.disc(sketch.size, middle, radius_px=spec.dot_px / 2))
    return placed_names(named, spec=spec, under=Under(lines, coast))


def round_length(most: float) -> float:
    """The largest 1, 2 or 5 times a power of ten that is not above ``most`` (above zero)."""
    power = 10.0 ** math.floor(math.log10(most))
    return next((share * power for share in (5, 2, 1) if share * power <= most), power)


def _scale_bar(
    sketch: Sketch, view: View, *, spec: MapSpec, taken: Sequence[Label], lines: Mask
) -> tuple[Label, ...]:
    """A bar of a round length in the corner where it covers the least; true in the middle of the map."""
    if spec.scale is Measure.NONE or view.whole:
        return ()
    unit_px = spec.scale.metres / view.metres_per_px()
    length = round_length(spec.width_px * 0.25 / unit_px)
    bar_px = round(length * unit_px)
    text = spec.scale_label(length, spec.scale.value)
    wide, high = max(bar_px + 1, spec.text_px(text)), spec.line_height_px + 8
    left, right = _EDGE_PX, spec.width_px - _EDGE_PX - wide
    top, bottom = _EDGE_PX - 4, spec.height_px - _EDGE_PX - high
    spots = ((left, bottom), (right, bottom), (left, top), (right, top))
    choices = [Label(text, (x, y, wide, high), Align.LEFT, Kind.AXIS) for x, y in spots]
    best = clearest(choices, taken, drawn=lines | sketch.grid().mask(INK))
    if best is None:
        return ()
    x, y, _, _ = best.box
    floor = y + high - 2
    sketch.lay(shapes.rectangle(spec.size, (x - 4, y - 2, wide + 8, high + 4)), PAPER)
    sketch.lay(shapes.rectangle(spec.size, (x, floor - 1, bar_px + 1, 2)))
    for end in (x, x + bar_px):
        sketch.lay(shapes.rectangle(spec.size, (end, floor - 6, 1, 7)))
    return (Label(text, (x + 3, y, spec.text_px(text), spec.line_height_px), Align.LEFT, Kind.AXIS),)


def _ground(labels: Sequence[Label], size: tuple[int, int]) -> Mask:
    """The pixels under the names, where no screen shall disturb them."""
    ground = shapes.nothing(size)
    for label in labels:
        x, y, width, height = label.box
        ground |= shapes.rectangle(size, (x - 2, y, width + 4, height))
    return ground
