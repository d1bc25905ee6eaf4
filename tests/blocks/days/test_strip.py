"""The strip of light: the right hour in the right place, also when the clocks change, and nothing over anything."""

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.blocks.days.makings import (
    GREY,
    LONDON,
    ORIGIN,
    PLATE,
    RED,
    START,
    check_texts,
    codes,
    look,
    wording,
)
from tests.golden import check_golden

from wallbill.blocks.days.heavens import Light, heavens
from wallbill.blocks.days.look import Look
from wallbill.blocks.days.strip import TINTS, DayStrip, Mark, day_strip, strip_composed
from wallbill.blocks.drawing.markup import tint_rgb
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.patterns import hatch
from wallbill.facts.agenda import midnight
from wallbill.facts.forecast import Falling, Forecast, Hour, Weather
from wallbill.sources.sun import Spot

QUAY = Spot(50.31, -4.05)
TROMSO = Spot(69.6492, 18.9553)


def of_day(day: str, *, spot: Spot = QUAY, zone: ZoneInfo = LONDON, **how: Any) -> DayStrip:
    on = date.fromisoformat(day)
    sky = heavens(midnight(on, zone), midnight(on + timedelta(days=1), zone), spot)
    return DayStrip(sky, **{"moon_phase": 0.3, **how})


def hours_forecast(start: datetime) -> Forecast:
    kinds = (Weather(0.1), Weather(0.6), Weather(0.9, Falling.RAIN), Weather(0.5, Falling.RAIN, showers=True))
    hours = tuple(
        Hour(start + timedelta(hours=n), start + timedelta(hours=n + 1), weather=kinds[n // 6 % 4])
        for n in range(48)
    )
    return Forecast(ORIGIN, hours)


MARKS = (
    Mark(datetime(2026, 3, 14, 7, 40, tzinfo=UTC), "low 0.8 m"),
    Mark(datetime(2026, 3, 14, 13, 40, tzinfo=UTC), "high 4.9 m"),
)


def test_screens_grow_darker_with_the_light_on_every_panel() -> None:
    shares = [0.0, *(float(hatch((24, 24), TINTS[light]).mean()) for light in list(Light)[1:])]
    assert shares == sorted(set(shares))
    assert min(b - a for a, b in pairwise(shares)) >= 0.1
    greys = [255, *(tint_rgb(GREY, TINTS[light])[0] for light in list(Light)[1:])]
    assert greys == sorted(set(greys), reverse=True)


def test_what_is_where() -> None:
    """At noon the band is paper, at midnight dark; in civil twilight it has the lightest screen."""
    strip = of_day("2026-03-14")
    asked = look(500, 90, now=None, label_px=12)
    flat = codes(strip_composed(strip, look=asked))
    pad = (asked.text_px("20") + 3) // 2
    row = slice(26, 34)
    wide = 500 - 2 * pad
    for hour, share in ((12.0, 0.0), (2.0, 0.75), (6.25, 0.125), (5.7, 0.25), (5.1, 0.5)):
        x = pad + round(hour / 24 * (wide - 1))
        part = flat[row, x - 2 : x + 2]
        assert float((part == 1).mean()) == pytest.approx(share, abs=0.02), hour


@pytest.mark.parametrize(("day", "hours"), [("2026-03-29", 23), ("2026-10-25", 25), ("2026-03-14", 24)])
def test_days_on_which_the_clocks_change(day: str, hours: int) -> None:
    strip = of_day(day)
    assert strip.heavens.end - strip.heavens.start == timedelta(hours=hours)
    labels = [text.text for text in strip_composed(strip, look=look(780, 100, label_px=10)).texts]
    told = [label for label in labels if label.isdigit()]
    assert (told[0], told[-1]) == ("0", "0")
    if hours == 23:
        assert "1" not in told  # the hour from one to two is left out
    assert all(label in told for label in ("4", "12", "22"))


def test_polar_day_and_night_have_no_times_but_noon() -> None:
    oslo = ZoneInfo("Europe/Oslo")
    asked = look(500, 90, now=None, wording=wording("nb", oslo), label_px=12)
    for day in ("2026-06-21", "2026-12-21"):
        texts = strip_composed(of_day(day, spot=TROMSO, zone=oslo, moon_phase=None), look=asked).texts
        assert [text.text for text in texts if ":" in text.text] == [
            t.text for t in texts if t.text.startswith(("11:", "12:"))
        ]
        assert sum(1 for text in texts if ":" in text.text) == 1
    bright = codes(strip_composed(of_day("2026-06-21", spot=TROMSO, zone=oslo), look=asked))
    dark = codes(strip_composed(of_day("2026-12-21", spot=TROMSO, zone=oslo), look=asked))
    assert (dark == 1).sum() > (bright == 1).sum() + 1000


looks = st.builds(
    look,
    width_px=st.integers(40, 800),
    height_px=st.integers(16, 240),
    label_px=st.integers(8, 40),
    palette=st.sampled_from([Palette(), RED, GREY]),
    wording=st.sampled_from([wording(), wording("en-US"), wording("ar-EG"), wording("ja")]),
)


@given(looks, st.dates(date(2000, 1, 1), date(2060, 1, 1)), st.floats(-80, 80), st.integers(2, 130))
@settings(max_examples=80, deadline=None)
def test_nothing_leaves_the_strip_or_lies_over_anything(
    asked: Look, day: date, latitude: float, hours: int
) -> None:
    start = midnight(day, LONDON)
    sky = heavens(start, start + timedelta(hours=hours), Spot(latitude, 0.0))
    marks = tuple(Mark(start + timedelta(hours=n * 2.3), f"mark {n}") for n in range(6))
    strip = DayStrip(sky, moon_phase=0.6, forecast=hours_forecast(start), marks=marks)
    composed = strip_composed(strip, look=asked)
    assert composed.grid.size == asked.size
    check_texts(composed.texts, asked.size)


def test_now_is_marked_and_only_on_the_strip() -> None:
    strip = of_day("2026-03-14")
    marked = strip_composed(strip, look=look(500, 90)).grid
    later = strip_composed(strip, look=look(500, 90, now=START + timedelta(days=1))).grid
    assert marked != later
    assert np.count_nonzero(marked.codes == 2) > np.count_nonzero(later.codes == 2)


def test_a_clock_of_twelve_hours_says_so() -> None:
    texts = [
        text.text
        for text in strip_composed(of_day("2026-03-14"), look=look(700, 100, wording=wording("en-US"))).texts
    ]
    assert any(text.endswith("PM") for text in texts)


def test_words_for_those_who_cannot_see_it() -> None:
    html = str(day_strip(of_day("2026-03-14"), look=look()))
    assert 'aria-label="Saturday, 14 March 2026, ☀ ↑06:32 ↓18:19, ☾ ↑04:54 ↓12:45"' in html
    assert 'aria-label="Light"' in str(day_strip(of_day("2026-03-14"), look=look(title="Light")))


def test_golden() -> None:
    strip = of_day("2026-03-14", forecast=hours_forecast(datetime(2026, 3, 14, tzinfo=UTC)), marks=MARKS)
    check_golden("day-strip", codes(strip_composed(strip, look=look(460, 150, label_px=12))), PLATE)
