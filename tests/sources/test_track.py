"""Travels out of GPX, and the figures of a track against published geodesics."""

from datetime import UTC, datetime
from pathlib import Path
from types import MappingProxyType
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallbill.errors import Place, SourceError
from wallbill.facts.origin import Origin
from wallbill.facts.track import EARTH_RADIUS_M, Position, Track
from wallbill.sources.spec import ParseContext, SourceSpec
from wallbill.sources.track import parse

PAYLOADS = Path(__file__).parent / "payloads"
NOW = datetime(2026, 3, 14, 7, 45, tzinfo=UTC)
ORIGIN = Origin("passage", "track", "", None, NOW)


def _read(data: bytes | str, **options: Any) -> Track:
    spec = SourceSpec("passage", "track", MappingProxyType(options), None, None, Place("wall.toml", 3))
    raw = data.encode() if isinstance(data, str) else data
    return parse(raw, ParseContext(spec, ZoneInfo("Europe/London"), 50.31, -4.05, NOW, NOW, "en-GB"))


def _gpx(body: str, head: str = '<?xml version="1.0" encoding="UTF-8"?>\n') -> str:
    return (
        f'{head}<gpx version="1.1" creator="tests" xmlns="http://www.topografix.com/GPX/1/1">\n{body}\n</gpx>'
    )


def _points(*places: str, time: str = "") -> str:
    rows = "\n".join(f"<trkpt {place}>{time}</trkpt>" for place in places)
    return f"<trk><trkseg>\n{rows}\n</trkseg></trk>"


def test_a_track_of_two_segments_and_a_waypoint() -> None:
    track = _read((PAYLOADS / "track.gpx").read_bytes())
    assert track.name == "Round the islands"
    assert len(track.segments) == 2
    assert sum(len(segment) for segment in track.segments) == len(track.positions) == 121
    assert [waypoint.name for waypoint in track.waypoints] == ["Quay"]
    assert track.starts == datetime(2026, 3, 14, 6, tzinfo=UTC)
    # Source: gpxpy 1.6.2 gives 14.8 km for the two segments, not joined.
    assert track.length_m == pytest.approx(14800, abs=100)
    assert track.last == track.positions[-1]
    part = track.until(datetime(2026, 3, 14, 6, 1, 30, tzinfo=UTC))
    assert [len(segment) for segment in part.segments] == [3]
    assert part.waypoints == track.waypoints


def _pair(a: tuple[float, float], b: tuple[float, float]) -> float:
    return Track(ORIGIN, "", ((Position(*a), Position(*b)),)).length_m


@pytest.mark.parametrize(
    ("a", "b", "geodesic_m"),
    [
        # Source: C. Karney, Test set for geodesics, Zenodo 32156 (WGS 84), rows as used in public tests.
        ((36.530042355041, 0), (-48.164270779097769, 5.762344694676510), 9398502.0434687),
        ((5.421025561218, 0), (3.027329237478900, 109.666857465735641), 12161089.9991805),
        # Source: GeographicLib manual, JFK to LHR (from memory).
        ((40.6, -73.8), (51.6, -0.5), 5551759.400),
        # Source: WGS 84, a degree of latitude and of longitude at the equator.
        ((0, 0), (1, 0), 110574.389),
        ((0, 0), (0, 1), 111319.491),
        ((0, 0), (90, 0), 10001965.729),
    ],
)
def test_lengths_are_within_the_flattening_of_the_geodesic(
    a: tuple[float, float], b: tuple[float, float], geodesic_m: float
) -> None:
    # A sphere of mean radius differs from the ellipsoid by 0.6 % at most.
    assert _pair(a, b) == pytest.approx(geodesic_m, rel=0.006)


def test_lengths_on_the_sphere() -> None:
    # Source: E. Williams, Aviation Formulary (from memory): LAX to JFK 0.623585 rad.
    lax, jfk = (33 + 57 / 60, -(118 + 24 / 60)), (40 + 38 / 60, -(73 + 47 / 60))
    assert _pair(lax, jfk) / EARTH_RADIUS_M == pytest.approx(0.623585, abs=1e-6)
    # A quarter of a great circle, over the date line, and nought.
    assert _pair((0, 0), (90, 0)) == pytest.approx(10007557.221, abs=0.01)
    assert _pair((0, 179.5), (0, -179.5)) == pytest.approx(111195.080, abs=0.001)
    assert _pair((50.31, -4.05), (50.31, -4.05)) == 0


places = st.builds(Position, st.floats(-90, 90), st.floats(-180, 180))


@given(a=places, b=places, c=places)
def test_distance_is_a_distance(a: Position, b: Position, c: Position) -> None:
    assert a.distance_m(b) == pytest.approx(b.distance_m(a), abs=1e-3)
    assert a.distance_m(c) <= a.distance_m(b) + b.distance_m(c) + 1


def _heights(*heights_m: float | None) -> Track:
    return Track(ORIGIN, "", (tuple(Position(50, -4, height) for height in heights_m),))


def test_climb_counts_rises_and_not_noise() -> None:
    assert _heights(10, 12, 9, 11, 8).climb_m == 0
    assert _heights(0, 100, 50, 120).climb_m == 170
    assert _heights(0, 50, 48, 100).climb_m == 100
    assert _heights(100, 20, 60).climb_m == 40
    assert _heights(0, 3).climb(step_m=1) == 3
    assert _heights(None, None).climb_m is None
    assert _heights(5, None, 25).climb_m == 20


def test_several_files_in_one_payload_are_one_travel_in_order_of_time() -> None:
    late = _gpx(_points('lat="50" lon="-4"', time="<time>2026-03-12T08:00:00Z</time>"))
    early = _gpx(_points('lat="49" lon="-4"', time="<time>2026-03-11T08:00:00+01:00</time>"))
    track = _read(f"{late}\n{early}\n", name="To the other side")
    assert track.name == "To the other side"
    assert [segment[0].latitude_deg for segment in track.segments] == [49, 50]
    assert track.starts == datetime(2026, 3, 11, 7, tzinfo=UTC)
    assert track.origin.dated == datetime(2026, 3, 12, 8, tzinfo=UTC)


def test_routes_stand_in_where_there_is_no_track() -> None:
    track = _read(_gpx('<rte><name>Plan</name><rtept lat="50" lon="-4"/><rtept lat="51" lon="-4"/></rte>'))
    assert (track.name, len(track.segments), len(track.positions)) == ("Plan", 1, 2)


def test_empty_segments_are_none_and_a_file_may_hold_places_only() -> None:
    track = _read(_gpx('<wpt lat="50" lon="-4"><name> Quay </name></wpt><trk><trkseg/></trk>'))
    assert track.segments == ()
    assert (track.length_m, track.climb_m, track.last, track.ends) == (0, None, None, None)
    assert track.waypoints[0].name == "Quay"


def test_bad_points_are_left_out_and_told() -> None:
    track = _read(
        _gpx(
            _points('lat="95" lon="0"', 'lat="x" lon="0"', 'lon="0"', 'lat="50" lon="-4"')
            + '<trk><trkseg>\n<trkpt lat="51" lon="-4"><ele>high</ele><time>noon</time></trkpt></trkseg></trk>'
        )
    )
    assert [p.latitude_deg for p in track.positions] == [50, 51]
    assert track.positions[1] == Position(51, -4)
    assert [finding.where.line for finding in track.origin.findings] == [4, 5, 6, 9, 9]
    assert {finding.rule for finding in track.origin.findings} == {"sources.left-out"}


def test_the_older_version_no_namespace_and_other_encodings() -> None:
    old = '<gpx version="1.0" xmlns="http://www.topografix.com/GPX/1/0"><trk><name>Môle</name><trkseg><trkpt lat="50" lon="-4"/></trkseg></trk></gpx>'
    for head, encoding in (
        ('<?xml version="1.0" encoding="ISO-8859-1"?>', "latin-1"),
        ('<?xml version="1.0" encoding="UTF-16"?>', "utf-16"),
        ("", "utf-8-sig"),
    ):
        assert _read((head + old).encode(encoding)).name == "Môle"
    bare = old.replace(' xmlns="http://www.topografix.com/GPX/1/0"', "").replace("1.0", "1.1")
    assert len(_read(bare).positions) == 1


@pytest.mark.parametrize(
    ("data", "line", "what"),
    [
        (b"", None, "empty"),
        (_gpx(_points('lat="50" lon="-4"')).encode()[:-30], 4, "cannot be read"),
        (b"<html><body>Log in</body></html>", 1, "no GPX"),
        (b"time,lat,lon\n", 1, "cannot be read"),
        ("Qué".encode("latin-1"), None, "not written in utf-8"),
        (b'<?xml version="1.0" encoding="klingon"?><gpx/>', None, "not written in klingon"),
    ],
)
def test_what_is_no_track_is_refused_with_its_line(data: bytes, line: int | None, what: str) -> None:
    with pytest.raises(SourceError) as caught:
        _read(data)
    assert what in caught.value.what
    assert caught.value.where == Place("passage", line)
    assert caught.value.mend


def test_a_bomb_of_entities_is_refused_unread() -> None:
    levels = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' for n in range(1, 30))
    bomb = f'<?xml version="1.0"?>\n<!DOCTYPE gpx [<!ENTITY l0 "ha">{levels}]>\n<gpx><trk><name>&l29;</name></trk></gpx>'
    for data in (bomb.encode(), bomb.encode("utf-16")):
        with pytest.raises(SourceError) as caught:
            _read(data)
        assert "document type" in caught.value.what
        assert caught.value.where.line == 2
    with pytest.raises(SourceError):
        _read("<gpx><trk><name>&unknown;</name></trk></gpx>")
