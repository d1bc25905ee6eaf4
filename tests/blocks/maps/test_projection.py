"""Projections and great circles against published figures."""

import math
from itertools import pairwise

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic  # type: ignore[import-untyped]  # it ships no types
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import Proj

from wallbill.blocks.maps.projection import (
    EARTH_RADIUS_M,
    EqualEarth,
    Equirectangular,
    LambertAzimuthal,
    Mercator,
    Projection,
    between,
    great_circle_m,
    great_circles_m,
)
from wallbill.blocks.maps.view import view_of

longitudes = st.floats(-180, 180)
latitudes = st.floats(-89.9, 89.9)


# Snyder, "Map Projections: A Working Manual", USGS Professional Paper 1395, numerical examples (from memory, and equal
# to PROJ): Mercator of the sphere, Lambert azimuthal with radius 3. The others computed with PROJ for a radius of 1.
@pytest.mark.parametrize(
    ("projection", "place", "radius", "expected"),
    [
        (Mercator(180), (-75 + 360, 35), 1, (1.8325957, 0.6528366)),
        (LambertAzimuthal(-100, 40), (100, -20), 3, (-4.2339303, 4.0257775)),
        (Equirectangular(-90, 0), (-75, 35), 1, (0.2617994, 0.6108652)),
        (EqualEarth(0), (-75, 50), 1, (-0.9302627, 0.9415402)),
        (EqualEarth(0), (100, 45), 1, (1.2887272, 0.8602311)),
        (EqualEarth(0), (180, 0), 1, (2.7066300, 0)),
        (EqualEarth(0), (0, 90), 1, (0, 1.3173628)),
        (EqualEarth(0), (180, 90), 1, (1.6035886, 1.3173628)),
    ],
)
def test_published_examples(
    projection: Projection, place: tuple[float, float], radius: float, expected: tuple[float, float]
) -> None:
    x, y = projection.forward(np.array([float(place[0])]), np.array([float(place[1])]))
    assert (radius * x[0], radius * y[0]) == pytest.approx(expected, abs=6e-7)


def test_mercator_of_the_earth_at_the_web_maps_example() -> None:
    # IOGP 373-7-2, the example of Popular Visualisation Pseudo Mercator (from memory): R = 6378137 m.
    longitude, latitude = -(100 + 20 / 60), 24 + 22 / 60 + 54.433 / 3600
    x, y = Mercator(0).forward(np.array([longitude]), np.array([latitude]))
    assert x[0] * 6_378_137 == pytest.approx(-11_169_055.58, abs=0.01)
    assert y[0] * 6_378_137 == pytest.approx(2_800_000.00, abs=0.01)


@settings(deadline=None)
@given(longitudes, latitudes)
def test_equal_area_maps_keep_areas(longitude: float, latitude: float) -> None:
    # The area of a small quadrangle on the map is its area on the sphere (the definition of equal area).
    step = 1e-4
    for projection in (EqualEarth(10), LambertAzimuthal(10, 50)):
        if (
            isinstance(projection, LambertAzimuthal)
            and great_circle_m((10, 50), (longitude, latitude)) > 1.5e7
        ):
            continue
        lon = np.array([longitude - step, longitude + step, longitude + step, longitude - step])
        lat = np.array([latitude - step, latitude - step, latitude + step, latitude + step])
        x, y = projection.forward(lon, lat)
        area = 0.5 * abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))
        true = math.radians(2 * step) * 2 * math.sin(math.radians(step)) * math.cos(math.radians(latitude))
        assert area == pytest.approx(true, rel=1e-3)


# Geodesics of WGS 84: the GeographicLib manual (from memory), and computed with geographiclib. Great circles of the
# sphere of mean radius computed from the haversine formula. A sphere stands for the ellipsoid to 0.6 per cent.
@pytest.mark.parametrize(
    ("here", "there", "geodesic_m", "sphere_m"),
    [
        ((-73.8, 40.6), (-0.5, 51.6), 5_551_759.4003, 5_536_891.987),
        ((174.81, -41.32), (-5.50, 40.96), 19_959_679.2674, 19_967_403.587),
        ((2.3522, 48.8566), (-0.1278, 51.5074), 343_923.1201, 343_556.535),
        ((0, 0), (0, 1), 110_574.3886, 111_195.080),
        ((0, 0), (1, 0), 111_319.4908, 111_195.080),
        ((0, 0), (0, 90), 10_001_965.7293, 10_007_557.221),
        ((-5.71472, 50.06639), (-3.07, 58.64389), 969_932.9617, 968_854.859),
    ],
)
def test_great_circles_against_geodesics(
    here: tuple[float, float], there: tuple[float, float], geodesic_m: float, sphere_m: float
) -> None:
    assert great_circle_m(here, there) == pytest.approx(sphere_m, abs=0.002)
    assert great_circle_m(here, there) == pytest.approx(geodesic_m, rel=0.006)


def test_the_aviation_formularys_example() -> None:
    # Williams, "Aviation Formulary": 33 57 N 118 24 W to 40 38 N 73 47 W is 0.623585 radians (from memory).
    there = (-(73 + 47 / 60), 40 + 38 / 60)
    assert great_circle_m((-118.4, 33.95), there) / EARTH_RADIUS_M == pytest.approx(0.623585, abs=2e-6)


@settings(deadline=None)
@given(longitudes, latitudes, longitudes, latitudes, st.integers(2, 30))
def test_places_between_divide_the_way_evenly(
    lon1: float, lat1: float, lon2: float, lat2: float, steps: int
) -> None:
    here, there = (lon1, lat1), (lon2, lat2)
    whole = great_circle_m(here, there)
    if not 1000 < whole < 0.99 * math.pi * EARTH_RADIUS_M:
        return
    places = [here, *between(here, there, steps=steps)]
    legs = [great_circle_m(a, b) for a, b in pairwise(places)]
    assert sum(legs) == pytest.approx(whole, rel=1e-6)
    assert max(legs) - min(legs) < 1 + whole * 1e-5
    assert places[-1] == there


def test_beyond_the_far_side_the_azimuthal_map_holds_still() -> None:
    projection = LambertAzimuthal(0, 0)
    x, y = projection.forward(np.array([180.0, 179.0, 0.0]), np.array([0.0, 1.0, 0.0]))
    assert np.all(np.isfinite(x) & np.isfinite(y))
    assert np.hypot(x, y).max() <= 2 * math.sin(math.radians(85)) + 1e-12
    assert (x[2], y[2]) == (0, 0)


def test_the_pole_is_finite_on_mercator() -> None:
    _, y = Mercator(0).forward(np.array([0.0, 0.0]), np.array([90.0, -90.0]))
    assert np.all(np.isfinite(y))


PROJ = {
    Mercator(10): "+proj=merc +lon_0=10 +R=1",
    Equirectangular(-60, 40): "+proj=eqc +lon_0=-60 +lat_ts=40 +R=1",
    LambertAzimuthal(15, 75): "+proj=laea +lon_0=15 +lat_0=75 +R=1",
    LambertAzimuthal(-170, -35): "+proj=laea +lon_0=-170 +lat_0=-35 +R=1",
    EqualEarth(0): "+proj=eqearth +lon_0=0 +R=1",
}


@settings(deadline=None)
@given(st.sampled_from(list(PROJ)), longitudes, st.floats(-84, 84))
def test_projections_agree_with_proj_and_come_back_through_it(
    projection: Projection, longitude: float, latitude: float
) -> None:
    # PROJ, through pyproj: forward, and our x and y taken back to the place by its inverse.
    other = Proj(PROJ[projection])
    meridian = float(getattr(projection, "meridian_deg"))  # noqa: B009  not part of the protocol
    if isinstance(projection, LambertAzimuthal):
        away = projection.away_deg(np.array([longitude]), np.array([latitude]))[0]
        if away > 165:
            return
    near = meridian + (longitude - meridian + 180) % 360 - 180
    if abs(abs(near - meridian) - 180) < 1e-6:
        return
    x, y = projection.forward(np.array([near]), np.array([latitude]))
    assert other(near, latitude) == pytest.approx((x[0], y[0]), abs=1e-9)
    back_longitude, back_latitude = other(x[0], y[0], inverse=True)
    assert back_latitude == pytest.approx(latitude, abs=1e-6)
    turn = (back_longitude - near + 180) % 360 - 180
    assert turn * math.cos(math.radians(latitude)) == pytest.approx(0, abs=1e-6)


# GeodTest (Karney, Zenodo 32156), rows as seen in public tests: the sphere stands for the ellipsoid to 0.6 per cent.
@pytest.mark.parametrize(
    ("here", "there", "geodesic_m"),
    [
        ((0, 36.530042355041), (5.762344694676510456, -48.164270779097768864), 9398502.0434687),
        ((0, 5.421025561218), (109.666857465735641205, 3.027329237478900117), 12161089.9991805),
        ((0, 8.226828747671), (178.688979582629224039, -8.516119211674268968), 19886305.6710041),
        ((0, 63.758775485865), (107.50499193289191, 25.179740339437206), 8337896.7811702),
    ],
)
def test_great_circles_against_the_geodesic_test_set(
    here: tuple[float, float], there: tuple[float, float], geodesic_m: float
) -> None:
    measured = Geodesic.WGS84.Inverse(here[1], here[0], there[1], there[0])["s12"]
    assert measured == pytest.approx(geodesic_m, abs=1e-6)
    assert great_circle_m(here, there) == pytest.approx(geodesic_m, rel=0.006)
    both = great_circles_m(np.array([here], dtype=np.float64), np.array([there], dtype=np.float64))
    assert both[0] == pytest.approx(great_circle_m(here, there), rel=1e-12)


@settings(deadline=None)
@given(st.floats(-179, 179), st.floats(-78, 78), st.floats(500, 250_000))
def test_the_scale_in_the_middle_is_that_of_the_ellipsoid(
    longitude: float, latitude: float, across_m: float
) -> None:
    # Sixty pixels east and north of the middle, taken back to places by PROJ, and measured on WGS 84 by geographiclib.
    view = view_of([(longitude, latitude)], size=(400, 300), margin_px=20, least_m=across_m)
    assert isinstance(view.projection, Equirectangular)
    reach = 60 / view.px_per_radius
    for east, north in ((reach, 0.0), (0.0, reach)):
        there = Proj(f"+proj=eqc +lon_0={view.centre[0]} +lat_ts={view.centre[1]} +R=1")
        place = there(view.middle[0] + east, view.middle[1] + north, inverse=True)
        measured = Geodesic.WGS84.Inverse(view.centre[1], view.centre[0], place[1], place[0])["s12"]
        if latitude < 60 or across_m < 60_000:
            assert measured == pytest.approx(60 * view.metres_per_px(), rel=0.0065)
