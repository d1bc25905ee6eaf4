"""The coastline of the package: land where land is, rings that close, and a file that says when it is damaged."""

import importlib.util
import lzma
from itertools import pairwise
from types import ModuleType

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic  # type: ignore[import-untyped]  # it ships no types
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.house.source_tree import ROOT

from wallbill.blocks.drawing import shapes
from wallbill.blocks.maps.clip import Edges, inside
from wallbill.blocks.maps.coast import parse_coast
from wallbill.blocks.maps.pen import thin
from wallbill.blocks.maps.projection import EqualEarth, Equirectangular, LambertAzimuthal
from wallbill.blocks.maps.raster import globe, land_of, shore
from wallbill.blocks.maps.shell import load_coast
from wallbill.blocks.maps.view import View, view_of
from wallbill.errors import PictureError

COAST = load_coast()


def script() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_coastline", ROOT / "scripts" / "make_coastline.py")
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


# Common geography, from any atlas.
@pytest.mark.parametrize(
    ("longitude", "latitude", "land"),
    [
        (2.35, 48.85, True),  # Paris
        (-40.0, 30.0, False),  # the Atlantic
        (0.0, -90.0, True),  # the south pole
        (0.0, 90.0, False),  # the north pole
        (51.0, 42.0, False),  # the Caspian Sea, a hole in the land
        (178.0, -17.8, True),  # Viti Levu
        (179.5, 67.5, True),  # Chukotka, on both sides of 180 degrees
        (-179.5, 67.5, True),
        (179.9, 60.0, False),  # the Bering Sea
        (-6.297, 49.924, True),  # St Mary's, Isles of Scilly
        (-5.0, 49.0, False),  # the western Channel
    ],
)
def test_land_is_where_land_is(longitude: float, latitude: float, land: bool) -> None:  # noqa: FBT001  a table's column
    view = view_of([(longitude, latitude)], size=(41, 41), margin_px=4, least_m=2000)
    assert land_of(COAST, view)[20, 20] == land


# Centres whose opposite points are land (Botswana), sea, and the poles.
@pytest.mark.parametrize("centre", [(-155.5, 20.0), (-100.0, 40.0), (0.0, 90.0), (10.0, -90.0)])
def test_an_azimuthal_map_is_never_inside_out(centre: tuple[float, float]) -> None:
    check_against_the_plain_map(centre)


def test_a_coast_that_passes_close_to_the_far_side_cuts_nothing_in_two() -> None:
    ring = COAST.land.places[: COAST.land.starts[1]]
    assert len(ring) > 100
    for place in COAST.land.places[[5_000, 40_000, 90_000, 150_000]]:
        check_against_the_plain_map((float(place[0]) + 180.0005, -float(place[1]) + 0.0004))


def check_against_the_plain_map(centre: tuple[float, float]) -> None:
    """Samples of an azimuthal map about the centre lie on land where the plain map of each place says so."""
    longitude = (centre[0] + 180) % 360 - 180
    projection = LambertAzimuthal(longitude, centre[1])
    view = View(projection, (longitude, centre[1]), (0.0, 0.0), 100.0, (200, 160))
    land = land_of(COAST, view)
    rng = np.random.default_rng(7)
    places = np.column_stack([rng.uniform(-180, 180, 300), np.degrees(np.arcsin(rng.uniform(-1, 1, 300)))])
    x, y = view.points(places[:, 0], places[:, 1])
    seen = (x >= 1) & (x < 199) & (y >= 1) & (y < 159)
    assert seen.sum() > 60
    wrong = 0
    for place, column, row in zip(places[seen], x[seen].astype(int), y[seen].astype(int), strict=True):
        around = land[row - 1 : row + 2, column - 1 : column + 2]
        if around.all() or not around.any():  # away from shores, where a pixel may fall on either side
            plain = view_of([(float(place[0]), float(place[1]))], size=(41, 41), margin_px=4, least_m=2000)
            if isinstance(plain.projection, Equirectangular):
                wrong += land_of(COAST, plain)[20, 20] != around[1, 1]
    assert wrong == 0


def test_the_share_of_land_is_the_earths() -> None:
    # Land 148.94 of 510.07 million square kilometres: 29.2 % (The World Factbook, from memory).
    view = view_of([(-170, 0), (-50, 10), (70, 0), (175, 5)], size=(800, 400), margin_px=4)
    assert isinstance(view.projection, EqualEarth)
    world = globe(view)
    share = (land_of(COAST, view) & world).sum() / world.sum()
    assert share == pytest.approx(0.292, abs=0.006)


def test_rings_close_and_never_jump() -> None:
    for first, last in pairwise(COAST.land.starts.tolist()):
        ring = COAST.land.places[first:last]
        assert np.array_equal(ring[0], ring[-1])
        level = np.abs(ring[:-1, 1]) < 90
        assert np.abs(np.diff(ring[:, 0]))[level].max(initial=0) < 180
    assert np.all(COAST.land.boxes[:, 0] >= -205)
    assert np.all(COAST.land.boxes[:, 2] <= 205)


def test_the_arrays_are_frozen() -> None:
    for array in (COAST.land.places, COAST.land.starts, COAST.land.boxes):
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 0


def test_the_scripts_format_is_read_back() -> None:
    make = script()
    rings = [
        np.array([[-30000, 5], [32000, -14000], [0, 0], [-30000, 5]], dtype=np.int16),
        np.array([[1, 2], [3, 4]], dtype=np.int16),
    ]
    body = make.packed(rings) + make.packed(rings[1:]) + make.listed({"GB": [0], "--": []})
    coast = parse_coast(b"COAST2" + (160).to_bytes(2, "little") + lzma.compress(body))
    assert np.array_equal(coast.land.places * 160, np.concatenate(rings))
    assert coast.land.starts.tolist() == [0, 4, 6]
    assert coast.arcs.starts.tolist() == [0, 2]
    assert {code: numbers.tolist() for code, numbers in coast.bounds.items()} == {"GB": [0], "--": []}
    assert coast.countries == {"GB"}
    assert coast.land.boxes[1].tolist() == [1 / 160, 2 / 160, 3 / 160, 4 / 160]


def test_a_thinned_line_stays_within_its_tolerance() -> None:
    make = script()
    angle = np.linspace(0, np.pi, 400)
    line = np.column_stack([np.cos(angle), 0.2 * np.sin(angle * 3)])
    thin = make.thinned(line, 0.01)
    assert len(thin) < 60
    flat = line * [np.cos(np.radians(line[:, 1].mean())), 1]
    kept = thin * [np.cos(np.radians(line[:, 1].mean())), 1]
    away = np.min([make.distances(flat, a, b) for a, b in pairwise(kept)], axis=0)
    assert away.max() <= 0.0101


@pytest.mark.parametrize("data", [b"", b"COAST", b"PNG and so on", b"COAST2\xa0\x00 not packed"])
def test_a_damaged_file_is_told(data: bytes) -> None:
    with pytest.raises(PictureError, match="coastline") as told:
        parse_coast(data, name="mine.bin")
    assert "mine.bin" in str(told.value)
    assert "make_coastline" in told.value.mend


def test_a_file_cut_short_is_told() -> None:
    whole = COAST.land.places[:10]
    assert len(whole) == 10
    body = (3).to_bytes(4, "little") + b"\x04\x00\x00\x00" * 3 + b"\x00" * 10
    with pytest.raises(PictureError, match="damaged"):
        parse_coast(b"COAST2" + (160).to_bytes(2, "little") + lzma.compress(body))


steps = st.integers(-30 * 64, 70 * 64).map(
    lambda number: number / 64
)  # no numbers so small that slopes overflow
corners = st.lists(st.tuples(steps, steps), min_size=3, max_size=9)


@settings(deadline=None)
@given(st.lists(corners, min_size=1, max_size=4))
def test_filling_agrees_with_its_plain_twin(rings: list[list[tuple[float, float]]]) -> None:
    closed = [[*ring, ring[0]] for ring in rings]
    pairs = np.array([(*here, *there) for ring in closed for here, there in pairwise(ring)])
    edges = Edges(*pairs.T)
    assert np.array_equal(inside(edges, (40, 30)), shapes.polygon((40, 30), *rings))


def test_the_shore_is_the_lands_own_rim_but_not_the_drawings() -> None:
    land = np.zeros((6, 8), dtype=np.bool_)
    land[:, :4] = True
    assert shore(land).sum() == 6
    assert shore(land)[:, 3].all()


def test_dashes_go_by_length_on_the_drawing_not_by_points() -> None:
    dense = (np.linspace(0.5, 39.5, 400), np.full(400, 5.5))
    sparse = (np.array([0.5, 39.5]), np.array([5.5, 5.5]))
    first, second = (thin([part], (40, 11), dash_px=(4, 3)) for part in (dense, sparse))
    assert 0.4 < first[5].mean() < 0.8
    assert first.sum() == first[5].sum()
    assert (first != second).sum() <= 6, "a dash may begin a pixel sooner or later"


def test_a_turn_of_the_world_changes_nothing() -> None:
    here = view_of([(-4.05, 50.3), (-4.5, 48.4)], size=(120, 90), margin_px=8)
    turned = (here.centre[0] + 360, here.centre[1])
    there = View(Equirectangular(*turned), turned, here.middle, here.px_per_radius, here.size)
    assert isinstance(here.projection, Equirectangular)
    once, twice = land_of(COAST, here), land_of(COAST, there)
    assert once.any()
    assert np.array_equal(once, twice)


# Land's End and John o' Groats, the ends of a well-known geodesic (Vincenty and others, from memory); the North Cape and the
# Cape of Good Hope from any atlas, to a hundredth of a degree. The coast is told to lie within 700 m of the real one.
@pytest.mark.parametrize(
    ("longitude", "latitude", "within_m"),
    [
        (-5.71472, 50.06639, 1000),
        (-3.07, 58.64389, 1000),
        (25.78, 71.17, 2500),
        (18.47, -34.36, 2500),
    ],
)
def test_the_coast_is_where_the_coast_is(longitude: float, latitude: float, within_m: float) -> None:
    places = COAST.land.places
    inner = np.ones(len(places), dtype=np.bool_)
    inner[COAST.land.starts[1:] - 1] = False
    begin = np.flatnonzero(
        inner & (np.hypot((places[:, 0] - longitude) * 0.5, places[:, 1] - latitude) < 0.2)
    )
    share = np.linspace(0, 1, 40)[:, np.newaxis, np.newaxis]
    along = (places[begin] + share * (places[begin + 1] - places[begin])).reshape(-1, 2)
    away = [Geodesic.WGS84.Inverse(latitude, longitude, b, a)["s12"] for a, b in along.tolist()]
    assert min(away) < within_m
