"""What is left out of a map changes no pixel of it."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.blocks.maps.test_coast import COAST

from wallbill.blocks.drawing import shapes
from wallbill.blocks.maps.clip import Edges, edges_of, inside
from wallbill.blocks.maps.coast import as_lines, cut, thinned
from wallbill.blocks.maps.projection import (
    EqualEarth,
    Equirectangular,
    LambertAzimuthal,
    Mercator,
    Projection,
)
from wallbill.blocks.maps.view import View

SIZE = (60, 44)


def view_at(kind: int, longitude: float, latitude: float, px_per_radius: float) -> View:
    level = max(-80.0, min(80.0, latitude))
    projections: tuple[Projection, ...] = (
        Equirectangular(longitude, level),
        Mercator(longitude),
        LambertAzimuthal(longitude, latitude),
        EqualEarth(longitude),
    )
    projection = projections[kind]
    x, y = projection.forward(np.array([longitude]), np.array([level if kind < 3 else latitude]))
    if kind == 3:
        return View(projection, (longitude, 0.0), (0.0, 0.0), 10.5, SIZE, whole=True)
    return View(projection, (longitude, level), (float(x[0]), float(y[0])), px_per_radius, SIZE)


rings = st.lists(
    st.tuples(st.floats(-178, 178, width=16), st.floats(-80, 80, width=16)), min_size=3, max_size=7
).map(lambda ring: [*ring, ring[0]])


@settings(deadline=None, max_examples=300)
@given(
    st.lists(rings, min_size=1, max_size=4),
    st.sampled_from([0, 1, 3]),
    st.floats(-179, 179),
    st.floats(-80, 80),
    st.floats(5, 4000),
)
def test_leaving_out_what_lies_off_the_map_changes_nothing(
    closed: list[list[tuple[float, float]]],
    kind: int,
    longitude: float,
    latitude: float,
    px_per_radius: float,
) -> None:
    view = view_at(kind, longitude, latitude, px_per_radius)
    lines = as_lines(
        np.array([p for ring in closed for p in ring], dtype=np.float64), np.array([len(r) for r in closed])
    )
    plain = shapes.nothing(SIZE)
    turns = (-360.0, 0.0, 360.0) if view.projection.wraps else (0.0,)
    for turn in turns:
        for ring in closed:
            places = np.array(ring, dtype=np.float64)
            x, y = view.points(places[:, 0] + turn, places[:, 1])
            edges = [(*a, *b) for a, b in pairwise(zip(x.tolist(), y.tolist(), strict=True))]
            if view.whole and (
                places[:, 0].max() + turn <= longitude - 180 or places[:, 0].min() + turn >= longitude + 180
            ):
                continue
            plain ^= inside(Edges(*np.array(edges).T), SIZE)
    assert np.array_equal(inside(edges_of(cut(lines), view), SIZE), plain)


@pytest.mark.parametrize("centre", [(20.0, 65.0), (-60.0, -70.0), (140.0, -10.0)])
@pytest.mark.parametrize("px_per_radius", [80.0, 900.0])
def test_azimuthal_maps_of_the_coast_need_no_far_piece(
    centre: tuple[float, float], px_per_radius: float
) -> None:
    view = view_at(2, *centre, px_per_radius)
    pieces = COAST.level(0.1)
    places = pieces.lines.places
    begin = np.ones(len(places), dtype=np.bool_)
    begin[pieces.lines.starts[1:] - 1] = False
    x, y = view.points(places[:, 0], places[:, 1])
    start = np.flatnonzero(begin)
    plain = inside(Edges(x[start], y[start], x[start + 1], y[start + 1]), SIZE)
    assert np.count_nonzero(inside(edges_of(pieces, view), SIZE) != plain) == 0


def test_a_map_of_a_bay_needs_few_edges() -> None:
    view = view_at(0, -4.0, 50.0, 20_000)
    assert len(edges_of(COAST.level(0), view).x0) < 0.02 * len(COAST.land.places)


def test_thinning_stays_within_a_cell_and_keeps_rings_closed() -> None:
    thin = thinned(COAST.land, 0.1)
    assert len(thin.places) < 0.7 * len(COAST.land.places)
    for first, last in pairwise(thin.starts.tolist()):
        assert np.array_equal(thin.places[first], thin.places[last - 1])
