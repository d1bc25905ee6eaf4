"""Whether a place lies in an alert's area, against distances on the sphere and a count of turns."""

from math import cos, pi, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallbill.facts.track import Position
from wallbill.sources.alerts_area import Area, Circle, Polygon, Ring, Spot, ring_of


def polygon(*points: tuple[float, float], holes: tuple[Ring, ...] = ()) -> Polygon:
    ring = ring_of(points)
    assert ring is not None
    return Polygon(ring, holes)


SQUARE = polygon((50, -5), (50, -4), (51, -4), (51, -5))


@pytest.mark.parametrize(
    ("place", "inside"),
    [
        ((50.5, -4.5), True),
        ((50.0, -4.5), True),  # on the edge
        ((50.0, -5.0), True),  # on a corner
        ((49.9999, -4.5), False),  # 11 m off
        ((50.5, -5.0001), False),
        ((50.5, 355.5 - 360), True),
        ((-50.5, -4.5), False),
        ((50.5, 175.5), False),
    ],
)
def test_a_square(place: tuple[float, float], inside: bool) -> None:  # noqa: FBT001 a column of the table
    assert SQUARE.holds(Position(*place), 0) is inside


def test_an_area_across_the_date_line() -> None:
    # Fiji lies on both sides of the 180th meridian.
    for points in (
        ((-20, 177), (-20, -178), (-15, -178), (-15, 177)),
        ((-20, 177), (-20, 182), (-15, 182), (-15, 177)),
    ):
        fiji = polygon(*points)
        assert all(fiji.holds(Position(-17, lon), 0) for lon in (177.5, 180.0, -180.0, -179.0))
        assert not any(fiji.holds(Position(-17, lon), 0) for lon in (176.0, -177.0, 0.0))


def test_an_area_around_a_pole() -> None:
    cap = polygon(*((-70.0, lon) for lon in range(-180, 180, 20)))
    assert all(
        cap.holds(Position(lat, lon), 0) for lat in (-71, -89.9, -90) for lon in (-180, -3, 0, 90, 179.9)
    )
    assert not any(
        cap.holds(Position(lat, lon), 0) for lat in (-69, 0, 80) for lon in (-180, -3, 0, 90, 179.9)
    )


def test_a_hole_is_outside_and_its_edge_is_not() -> None:
    hole = ring_of(((50.4, -4.6), (50.4, -4.4), (50.6, -4.4), (50.6, -4.6)))
    assert hole is not None
    holed = Polygon(SQUARE.outline, (hole,))
    assert not holed.holds(Position(50.5, -4.5), 0)
    assert holed.holds(Position(50.5, -4.6), 0)
    assert holed.holds(Position(50.5, -4.7), 0)
    # Ten kilometres are more than the 7 km from the middle of the hole to its sides.
    assert holed.holds(Position(50.5, -4.5), 10_000)


@pytest.mark.parametrize(
    ("place", "off_m"),
    [
        # Source: lengths on the mean sphere of IUGG, 6371008.8 m: a degree of latitude is 111195.1 m.
        ((49.9, -4.5), 11119.5),
        ((50.5, -5.1), 7073.0),  # 0.1 degree of longitude at 50.5 degrees: 11119.5 m x cos 50.5
        ((51.5, -4.5), 55597.5),
    ],
)
def test_how_near_an_area_comes(place: tuple[float, float], off_m: float) -> None:
    assert SQUARE.holds(Position(*place), off_m * 1.01)
    assert not SQUARE.holds(Position(*place), off_m * 0.99)


def test_a_circle() -> None:
    # Source: a degree of latitude on the mean sphere is 111.195 km.
    circle = Circle(Position(50, -4), 111_195.1)
    assert circle.holds(Position(50.999, -4), 0)
    assert not circle.holds(Position(51.001, -4), 0)
    assert circle.holds(Position(51.001, -4), 200)
    assert Circle(Position(50, -4), 0).holds(Position(50, -4), 0)


def test_rings_need_three_points_on_the_earth() -> None:
    assert ring_of([]) is None
    assert ring_of([(50, -5), (51, -5), (50, -5)]) is None
    assert ring_of([(50, -5), (91, -5), (50, -4)]) is None
    assert ring_of([(50, float("nan")), (51, -5), (50, -4)]) is None
    closed = ring_of([(50, -5), (51, -5), (50, -4)])
    assert closed is not None
    assert closed[0] == closed[-1]


def test_codes_say_what_shapes_do_not() -> None:
    place = Position(50.5, -4.5)
    coded = Area("Sound", codes=(("NUTS3", "UKK30"),))
    far = Area("North", (polygon((60, -5), (60, -4), (61, -4)),), (("NUTS3", "UKK30"),))
    assert Spot(place).is_in(coded) is None
    assert Spot(place).is_in(far) is False
    assert Spot(place, codes=frozenset({"UKK31"})).is_in(coded) is False
    for code in ("UKK30", "NUTS3=UKK30"):
        assert Spot(place, codes=frozenset({code})).is_in(coded) is True
        assert Spot(place, codes=frozenset({code})).is_in(far) is True
    assert Spot(place, codes=frozenset({"UGC=UKK30"})).is_in(coded) is False
    assert Spot(place, asked_for=True).is_in(far) is True


@given(
    st.lists(st.floats(0.2, 1.0), min_size=3, max_size=12),
    st.floats(-60, 60),
    st.floats(-180, 180),
    st.tuples(st.floats(0.0, 1.2), st.floats(0, 2 * pi)),
)
def test_stars_hold_what_their_turns_say(
    radii: list[float], lat: float, lon: float, place: tuple[float, float]
) -> None:
    # A star around a centre: a point is inside where its distance is less than that of the edge in its direction.
    corners = [2 * pi * n / len(radii) for n in range(len(radii))]
    ring = [
        (lat + r * sin(a), (lon + r * cos(a) + 180) % 360 - 180) for r, a in zip(radii, corners, strict=True)
    ]
    star = polygon(*ring)
    size, angle = place
    n = int(angle / (2 * pi) * len(radii)) % len(radii)
    a, b = corners[n], corners[n] + 2 * pi / len(radii)
    r, s = radii[n], radii[(n + 1) % len(radii)]
    edge = r * s * sin(b - a) / (r * sin(angle - a) + s * sin(b - angle))
    if abs(size - edge) < 1e-3:
        return  # 100 m: on the edge, as good as
    where = Position(lat + size * sin(angle), (lon + size * cos(angle) + 180) % 360 - 180)
    assert star.holds(where, 0) is (size < edge)


@given(st.floats(-89, 89), st.floats(-180, 180), st.floats(0, 359), st.floats(100, 300_000))
def test_a_place_is_as_far_from_a_speck_as_on_the_sphere(
    lat: float, lon: float, turn: float, off_m: float
) -> None:
    if abs(lat) > 65:
        return  # the plane that touches the earth is right to a per cent as far as people live
    step = off_m / 111_195
    speck = (lat + step * sin(radians(turn)), lon + step * cos(radians(turn)) / cos(radians(lat)))
    if not -90 < speck[0] < 90 or not -180 <= speck[1] <= 180:
        return
    dot = polygon(speck, (speck[0] + 1e-7, speck[1]), (speck[0], min(speck[1] + 1e-7, 180.0)))
    off = Position(lat, lon).distance_m(Position(*speck))
    assert dot.holds(Position(lat, lon), off * 1.06 + 2)
    assert not dot.holds(Position(lat, lon), off * 0.94 - 2) or off * 0.94 - 2 <= 1
