"""The user's own map: GeoJSON as RFC 7946 has it, its looks, and faults told by the feature's number."""

import json
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wallbill.blocks.drawing.grid import ACCENT, INK
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.patterns import HATCHES, TINTS
from wallbill.blocks.maps.geojson import MOST_BYTES, Base, base_of, parse_geojson
from wallbill.blocks.maps.looks import InkOf, Line, Mark
from wallbill.blocks.maps.spec import MapSpec
from wallbill.blocks.maps.travel import map_drawing
from wallbill.errors import PictureError

RED = Palette(accent="#c80000")


def collection(*features: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {"type": "FeatureCollection", "features": list(features), **more}


def feature(geometry: object, **properties: Any) -> dict[str, Any]:
    return {"type": "Feature", "geometry": geometry, "properties": properties}


def shape(kind: str, coordinates: object) -> dict[str, Any]:
    return {"type": kind, "coordinates": coordinates}


# The example of RFC 7946, section 1.5 (from memory).
EXAMPLE = collection(
    feature(shape("Point", [102.0, 0.5]), prop0="value0"),
    feature(
        shape("LineString", [[102.0, 0.0], [103.0, 1.0], [104.0, 0.0], [105.0, 1.0]]),
        prop0="value0",
        prop1=0.0,
    ),
    feature(
        shape("Polygon", [[[100.0, 0.0], [101.0, 0.0], [101.0, 1.0], [100.0, 1.0], [100.0, 0.0]]]),
        prop0="value0",
        prop1={"this": "that"},
    ),
)

# RFC 7946, appendix A, one of each geometry (from memory).
APPENDIX: dict[str, Any] = {
    "Point": [100.0, 0.0],
    "LineString": [[100.0, 0.0], [101.0, 1.0]],
    "Polygon": [
        [[100.0, 0.0], [101.0, 0.0], [101.0, 1.0], [100.0, 1.0], [100.0, 0.0]],
        [[100.8, 0.8], [100.8, 0.2], [100.2, 0.2], [100.2, 0.8], [100.8, 0.8]],
    ],
    "MultiPoint": [[100.0, 0.0], [101.0, 1.0]],
    "MultiLineString": [[[100.0, 0.0], [101.0, 1.0]], [[102.0, 2.0], [103.0, 3.0]]],
    "MultiPolygon": [
        [[[102.0, 2.0], [103.0, 2.0], [103.0, 3.0], [102.0, 3.0], [102.0, 2.0]]],
        [
            [[100.0, 0.0], [101.0, 0.0], [101.0, 1.0], [100.0, 1.0], [100.0, 0.0]],
            [[100.2, 0.2], [100.2, 0.8], [100.8, 0.8], [100.8, 0.2], [100.2, 0.2]],
        ],
    ],
}


def test_the_standards_example() -> None:
    point, line, area = parse_geojson(json.dumps(EXAMPLE), file="park.geojson").features
    assert point.points == ((102.0, 0.5),)
    assert line.lines[0].tolist() == [[102, 0], [103, 1], [104, 0], [105, 1]]
    assert area.rings[0].tolist() == [[100, 0], [101, 0], [101, 1], [100, 1], [100, 0]]
    assert [one.number for one in (point, line, area)] == [1, 2, 3]


@pytest.mark.parametrize(
    ("kind", "points", "lines", "rings"),
    [
        ("Point", 1, 0, 0), ("LineString", 0, 1, 0), ("Polygon", 0, 0, 2),
        ("MultiPoint", 2, 0, 0), ("MultiLineString", 0, 2, 0), ("MultiPolygon", 0, 0, 3),
    ],
)  # fmt: skip
def test_every_geometry_alone_and_in_a_feature(kind: str, points: int, lines: int, rings: int) -> None:
    geometry = shape(kind, APPENDIX[kind])
    for known in (geometry, feature(geometry), collection(feature(geometry))):
        (found,) = base_of(known, file="x").features
        assert (len(found.points), len(found.lines), len(found.rings)) == (points, lines, rings)


def test_a_collection_of_geometries_is_one_feature() -> None:
    inner = [shape("Point", [100.0, 0.0]), shape("LineString", [[101.0, 0.0], [102.0, 1.0]])]
    (found,) = base_of({"type": "GeometryCollection", "geometries": inner}, file="x").features
    assert (found.points, len(found.lines)) == (((100.0, 0.0),), 1)


def test_what_is_not_located_and_what_is_foreign_is_left_alone() -> None:
    known = collection(
        {"type": "Feature", "id": 7, "geometry": None, "properties": None, "title": "foreign"},
        feature(shape("Point", [1.0, 2.0, 340.5, 9.9]), name=12),
        feature(shape("MultiPoint", [])),
        crs={"type": "name", "properties": {"name": "urn:ogc:def:crs:OGC:1.3:CRS84"}},
        generator="something",
    )
    empty, point, none = base_of(known, file="x").features
    assert (empty.points, empty.lines, empty.rings, none.points) == ((), (), (), ())
    assert (point.points, point.name) == (((1.0, 2.0),), "12")


def area_px(base: Base, *, world: bool = False) -> int:
    spec = MapSpec(300, 200, base=base, frame=False, scale="", extent="world" if world else "fit")  # type: ignore[arg-type]  # a sheet writes words
    return int((map_drawing((), spec=spec, palette=RED).grid.codes == ACCENT).sum())


def test_the_order_of_a_ring_does_not_matter_and_holes_stay_open() -> None:
    rings = APPENDIX["Polygon"]
    looks = {"here": {"area": "solid", "ink": "accent", "line": "none"}}
    sizes = []
    for turned in (rings, [ring[::-1] for ring in rings], [rings[0], rings[1][::-1]], rings[:1]):
        base = base_of(feature(shape("Polygon", turned), here=1), file="x", looks=looks)
        sizes.append(area_px(base))
    assert sizes[0] == sizes[1] == sizes[2]
    assert sizes[0] / sizes[3] == pytest.approx(1 - 0.6 * 0.6, abs=0.02)


# RFC 7946, 3.1.9: a line from 45 N 170 E to 45 N 170 W, and a rectangle about the same, each cut in two (from memory).
def test_a_line_across_180_degrees_reads_the_same_cut_or_not() -> None:
    cut = base_of(
        shape("MultiLineString", [[[170.0, 45.0], [180.0, 45.0]], [[-180.0, 45.0], [-170.0, 45.0]]]), file="x"
    )
    whole = base_of(shape("LineString", [[170.0, 45.0], [-170.0, 45.0]]), file="x")
    pictures = [
        map_drawing((), spec=MapSpec(300, 200, base=base, frame=False, scale=""), palette=RED).grid.codes  # type: ignore[arg-type]  # a sheet writes words
        for base in (cut, whole)
    ]
    columns = np.nonzero((pictures[0] == INK).any(axis=0))[0]
    assert np.diff(columns).max() == 1
    assert np.count_nonzero(pictures[0] != pictures[1]) <= 2


def test_an_area_across_180_degrees_is_filled_without_a_seam_and_has_no_rim_there() -> None:
    east = [[[180.0, 40.0], [180.0, 50.0], [170.0, 50.0], [170.0, 40.0], [180.0, 40.0]]]
    west = [[[-170.0, 40.0], [-170.0, 50.0], [-180.0, 50.0], [-180.0, 40.0], [-170.0, 40.0]]]
    whole = [[[170.0, 40.0], [-170.0, 40.0], [-170.0, 50.0], [170.0, 50.0], [170.0, 40.0]]]
    filled = {"map-area": "solid", "map-ink": "accent", "map-line": "none"}
    sizes = [
        area_px(base_of(feature(shape(kind, rings), **filled), file="x"))
        for kind, rings in (("MultiPolygon", [east, west]), ("Polygon", whole))
    ]
    assert sizes[0] == sizes[1] > 5000
    rims = base_of(feature(shape("MultiPolygon", [east, west])), file="x")
    codes = map_drawing((), spec=MapSpec(300, 200, base=rims, frame=False, scale=""), palette=RED).grid.codes  # type: ignore[arg-type]  # a sheet writes words
    assert (codes[100] == INK).sum() == 2, "the rims to the west and the east, and none in the middle"


def test_a_ring_round_a_pole_is_the_pole() -> None:
    ring = [[float(longitude), -70.0] for longitude in range(-180, 180, 10)] + [[-180.0, -70.0]]
    base = base_of(feature(shape("Polygon", [ring]), **{"map-area": "solid", "map-ink": "accent"}), file="x")
    assert area_px(base, world=True) > 500


def test_a_box_says_what_the_map_shows_also_across_180_degrees() -> None:
    base = base_of(
        collection(feature(shape("Point", [178.0, -17.0])), bbox=[177.0, -20.0, -178.0, -16.0]), file="x"
    )
    longitudes = sorted({spot[0] % 360 for spot in base.spots()})
    assert longitudes == [177.0, 179.5, 182.0]
    high = base_of(collection(bbox=[100.0, 0.0, -100.0, 105.0, 1.0, 0.0]), file="x")
    assert high.box == (100.0, 0.0, 105.0, 1.0)


def test_looks_of_the_sheet_and_of_the_feature() -> None:
    looks = {"natural": {"line": "bold"}, "natural=water": {"area": "light", "line": "none"}}
    known = collection(
        feature(None, natural="water"),
        feature(None, natural="cliff"),
        feature(
            None, natural="water", **{"map-line": "dashed", "map-ink": "accent", "map-area": "rising close"}
        ),
        feature(None, **{"map-mark": "flag"}),
    )
    water, cliff, own, place = (one.look for one in base_of(known, file="x", looks=looks).features)
    assert (water.line, water.area) == (Line.NONE, TINTS["light"])
    assert (cliff.line, cliff.area, cliff.ink) == (Line.BOLD, None, InkOf.INK)
    assert (own.line, own.ink, own.area) == (Line.DASHED, InkOf.ACCENT, HATCHES["rising"][1])
    assert place.mark is Mark.FLAG


LINE = [[1.0, 2.0], [3.0, 4.0]]


@pytest.mark.parametrize(
    ("known", "what", "mend"),
    [
        (collection(feature(shape("Point", [1.0, 2.0])), feature(shape("Circle", [1, 2]))), "feature 2.*'Circle'", "Point"),
        (collection(feature(shape("Point", [48.4, 104.5]))), "feature 1.*no such place", "longitude first"),
        (collection(feature(shape("Point", ["4", "5"]))), "feature 1.*two numbers", "longitude, latitude"),
        (collection(feature(shape("Point", [True, 5]))), "feature 1.*two numbers", "longitude, latitude"),
        (collection(feature(shape("LineString", [[1.0, 2.0]]))), "feature 1.*two positions", "Point"),
        (collection(feature(shape("LineString", [[1.0, 2.0], [3.0]]))), "feature 1.*two numbers", "longitude"),
        (collection(feature(shape("LineString", [[1.0, 2.0], [3.0, "4"]]))), "feature 1.*two numbers", "longitude"),
        (collection(feature(shape("LineString", 5))), "feature 1.*are a list", "brackets"),
        (collection(feature(shape("Polygon", [[*LINE, [5.0, 2.0], [6.0, 6.0]]]))), "feature 1.*ring is closed", "last"),
        (collection(feature(None, **{"map-line": "wavy"})), "feature 1.*'wavy'", "bold"),
        (collection(feature(None, **{"map-area": "rising closed"})), "feature 1.*'rising closed'", "rising"),
        (collection({"type": "Feature", "geometry": None, "properties": [1]}), "feature 1.*object or null", "{}"),
        (collection(5), "feature 1.*no feature", "Feature"),  # type: ignore[arg-type]  # the fault is the point
        ({"type": "FeatureCollection"}, "list of features", "features"),
        ({"type": "Topology"}, "'Topology'", "FeatureCollection"),
        ([1], "an object", "FeatureCollection"),
        (collection(crs={"type": "name", "properties": {"name": "EPSG:27700"}}), "EPSG:27700", "WGS 84"),
        (collection(bbox=[1, 2, 3]), "four or six", "west"),
        (collection(bbox=[1, 50, 3, 40]), "no such part", "west"),
    ],
)  # fmt: skip
def test_faults_name_the_feature_and_the_mend(known: object, what: str, mend: str) -> None:
    with pytest.raises(PictureError, match=what) as told:
        base_of(known, file="park.geojson")
    assert str(told.value).startswith("park.geojson")
    assert mend in told.value.mend


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b'{"type": "Point",\n "coordinates": [1, 2', "park.geojson:2"),
        (b'{"type": "Point", "coordinates": [NaN, 2]}', "NaN"),
        (b"\xff\xfe\xff", "no GeoJSON"),
        (b"[" * 100_000, "no GeoJSON"),
        (b" " * (MOST_BYTES + 1), "the most is 16,000,000"),
    ],
)
def test_what_is_no_json_is_told(data: bytes, what: str) -> None:
    with pytest.raises(PictureError, match=what):
        parse_geojson(data, file="park.geojson")


def test_too_many_positions_are_told() -> None:
    line = shape("LineString", [[0.0, 0.0], [0.5, 0.5]] * 250_000)
    with pytest.raises(PictureError, match="500,000 positions, the most is 400,000"):
        base_of(line, file="x")


json_like = st.recursive(
    st.none()
    | st.booleans()
    | st.floats()
    | st.text(max_size=4)
    | st.sampled_from(["Point", "Polygon", "Feature"]),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(["type", "coordinates", "features", "geometry", "properties", "bbox"]),
            inner,
            max_size=5,
        )
    ),
    max_leaves=20,
)


@settings(deadline=None)
@given(json_like)
def test_whatever_comes_is_read_or_told(known: object) -> None:
    for given_ in (
        known,
        collection(feature(known)),
        collection(feature({"type": "Polygon", "coordinates": known})),
    ):
        try:
            assert isinstance(base_of(given_, file="x"), Base)
        except PictureError as fault:
            assert fault.mend  # noqa: PT017  either outcome is right


def test_names_of_areas_stand_in_them_and_points_are_marked() -> None:
    known = collection(
        feature(shape("Polygon", APPENDIX["Polygon"][:1]), name="Field"),
        feature(shape("Point", [100.1, 0.1]), name="Well", **{"map-mark": "square"}),
        feature(shape("LineString", [[99.0, -0.5], [100.0, -0.4], [101.5, -0.5]]), name="Brook"),
    )
    drawing = map_drawing((), spec=MapSpec(400, 300, base=base_of(known, file="x")), palette=RED)
    texts = {label.text: label.box for label in drawing.labels}
    assert {"Field", "Well", "Brook"} <= set(texts)
    x, y, wide, high = texts["Field"]
    assert abs(x + wide / 2 - 237) < 60
    assert abs(y + high / 2 - 115) < 60


def test_a_base_stands_for_the_round_coordinates_of_a_short_walk() -> None:
    line = shape("LineString", [[-4.05, 50.31], [-4.04, 50.32]])
    drawing = map_drawing((), spec=MapSpec(300, 200, base=base_of(line, file="x")), palette=RED)
    assert not any("°" in label.text for label in drawing.labels)
