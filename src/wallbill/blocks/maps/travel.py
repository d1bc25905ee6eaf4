"""Maps of travels and of places that were visited, as HTML that lies on the pixel grid."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from markupsafe import Markup

from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import MUTED
from wallbill.blocks.drawing.labels import Label, spread
from wallbill.blocks.drawing.markup import Drawing, to_markup
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.maps.canvas import Canvas
from wallbill.blocks.maps.graticule import coast_is_coarse, net
from wallbill.blocks.maps.ground import draw_areas, draw_lines, draw_world
from wallbill.blocks.maps.marks import (
    area_names,
    draw_marks,
    draw_names,
    marked_features,
    marked_waypoints,
    named_of,
)
from wallbill.blocks.maps.projection import Equirectangular, Mercator, Reals
from wallbill.blocks.maps.scalebar import draw_scale_bar
from wallbill.blocks.maps.spec import Extent, MapSpec, Measure
from wallbill.blocks.maps.view import View, view_of, world_view
from wallbill.blocks.maps.ways import draw_ends, draw_way, ends_of, followed, way_of
from wallbill.facts.track import Track, Waypoint

_MOST_NAMES = 8
_OUTLINE_STEP = 4  # every so many points of a country's outline tell its extent well enough


def travel_map(tracks: Sequence[Track], *, spec: MapSpec, palette: Palette) -> Markup:
    """A map of the tracks and the places on the way.

    The projection follows from the extent. Legs follow great circles; segments do not join. A ring marks each
    track's start, a dot its end. Raises ValueError where there is nothing to show.
    """
    return to_markup(map_drawing(tracks, spec=spec, palette=palette), palette, label_px=spec.label_px)


def places_map(places: Sequence[Waypoint], *, spec: MapSpec, palette: Palette) -> Markup:
    """A map of places and countries that were visited, with no way between them; else as `travel_map`."""
    known = replace(spec, places=(*places, *spec.places))
    return to_markup(map_drawing((), spec=known, palette=palette), palette, label_px=spec.label_px)


def map_drawing(tracks: Sequence[Track], *, spec: MapSpec, palette: Palette) -> Drawing:
    """The drawing behind `travel_map`."""
    waypoints = [*(point for track in tracks for point in track.waypoints), *spec.places]
    view = _view(tracks, waypoints, spec)
    canvas = Canvas(spec.size, palette)
    rim = _draw_ground(canvas, view, spec)
    ways = [way_of(track, view) for track in tracks]
    for number, way in reversed(list(enumerate(ways))):
        draw_way(canvas, way, spec=spec, number=number)
    for number, way in reversed(list(enumerate(ways))):
        draw_ends(canvas, way, spec=spec, number=number)
    marked = (
        *marked_waypoints(waypoints, mark=spec.mark),
        *(marked_features(spec.base) if spec.base else ()),
    )
    named = named_of(marked, view, spec, ends=[at for way in ways for at in ends_of(way)])
    draw_marks(canvas, named, spec)
    areas = area_names(spec.base, view, spec) if spec.base else []
    labels = draw_names(canvas, [*(place for place, _ in named), *areas], spec).labels
    for label in (kept := spread(rim, labels, size=spec.size, gap_px=4)):
        canvas.clear(label.box)
    labels += kept
    labels += draw_scale_bar(canvas, view, spec=spec, taken=labels)
    if spec.frame and not view.whole:  # the world's outline is its frame
        canvas.lay(shapes.frame(spec.size, (0, 0, *spec.size)))
    title = told(tracks, waypoints, spec) if spec.title == "" else spec.title
    return Drawing(canvas.grid(), labels, (), title, kind="wb-map", greys=canvas.greys())


def _view(tracks: Sequence[Track], waypoints: Sequence[Waypoint], spec: MapSpec) -> View:
    """The view that holds everything that is to be seen, or the world."""
    if spec.extent is Extent.WORLD:
        return world_view(size=spec.size, margin_px=spec.margin_px)
    parts: list[Reals] = [followed(segment) for track in tracks for segment in track.segments]
    parts.append(_pairs([(one.position.longitude_deg, one.position.latitude_deg) for one in waypoints]))
    if spec.coast is not None and spec.countries:
        parts += [spec.coast.mainland(code).places[::_OUTLINE_STEP] for code in spec.countries]
    if spec.base is not None:
        parts.append(_pairs(spec.base.spots()))
    return view_of(np.concatenate(parts), size=spec.size, margin_px=spec.margin_px, least_m=spec.least_m)


def _pairs(spots: Sequence[tuple[float, float]]) -> Reals:
    return np.array(spots, dtype=np.float64).reshape(-1, 2)


def _draw_ground(canvas: Canvas, view: View, spec: MapSpec) -> tuple[Label, ...]:
    """What lies under the tracks; gives back the labels of round coordinates, if the map has them.

    It has them where it shows neither a coast nor a border nor the user's own map.
    """
    level = isinstance(view.projection, Equirectangular | Mercator)
    shown = False
    if spec.coast is not None and not (level and coast_is_coarse(view)):
        shown = draw_world(canvas, view, spec, coast=spec.coast) or spec.borders or bool(spec.countries)
    if spec.base is not None:
        draw_areas(canvas, view, spec.base)
        canvas.ground()
        draw_lines(canvas, view, spec.base)
    elif level and not shown:
        lines, rim = net(view, spec)
        canvas.lay(lines, MUTED)
        return rim
    return ()


def told(tracks: Sequence[Track], waypoints: Sequence[Waypoint], spec: MapSpec) -> str:
    """What stands for a map that has no title: the names on it in order, the countries, and how far it is.

    No words but names, so that it is right in every language.
    """
    names = list(dict.fromkeys(one.name for one in waypoints if one.name))
    if not names:
        names = [track.name for track in tracks if track.name]
    names += [spec.country_name(code) for code in spec.countries]
    shown = " – ".join(names[:_MOST_NAMES]) + (" …" if len(names) > _MOST_NAMES else "")
    length_m = sum(track.length_m for track in tracks)
    if not length_m:
        return shown
    measure = spec.scale if spec.scale is not Measure.NONE else Measure.KM
    length = length_m / measure.metres
    far = spec.scale_label(round(length, 1 if length < 100 else 0), measure.value)
    return f"{shown}, {far}" if shown else far
