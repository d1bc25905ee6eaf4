"""What sheets ask of their functions: whatever it is, a fault is told in the sheet's words, never in Python's."""

from collections.abc import Callable, Mapping
from contextlib import suppress
from datetime import UTC, date, datetime
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from wallbill.blocks.drawing.grid import MOST_PX
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.ruler import Guess
from wallbill.blocks.maps.shell import load_coast
from wallbill.errors import SheetError, WallbillError
from wallbill.facts.origin import Origin
from wallbill.facts.track import Position, Track, Waypoint
from wallbill.sheets.asking import moment
from wallbill.sheets.bench import Bench
from wallbill.sheets.functions import functions
from wallbill.sheets.missing import Missing
from wallbill.sheets.pictures import Pictures
from wallbill.sources.sun import Spot
from wallbill.units.sight import Sight
from wallbill.units.wording import Wording

LONDON = ZoneInfo("Europe/London")
NOW = datetime(2026, 3, 14, 10, 40, tzinfo=LONDON)
SIZE = {"width_px": 200, "height_px": 120}
TRACK = Track(
    Origin("walk", "invented", "", None, datetime(2026, 3, 14, tzinfo=UTC)),
    "The walk",
    ((Position(50.31, -4.05, elevation_m=5), Position(50.33, -4.02, elevation_m=60)),),
    (Waypoint("Hut", Position(50.31, -4.05)),),
)


def none(*args: object) -> Any:
    raise AssertionError("nothing here asks for that")


def calls(latitude_deg: float = 50.31) -> Mapping[str, Callable[..., Any]]:
    bench = Bench(
        palette=Palette(),
        wording=Wording("en-GB", LONDON, {}),
        now=NOW,
        spot=Spot(latitude_deg, -4.05),
        size_px=(800, 480),
        sight=Sight(0.2, 1.0),
        ruler=Guess(),
        coast=load_coast,
        pictures=Pictures((), none),
        texts={},
        engrave=none,
        note=lambda finding: None,
    )
    return functions(bench)


FAULTS: tuple[tuple[str, tuple[Any, ...], dict[str, Any], str], ...] = (
    ("day_strip", (), {"height_px": 50}, "day_strip needs width_px"),
    ("table", ([[1]],), {}, "table needs width_px and height_px"),
    ("day_strip", (), {"width_px": "wide", "height_px": 50}, "width_px of day_strip is a number of pixels, not 'wide'"),
    ("day_strip", (), {"width_px": None, "height_px": 50}, "day_strip needs a width_px"),
    ("sign", ("boat",), {"size_px": None}, "sign needs a size_px"),
    ("sign", ("boat",), {"size_px": float("nan")}, "size_px of sign is a number of pixels, not nan"),
    ("vega_lite", ({},), {"width_px": 100_000, "height_px": 100_000}, f"at most {MOST_PX} pixels"),
    ("qr", ("hut",), {"size_px": 100_000}, f"at most {MOST_PX} pixels"),
    ("day_strip", (), {**SIZE, "label_px": True}, "label_px of day_strip is a number of pixels, not True"),
    ("sign", ("boat",), {"size_px": 48, "titel": "Boat"}, "sign takes no 'titel'"),
    ("wind_arrow", (30,), {"size_px": 48, "title": "x"}, "wind_arrow takes no 'title'"),
    ("day_strip", (), {**SIZE, "mon": False}, "day_strip takes no 'mon'"),
    ("day_strip", (), {**SIZE, "now": "soon"}, "now is a moment or a date, not 'soon'"),
    ("day_strip", (), {**SIZE, "day": 5}, "day is a moment or a date, not 5"),
    ("day_strip", (), {**SIZE, "start": NOW}, "end is not said"),
    ("day_strip", (), {**SIZE, "marks": 5}, "a mark is an event with a time"),
    ("week_strip", ((),), {**SIZE, "start": NOW}, "week_strip takes no 'start'"),
    ("month_calendar", ((),), {**SIZE, "more_text": "more"}, "more_text has no {count} in it"),
    ("big_number", ([1, 2],), SIZE, "a large figure is a quantity, a number, a time or a text"),
    ("big_number", (5,), {**SIZE, "digits": -1}, "digits is a whole number from 0 to 12, got -1"),
    ("big_number", (5,), {**SIZE, "series": [1, 2]}, "the trend of a large figure is drawn of a Series, not of a list"),
    ("big_number", (5,), {**SIZE, "over": 3}, "over of big_number is a length of time, not 3"),
    ("bar_rows", ({"a": 1},), {**SIZE, "digits": "x"}, "digits of bar_rows is a whole number, not 'x'"),
    ("bar_rows", ({"a": 1},), {**SIZE, "unit": 5}, "unit of bar_rows is a text, not 5"),
    ("line_chart", ((),), {**SIZE, "gap_after": 5}, "gap_after of line_chart is a length of time, not 5"),
    ("countdown", ("soon",), SIZE, "until is a moment or a date, not 'soon'"),
    ("travel_map", (TRACK,), {**SIZE, "countries": 5}, "countries are a list of codes, not 5"),
    ("travel_map", (TRACK,), {**SIZE, "margin_px": -5}, "goes from 0 to 56, got -5"),
    ("travel_map", (TRACK,), {**SIZE, "margin_px": 400}, "goes from 0 to 56, got 400"),
    ("travel_map", (TRACK,), {**SIZE, "least_m": "far"}, "least_m is a number, not 'far'"),
    ("places_map", ([["Hut", 50, -4]],), {**SIZE, "least_m": -1}, "least_m is a number of metres above 0"),
    ("travel_map", (TRACK,), {**SIZE, "looks": {"highway": {}}}, "looks are those of a map of your own"),
    ("height_profile", (TRACK,), {**SIZE, "steep_percent": "x"}, "steep_percent is a number, not 'x'"),
    ("height_profile", (TRACK,), {**SIZE, "steep_percent": -5}, "steep_percent is a slope of 0 or more"),
    ("fitted_list", (["a"],), {**SIZE, "start": "x"}, "start is a whole number, not 'x'"),
    ("fitted_text", ("a",), {**SIZE, "leading": "x"}, "lines are 0.8 to 4 times the size apart, not 'x'"),
    ("fitted_text", (TRACK,), SIZE, "a Track is no text"),
    ("table", ([[1]],), {**SIZE, "row_px": 1}, "rows 1 px apart would lie over each other"),
    ("table", ([[1]],), {**SIZE, "more": "{q}"}, "cannot put {q} into"),
    ("qr", (TRACK,), {"size_px": 100}, "a qr code holds a text, not a Track"),
    ("qr", ("hut",), {"size_px": 100, "scan_from_m": 0}, "scan_from_m is a number of metres above 0, not 0"),
    ("own_sign", (5,), {"size_px": 48}, "a sign of your own is drawn of a text, not of a number"),
    ("moon", ([],), {"size_px": 48}, "a moon is drawn of a number, not of a list"),
)  # fmt: skip


@pytest.mark.parametrize(("name", "args", "how", "told"), FAULTS)
def test_a_wrong_argument_is_told_in_the_words_of_the_sheet(
    name: str, args: tuple[Any, ...], how: dict[str, Any], told: str
) -> None:
    with pytest.raises(SheetError) as caught:
        calls()[name](*args, **how)
    assert told in caught.value.what
    assert caught.value.mend


HOSTILE: tuple[Any, ...] = (
    None,
    True,
    -1,
    5,
    1e300,
    "text",
    "",
    [],
    [None],
    {},
    {"a": None},
    ("x", "y"),
    NOW,
    TRACK,
    object(),
)


@pytest.mark.parametrize("name", sorted(calls()))
def test_no_error_of_pythons_own_comes_out_of_a_function(name: str) -> None:
    function = calls()[name]
    sized: tuple[dict[str, Any], ...] = ({}, SIZE, {"size_px": 48}, {"height_px": 60, "module_px": 2})
    for given in (*HOSTILE, Missing("facts.gone", lambda path: None)):
        for how in sized:
            for args in ((), (given,), (given, given)):
                with suppress(WallbillError):  # any other error fails the test
                    function(*args, **how)


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("2026-03-29", date(2026, 3, 29)),
        ("2026-03-29T18:30", datetime(2026, 3, 29, 18, 30, tzinfo=LONDON)),
        ("2026-03-29T18:30:00+00:00", datetime(2026, 3, 29, 18, 30, tzinfo=UTC)),
    ],
)
def test_a_moment_may_be_written_as_text(said: str, meant: date) -> None:
    assert moment(said, LONDON, option="day") == meant


def test_days_may_be_counted_to_a_date_that_is_written_down() -> None:
    assert calls()["days_until"]("2026-06-01") == (date(2026, 6, 1) - NOW.date()).days


def test_further_places_go_beside_those_of_a_map_of_places() -> None:
    made = calls()["places_map"](
        [["Hut", 50.31, -4.05]], places=[["Beacon", 50.5, -4.2]], width_px=300, height_px=200
    )
    assert "Beacon" in made
    assert "Hut" in made


def test_the_moon_is_seen_from_the_half_of_the_earth_where_the_wall_hangs() -> None:
    north, south = (calls(latitude_deg)["moon"](0.25, size_px=48) for latitude_deg in (50.31, -41.3))
    assert north != south
    assert calls()["moon"](0.25, size_px=48, south=True) == south
