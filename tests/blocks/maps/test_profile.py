"""Height profiles, read off again: way, heights, climb and names, on real tracks."""

import re
from datetime import timedelta
from itertools import combinations, pairwise

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic  # type: ignore[import-untyped]  # it ships no types
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.blocks.maps.outside import ORIGIN, gpx, race
from tests.blocks.rulers import SevenPixelsALetter
from tests.golden import check_golden

from wallbill.blocks.drawing.grid import ACCENT, INK
from wallbill.blocks.drawing.labels import apart, inside
from wallbill.blocks.drawing.markup import Drawing
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.maps.heights import named_along, steep, stretches
from wallbill.blocks.maps.profile import height_profile, profile_drawing
from wallbill.blocks.maps.profile_spec import Heights, ProfileSpec
from wallbill.errors import SheetError
from wallbill.facts.track import Position, Track, Waypoint

RED = Palette(accent="#c80000")
PLATE = ((255, 255, 255), (0, 0, 0), (200, 0, 0), (240, 240, 240), (120, 120, 120))
FILES = ("Mojstrovka", "cerknicko-jezero", "korita-zbevnica")


def check_labels(drawing: Drawing) -> None:
    assert all(inside(label.box, drawing.grid.size) for label in drawing.labels)
    for one, other in combinations(drawing.labels, 2):
        assert apart(one.box, other.box), (one, other)


# gpxpy 1.6.2: length_2d of the files, and the sum of their geodesics on WGS 84 by geographiclib.
@pytest.mark.parametrize(
    ("name", "points", "length_m", "geodesic_m"),
    [
        ("cerknicko-jezero", 296, 4580.137, 4576.907),
        ("Mojstrovka", 184, 2700.646, 2700.918),
        ("korita-zbevnica", 871, 14913.748, 14914.283),
    ],
)
def test_real_tracks_are_as_long_as_others_measure_them(
    name: str, points: int, length_m: float, geodesic_m: float
) -> None:
    track, known = gpx(name)
    assert len(track.positions) == points
    assert known.length_2d() == pytest.approx(length_m, abs=0.001)
    measured = sum(
        Geodesic.WGS84.Inverse(a.latitude_deg, a.longitude_deg, b.latitude_deg, b.longitude_deg)["s12"]
        for segment in track.segments
        for a, b in pairwise(segment)
    )
    assert measured == pytest.approx(geodesic_m, abs=0.001)
    assert track.length_m == pytest.approx(geodesic_m, rel=0.006)
    assert stretches(track)[-1].along_m[-1] == pytest.approx(track.length_m)


@pytest.mark.parametrize("name", FILES)
def test_climb_and_descent_agree_with_another_method(name: str) -> None:
    # gpxpy smooths the heights and adds all rises; ours counts turning points of 5 m: within 20 per cent.
    track, known = gpx(name)
    other = known.get_uphill_downhill()
    assert track.climb_m == pytest.approx(other.uphill, rel=0.2)
    assert track.descent_m == pytest.approx(other.downhill, rel=0.2)


@pytest.mark.parametrize("name", ["cerknicko-jezero", "korita-zbevnica"])
def test_moving_time_agrees_with_gpxpy(name: str) -> None:
    track, known = gpx(name)
    assert track.moving is not None
    assert track.moving.total_seconds() == pytest.approx(known.get_moving_data().moving_time, rel=0.06)


def made(
    *heights: float | None, places: tuple[tuple[str, float], ...] = (), step_deg: float = 0.001
) -> Track:
    """A track due north from the equator, a point every ``step_deg``; places by their latitude."""
    points = tuple(Position(i * step_deg, 0.0, height) for i, height in enumerate(heights))
    return Track(ORIGIN, "walk", (points,), tuple(Waypoint(name, Position(at, 0.0)) for name, at in places))


def test_what_goes_up_comes_down() -> None:
    track = made(0, 100, 50, 120, 10)
    assert (track.climb_m, track.descent_m) == (170, 160)
    assert (track.lowest_m, track.highest_m) == (0, 120)
    assert made(None, None).descent_m is None
    assert made(None, None).moving is None


def test_standing_still_is_no_moving() -> None:
    start = ORIGIN.fetched_at
    points = [(0.0, 0), (0.001, 100), (0.001001, 4000), (0.002, 4100)]
    track = Track(
        ORIGIN, "walk", (tuple(Position(a, 0.0, None, start + timedelta(seconds=s)) for a, s in points),)
    )
    assert track.moving == timedelta(seconds=200)


def test_a_long_stretch_without_heights_is_a_gap_and_a_short_one_is_bridged() -> None:
    long = [float(i) for i in range(200)]
    assert len(stretches(made(*long[:50], None, None, *long[50:]))) == 1
    assert len(stretches(made(*long[:50], *[None] * 20, *long[50:]))) == 2
    assert stretches(made(None, None)) == ()


def test_steepness_is_that_over_a_hundred_metres() -> None:
    flat_then_steep = made(*[0.0] * 20, *[float(i) * 0.25 * 11.1 for i in range(21)], step_deg=0.0001)
    (stretch,) = stretches(flat_then_steep)
    told = steep(stretch, percent=20)
    assert not told[:14].any()
    assert told[26:].all()


def test_places_are_named_where_the_track_passes_and_not_where_it_does_not() -> None:
    track = made(*range(100), places=(("Spring", 0.0301), ("Far away", 0.5)))
    ((name, along_m),) = named_along(track)
    assert name == "Spring"
    assert along_m == pytest.approx(0.030 * 111_195, rel=0.001)


def line_row(drawing: Drawing, column: int) -> float:
    return float(np.nonzero(drawing.grid.codes[:, column] == ACCENT)[0].mean())


def test_the_line_read_off_is_the_track() -> None:
    track = race()
    drawing = profile_drawing(
        track, spec=ProfileSpec(900, 300, climb=False, names=False, area="none"), palette=RED
    )
    texts = {label.text: label.box for label in drawing.labels if label.kind == "wb-axis"}
    heights = {
        float(re.sub(r"\D", "", text)): box[1] + box[3] / 2 for text, box in texts.items() if box[0] == 0
    }
    levels = sorted(heights)
    per_m = (heights[levels[0]] - heights[levels[1]]) / (levels[1] - levels[0])
    ((stretch),) = stretches(track)
    left = min(box[0] + box[2] for text, box in texts.items() if box[0] == 0) + 6
    for column in range(left + 20, 880, 37):
        along_m = (column - left) / (899 - left) * track.length_m
        near = np.abs(stretch.along_m - along_m) < track.length_m / (899 - left) * 2
        read_m = levels[0] + (heights[levels[0]] - 0.5 - line_row(drawing, column)) / per_m
        low, high = stretch.height_m[near].min(), stretch.height_m[near].max()
        assert low - 3 / per_m <= read_m <= high + 3 / per_m


@pytest.mark.parametrize("heights", list(Heights))
def test_highest_lowest_climb_and_way_are_labelled(heights: Heights) -> None:
    track = race()
    spec = ProfileSpec(800, 260, heights=heights, steep_percent=20)
    drawing = profile_drawing(track, spec=spec, palette=RED)
    texts = [label.text for label in drawing.labels]
    figures = [track.highest_m, track.lowest_m, track.climb_m, track.descent_m]
    for metres in figures:
        assert f"{(metres or 0) / heights.metres:.0f}\N{NO-BREAK SPACE}{heights.value}" in texts
    assert {"Start", "Feed", "> 20\N{NO-BREAK SPACE}%"} <= set(texts)
    assert str(drawing.title).startswith("race, 32.3\N{NO-BREAK SPACE}km, +")
    check_labels(drawing)


@settings(deadline=None, max_examples=60)
@given(
    st.lists(st.none() | st.floats(-400, 8800), min_size=2, max_size=40),
    st.integers(80, 500),
    st.integers(56, 300),
    st.integers(8, 24),
    st.sampled_from(["km", "mi", "nmi"]),
    st.sampled_from([0.0, 12.0]),
)
def test_any_heights_draw_and_no_label_overlaps(
    heights: list[float | None], width_px: int, height_px: int, label_px: int, scale: str, percent: float
) -> None:
    track = made(*heights, places=(("Start", 0.0), ("Ford", 0.001), ("Pass", 0.004)))
    label_px = min(label_px, (height_px - 16) // 5)  # as much as there is room for
    spec = ProfileSpec(width_px, height_px, label_px=label_px, scale=scale, steep_percent=percent)  # type: ignore[arg-type]  # a sheet writes words
    if track.highest_m is None:
        with pytest.raises(SheetError, match="no heights"):
            profile_drawing(track, spec=spec, palette=RED)
        return
    drawing = profile_drawing(track, spec=spec, palette=RED)
    assert drawing.grid.size == (width_px, height_px)
    check_labels(drawing)


@pytest.mark.parametrize(
    "fault",
    [{"width_px": 20}, {"label_px": 3}, {"line_px": 9}, {"scale": ""}, {"scale": "li"}, {"area": "pink"}],
)
def test_a_spec_that_holds_no_profile_is_refused(fault: dict[str, object]) -> None:
    with pytest.raises(SheetError) as told:
        ProfileSpec(**{"width_px": 300, "height_px": 120, **fault})  # type: ignore[arg-type]  # the faults are the point
    assert told.value.mend


def test_it_is_a_picture_with_a_text_alternative() -> None:
    html = str(height_profile(race(), spec=ProfileSpec(300, 160), palette=Palette(smooth=True)))
    assert 'role="img"' in html
    assert "32.3" in html


def test_golden() -> None:
    spec = ProfileSpec(260, 120, label_px=12, ruler=SevenPixelsALetter(), steep_percent=25)
    track, _ = gpx("Mojstrovka")
    drawing = profile_drawing(track, spec=spec, palette=RED)
    assert (drawing.grid.codes == INK).any()
    check_golden("map-profile", drawing.flat().codes, PLATE)


def test_on_the_level_one_height_is_labelled_once() -> None:
    level = Track(
        race().origin, "quay", (tuple(Position(50 + n / 1000, -4, elevation_m=3) for n in range(30)),), ()
    )
    drawing = profile_drawing(level, spec=ProfileSpec(400, 120, climb=False), palette=RED)
    assert [label.text for label in drawing.labels].count("3\N{NO-BREAK SPACE}m") == 1
