"""What holds for every chart, whatever it is handed: nothing leaves its box or overlaps, and no value stops it."""

import math
import re
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from itertools import combinations, pairwise
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.blocks.rulers import SevenPixelsALetter

from wallbill.blocks.charts.amounts import bar_chart_drawing
from wallbill.blocks.charts.lines import Band, band_drawing, line_drawing, spark_drawing
from wallbill.blocks.charts.readings import Span
from wallbill.blocks.charts.spec import ChartSpec, Threshold
from wallbill.blocks.charts.weather import WeatherUnits, weather_drawing
from wallbill.blocks.drawing.grid import ACCENT, INK
from wallbill.blocks.drawing.labels import Align, Kind, apart, inside
from wallbill.blocks.drawing.markup import Drawing, to_markup
from wallbill.blocks.drawing.palette import Palette
from wallbill.facts.forecast import Forecast, Hour
from wallbill.facts.origin import Origin
from wallbill.facts.series import Reading, Series
from wallbill.units.quantity import Quantity

# Each has had changes of its clocks, by an hour or half of one, at midnight or not; from the tz database.
ZONES = (
    "Europe/London",
    "America/Sao_Paulo",
    "America/St_Johns",
    "Pacific/Apia",
    "Australia/Lord_Howe",
    "Asia/Gaza",
)
NOON = datetime(2026, 2, 27, 12, tzinfo=UTC)
ORIGIN = Origin("hut", "invented", "", None, NOON)
PALETTES = (
    Palette(),
    Palette(accent="#c80000"),
    Palette(muted="#808080", smooth=True),
    Palette(ink="#ffffff", paper="#000000", accent="#ffffff", muted="#ffffff"),
)

wild = st.one_of(
    st.none(),
    st.floats(),
    st.floats(-40, 45).map(lambda number: round(number, 1)),
    st.sampled_from([0.0, -0.0, 1e15, -1e15, 1e-300, 5e-324, 1e308, math.nan, math.inf, -math.inf]),
    st.integers(-1000, 1000).map(float),
)
starts = st.integers(0, 18 * 365 * 24 * 60).map(
    lambda m: datetime(2009, 1, 1, tzinfo=UTC) + timedelta(minutes=m)
)
steps_s = st.sampled_from([1, 60, 600, 3600, 10_800, 86_400, 2_600_000, 40_000_000])


@st.composite
def wild_series(draw: st.DrawFn, name: str = "quay") -> Series:
    """Readings of any value, some of them at one moment, in any order."""
    values = draw(st.lists(wild, max_size=40))
    start, step_s = draw(starts), draw(steps_s)
    readings = [Reading(start + timedelta(seconds=step_s * i), value) for i, value in enumerate(values)]
    in_any_order = draw(st.booleans())
    if readings and in_any_order:
        readings = [readings[i] for i in draw(st.lists(st.integers(0, len(readings) - 1), max_size=40))]
    return Series(ORIGIN, name, "°C", tuple(readings))


@st.composite
def wild_specs(draw: st.DrawFn) -> ChartSpec:
    """Any size that a chart may have, in any zone, showing any stretch."""
    start = draw(st.one_of(st.none(), starts))
    length = draw(st.sampled_from([-5, 0, 0.001, 1, 30, 400, 9000]))
    return ChartSpec(
        width_px=draw(st.integers(40, 500)),
        height_px=draw(st.integers(16, 260)),
        palette=draw(st.sampled_from(PALETTES)),
        label_px=draw(st.integers(8, 30)),
        line_px=draw(st.integers(1, 8)),
        unit=draw(st.sampled_from(["", "°C", "a unit with a very long name"])),
        zone=ZoneInfo(draw(st.sampled_from(ZONES))),
        now=draw(st.one_of(st.none(), starts)),
        start=start,
        end=None if start is None else start + timedelta(hours=length),
        thresholds=draw(
            st.sampled_from([(), (Threshold(5, "frost watch"),), (Threshold(0), Threshold(-1e9, "x" * 60))])
        ),
        include=draw(st.sampled_from([(), (0.0,), (1e12,)])),
        extremes=draw(st.booleans()),
        ruler=SevenPixelsALetter(),
    )


def check(drawing: Drawing, spec: ChartSpec) -> None:
    """Labels lie on the chart, apart, with room for their words, without "-0"; the chart says what it shows."""
    assert drawing.grid.size == spec.size
    assert all(tint.area.shape == drawing.grid.codes.shape for tint in drawing.tints)
    for label in drawing.labels:
        assert inside(label.box, spec.size), label
        assert spec.text_px(label.text) <= label.box[2], label
        assert not re.search(r"[-−]0(\.0*)?(?![.\d])", label.text), label
    for one, other in combinations(drawing.labels, 2):
        assert apart(one.box, other.box), (one, other)
    scale = [label.text for label in drawing.labels if label.kind is Kind.AXIS and label.align is Align.RIGHT]
    assert len(scale) == len(set(scale))
    html = to_markup(drawing, spec.palette, label_px=spec.label_px)
    assert drawing.title
    assert 'role="img"' in html


@settings(max_examples=120, deadline=None)
@given(st.lists(wild_series(), min_size=1, max_size=7), wild_specs())
def test_lines_of_anything(given_series: list[Series], spec: ChartSpec) -> None:
    check(line_drawing(given_series, spec=spec), spec)


@settings(max_examples=60, deadline=None)
@given(wild_series("low"), wild_series("high"), st.one_of(st.none(), wild_series("middle")), wild_specs())
def test_bands_of_anything(low: Series, high: Series, middle: Series | None, spec: ChartSpec) -> None:
    check(band_drawing(Band(low, high, middle), spec=spec), spec)


@settings(max_examples=60, deadline=None)
@given(wild_series(), wild_specs())
def test_sparks_of_anything(series: Series, spec: ChartSpec) -> None:
    check(spark_drawing(series, spec=spec), spec)


@settings(max_examples=60, deadline=None)
@given(st.lists(wild, max_size=30), starts, st.sampled_from([1, 900, 3600, 86_400, 2_600_000]), wild_specs())
def test_amounts_of_anything(
    values: list[float | None], start: datetime, step_s: int, spec: ChartSpec
) -> None:
    length = timedelta(seconds=step_s)
    spans = [
        Span(start + i * length, start + (i + 1) * length, abs(value))
        for i, value in enumerate(values)
        if value is not None
    ]
    check(bar_chart_drawing(spans, spec=spec), spec)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(wild, wild, wild), max_size=60), starts, wild_specs(), st.booleans())
def test_weather_of_anything(
    rows: list[tuple[float | None, float | None, float | None]],
    start: datetime,
    spec: ChartSpec,
    wind: bool,  # noqa: FBT001  hypothesis hands it over by place
) -> None:
    def quantity(value: float | None, unit: str) -> Quantity | None:
        return None if value is None else Quantity(value, unit)

    hours = tuple(
        Hour(
            start + timedelta(hours=i),
            start + timedelta(hours=i + 1),
            temperature=quantity(degrees, "°C"),
            precipitation=quantity(fall, "mm"),
            wind_from_deg=from_deg if from_deg is not None and math.isfinite(from_deg) else None,
        )
        for i, (degrees, fall, from_deg) in enumerate(rows)
    )
    check(weather_drawing(Forecast(ORIGIN, hours), spec=spec, units=WeatherUnits(wind=wind)), spec)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.booleans(), min_size=12, max_size=60), st.sampled_from(PALETTES[:3]))
def test_gaps_stay_gaps(known: list[bool], palette: Palette) -> None:
    """Readings side by side are joined in every column; between readings with a gap the line has no pixel."""
    readings = tuple(
        Reading(NOON + timedelta(hours=i), 5.0 if here else None) for i, here in enumerate(known)
    )
    end = NOON + timedelta(hours=len(known) - 1)
    spec = ChartSpec(900, 90, palette=palette, extremes=False, start=NOON, end=end)
    drawing = line_drawing([Series(ORIGIN, "quay", "°C", readings)], spec=spec)
    ink = drawing.grid.codes == INK
    if not any(known):
        assert not drawing.labels
        return
    floor = int(np.flatnonzero(ink.sum(axis=1) > 600)[-1])  # the axis of time, under the line
    left, right = np.flatnonzero(ink[floor])[[0, -1]].tolist()
    line = (drawing.grid.codes == (ACCENT if palette.has_accent else INK))[:floor].any(axis=0)
    places = [round(left + (right - left) * i / (len(known) - 1)) for i in range(len(known))]
    here = [i for i, one in enumerate(known) if one]
    for i, j in pairwise(here):
        between = line[places[i] + 4 : places[j] - 3]
        assert between.all() if j == i + 1 else not between.any()
    assert not line[: max(0, places[here[0]] - 3)].any()


def test_thousands_of_readings_cost_no_more_than_their_columns() -> None:
    values = np.random.default_rng(4).normal(0, 5, 20_000)
    readings = tuple(Reading(NOON + timedelta(seconds=30 * i), float(v)) for i, v in enumerate(values))
    spec = ChartSpec(400, 150, extremes=False)
    drawing = line_drawing([Series(ORIGIN, "quay", "°C", readings)], spec=spec)
    check(drawing, spec)
    high, low = int(values.argmax()), int(values.argmin())
    thin = Series(ORIGIN, "quay", "°C", tuple(readings[i] for i in sorted((0, high, low, len(values) - 1))))
    rows = [
        np.flatnonzero((one.grid.codes == 1)[:, 40:380].any(axis=1))[[0, -1]].tolist()
        for one in (drawing, line_drawing([thin], spec=spec))
    ]
    assert rows[0] == rows[1]


@pytest.mark.parametrize("draw", [line_drawing, lambda series, spec: spark_drawing(series[0], spec=spec)])
def test_moments_at_the_ends_of_time(draw: Callable[..., Drawing]) -> None:
    readings = (
        Reading(datetime(1, 1, 1, tzinfo=UTC), 1.0),
        Reading(datetime(2, 1, 1, tzinfo=UTC), 4.0),
        Reading(NOON, 2.0),
        Reading(datetime(9997, 12, 31, tzinfo=UTC), 5.0),
        Reading(datetime(9999, 12, 31, 23, 59, tzinfo=UTC), 3.0),
    )
    for zone in ("Pacific/Apia", "America/St_Johns"):
        spec = ChartSpec(300, 120, zone=ZoneInfo(zone), ruler=SevenPixelsALetter())
        check(draw([Series(ORIGIN, "quay", "°C", readings)], spec=spec), spec)


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("days", [1, 2, 5, 20])
def test_days_on_which_the_clocks_change_are_as_long_as_they_last(zone: str, days: int) -> None:
    """Every day is named once, about every change of the clocks that the tz database has from 2010 to 2020."""
    here = ZoneInfo(zone)
    every = [datetime(2010, 1, 1, tzinfo=UTC) + timedelta(days=i) for i in range(11 * 365)]
    offsets = [day.astimezone(here).utcoffset() for day in every]
    changed = [
        day for day, before, after in zip(every, offsets, offsets[1:], strict=False) if before != after
    ]
    assert changed
    for day in changed:
        start = day - timedelta(hours=12)
        readings = tuple(Reading(start + timedelta(hours=i), float(i % 5)) for i in range(24 * days + 1))
        spec = ChartSpec(
            600, 120, zone=here, ruler=SevenPixelsALetter(), day_label=lambda local: f"d{local.day}"
        )
        drawing = line_drawing([Series(ORIGIN, "quay", "°C", readings)], spec=spec)
        check(drawing, spec)
        named = [label.text for label in drawing.labels if label.text.startswith("d")]
        begun = {reading.at.astimezone(here).date() for reading in readings[:-1]}
        assert set(named) <= {f"d{day.day}" for day in begun}
        assert len(named) >= len(begun) - 2  # the first and the last are cut short, and may have no room
