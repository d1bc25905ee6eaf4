"""Charts as sheets call them: what is said about them, what is asked for in vain, and gaps that stop nothing."""

import re
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from markupsafe import Markup

from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.ruler import Guess
from wallbill.blocks.maps.coast import Coast
from wallbill.errors import SheetError
from wallbill.facts.origin import Origin
from wallbill.facts.series import Reading, Series
from wallbill.findings import Finding
from wallbill.sheets.bench import Bench
from wallbill.sheets.charting import Charts, levels, moment_of, number_label
from wallbill.sheets.missing import Missing
from wallbill.sheets.pictures import Pictures
from wallbill.sources.sun import Spot
from wallbill.units.quantity import Quantity
from wallbill.units.sight import Sight
from wallbill.units.wording import Wording

ZONE = ZoneInfo("Europe/Berlin")
NOW = datetime(2026, 3, 27, 7, 30, tzinfo=ZONE)
MISSING = Missing("facts.quay.limit", lambda path: None)


def no_coast() -> Coast:
    raise AssertionError("a chart needs no coast")


def no_chart(*args: object) -> Any:
    raise AssertionError("not in the grammar of graphics")


def charts(*, language: str = "en-GB", read_from_m: float = 1.0) -> tuple[Charts, list[Finding]]:
    """The functions, and the list of what they say."""
    said: list[Finding] = []
    bench = Bench(
        palette=Palette(),
        wording=Wording(language, ZONE),
        now=NOW,
        spot=Spot(54.0, 10.0),
        size_px=(800, 480),
        sight=Sight(0.2, read_from_m),
        ruler=Guess(),
        coast=no_coast,
        pictures=Pictures((), no_chart),
        texts={},
        engrave=no_chart,
        note=said.append,
    )
    return Charts(bench), said


def series(*values: float | None, name: str = "quay", unit: str = "°C") -> Series:
    start = datetime(2026, 3, 26, tzinfo=UTC)
    readings = tuple(Reading(start + timedelta(hours=i), value) for i, value in enumerate(values))
    return Series(Origin("hut", "invented", "", None, start), name, unit, readings)


def label(html: Markup) -> str:
    found = re.search(r'aria-label="([^"]*)"', html)
    return found.group(1) if found else ""


def test_a_chart_says_what_it_shows_in_the_walls_own_words() -> None:
    there, _ = charts(language="de-DE")
    html = there.line_chart(series(3.25, 11.5, 7), width_px=300, height_px=120)
    assert label(html) == (
        "quay: 3,25 – 11,5\N{NO-BREAK SPACE}°C; zuletzt 7\N{NO-BREAK SPACE}°C, Do., 26. März, 03:00; "
        "am höchsten 11,5\N{NO-BREAK SPACE}°C, Do., 26. März, 02:00"
    )
    assert label(there.spark(series(None), width_px=100, height_px=40)) == "quay: –"
    unknown, _ = charts(language="ja-JP")
    assert "max" in label(unknown.line_chart(series(3, 11, 7), width_px=300, height_px=120))


def test_a_title_is_said_instead_and_an_empty_one_is_decoration() -> None:
    there, _ = charts()
    assert (
        label(there.line_chart(series(1, 2), width_px=200, height_px=80, title="At the quay"))
        == "At the quay"
    )
    bare = there.line_chart(series(1, 2), width_px=200, height_px=80, title="")
    assert 'aria-hidden="true"' in bare
    assert not label(bare)


def test_type_too_small_for_its_reader_is_told_with_the_size_that_would_do() -> None:
    there, said = charts(read_from_m=3.0)
    there.line_chart(series(1, 2), width_px=200, height_px=80, label_px=14)
    (finding,) = said
    assert finding.rule == "blocks.small-type"
    # Snellen's 5 minutes of arc at 3 m are 4.363 mm; a capital of 14 px, 0.7 em high, 0.2 mm a pixel, is 1.96 mm.
    assert (finding.measured, finding.limit, finding.unit) == ("2.2", "5", "minutes of arc")
    assert "label_px=32 " in finding.mend
    said.clear()
    there.line_chart(series(1, 2), width_px=400, height_px=200, label_px=32)
    assert said == []


@pytest.mark.parametrize(
    ("asked", "what", "mend"),
    [
        ({"colour": "red"}, "no option 'colour'", "Use one of"),
        ({"lable_px": 20}, "no option 'lable_px'", "label_px"),
        ({"line_px": 30}, "1 to 8 pixels wide, got 30", "size"),
        ({"label_px": 3}, "at least 8 pixels, got 3", "size"),
        ({"start": "today"}, "start is a moment, got 'today'", "hours"),
        ({"thresholds": ["frost"]}, "a level is a number", "frost watch"),
    ],
)
def test_what_no_chart_can_do_is_told_with_the_mend(asked: dict[str, Any], what: str, mend: str) -> None:
    there, _ = charts()
    with pytest.raises(SheetError, match=re.escape(what)) as fault:
        there.line_chart(series(1, 2), width_px=200, height_px=80, **asked)
    assert mend in fault.value.mend


def test_two_units_need_two_charts() -> None:
    there, _ = charts()
    with pytest.raises(SheetError, match="°C and m/s"):
        there.line_chart([series(1, 2), series(3, unit="m/s")], width_px=200, height_px=80)


def test_gaps_stop_nothing() -> None:
    there, _ = charts()
    how: dict[str, Any] = {
        "start": MISSING, "end": None, "now": MISSING, "thresholds": [MISSING, [MISSING, "frost"], [5, MISSING], 7],
        "include": [MISSING, 0], "title": MISSING, "unit": MISSING, "nights": True,
    }  # fmt: skip
    whole = there.line_chart(series(1, None, 3), width_px=200, height_px=80, **how)
    assert whole == there.line_chart(
        series(1, None, 3), width_px=200, height_px=80, thresholds=[5, 7], include=[0], now=None
    )
    assert 'class="wb-gap"' in there.line_chart(MISSING, width_px=200, height_px=80)


def test_levels_may_be_quantities_and_moments_may_be_dates() -> None:
    assert levels([[Quantity(41, "°F"), "frost watch"], 30, float("nan")], "°C") == [
        (5, "frost watch"),
        (30, ""),
    ]
    assert levels(Quantity(3, "m/s"), "") == [(3, "")]
    assert moment_of(date(2026, 3, 29), ZONE, name="start") == datetime(2026, 3, 28, 23, tzinfo=UTC)
    assert moment_of(datetime(2026, 3, 29, 12), ZONE, name="end").tzinfo is ZONE  # noqa: DTZ001  naive on purpose


def test_small_numbers_keep_their_places() -> None:
    wording = Wording("de-DE", ZONE)
    assert [number_label(wording, value) for value in (0.00025, 0.0005, 1.5, 12.0, -3.0, 1e-12, 1250000.0)] == [
        "0,00025", "0,0005", "1,5", "12", "−3", "0,000000000001", "1.250.000",
    ]  # fmt: skip
    there, _ = charts()
    html = there.line_chart(series(0.0001, 0.0004), width_px=300, height_px=160)
    scale = re.findall(r'class="wb-axis"[^>]*>(0\.?\d*)<', html)
    assert len(scale) == len(set(scale)) >= 3


@pytest.mark.parametrize(
    ("language", "hours", "day", "marks"),
    [
        ("de-DE", 36, "Do., 2.", ["03", "15"]),
        ("en-US", 36, "", ["12\N{NARROW NO-BREAK SPACE}PM", "6\N{NARROW NO-BREAK SPACE}PM"]),
        ("de-DE", 24 * 14, "", ["Do., 2.", "Sa., 4."]),
        ("de-DE", 24 * 60, "", ["6. Jan.", "20. Jan."]),
        ("fr-FR", 24 * 400, "", ["avr.", "juil.", "oct.", "2026"]),
        ("de-DE", 24 * 9000, "", ["2030", "2035", "2040", "2045"]),
    ],
)
def test_an_axis_of_time_is_worded_by_its_step_and_language(
    language: str, hours: int, day: str, marks: list[str]
) -> None:
    # Names of months and days, and the clock of 12 hours, are the Unicode CLDR's.
    there, _ = charts(language=language)
    start = datetime(2025, 1, 1, tzinfo=UTC)
    readings = tuple(Reading(start + timedelta(hours=hours) * i / 60, float(i % 9)) for i in range(61))
    one = Series(Origin("hut", "invented", "", None, start), "quay", "°C", readings)
    html = there.line_chart(one, width_px=500, height_px=150)
    found = re.findall(r'class="wb-axis"[^>]*(?:center|left)[^>]*>([^<]*)<', html)
    assert set(marks) <= set(found)
    assert not day or day in found
