"""Any journey anywhere draws: inside its box, without a line across the map, and names never overlap."""

import math
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.blocks.maps.outside import ORIGIN, gpx, race
from tests.blocks.maps.test_coast import COAST
from tests.blocks.rulers import SevenPixelsALetter
from tests.golden import check_golden

from wallbill.blocks.drawing.grid import ACCENT, INK
from wallbill.blocks.drawing.labels import apart, inside
from wallbill.blocks.drawing.markup import Drawing
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.maps.looks import Mark
from wallbill.blocks.maps.names import Named, Under, placed_names
from wallbill.blocks.maps.projection import great_circles_m
from wallbill.blocks.maps.spec import MapSpec
from wallbill.blocks.maps.travel import map_drawing, places_map
from wallbill.blocks.maps.view import view_of
from wallbill.blocks.maps.ways import followed, way_of
from wallbill.facts.track import Position, Track, Waypoint

RED = Palette(accent="#c80000")
GREY = Palette(smooth=True)
PLATE = ((255, 255, 255), (0, 0, 0), (200, 0, 0), (240, 240, 240), (120, 120, 120))
GREYS = ((255, 255, 255), *((level, level, level) for level in range(0, 256, 17)))

anywhere = st.tuples(st.floats(-90, 90), st.floats(-180, 180))
close = st.tuples(anywhere, st.lists(st.tuples(st.floats(-3, 3), st.floats(-9, 9)), min_size=1, max_size=8))


def track(*segments: list[tuple[float, float]], places: tuple[tuple[str, float, float], ...] = ()) -> Track:
    parts = tuple(tuple(Position(a, b) for a, b in segment) for segment in segments)
    return Track(ORIGIN, "journey", parts, tuple(Waypoint(name, Position(a, b)) for name, a, b in places))


def check_labels(drawing: Drawing) -> None:
    assert all(inside(label.box, drawing.grid.size) for label in drawing.labels)
    for one, other in combinations(drawing.labels, 2):
        assert apart(one.box, other.box), (one, other)


def moved(start: tuple[float, float], steps: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """A way of small steps from a place, over a pole and across 180 degrees where they lead there."""
    latitude, longitude = start
    found = [start]
    for north, east in steps:
        latitude = max(-90.0, min(90.0, latitude + north))
        longitude = (longitude + east + 180) % 360 - 180
        found.append((latitude, longitude))
    return found


@settings(deadline=None, max_examples=60)
@given(st.lists(anywhere, min_size=1, max_size=6), st.sampled_from([RED, GREY]), st.booleans())
def test_any_journey_draws(places: list[tuple[float, float]], palette: Palette, borders: bool) -> None:  # noqa: FBT001  a drawn value
    named = tuple((f"place {i}", *place) for i, place in enumerate(places))
    spec = MapSpec(180, 130, coast=COAST, borders=borders, label_px=10)
    drawing = map_drawing([track(places, places=named)], spec=spec, palette=palette)
    assert drawing.grid.size == (180, 130)
    assert (drawing.greys is not None) == palette.smooth
    check_labels(drawing)


@settings(deadline=None, max_examples=200)
@given(close, st.integers(60, 400))
def test_no_line_jumps_across_the_map(
    way: tuple[tuple[float, float], list[tuple[float, float]]], width_px: int
) -> None:
    """A step of the drawn line is never longer than its way on the ground, by the map's scale and its stretch."""
    journey = track(moved(*way))
    places = followed(journey.segments[0])
    view = view_of(places, size=(width_px, 200), margin_px=20)
    for x, y in way_of(journey, view):
        steps = np.hypot(np.diff(x), np.diff(y)) / view.px_per_radius
        assert np.all(steps < 0.1), steps.max(initial=0)


def test_the_steps_of_a_followed_leg_are_short_and_end_where_it_ends() -> None:
    places = followed(track([(50.0, -4.0), (35.0, 139.0), (35.0, 139.1)]).segments[0])
    legs = great_circles_m(places[:-1], places[1:])
    assert legs.max() < 50_001
    assert places[0].tolist() == [-4.0, 50.0]
    assert places[-1].tolist() == [139.1, 35.0]


@settings(deadline=None, max_examples=60)
@given(
    st.lists(
        st.tuples(st.text("abcdef", min_size=1, max_size=10), st.integers(10, 290), st.integers(10, 190)),
        max_size=30,
    )
)
def test_led_names_are_clear_of_everything(places: list[tuple[str, int, int]]) -> None:
    spec = MapSpec(300, 200, ruler=SevenPixelsALetter())
    named = [Named(name, (x, y), 4) for name, x, y in places]
    nothing = np.zeros((200, 300), dtype=np.bool_)
    placed = placed_names(named, spec=spec, under=Under(nothing, nothing))
    assert all(inside(label.box, spec.size) for label in placed.labels)
    assert all(apart(one.box, other.box) for one, other in combinations(placed.labels, 2))
    for label in placed.labels:
        for name, x, y in places:
            covers = (
                label.box[0] <= x < label.box[0] + label.box[2]
                and label.box[1] <= y < label.box[1] + label.box[3]
            )
            assert not covers or (name, x, y) in places[:0]


def test_a_crowded_name_is_led_out_by_a_line() -> None:
    spec = MapSpec(300, 200, ruler=SevenPixelsALetter())
    named = [Named("harbour", (60 + 18 * i, 20), 4) for i in range(7)]
    nothing = np.zeros((200, 300), dtype=np.bool_)
    placed = placed_names(named, spec=spec, under=Under(nothing, nothing))
    assert len(placed.labels) == 7
    ((start, end),) = placed.leaders
    assert any(start == (one.at[0] + 0.5, one.at[1] + 0.5) for one in named)
    assert math.hypot(end[0] - start[0], end[1] - start[1]) < 6.5 * spec.line_height_px


def test_real_tracks_draw() -> None:
    for known in (race(), gpx("korita-zbevnica")[0], gpx("cerknicko-jezero")[0]):
        drawing = map_drawing([known], spec=MapSpec(400, 300, coast=COAST), palette=RED)
        assert (drawing.grid.codes == ACCENT).sum() > 300
        check_labels(drawing)


def test_what_stands_for_a_map_is_its_names_and_its_length() -> None:
    cruise = track(
        [(50.31, -4.05), (48.38, -4.48)], places=(("Fennel Quay", 50.31, -4.05), ("Brest", 48.38, -4.48))
    )
    spec = MapSpec(300, 200, scale="nmi")  # type: ignore[arg-type]  # a sheet writes words
    title = map_drawing([cruise], spec=spec, palette=RED).title
    assert title == f"Fennel Quay – Brest, {cruise.length_m / 1852:.0f}\N{NO-BREAK SPACE}nmi"
    visited = MapSpec(
        300,
        200,
        coast=COAST,
        countries=("FR", "IT"),
        country_name={"FR": "France", "IT": "Italy"}.__getitem__,
    )
    assert map_drawing((), spec=visited, palette=RED).title == "France – Italy"
    html = str(places_map([Waypoint("Brest", Position(48.38, -4.48))], spec=visited, palette=RED))
    assert 'aria-label="Brest – France – Italy"' in html


@pytest.mark.parametrize("mark", list(Mark))
def test_places_are_marked(mark: Mark) -> None:
    spec = MapSpec(
        200, 120, mark=mark, places=(Waypoint("", Position(50, 4)),), frame=False, least_m=1e6, coast=COAST
    )
    bare = MapSpec(
        200,
        120,
        mark=Mark.NONE,
        places=(Waypoint("", Position(50, 4)),),
        frame=False,
        least_m=1e6,
        coast=COAST,
    )
    marked, plain = (map_drawing((), spec=one, palette=RED).grid.codes for one in (spec, bare))
    assert np.array_equal(marked, plain) == (mark is Mark.NONE)


SPEC = {"coast": COAST, "label_px": 12, "ruler": SevenPixelsALetter()}
CROSSING = track(
    [(-18.13, 178.42), (-16.6, 179.9), (-13.83, -171.76)],
    [(-13.83, -171.76), (-21.13, -175.2)],
    places=(("Suva", -18.13, 178.42), ("Apia", -13.83, -171.76)),
)
ARCTIC = track(
    [(60.39, 5.32), (69.65, 18.96), (78.22, 15.63), (70.48, -21.97)], places=(("Bergen", 60.39, 5.32),)
)
VISITED = ("GB", "FR", "PT", "NO", "CA", "NZ", "ZA", "MU", "EG")
PAINTS = {"ink": Palette(), "red": RED, "grey": GREY}


def subject(name: str) -> tuple[Track | None, MapSpec]:
    if name == "world":
        return None, MapSpec(260, 140, countries=VISITED, extent="world", **SPEC)  # type: ignore[arg-type]  # a sheet writes words
    if name == "arctic":
        return ARCTIC, MapSpec(200, 150, **SPEC)  # type: ignore[arg-type]  # shared words
    return CROSSING, MapSpec(220, 140, **SPEC)  # type: ignore[arg-type]  # shared words


@pytest.mark.parametrize("paint", list(PAINTS))
@pytest.mark.parametrize("name", ["crossing", "arctic", "world"])
def test_golden(name: str, paint: str) -> None:
    known, spec = subject(name)
    drawing = map_drawing([known] if known else [], spec=spec, palette=PAINTS[paint])
    if drawing.greys is not None:
        check_golden(f"map-{name}-{paint}", drawing.greys[:88, :130], GREYS)
        return
    assert (drawing.grid.codes == INK).any()
    check_golden(f"map-{name}-{paint}", drawing.flat().codes, PLATE)
