"""Quartiles, summaries and bins against textbook samples, NumPy, and a published example."""

import math
from fractions import Fraction

import numpy as np
import pytest
import statsmodels.datasets
from hypothesis import given
from hypothesis import strategies as st
from tests.blocks.charts.further import BLACK, PLATE, RED, inked, stretches, texts
from tests.golden import check_golden

from wallbill.blocks.charts.bins import bins, freedman_diaconis
from wallbill.blocks.charts.histogram import Sample, histogram_drawing
from wallbill.blocks.charts.ranges import Group, Range, box_rows_drawing, range_rows_drawing
from wallbill.blocks.charts.spec import ChartSpec, Threshold
from wallbill.blocks.charts.summary import Quartiles, quartiles, summary
from wallbill.blocks.drawing.grid import INK
from wallbill.blocks.drawing.palette import Palette
from wallbill.errors import SheetError

# The two samples that textbooks and encyclopaedias compare the methods with (from memory); figures of every method but
# the hinges are NumPy's.
ODD = (6, 7, 15, 36, 39, 40, 41, 42, 43, 47, 49)
EVEN = (7, 15, 36, 39, 40, 41)


def nile() -> tuple[float, ...]:
    """Yearly flow of the Nile at Aswan 1871-1970, 10^8 m³: the data set of statsmodels (and of R), public domain."""
    return tuple(float(v) for v in statsmodels.datasets.nile.load_pandas().data["volume"])


def sunspots() -> tuple[float, ...]:
    """Yearly sunspot numbers 1700-2008: the data set of statsmodels, from the US National Geophysical Data Center."""
    return tuple(float(v) for v in statsmodels.datasets.sunspots.load_pandas().data["SUNACTIVITY"])


@pytest.mark.parametrize(
    ("sample", "method", "expected"),
    [
        (ODD, Quartiles.HINGES, (25.5, 40, 42.5)),
        (ODD, Quartiles.LINEAR, (25.5, 40, 42.5)),
        (ODD, Quartiles.HAZEN, (20.25, 40, 42.75)),
        (ODD, Quartiles.WEIBULL, (15, 40, 43)),
        (EVEN, Quartiles.HINGES, (15, 37.5, 40)),
        (EVEN, Quartiles.LINEAR, (20.25, 37.5, 39.75)),
        (EVEN, Quartiles.WEIBULL, (13, 37.5, 40.25)),
    ],
)
def test_quartiles_of_the_textbooks(
    sample: tuple[int, ...], method: Quartiles, expected: tuple[float, float, float]
) -> None:
    assert quartiles(sample, method) == pytest.approx(expected)


@given(
    st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=60),
    st.sampled_from([Quartiles.LINEAR, Quartiles.HAZEN, Quartiles.WEIBULL]),
)
def test_quartiles_are_numpys(values: list[float], method: Quartiles) -> None:
    expected = np.percentile(values, (25, 50, 75), method=method.value)  # type: ignore[call-overload]  # a name is a text to it
    assert quartiles(values, method) == pytest.approx(list(expected), rel=1e-9, abs=1e-6)


def test_what_lies_beyond_the_whiskers_is_outside() -> None:
    # Tukey's fences at 1.5; matplotlib.cbook.boxplot_stats gives the same whiskers and outlier.
    found = summary([*range(1, 11), 100, None, math.nan])
    assert found is not None
    assert [found.lower, found.middle, found.upper] == [3.5, 6, 8.5]
    assert list(found.whiskers) == [1, 10]
    assert list(found.outside) == [100]
    assert summary([None, math.inf]) is None


def test_the_nile() -> None:
    flow = nile()
    assert sum(flow) / len(flow) == pytest.approx(
        919.35
    )  # R's documentation of the data set and many textbooks
    assert quartiles(flow, Quartiles.LINEAR) == (798.5, 893.5, 1032.5)  # R's summary(Nile)
    assert quartiles(flow, Quartiles.HINGES) == (798, 893.5, 1035)  # R's fivenum(Nile)
    found = summary(flow)
    assert found is not None
    assert (found.least, found.greatest) == (456, 1370)


def test_bins_of_a_published_example() -> None:
    # SpacePy's documentation of toolbox.binHisto: this sample has 19 bins by the rule of Freedman and Diaconis.
    sample = np.random.RandomState(8675301).randn(1000)
    assert round(float(np.ptp(sample)) / freedman_diaconis(sample.tolist())) == 19


@given(st.lists(st.floats(-1e4, 1e4), min_size=2, max_size=200))
def test_the_rule_is_numpys(values: list[float]) -> None:
    lower, upper = np.percentile(values, (25, 75))
    if upper - lower < 1e-6 or upper - lower < np.ptp(values) / 1e4:
        return
    edges = np.histogram_bin_edges(values, "fd")
    # NumPy divides the range into the next whole number of bins.
    assert len(edges) - 1 == pytest.approx(math.ceil(np.ptp(values) / freedman_diaconis(values)), abs=1)


samples = st.lists(st.floats(-1e5, 1e5).map(lambda v: round(v, 2)), min_size=1, max_size=200)


@given(samples, st.integers(1, 60))
def test_counts_are_numpys_and_edges_are_round(values: list[float], most: int) -> None:
    found = bins([*values, None, math.nan], most=most)
    assert found is not None
    counts, _ = np.histogram(values, found.edges)
    assert list(found.counts) == counts.tolist()
    assert sum(found.counts) == len(values)
    assert 1 <= len(found.counts) <= max(most, 2)
    assert found.edges[0] <= min(values) <= max(values) <= found.edges[-1]
    digits = f"{float(found.width):e}".split("e")[0].replace(".", "").rstrip("0")
    assert digits in {"1", "2", "25", "5"}


def test_a_width_may_be_said_and_a_wrong_one_is_refused() -> None:
    found = bins([1, 2, 3, 4.5], step=0.5)
    assert found is not None
    assert list(found.edges) == [1, 1.5, 2, 2.5, 3, 3.5, 4, 4.5]
    assert list(found.counts) == [1, 0, 1, 0, 1, 0, 1]
    assert found.width == Fraction(1, 2)
    for step in (0, -1, math.nan, 1e-9):
        with pytest.raises(SheetError):
            bins([1, 2], step=step)


def test_equal_values_are_one_bin() -> None:
    found = bins([7.0, 7.0, 7.0])
    assert found is not None
    assert found.counts == (3,)
    assert found.edges[0] <= 7 <= found.edges[-1]


def test_the_bars_of_a_histogram_are_as_high_as_numpys_counts() -> None:
    flow = nile()
    spec = ChartSpec(400, 240, extremes=False)
    drawing = histogram_drawing(Sample(flow), spec=spec)
    found = bins(flow)
    assert found is not None
    counts, _ = np.histogram(flow, found.edges)
    foot = max(y for y in range(240) if inked(drawing.grid, INK)[y].sum() > 200)
    drawn = inked(drawing.grid, INK)[:foot]
    placed = stretches(drawn[foot - 1])
    assert len({length for _, length in placed}) == 1
    assert len(placed) == np.count_nonzero(counts)
    heights = [int(drawn[:, x].sum()) for x, _ in placed]
    scale = max(heights) / counts.max()
    assert heights == pytest.approx([count * scale for count in counts if count], abs=1.5)


def test_a_histogram_says_what_it_shows() -> None:
    drawing = histogram_drawing(Sample(nile(), marked=714), spec=ChartSpec(400, 200, unit="10⁸ m³"))
    assert drawing.title == "456 – 1370 10⁸ m³ (100×)"
    assert "714 10⁸ m³" in texts(drawing)


@pytest.mark.parametrize(("name", "palette"), [("black", BLACK), ("red", RED)])
def test_goldens(name: str, palette: Palette) -> None:
    spec = ChartSpec(320, 150, palette=palette, unit="10⁸ m³", thresholds=(Threshold(1100, "flood"),))
    check_golden(
        f"chart-histogram-nile-{name}",
        histogram_drawing(Sample(nile(), marked=714), spec=spec).flat().codes,
        PLATE,
    )
    flow = nile()
    groups = [Group("1871–98", flow[:28]), Group("1899–1934", flow[28:64]), Group("1935–70", flow[64:])]
    check_golden(f"chart-boxes-nile-{name}", box_rows_drawing(groups, spec=spec).flat().codes, PLATE)
    days = [Range("Today", 4, 11, 7.5), Range("Sat", 2, 9), Range("Sun", None, 7), Range("Mon", 1, 12)]
    week = ChartSpec(240, 110, palette=palette, unit="°C")
    check_golden(f"chart-ranges-{name}", range_rows_drawing(days, spec=week).flat().codes, PLATE)


def test_sunspots_fall_off_from_the_first_bin() -> None:
    # 309 years, 0 to 190.2 (statsmodels); NumPy's own edges by the same rule have 12 bins of 15.85.
    values = sunspots()
    assert len(np.histogram_bin_edges(values, "fd")) - 1 == 12
    found = bins(values)
    assert found is not None
    assert found.width == 20
    assert found.counts[0] == max(found.counts)
    assert sum(found.counts) == 309


def test_a_range_is_labelled_at_both_ends_and_its_bar_lies_between() -> None:
    spec = ChartSpec(300, 60, unit="°C")
    drawing = range_rows_drawing([Range("Mon", 11, -2)], spec=spec)
    low, high = (next(one for one in drawing.labels if one.text == text) for text in ("−2", "11"))
    middle = low.box[1] + low.box[3] // 2
    (left, length), *_ = stretches(inked(drawing.grid, INK)[middle])
    assert low.box[0] + low.box[2] <= left
    assert left + length <= high.box[0]
    assert drawing.title == "Mon: −2 – 11 °C"


def test_a_box_goes_from_quartile_to_quartile() -> None:
    spec = ChartSpec(500, 80)
    drawing = box_rows_drawing([Group("", (0.0, *ODD, 100.0))], spec=spec, method=Quartiles.LINEAR)
    found = summary((0.0, *ODD, 100.0), Quartiles.LINEAR)
    assert found is not None
    ink = inked(drawing.grid, INK)
    axis = max(y for y in range(80) if ink[y].sum() > 300)
    box = drawing.tints[0].area
    columns = np.flatnonzero(box.any(axis=0))
    ends = np.flatnonzero(ink[axis])
    scale = (ends[-1] - ends[0]) / 100
    assert (columns[-1] - columns[0]) / scale == pytest.approx(found.upper - found.lower, abs=1.5)
