"""Maps of travels: what they show, in which projection, and that nothing overlaps, is lost or blurred."""

from datetime import UTC, datetime
from itertools import combinations

import blitz_py
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.blocks.rulers import SevenPixelsALetter
from tests.golden import check_golden

from wallbill.blocks.drawing.grid import ACCENT, INK, NOTHING
from wallbill.blocks.drawing.labels import apart, inside
from wallbill.blocks.drawing.markup import Drawing, to_markup
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.maps.graticule import sexagesimal
from wallbill.blocks.maps.projection import (
    EqualEarth,
    Equirectangular,
    LambertAzimuthal,
    Mercator,
    great_circle_m,
)
from wallbill.blocks.maps.scalebar import round_length
from wallbill.blocks.maps.shell import load_coast
from wallbill.blocks.maps.spec import MapSpec, Measure, Sea
from wallbill.blocks.maps.travel import map_drawing, travel_map
from wallbill.blocks.maps.view import middle_longitude, view_of
from wallbill.errors import WallbillError
from wallbill.facts.origin import Origin
from wallbill.facts.track import Position, Track, Waypoint

COAST = load_coast()
RED = Palette(accent="#c80000")
PLATE = ((255, 255, 255), (0, 0, 0), (200, 0, 0), (240, 240, 240), (120, 120, 120))
ORIGIN = Origin("logbook", "invented", "", None, datetime(2026, 6, 1, tzinfo=UTC))


def track(*segments: list[tuple[float, float]], places: tuple[tuple[str, float, float], ...] = ()) -> Track:
    """A track of (latitude, longitude) points."""
    parts = tuple(tuple(Position(a, b) for a, b in segment) for segment in segments)
    return Track(ORIGIN, "cruise", parts, tuple(Waypoint(name, Position(a, b)) for name, a, b in places))


CRUISE = track(
    [(50.31, -4.05), (50.05, -4.9), (49.93, -6.3), (48.48, -5.1), (48.38, -4.48)],
    places=(("Fennel Quay", 50.31, -4.05), ("Scilly", 49.93, -6.3), ("Brest", 48.38, -4.48)),
)


def check_labels(drawing: Drawing) -> None:
    assert all(inside(label.box, drawing.grid.size) for label in drawing.labels)
    for one, other in combinations(drawing.labels, 2):
        assert apart(one.box, other.box), (one, other)


def painted(html: str, size: tuple[int, int]) -> np.ndarray:
    page = f'<body style="margin:0;background:#fff">{html}</body>'
    width, height, data = blitz_py.render_rgba(page, width=size[0], height=size[1])
    return np.frombuffer(bytes(data), dtype=np.uint8).reshape(height, width, 4)[:, :, :3]


def spots(*places: tuple[float, float]) -> list[tuple[float, float]]:
    return [(longitude, latitude) for latitude, longitude in places]


@pytest.mark.parametrize(
    ("places", "projection"),
    [
        (((50.31, -4.05), (48.38, -4.48)), Equirectangular),  # 216 km
        (((48.2, 16.4), (41.0, 29.0)), Mercator),
        (((60.4, 5.3), (78.2, 15.6)), LambertAzimuthal),
        (((50, -4), (35, 139), (37, -122), (-34, 18)), EqualEarth),
        (((89.9, 0), (89.9, 120), (89.9, -120)), LambertAzimuthal),
    ],
)
def test_the_projection_follows_from_the_extent(
    places: tuple[tuple[float, float], ...], projection: type
) -> None:
    assert isinstance(view_of(spots(*places), size=(400, 300), margin_px=20).projection, projection)


@settings(deadline=None)
@given(
    st.lists(st.tuples(st.floats(-89, 89), st.floats(-180, 180)), min_size=1, max_size=12), st.integers(0, 40)
)
def test_every_place_lies_on_the_map(places: list[tuple[float, float]], margin_px: int) -> None:
    view = view_of(spots(*places), size=(320, 200), margin_px=margin_px)
    longitude = view.near(np.array([place[1] for place in places]))
    x, y = view.points(longitude, np.array([place[0] for place in places]))
    least = 0 if view.whole else margin_px - 1e-6
    assert np.all((x >= least) & (x <= 320 - least))
    assert np.all((y >= least) & (y <= 200 - least))


@settings(deadline=None)
@given(st.lists(st.floats(-180, 180), min_size=1, max_size=9), st.floats(-720, 720))
def test_the_arc_of_longitude_is_the_shortest_and_turns_with_its_places(
    places: list[float], turn: float
) -> None:
    middle, span = middle_longitude(places)
    assert 0 <= span < 360
    off = [(place - middle + 180) % 360 - 180 for place in places]
    assert max(abs(one) for one in off) <= span / 2 + 1e-6
    _, turned = middle_longitude([place + turn for place in places])
    assert turned == pytest.approx(span, abs=1e-6)


def test_a_cruise_across_180_degrees_is_drawn_in_one_piece() -> None:
    drawing = map_drawing(
        [track([(-18.1, 178.4), (-13.8, -171.8)])], spec=MapSpec(300, 200, coast=COAST), palette=RED
    )
    columns = np.nonzero((drawing.grid.codes == ACCENT).any(axis=0))[0]
    assert np.diff(columns).max() <= 4
    assert columns.max() - columns.min() > 150


def test_round_the_world_the_track_leaves_one_side_and_comes_in_at_the_other() -> None:
    voyage = track([(50, -4), (40, -74), (37, -122), (35, 139), (1, 103), (-34, 18), (50, -4)])
    drawing = map_drawing([voyage], spec=MapSpec(400, 220, coast=COAST, frame=False), palette=RED)
    rows = (drawing.grid.codes == ACCENT).sum(axis=1)
    assert rows.max() < 200, "no line runs straight across the map"


def test_segments_do_not_join() -> None:
    whole = map_drawing(
        [track([(50, -5), (50, -4.6), (50, -4.4), (50, -4)])], spec=MapSpec(300, 200), palette=RED
    )
    parted = map_drawing(
        [track([(50, -5), (50, -4.6)], [(50, -4.4), (50, -4)])], spec=MapSpec(300, 200), palette=RED
    )
    middle = slice(140, 160)
    assert (whole.grid.codes[:, middle] == ACCENT).any()
    assert not (parted.grid.codes[:, middle] == ACCENT).any()


def test_a_long_leg_follows_the_great_circle() -> None:
    # Between two places on 50 N the great circle runs north of the parallel.
    drawing = map_drawing([track([(50, -40), (50, 0)])], spec=MapSpec(400, 300), palette=RED)
    rows = np.nonzero((drawing.grid.codes == ACCENT).any(axis=1))[0]
    assert rows.max() - rows.min() > 20


names = st.lists(
    st.tuples(st.text("abcdefghijklm ", min_size=1, max_size=14), st.floats(48, 51), st.floats(-7, -3)),
    max_size=14,
)


@settings(max_examples=40, deadline=None)
@given(names, st.integers(60, 420), st.integers(60, 320), st.integers(9, 20), st.sampled_from(list(Measure)))
def test_names_never_overlap(
    places: list[tuple[str, float, float]], width_px: int, height_px: int, label_px: int, scale: Measure
) -> None:
    cruise = track([(50.3, -4.05), (49.9, -6.3), (48.4, -4.5)], places=tuple(places))
    spec = MapSpec(width_px, height_px, coast=COAST, label_px=label_px, scale=scale)
    drawing = map_drawing([cruise], spec=spec, palette=RED)
    assert drawing.grid.size == spec.size
    check_labels(drawing)


def test_a_place_named_where_there_is_room_keeps_its_name() -> None:
    texts = [
        label.text for label in map_drawing([CRUISE], spec=MapSpec(400, 300, coast=COAST), palette=RED).labels
    ]
    assert {"Fennel Quay", "Scilly", "Brest"} <= set(texts)


@pytest.mark.parametrize("measure", [Measure.KM, Measure.NAUTICAL_MILES, Measure.MILES])
def test_the_scale_bar_is_as_long_as_it_says(measure: Measure) -> None:
    spec = MapSpec(400, 300, scale=measure)
    drawing = map_drawing([CRUISE], spec=spec, palette=RED)
    (label,) = [one for one in drawing.labels if one.text.endswith(f"\N{NO-BREAK SPACE}{measure.value}")]
    length = float(label.text.split()[0])
    assert length == round_length(length)
    line = label.box[1] + label.box[3] + 6
    run = np.nonzero(drawing.grid.codes[line, label.box[0] - 4 : label.box[0] + 160] == INK)[0]
    points = spots((50.31, -4.05), (50.05, -4.9), (49.93, -6.3), (48.48, -5.1), (48.38, -4.48))
    view = view_of(points, size=spec.size, margin_px=spec.margin_px)
    ground_m = (run.max() - run.min()) * view.metres_per_px()
    assert ground_m == pytest.approx(length * measure.metres, abs=view.metres_per_px())


def test_metres_a_pixel_agree_with_geodesics() -> None:
    # One degree on the equator is 111319.4908 m on WGS 84, Paris to London 343923.1201 m (geographiclib); the sphere
    # of the map stands for the ellipsoid to 0.6 per cent, and the plain projection for the sphere to half a per cent.
    for here, there, geodesic_m in (
        ((0, 0), (0, 1), 111_319.4908),
        ((48.8566, 2.3522), (51.5074, -0.1278), 343_923.1201),
    ):
        view = view_of(spots(here, there), size=(800, 600), margin_px=30)
        x, y = view.points(
            np.array([here[1], there[1]], dtype=float), np.array([here[0], there[0]], dtype=float)
        )
        across_px = float(np.hypot(x[1] - x[0], y[1] - y[0]))
        assert across_px * view.metres_per_px() == pytest.approx(geodesic_m, rel=0.012)


@pytest.mark.parametrize("most", [0.3, 1, 1.99, 2, 7, 49.9, 1234])
def test_a_round_length_is_1_2_or_5(most: float) -> None:
    length = round_length(most)
    assert length <= most < 2.6 * length
    assert f"{length:.0e}"[0] in "125"


def test_a_map_of_a_few_kilometres_shows_round_coordinates_instead_of_a_coarse_coast() -> None:
    walk = track([(50.31, -4.05), (50.32, -4.06), (50.33, -4.04)])
    drawing = map_drawing([walk], spec=MapSpec(400, 300, coast=COAST), palette=RED)
    texts = [label.text for label in drawing.labels]
    assert drawing.tints == ()
    assert any(text.endswith("N") for text in texts)
    assert any(text.endswith("W") for text in texts)
    check_labels(drawing)


def test_coordinates_are_worded_in_degrees_and_minutes() -> None:
    assert sexagesimal(50 * 3600 + 18 * 60, "NS", seconds=False) == "50°18′N"
    assert sexagesimal(-(4 * 3600 + 3 * 60 + 30), "EW", seconds=True) == "4°03′30″W"
    assert sexagesimal(0, "NS", seconds=False) == "0°00′"


def test_borders_are_drawn_only_when_asked() -> None:
    ride = track([(48.2, 16.4), (42.7, 23.3)])
    plain = map_drawing([ride], spec=MapSpec(300, 240, coast=COAST), palette=RED)
    bordered = map_drawing([ride], spec=MapSpec(300, 240, coast=COAST, borders=True), palette=RED)
    assert (bordered.grid.codes == INK).sum() > (plain.grid.codes == INK).sum() + 200


@pytest.mark.parametrize("sea", list(Sea))
@pytest.mark.parametrize("palette", [Palette(), RED])
def test_the_engine_paints_the_very_pixels(sea: Sea, palette: Palette) -> None:
    drawing = map_drawing(
        [CRUISE], spec=MapSpec(280, 200, coast=COAST, sea=sea, borders=True), palette=palette
    )
    got = painted(
        str(to_markup(Drawing(drawing.grid, (), drawing.tints, ""), palette, label_px=14)), (280, 200)
    )
    css = {NOTHING: palette.paper, INK: palette.ink, 2: palette.accent, 3: palette.paper, 4: palette.muted}
    table = np.array(
        [[int(css[code][i : i + 2], 16) for i in (1, 3, 5)] for code in range(5)], dtype=np.uint8
    )
    assert np.array_equal(got, table[drawing.flat().codes])


def test_a_map_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one place"):
        travel_map([], spec=MapSpec(200, 100), palette=RED)
    with pytest.raises(ValueError, match="at least one place"):
        travel_map([track()], spec=MapSpec(200, 100), palette=RED)


@pytest.mark.parametrize(
    ("fault", "word"),
    [
        ({"width_px": 10}, "10 x 100"),
        ({"label_px": 2}, "got 2"),
        ({"coast_px": 9}, "got 3 and 9"),
        ({"sea": "stormy"}, "stormy"),
        ({"scale": "leagues"}, "leagues"),
        ({"mark": "cross"}, "cross"),
        ({"extent": "moon"}, "moon"),
        ({"tint": "pink"}, "pink"),
        ({"countries": ("ZZ",)}, "ZZ"),
    ],
)
def test_a_spec_that_holds_no_map_is_refused_with_a_mend(fault: dict[str, object], word: str) -> None:
    with pytest.raises(WallbillError, match=word) as told:
        MapSpec(**{"width_px": 200, "height_px": 100, "coast": COAST, **fault})  # type: ignore[arg-type]  # the faults are the point
    assert told.value.mend


def test_words_of_a_sheet_are_taken_for_the_sea_and_the_scale() -> None:
    spec = MapSpec(200, 100, sea="plain", scale="nmi")  # type: ignore[arg-type]  # a sheet writes words
    assert (spec.sea, spec.scale.metres) == (Sea.PLAIN, 1852)


@pytest.mark.parametrize("place", [(90.0, 0.0), (-90.0, 10.0), (0.0, 180.0), (0.0, -180.0), (67.5, 180.0)])
def test_a_single_place_anywhere_has_a_map(place: tuple[float, float]) -> None:
    drawing = map_drawing(
        [track([place], places=(("here", *place),))], spec=MapSpec(200, 120, coast=COAST), palette=RED
    )
    assert "here" in [label.text for label in drawing.labels]


def test_the_distance_of_the_demo_is_what_the_globe_says() -> None:
    # Fennel Quay is invented; Plymouth breakwater to Brest is about 110 nautical miles (common practice, no source).
    assert great_circle_m((-4.15, 50.33), (-4.48, 48.38)) / 1852 == pytest.approx(118, abs=10)


def test_golden() -> None:
    spec = MapSpec(240, 180, coast=COAST, label_px=12, ruler=SevenPixelsALetter())
    check_golden("map-cruise", map_drawing([CRUISE], spec=spec, palette=RED).flat().codes, PLATE)
