"""Maps and height profiles as sheets call them: words, gaps, the user's own map, and faults with a mend."""

import json
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.ruler import Guess
from wallbill.blocks.maps.shell import load_coast
from wallbill.errors import PictureError, SheetError
from wallbill.facts.origin import Origin
from wallbill.facts.track import Position, Track, Waypoint
from wallbill.findings import Finding
from wallbill.sheets.bench import Bench
from wallbill.sheets.mapping import Maps, waypoints_of
from wallbill.sheets.pictures import Pictures
from wallbill.sources.sun import Spot
from wallbill.units.sight import Sight
from wallbill.units.wording import Wording

ORIGIN = Origin("logbook", "invented", "", None, datetime(2026, 6, 1, tzinfo=UTC))
WALK = Track(
    ORIGIN,
    "walk",
    (tuple(Position(50.31 + i / 1000, -4.05, 20.0 + i * i) for i in range(12)),),
    (Waypoint("Quay", Position(50.31, -4.05)),),
)
PARK = {
    "type": "Feature",
    "properties": {"natural": "water"},
    "geometry": {"type": "Point", "coordinates": [-4, 50]},
}
FILES = {"park.geojson": json.dumps(PARK).encode(), "bad.geojson": b'{"type": "Feature"'}


def no_chart(*args: object) -> Any:
    raise AssertionError("no map is in the grammar of graphics")


def maps(language: str = "en-GB") -> Maps:
    noted: list[Finding] = []
    return Maps(
        Bench(
            palette=Palette(accent="#c80000"),
            wording=Wording(language, ZoneInfo("Europe/London")),
            now=datetime(2026, 6, 2, tzinfo=UTC),
            spot=Spot(50.3, -4.0),
            size_px=(800, 480),
            sight=Sight(pitch_mm=0.2, read_from_m=1.0),
            ruler=Guess(),
            coast=load_coast,
            texts={},
            engrave=no_chart,
            pictures=Pictures(tuple(FILES), FILES.__getitem__),
            note=noted.append,
        )
    )


def test_a_map_is_worded_in_the_walls_language() -> None:
    html = str(
        maps("de-DE").places_map(
            countries=["fr", "IT"], places=[["Brest", 48.39, -4.49]], width_px=300, height_px=200
        )
    )
    assert 'aria-label="Brest – Frankreich – Italien"' in html
    walk = str(maps("de-DE").travel_map(WALK, width_px=300, height_px=200))
    assert 'aria-label="Quay, 1,2\N{NO-BREAK SPACE}km"' in walk


def test_every_function_is_there() -> None:
    assert set(maps().functions) == {"travel_map", "places_map", "height_profile"}


@pytest.mark.parametrize("tracks", [None, (), [], Track(ORIGIN, "", ())])
def test_where_nothing_is_known_a_place_of_the_same_size_stands(tracks: Any) -> None:
    html = str(maps().travel_map(tracks, width_px=300, height_px=200))
    assert "wb-gap" in html
    assert "width:300px;height:200px" in html
    assert "wb-gap" in str(maps().places_map(tracks, width_px=300, height_px=200))


def test_without_heights_a_profile_is_a_gap() -> None:
    flat = Track(ORIGIN, "flat", ((Position(50, -4), Position(50.01, -4)),))
    assert "wb-gap" in str(maps().height_profile(flat, width_px=300, height_px=200))
    assert "wb-gap" in str(maps().height_profile(None, width_px=300, height_px=200))


def test_miles_have_their_heights_in_feet() -> None:
    html = str(maps().height_profile(WALK, width_px=300, height_px=200, scale="mi", title="walk"))
    assert "463\N{NO-BREAK SPACE}ft" in html  # 141 m
    assert 'aria-label="walk"' in html


def test_the_users_map_is_a_file_or_a_value() -> None:
    looks = {"natural=water": {"mark": "flag"}}
    pages = [
        str(maps().travel_map(WALK, width_px=300, height_px=200, base=base, looks=looks))
        for base in ("park.geojson", PARK, json.dumps(PARK))
    ]
    assert pages[0] == pages[1] == pages[2]
    assert pages[0] != str(maps().travel_map(WALK, width_px=300, height_px=200))
    alone = str(maps().travel_map(None, width_px=300, height_px=200, base=PARK))
    assert "wb-map" in alone


@pytest.mark.parametrize(
    ("how", "what", "mend"),
    [
        ({"base": "parc.geojson"}, "no picture 'parc.geojson'", "park.geojson"),
        ({"base": "bad.geojson"}, "pictures/bad.geojson:1.*no JSON", "GeoJSON"),
        ({"base": 5}, "not a number", "pictures/"),
        ({"base": PARK, "looks": {"natural": {"lien": "bold"}}}, "feature 1.*'lien'", "line"),
        ({"base": PARK, "looks": "bold"}, "looks are words", "natural=water"),
        ({"boarders": True}, "'boarders'", "borders"),
        ({"places": "Brest"}, "places are a list", "latitude first"),
        ({"places": [["Brest", 48.39]]}, "a name, a latitude", "48.39"),
        ({"places": [["Brest", 148.39, -4.49]]}, "a name, a latitude", "48.39"),
        ({"sea": "wavy"}, "'wavy'", "screen"),
        ({"countries": "UK"}, "'UK'", "ISO 3166-1"),
    ],
)
def test_faults_say_what_and_the_mend(how: dict[str, Any], what: str, mend: str) -> None:
    with pytest.raises((SheetError, PictureError), match=what) as told:
        maps().travel_map(WALK, width_px=300, height_px=200, **how)
    assert mend in told.value.mend


def test_what_is_no_track_is_told() -> None:
    with pytest.raises(SheetError, match="not of a number"):
        maps().travel_map(5, width_px=300, height_px=200)


def test_places_come_in_many_forms() -> None:
    quay = Waypoint("Quay", Position(50.31, -4.05))
    for given in (WALK, quay, [quay], ["Quay", 50.31, -4.05], [["Quay", 50.31, -4.05]], [WALK]):
        assert waypoints_of(given) == (quay,)
    assert waypoints_of(None) == waypoints_of([]) == ()
