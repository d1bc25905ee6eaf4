"""A user's own map data: GeoJSON made into lines, areas and named points, each with its look.

Source: RFC 7946, The GeoJSON Format. Every type of geometry is read, and one on its own as well as features; the order
in which a ring is wound does not matter (3.1.6 leaves that to readers); members that the format does not name are left
alone (6.1). An edge is straight in longitude and latitude (3.1.1). A line or ring that steps by more than half a turn is taken to
cross 180 degrees, so data reads the same cut there (3.1.9) or not.
"""

import json
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, NoReturn

import numpy as np

from wallbill.blocks.maps.looks import Look, look_of
from wallbill.blocks.maps.projection import Reals
from wallbill.errors import PictureError, Place, SheetError

MOST_BYTES = 16_000_000
MOST_POSITIONS = 400_000
_MOST_NESTED = 8
_STEP_DEG = 1.0
_SYSTEMS = frozenset(
    {"urn:ogc:def:crs:OGC:1.3:CRS84", "urn:ogc:def:crs:OGC::CRS84", "EPSG:4326", "urn:ogc:def:crs:EPSG::4326"}
)
_GEOMETRIES = ("Point", "MultiPoint", "LineString", "MultiLineString", "Polygon", "MultiPolygon", "GeometryCollection")  # fmt: skip

Looks = Mapping[str, Mapping[str, str]]
"""Looks by the property that asks for them: ``natural=water``, or ``natural`` for any value."""


@dataclass(frozen=True, slots=True)
class Feature:
    """A feature of the user's map.

    ``points``, ``lines`` and ``rings``: float64, shape (n, 2), longitude and latitude in degrees, longitudes running on
    across 180. Rings together are filled by the even-odd rule, so a hole is a ring inside another.
    """

    number: int
    name: str
    look: Look
    points: tuple[tuple[float, float], ...] = ()
    lines: tuple[Reals, ...] = ()
    rings: tuple[Reals, ...] = ()


@dataclass(frozen=True, slots=True)
class Base:
    """The user's features, and the box (west, south, east, north, degrees) that the data says it fills, if it does."""

    features: tuple[Feature, ...]
    box: tuple[float, float, float, float] | None = None

    def spots(self) -> list[tuple[float, float]]:
        """Longitudes and latitudes that a map of all this must hold."""
        if self.box is not None:
            west, south, east, north = self.box
            wide = (east - west) % 360 or 360 * (east != west)
            return [(west + wide * share, latitude) for share in (0, 0.5, 1) for latitude in (south, north)]
        shapes = [shape for one in self.features for shape in (*one.lines, *one.rings)]
        return [point for one in self.features for point in one.points] + [
            (float(place[0]), float(place[1])) for shape in shapes for place in shape
        ]


def parse_geojson(data: bytes | str, *, file: str, looks: Looks | None = None) -> Base:
    """GeoJSON text as a base for a map; ``file`` names it in messages.

    Raises `PictureError` with the feature's number for what is no GeoJSON, too large, or of another reference system.
    """
    if len(data) > MOST_BYTES:
        mend = "Cut out the part that the map shows, or thin it."
        _fail(f"the map data has {len(data):,} bytes, the most is {MOST_BYTES:,}", file, mend=mend)
    try:
        known = json.loads(data, parse_constant=_no_number)
    except json.JSONDecodeError as fault:
        raise PictureError(
            f"this is no JSON: {fault.msg}",
            where=Place(file, fault.lineno),
            mend="Export it again as GeoJSON.",
        ) from fault
    except (UnicodeDecodeError, ValueError, RecursionError) as fault:
        raise PictureError(
            f"this is no GeoJSON: {fault}", where=Place(file), mend="Export it again as GeoJSON, in UTF-8."
        ) from fault
    return base_of(known, file=file, looks=looks)


def base_of(known: object, *, file: str, looks: Looks | None = None) -> Base:
    """A base from GeoJSON that is parsed already, such as a value out of a source; else as `parse_geojson`."""
    if not isinstance(known, Mapping):
        _fail(
            f"GeoJSON is an object, not {_told(known)}",
            file,
            mend='Begin it with {"type": "FeatureCollection"',
        )
    _check_system(known, file)
    features = tuple(
        _Reader(file, number).feature(raw, looks or {})
        for number, raw in enumerate(_features(known, file), 1)
    )
    total = sum(sum(map(len, one.lines)) + sum(map(len, one.rings)) + len(one.points) for one in features)
    if total > MOST_POSITIONS:
        mend = "Cut out the part that the map shows, or thin it."
        _fail(f"the map data has {total:,} positions, the most is {MOST_POSITIONS:,}", file, mend=mend)
    return Base(features, _box(known.get("bbox"), file))


def _no_number(word: str) -> NoReturn:
    raise ValueError(f"{word} is no number of JSON")


def _fail(what: str, file: str, *, mend: str, field: str = "") -> NoReturn:
    raise PictureError(what, where=Place(file, field=field), mend=mend)


def _told(value: object) -> str:
    """A value as a message shows it."""
    text = repr(value)
    return text if len(text) <= 40 else f"{text[:37]}..."


def _features(known: Mapping[str, Any], file: str) -> Iterator[object]:
    """The features in order; a geometry on its own counts as one without properties."""
    kind = known.get("type")
    if kind == "FeatureCollection":
        features = known.get("features")
        if not isinstance(features, list):
            _fail(
                "a FeatureCollection has a list of features",
                file,
                field="features",
                mend='Write "features": [...].',
            )
        yield from features
    elif kind == "Feature":
        yield known
    elif kind in _GEOMETRIES:
        yield {"type": "Feature", "geometry": known, "properties": None}
    else:
        mend = f"Write FeatureCollection, Feature or one of {', '.join(_GEOMETRIES)}."
        _fail(f"there is no GeoJSON of type {_told(kind)}", file, field="type", mend=mend)


def _check_system(known: Mapping[str, Any], file: str) -> None:
    """Raises for coordinates of another reference system: RFC 7946 knows WGS 84 alone, its forerunner knew others."""
    system = known.get("crs")
    if system is None:
        return
    properties = system.get("properties") if isinstance(system, Mapping) else None
    name = properties.get("name") if isinstance(properties, Mapping) else system
    if name not in _SYSTEMS:
        mend = "Export it in WGS 84 (EPSG:4326), longitude first."
        _fail(f"the coordinates are of another system, {_told(name)}", file, field="crs", mend=mend)


def _box(raw: object, file: str) -> tuple[float, float, float, float] | None:
    """The bounding box of section 5; east is less than west where it crosses 180 degrees (5.2)."""
    if raw is None:
        return None
    numbers = raw if isinstance(raw, list) and all(_is_number(one) for one in raw) else []
    if len(numbers) not in {4, 6}:
        _fail(
            f"a bbox is four or six numbers, not {_told(raw)}",
            file,
            field="bbox",
            mend="Write [west, south, east, north].",
        )
    half = len(numbers) // 2
    west, south, east, north = numbers[0], numbers[1], numbers[half], numbers[half + 1]
    if not (-90 <= south <= north <= 90 and max(abs(west), abs(east)) <= 360):
        _fail(
            f"there is no such part of the earth: {_told(raw)}",
            file,
            field="bbox",
            mend="Write [west, south, east, north].",
        )
    return float(west), float(south), float(east), float(north)


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and bool(math.isfinite(value))


@dataclass(frozen=True, slots=True)
class _Reader:
    """Reads one feature, and says its number where it is wrong."""

    file: str
    number: int

    def fail(self, what: str, *, mend: str) -> NoReturn:
        """Raises for this feature."""
        _fail(what, self.file, field=f"feature {self.number}", mend=mend)

    def feature(self, raw: object, looks: Looks) -> Feature:
        """The feature with its look; one without a geometry has nothing to draw."""
        if not isinstance(raw, Mapping) or raw.get("type") != "Feature":
            self.fail(
                f"this is no feature: {_told(raw)}",
                mend='Write {"type": "Feature", "geometry": ..., "properties": ...}.',
            )
        properties = raw.get("properties")
        if properties is not None and not isinstance(properties, Mapping):
            self.fail(
                f"properties are an object or null, not {_told(properties)}", mend='Write "properties": {}.'
            )
        try:
            look = look_of(properties or {}, looks)
        except SheetError as fault:
            self.fail(fault.what, mend=fault.mend)
        name = (properties or {}).get("name")
        found = Feature(self.number, "" if name is None else str(name).strip(), look)
        geometry = raw.get("geometry")
        return found if geometry is None else self.with_geometry(found, geometry, depth=0)

    def with_geometry(self, found: Feature, raw: object, *, depth: int) -> Feature:
        """The feature with one geometry more."""
        if not isinstance(raw, Mapping) or raw.get("type") not in _GEOMETRIES:
            kind = raw.get("type") if isinstance(raw, Mapping) else raw
            self.fail(
                f"there is no geometry of type {_told(kind)}", mend=f"Write one of {', '.join(_GEOMETRIES)}."
            )
        kind = str(raw["type"])
        if kind == "GeometryCollection":
            if depth >= _MOST_NESTED:
                self.fail(
                    "geometry collections lie too deep in one another",
                    mend="Give the geometries side by side.",
                )
            for inner in self.listed(raw.get("geometries"), "geometries"):
                found = self.with_geometry(found, inner, depth=depth + 1)
            return found
        coordinates = raw.get("coordinates")
        parts = self.listed(coordinates, "coordinates") if kind.startswith("Multi") else [coordinates]
        single = kind.removeprefix("Multi")
        if single == "Point":
            return replace(
                found, points=(*found.points, *(self.position(part) for part in parts if part != []))
            )
        if single == "LineString":
            return replace(found, lines=(*found.lines, *(self.line(part) for part in parts if part != [])))
        rings = (self.ring(ring) for part in parts for ring in self.listed(part, "rings"))
        return replace(found, rings=(*found.rings, *rings))

    def listed(self, raw: object, what: str) -> list[Any]:
        """A list, or a fault."""
        if not isinstance(raw, list):
            self.fail(f"{what} are a list, not {_told(raw)}", mend="Write them in square brackets.")
        return raw

    def position(self, raw: object) -> tuple[float, float]:
        """Longitude and latitude; what stands behind them (a height) is left alone."""
        if not isinstance(raw, list) or len(raw) < 2 or not all(_is_number(one) for one in raw[:2]):
            self.fail(f"a position is two numbers, not {_told(raw)}", mend="Write [longitude, latitude].")
        longitude, latitude = float(raw[0]), float(raw[1])
        if not (abs(longitude) <= 360 and abs(latitude) <= 90):
            mend = "Write [longitude, latitude] in degrees, longitude first."
            self.fail(f"there is no such place: {_told(raw)}", mend=mend)
        return longitude, latitude

    def positions(self, raw: object) -> Reals:
        """Positions, shape (n, 2): all at once where they are as they should be, else one by one to find the fault."""
        listed = self.listed(raw, "positions")
        try:
            places = np.array([one[:2] for one in listed])
        except (TypeError, ValueError, KeyError):
            places = np.array([])
        fits = places.ndim == 2 and places.shape[1] == 2 and places.dtype.kind in "if"
        if fits and np.all(np.isfinite(places) & (np.abs(places) <= [360, 90])):
            return places.astype(np.float64)
        return np.array([self.position(one) for one in listed], dtype=np.float64).reshape(-1, 2)

    def line(self, raw: object) -> Reals:
        """A line of two positions or more, running on across 180 degrees."""
        places = self.positions(raw)
        if len(places) < 2:
            self.fail("a line has two positions or more", mend="Write a Point for a single place.")
        return _stepped(_running_on(places))

    def ring(self, raw: object) -> Reals:
        """A closed ring of four positions or more; one round a pole is closed along the pole."""
        places = self.positions(raw)
        if len(places) < 4 or (places[0] != places[-1]).any():
            mend = "Give four positions or more, the last the same as the first."
            self.fail(f"a ring is closed, not {len(places)} positions that end elsewhere", mend=mend)
        turned = _running_on(places)
        if abs(turned[-1, 0] - turned[0, 0]) > 180:
            pole = math.copysign(90, float(turned[:, 1].mean()))
            turned = np.concatenate([turned, [[turned[-1, 0], pole], [turned[0, 0], pole], turned[0]]])
        return _stepped(turned)


def _running_on(places: Reals) -> Reals:
    """The places with longitudes that run on where one step would be more than half a turn."""
    steps = np.diff(places[:, 0])
    steps = np.where(np.abs(steps) > 180, steps - 360 * np.round(steps / 360), steps)
    longitude = places[0, 0] + np.concatenate([[0.0], np.cumsum(steps)])
    longitude -= 360 * round(float(longitude.min() + longitude.max()) / 2 / 360)
    return np.column_stack([longitude, places[:, 1]])


def _stepped(places: Reals) -> Reals:
    """The places with further ones on long edges, which are straight in degrees and so may bend on the map."""
    pieces = np.maximum(1, np.ceil(np.abs(np.diff(places, axis=0)).max(axis=1) / _STEP_DEG)).astype(np.int64)
    if pieces.max(initial=1) == 1:
        return places
    at = np.concatenate([[0], np.cumsum(pieces)])
    every = np.arange(at[-1] + 1)
    return np.column_stack([np.interp(every, at, places[:, axis]) for axis in (0, 1)])
