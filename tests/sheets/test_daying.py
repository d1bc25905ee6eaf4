"""Blocks of time as sheets call them: gaps, wrong arguments, the wall's own days, and the whole way to the panel."""

import re
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from markupsafe import Markup

from tests.sheets.pressing import Pressing
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.ruler import Guess
from wallbill.errors import SheetError
from wallbill.facts.agenda import Agenda, Event
from wallbill.facts.origin import Origin
from wallbill.facts.series import Reading, Series
from wallbill.findings import Finding
from wallbill.sheets.bench import Bench
from wallbill.sheets.daying import DayBlocks
from wallbill.sheets.missing import Missing
from wallbill.sheets.pictures import Pictures
from wallbill.sources.sun import Spot
from wallbill.units.quantity import Quantity
from wallbill.units.sight import Sight
from wallbill.units.wording import Wording

NOW = datetime(2026, 3, 14, 10, 40, tzinfo=UTC)
ORIGIN = Origin("hut", "invented", "", None, NOW)


def none(*args: object) -> Any:
    raise AssertionError("no block of time asks for that")


def functions(*, language: str = "en-GB", zone: str = "Europe/London", read_from_m: float = 1.0, units: dict[str, str] | None = None) -> tuple[dict[str, Any], list[Finding], list[str]]:  # fmt: skip
    """The functions of a sheet, what they say, and the facts that they missed."""
    said: list[Finding] = []
    where = ZoneInfo(zone)
    bench = Bench(
        palette=Palette(),
        wording=Wording(language, where, units or {}),
        now=NOW.astimezone(where),
        spot=Spot(50.31, -4.05),
        size_px=(800, 480),
        sight=Sight(0.2, read_from_m),
        ruler=Guess(),
        coast=none,
        pictures=Pictures((), none),
        texts={},
        engrave=none,
        note=said.append,
    )
    return dict(DayBlocks(bench).functions), said, []


def missing() -> tuple[Missing, list[str]]:
    noted: list[str] = []
    return Missing("facts.club", noted.append), noted


def texts(html: Markup) -> list[str]:
    return re.findall(r'<span class="wb-[^>]*>([^<]*)<', html)


def on(summary: str, starts: datetime | date, ends: datetime | date) -> Event:
    return Event(summary, summary, starts, ends)


def club(*events: Event) -> Agenda:
    return Agenda(ORIGIN, "Club", events)


def series(*values: float | None, unit: str = "°C") -> Series:
    readings = tuple(
        Reading(NOW - timedelta(minutes=30 * (len(values) - n)), v) for n, v in enumerate(values)
    )
    return Series(ORIGIN, "hut", unit, readings)


def test_nothing_known_never_stops_a_sheet() -> None:
    have, _, _ = functions()
    gone, noted = missing()
    for html in (
        have["day_strip"](width_px=400, height_px=90, forecast=gone, marks=gone, day=gone),
        have["month_calendar"](gone, holidays=gone, width_px=400, height_px=200),
        have["month_calendar"]([gone, None], day=None, width_px=400, height_px=200),
        have["agenda_strip"](gone, gone, gone, width_px=400, height_px=120),
        have["week_strip"](None, width_px=400, height_px=120),
        have["big_number"](gone, series=gone, width_px=200, height_px=90),
        have["countdown"](gone, width_px=200, height_px=90),
    ):
        assert "wb-days" in html
    assert noted  # the figures printed a dash for what was missing, and said so
    assert "–" in texts(have["big_number"](None, label="Hut", width_px=200, height_px=90))
    assert have["in_days"](gone) == "–"


@pytest.mark.parametrize(
    ("name", "args", "how", "said"),
    [
        ("day_strip", (), {"width_px": 10, "height_px": 90}, "width_px"),
        ("day_strip", (), {"start": NOW, "end": NOW}, "earlier to a later"),
        ("day_strip", (), {"start": NOW, "end": NOW + timedelta(days=900)}, "400 days"),
        ("day_strip", (), {"marks": ["high water"]}, "a mark is an event"),
        ("day_strip", (), {"forecast": 3}, "not of a number"),
        ("day_strip", (), {"colour": "red"}, "takes no 'colour'"),
        ("month_calendar", ("club",), {}, "not of a text"),
        ("month_calendar", ((),), {"weeks": "us"}, "weeks is none or iso or local"),
        ("agenda_strip", ((),), {"lanes": "many"}, "lanes is packed or calendar"),
        ("big_number", (3,), {"over": 3, "series": series(1, 2, 3, 4, 5)}, "over a length of time"),
        ("big_number", (3,), {"threshold": -1, "series": series(1, 2, 3, 4, 5)}, "threshold"),
        ("big_number", (3,), {"align": "middle"}, "align is left"),
        ("countdown", ("soon",), {}, "until is a moment or a date"),
    ],
)  # fmt: skip
def test_a_wrong_argument_is_told_with_its_mend(
    name: str, args: tuple[Any, ...], how: dict[str, Any], said: str
) -> None:
    have, _, _ = functions()
    with pytest.raises(SheetError, match=said) as caught:
        have[name](*args, **{"width_px": 400, "height_px": 200, **how})
    assert caught.value.mend


def test_type_too_small_for_the_reader_is_told() -> None:
    have, said, _ = functions(read_from_m=3.0)
    have["day_strip"](width_px=400, height_px=90, label_px=10)
    assert [finding.rule for finding in said] == ["blocks.small-type"]


def test_days_are_those_of_the_wall_s_calendar() -> None:
    """At 23:30 UTC on the 14th it is the 15th in Berlin."""
    have, _, _ = functions(zone="Europe/Berlin")
    late = datetime(2026, 3, 15, 23, 30, tzinfo=UTC)
    assert have["days_until"](late) == 2
    assert have["days_until"](date(2026, 3, 14)) == 0
    london, _, _ = functions()
    assert london["days_until"](late) == 1
    stay = on("Stay", date(2026, 3, 10), date(2026, 3, 16))
    assert london["days_until"](stay) == 0  # it is on
    assert london["days_until"](on("Past", date(2026, 3, 10), date(2026, 3, 12))) == -4


def test_days_over_a_change_of_the_clocks_are_whole() -> None:
    """The clocks go forward on 29 March 2026: the day has 23 hours, and is one day all the same."""
    have, _, _ = functions()
    assert (
        have["days_until"](datetime(2026, 3, 29, 23, 30, tzinfo=UTC)) == 16
    )  # half past midnight on the 30th there
    assert have["days_until"](date(2026, 3, 30)) == 16


# From the Unicode CLDR's relative days, as Babel prints them.
@pytest.mark.parametrize(
    ("language", "days", "words"),
    [("en-GB", 12, "in 12 days"), ("en-GB", 1, "tomorrow"), ("en-GB", 0, "today"), ("en-GB", -3, "3 days ago"), ("en-GB", 400, "in 400 days"), ("de", 12, "in 12 Tagen"), ("pl", 3, "za 3 dni"), ("fr", -2, "il y a 2 jours"), ("ar-EG", 3, "خلال ٣ أيام"), ("ja", 2, "2 日後")],
)  # fmt: skip
def test_days_in_words(language: str, days: int, words: str) -> None:
    have, _, _ = functions(language=language)
    assert have["in_days"](date(2026, 3, 14) + timedelta(days=days)) == words


@pytest.mark.parametrize(
    ("language", "days", "said"),
    [("en-GB", 12, ["12", "days"]), ("en-GB", 1, ["tomorrow"]), ("en-GB", 0, ["today"]), ("en-GB", -3, ["3", "days ago"]), ("de", 5, ["5", "Tage"]), ("ru", 5, ["5", "дней"]), ("ar", 2, ["يومان"])],
)  # fmt: skip
def test_a_countdown_sets_the_number_large_and_its_word_beside_it(
    language: str, days: int, said: list[str]
) -> None:
    have, _, _ = functions(language=language)
    html = have["countdown"](
        date(2026, 3, 14) + timedelta(days=days), date=False, width_px=300, height_px=120
    )
    assert texts(html) == said


def test_a_figure_follows_the_wall_s_units_and_words() -> None:
    have, _, _ = functions(language="de", units={"temperature": "°F"})
    html = have["big_number"](Quantity(-20.0, "°C"), digits=1, label="Hütte", width_px=300, height_px=120)
    assert texts(html) == ["−4,0", "°F", "Hütte"]
    share = have["big_number"](Quantity(64.0, "%"), width_px=300, height_px=120)
    assert texts(share) == ["64", "%"]
    assert texts(have["big_number"](1234.5, digits=1, unit="kWh", width_px=300, height_px=120)) == [
        "1.234,5",
        "kWh",
    ]
    assert texts(have["big_number"](Quantity(3.0, "°C"), unit="", width_px=300, height_px=120)) == ["37"]


def test_a_change_of_temperature_is_reckoned_in_the_unit_shown() -> None:
    """10 degrees Celsius more are 18 degrees Fahrenheit more, not 50."""
    have, _, _ = functions(units={"temperature": "°F"})
    one = series(0, 2, 4, 6, 8, 10, 10)
    html = have["big_number"](one.latest_quantity, series=one, threshold=1, width_px=300, height_px=160)
    assert "+18°F · 3\N{NO-BREAK SPACE}h" in texts(html)


def test_the_week_begins_where_the_wall_s_does() -> None:
    """By the CLDR: Monday in Britain, Sunday in the United States."""
    for language, first in (("en-GB", "Mon"), ("en-US", "Sun")):
        have, _, _ = functions(language=language)
        named = texts(have["week_strip"]((), width_px=700, height_px=120, label_px=12))
        assert named[0].startswith(first)


def test_events_and_pairs_are_marks() -> None:
    have, _, _ = functions()
    moment = datetime(2026, 3, 14, 13, 40, tzinfo=UTC)
    html = have["day_strip"](
        width_px=700, height_px=120, label_px=12, marks=[[moment, "high"], on("low", moment - timedelta(hours=6), moment), on("all day", NOW.date(), NOW.date())]
    )  # fmt: skip
    assert {"13:40 high", "07:40 low"} <= set(texts(html))


SHEET = """
<main style="padding:4px">
{{ day_strip(width_px=392, height_px=64, label_px=12) }}
{{ month_calendar((), width_px=200, height_px=130, label_px=11) }}
{{ agenda_strip((), width_px=392, height_px=50, label_px=12) }}
{{ countdown(now + days(12), label="Regatta", width_px=200, height_px=40, label_px=12) }}
</main>
"""


@pytest.mark.parametrize(
    "panel", ["4.2in-400x300-black-white", "4.2in-400x300-black-white-red", "4.2in-400x300-4-greys"]
)
def test_the_whole_way_to_the_panel(pressing: Pressing, panel: str) -> None:
    made = pressing(SHEET, panel=panel)
    assert not [finding for finding in made.findings if finding.rule.startswith(("press.", "blocks."))]
    inks = len(made.impression.inks)
    assert set(np.unique(made.impression.codes)) <= set(range(inks))
    used = {made.impression.inks[code].name for code in np.unique(made.impression.codes)}
    assert {"black", "white"} <= used
    assert ("red" in used) is ("red" in panel)  # now and today are in the second ink where there is one
