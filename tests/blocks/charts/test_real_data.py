"""Charts of open data, read off the drawing and held against what pandas says of the same data.

Sources: seattle-temps.csv and seattle-weather.csv (NOAA; package vega_datasets 0.9, MIT); sunspots (SIDC) and
atmospheric CO2 at Mauna Loa (Keeling and Whorf) from statsmodels 0.15 (BSD-3, public-domain data); the weather of
Lincoln, Nebraska, 2016, and a continuous glucose record from bokeh_sampledata (BSD-3).
"""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from functools import cache
from itertools import groupby, pairwise
from pathlib import Path
from typing import Any

import bokeh_sampledata
import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
import vega_datasets
from matplotlib.ticker import MaxNLocator
from tests.blocks.charts.reading_off import ReadOff, number, utc

from wallbill.blocks.charts.amounts import bar_chart_drawing
from wallbill.blocks.charts.lines import Band, band_drawing, line_drawing
from wallbill.blocks.charts.readings import Span, telling
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.charts.ticks import ticks
from wallbill.blocks.drawing.grid import ACCENT, INK
from wallbill.blocks.drawing.labels import Kind
from wallbill.blocks.drawing.palette import Palette
from wallbill.facts.origin import Origin
from wallbill.facts.series import Reading, Series

ORIGIN = Origin("open data", "file", "", None, datetime(2026, 1, 1, tzinfo=UTC))
RED = Palette(accent="#c80000")
LABEL_ROUNDING_PX = 1.5  # labels stand in boxes of whole, even pixels


def series(values: Any, *, name: str, unit: str) -> Series:
    """A series of what pandas holds by moments in UTC; what is missing is a gap."""
    return Series(
        ORIGIN,
        name,
        unit,
        tuple(
            Reading(at.to_pydatetime().replace(tzinfo=UTC), None if pd.isna(value) else float(value))
            for at, value in values.items()
        ),
    )


@cache
def seattle_hours() -> Any:
    """8759 hourly temperatures in °F, 2010."""
    return vega_datasets.data.seattle_temps().set_index("date")["temp"]


@cache
def seattle_days() -> Any:
    """1461 days, 2012 to 2015."""
    return vega_datasets.data.seattle_weather().set_index("date")


@cache
def sunspots() -> Any:
    """309 yearly means, 1700 to 2008."""
    table = sm.datasets.sunspots.load_pandas().data
    moments = pd.to_datetime(table["YEAR"].astype(int).astype(str) + "-01-01")
    return pd.Series(table["SUNACTIVITY"].to_numpy(), index=moments)


@cache
def co2() -> Any:
    """2284 weeks, 1958 to 2001, of which 59 are missing."""
    return sm.datasets.co2.load_pandas().data["co2"]


@cache
def glucose() -> Any:
    """52281 readings every five minutes, with pauses."""
    table = pd.read_csv(Path(bokeh_sampledata.__file__).parent / "_data" / "CGM.csv.gz")
    values = pd.Series(table["glucose"].to_numpy(dtype=float), index=pd.to_datetime(table["datetime"]))
    return values[~values.index.duplicated()].sort_index()


@cache
def lincoln() -> Any:
    """366 days of 2016."""
    table = pd.read_csv(Path(bokeh_sampledata.__file__).parent / "_data" / "lincoln_weather.csv")
    return table.set_index(pd.to_datetime(table["DATE"])) if "DATE" in table else table


def drawn(values: Any, *, width_px: int = 628, height_px: int = 220, unit: str = "1") -> ReadOff:
    """The plainest line chart of the values: a line of one pixel, no marks."""
    spec = ChartSpec(width_px, height_px, palette=RED, line_px=1, extremes=False)
    shown = values.dropna().index
    ends = [at.to_pydatetime().replace(tzinfo=UTC) for at in (shown[0], shown[-1])]
    return ReadOff(line_drawing([series(values, name="x", unit=unit)], spec=spec), ends[0], ends[1])


WEEK = slice("2010-07-25", "2010-07-31")
CASES: dict[str, Callable[[], Any]] = {
    "a week of hours": lambda: seattle_hours()[WEEK],
    "a year of hours": seattle_hours,
    "four years of highest temperatures": lambda: seattle_days()["temp_max"],
    "three centuries of sunspots": sunspots,
    "co2": co2,
    "a fortnight of glucose": lambda: glucose()["2010-04-01":"2010-04-14"],
}


@pytest.mark.parametrize("name", CASES)
def test_the_highest_and_lowest_values_lie_where_the_labels_say(name: str) -> None:
    values = CASES[name]()
    chart = drawn(values)
    rows, columns = np.nonzero(chart.line())
    for extreme, at, row in (
        (values.max(), values.idxmax(), rows.min()),
        (values.min(), values.idxmin(), rows.max()),
    ):
        assert abs(row - chart.row(float(extreme))) <= LABEL_ROUNDING_PX, name
        moment = at.to_pydatetime().replace(tzinfo=UTC)
        near = columns[rows == row]
        assert np.abs(near - chart.column(moment)).min() <= 1, name


@pytest.mark.parametrize("name", CASES)
def test_every_column_reaches_the_extremes_of_its_readings(name: str) -> None:
    """The least that the reduction known as M4 promises (Jugel et al., VLDB 7(10), 2014)."""
    values = CASES[name]()
    chart = drawn(values)
    line = chart.line()
    known = values.dropna()
    columns = np.array([round(chart.column(at.to_pydatetime().replace(tzinfo=UTC))) for at in known.index])
    for column in np.unique(columns):
        here = known.to_numpy()[columns == column]
        rows = np.nonzero(line[:, max(0, column - 1) : column + 2].any(axis=1))[0]
        assert rows.min() <= chart.row(here.max()) + LABEL_ROUNDING_PX
        assert rows.max() >= chart.row(here.min()) - LABEL_ROUNDING_PX


@pytest.mark.parametrize("name", CASES)
def test_the_labelled_extremes_are_those_that_pandas_finds(name: str) -> None:
    values = CASES[name]()
    spec = ChartSpec(628, 220, palette=RED, value_label=lambda value: f"{value:.1f}".replace("-", "−"))
    labels = line_drawing([series(values, name="x", unit="1")], spec=spec).labels
    found = {number(label.text) for label in labels if label.kind is Kind.LABEL}
    assert {round(float(values.max()), 1), round(float(values.min()), 1)} <= found


def test_the_known_figures_of_the_data() -> None:
    """Source: the data's own descriptions: 190.2 sunspots in 1957; 313.0 to 373.9 ppm with 59 weeks missing."""
    assert sunspots().max() == 190.2
    assert sunspots().idxmax().year == 1957
    assert (co2().min(), co2().max(), int(co2().isna().sum())) == (313.0, 373.9, 59)
    assert len(seattle_hours()) == 8759


def test_missing_weeks_are_gaps_in_the_line() -> None:
    values = co2()
    chart = drawn(values, width_px=8000)
    inked = np.asarray(chart.line().any(axis=0))
    missing = values.isna().to_numpy()
    gaps = [
        [at for _, at in group]
        for gone, group in groupby(zip(missing, values.index, strict=True), lambda p: p[0])
        if gone
    ]
    assert sum(map(len, gaps)) == 59
    assert len(gaps) == 22
    week = timedelta(days=7)
    for gap in gaps:
        before, after = (at.to_pydatetime().replace(tzinfo=UTC) for at in (gap[0] - week, gap[-1] + week))
        left, right = chart.column(before), chart.column(after)
        between = inked[int(np.ceil(left)) + 1 : int(np.floor(right))]
        assert between.size, gap
        assert not between.any(), gap
    first, last = chart.plot_columns
    assert inked[first : last + 1].mean() > 0.95, "all else is joined"


def test_a_pause_of_hours_in_readings_every_five_minutes_is_a_gap() -> None:
    values = glucose()
    pauses = [(a, b) for a, b in pairwise(values.index) if b - a > pd.Timedelta("2h")]
    assert pauses
    start, end = pauses[0]
    part = values[start - pd.Timedelta("12h") : end + pd.Timedelta("12h")]
    chart = drawn(part)
    left, right = (chart.column(at.to_pydatetime().replace(tzinfo=UTC)) for at in (start, end))
    inked = np.asarray(chart.line().any(axis=0))
    assert not inked[int(left) + 2 : int(right) - 1].any()


def test_month_labels_stand_at_the_true_beginnings_of_months() -> None:
    values = seattle_days()["temp_max"]["2012-01-01":"2012-12-31"]
    chart = drawn(values, width_px=800)
    labels = dict(chart.month_labels())
    starts = pd.date_range("2012-01-01", "2012-12-31", freq="MS")
    named = [str(at.year) if at.month == 1 else f"{at:%b}" for at in starts]
    expected = {name: at.to_pydatetime().replace(tzinfo=UTC) for name, at in zip(named, starts, strict=True)}
    assert set(labels) <= set(expected), labels
    assert len(labels) >= 10
    for text, column in labels.items():
        assert abs(column - chart.column(expected[text])) <= 1, text


def test_years_of_sunspots_are_marked_at_their_first_day() -> None:
    spec = ChartSpec(628, 200, palette=RED, line_px=1, extremes=False, day_label=lambda local: f"{local:%Y}")
    chart = ReadOff(
        line_drawing([series(sunspots(), name="sunspots", unit="1")], spec=spec),
        utc(1700, 1, 1),
        utc(2008, 1, 1),
    )
    labels = chart.month_labels()
    assert len(labels) >= 3
    for text, column in labels:
        assert abs(column - chart.column(utc(int(text), 1, 1))) <= 1, text


def test_a_band_lies_between_the_lowest_and_the_highest_of_each_day() -> None:
    table = seattle_days()["2012-03-01":"2012-03-31"]
    low, high = (series(table[name], name=name, unit="°C") for name in ("temp_min", "temp_max"))
    spec = ChartSpec(400, 220, palette=RED, line_px=1, extremes=False)
    drawing = band_drawing(Band(low, high), spec=spec)
    chart = ReadOff(drawing, utc(2012, 3, 1), utc(2012, 3, 31))
    (area,) = (tint.area for tint in drawing.tints)
    for at, row in table.iterrows():
        column = round(chart.column(at.to_pydatetime().replace(tzinfo=UTC)))
        filled = np.nonzero(area[:, column])[0]
        assert abs(filled.min() - chart.row(row["temp_max"])) <= LABEL_ROUNDING_PX + 1
        assert abs(filled.max() - chart.row(row["temp_min"])) <= LABEL_ROUNDING_PX + 1


def test_bars_of_rain_are_as_high_as_what_fell() -> None:
    """The month of the wettest day: 55.9 mm on 2015-03-15."""
    rain = seattle_days()["precipitation"]["2015-03-01":"2015-03-31"]
    assert (rain.max(), str(rain.idxmax().date())) == (55.9, "2015-03-15")
    days = [
        Span(
            at.to_pydatetime().replace(tzinfo=UTC),
            at.to_pydatetime().replace(tzinfo=UTC) + timedelta(days=1),
            float(mm),
        )
        for at, mm in rain.items()
    ]
    spec = ChartSpec(628, 220, palette=RED, unit="mm", extremes=False)
    drawing = bar_chart_drawing(days, spec=spec)
    chart = ReadOff(drawing, utc(2015, 3, 1), utc(2015, 4, 1))
    inked = np.isin(drawing.grid.codes[: chart.axis_row], (INK, ACCENT))
    for tint in drawing.tints:
        inked |= tint.area[: chart.axis_row]
    for span in days:
        column = round(chart.column(span.start + timedelta(hours=12)))
        rows = np.nonzero(inked[:, column])[0]
        height = chart.axis_row - rows.min() if rows.size else 0
        expected = chart.row(0) - chart.row(span.value)
        assert abs(height - expected) <= LABEL_ROUNDING_PX + 1, span


def test_no_reading_that_tells_is_thinned_away() -> None:
    values = glucose()["2010-04-01":"2010-04-14"].to_numpy()
    columns = np.linspace(0, 599, values.size).astype(np.int64)
    kept = telling(columns, values)
    for column in np.unique(columns):
        here = values[columns == column]
        left = values[kept][columns[kept] == column]
        assert left.min() == here.min()
        assert left.max() == here.max()
    assert kept.size <= 4 * 600


def test_lincolns_highest_day_is_labelled() -> None:
    table = lincoln()
    column = next(name for name in table if "max" in name.lower())
    values = table[column].astype(float)
    spec = ChartSpec(628, 220, palette=RED, value_label=lambda value: f"{value:g}".replace("-", "−"))
    labels = line_drawing([series(values, name="x", unit="°F")], spec=spec).labels
    assert float(values.max()) in {number(label.text) for label in labels if label.kind is Kind.LABEL}


RANGES: dict[str, Callable[[], Any]] = {
    "seattle hours": lambda: (seattle_hours().min(), seattle_hours().max()),
    "sunspots": lambda: (sunspots().min(), sunspots().max()),
    "co2": lambda: (co2().min(), co2().max()),
    "glucose": lambda: (glucose().min(), glucose().max()),
    "rain": lambda: (0.0, seattle_days()["precipitation"].max()),
}


@pytest.mark.parametrize("name", RANGES)
def test_ticks_of_real_ranges_are_no_worse_than_those_of_a_plotting_library(name: str) -> None:
    """Against matplotlib's MaxNLocator(5), its own defaults: as many labels, never more places, less left empty."""
    low, high = map(float, RANGES[name]())
    ours = np.array(ticks(low, high, count=5).values)
    theirs = MaxNLocator(5).tick_values(low, high)
    assert 3 <= ours.size <= 8
    assert np.allclose(np.diff(ours), ours[1] - ours[0])
    overhang = [max(0.0, low - t[0]) + max(0.0, t[-1] - high) for t in (ours, theirs)]
    assert overhang[0] <= overhang[1] + 1e-9, "no more of the scale is left without data"
    places = [max(len(f"{value:.10g}".partition(".")[2]) for value in t) for t in (ours, theirs)]
    assert places[0] <= places[1]


# Of the ranges in test_ticks those where matplotlib 3.11 gives steps of 1.5, 6 or 15. For 0 to 100 its labels (0, 20, ...) have
# fewer digits than ours (0, 25, ...): the published weights want few labels more than round ones there.
@pytest.mark.parametrize(
    ("low", "high", "theirs"),
    [
        (8.1, 14.1, [7.5, 9, 10.5, 12, 13.5, 15]),
        (-3.7, 12.4, [-4, 0, 4, 8, 12, 16]),
        (998, 1024, [996, 1002, 1008, 1014, 1020, 1026]),
        (-31, 27, [-45, -30, -15, 0, 15, 30]),
    ],
)
def test_where_a_plotting_library_labels_odd_values_we_label_round_ones(
    low: float, high: float, theirs: list[float]
) -> None:
    assert list(MaxNLocator(5).tick_values(low, high)) == theirs
    ours = ticks(low, high, count=5).values
    digits = [sum(len(f"{abs(value):g}".strip("0.")) for value in row) / len(row) for row in (ours, theirs)]
    assert digits[0] <= digits[1], "a label has fewer significant digits to read"
