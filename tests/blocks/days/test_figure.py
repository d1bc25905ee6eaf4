"""One large figure: as large as its box allows, a dash of the same size for a gap, and a trend by a stated rule."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import t as student  # type: ignore[import-untyped]  # it ships no types
from tests.blocks.days.makings import ORIGIN, PLATE, check_texts, look, wording
from tests.blocks.rulers import SevenPixelsALetter
from tests.golden import check_golden

from wallbill.blocks.days.figure import Figure, arrow, big_number, figure_composed
from wallbill.blocks.days.look import Look
from wallbill.blocks.days.trend import Heading, slope, student_975, trend
from wallbill.blocks.days.type import FIGURE_EM, Composed, Role, Text
from wallbill.blocks.drawing.labels import Align
from wallbill.facts.series import Reading, Series

START = datetime(2026, 3, 14, tzinfo=UTC)


def series(values: list[float | None], *, minutes: float = 30) -> Series:
    readings = tuple(Reading(START + timedelta(minutes=minutes * n), value) for n, value in enumerate(values))
    return Series(ORIGIN, "hut", "°C", readings)


def figure_of(composed: Composed) -> Text:
    return next(text for text in composed.texts if text.role is Role.FIGURE)


figures = st.builds(
    Figure,
    text=st.sampled_from(["7", "−12.5", "1013", "100 000", "–", "tomorrow", "3"]),
    unit=st.sampled_from(["", "°C", "%", "km/h", "days"]),
    label=st.sampled_from(["", "Workshop", "A very long label that no narrow box can hold whole"]),
    below=st.sampled_from(["", "+1.2 °C · 3 h"]),
    heading=st.sampled_from([None, *Heading]),
    spark=st.sampled_from([None, series([1, 2, 3, 2, 4])]),
    align=st.sampled_from(list(Align)),
)


@given(figures, st.integers(40, 800), st.integers(16, 480), st.integers(8, 40))
@settings(max_examples=150, deadline=None)
def test_nothing_leaves_the_box_or_lies_over_anything(
    figure: Figure, width_px: int, height_px: int, label_px: int
) -> None:
    asked = look(width_px, height_px, label_px=label_px)
    composed = figure_composed(figure, look=asked)
    assert composed.grid.size == asked.size
    check_texts(composed.texts, asked.size)


@given(st.integers(60, 700), st.integers(20, 400), st.sampled_from(["8", "21.5", "−3.25", "10 000"]))
@settings(max_examples=60, deadline=None)
def test_no_larger_size_would_fit(width_px: int, height_px: int, text: str) -> None:
    asked = look(width_px, height_px, label_px=8)
    size = figure_of(figure_composed(Figure(text), look=asked)).size_px
    assert asked.measure.width_px(text, size_px=size, role=Role.FIGURE) <= width_px
    larger = round(size * 1.04) + 1
    wider = asked.measure.width_px(text, size_px=larger, role=Role.FIGURE) > width_px
    assert wider or larger * FIGURE_EM > height_px or larger > 600


def test_a_dash_is_as_large_as_the_figure_that_it_stands_for() -> None:
    asked = look(200, 120)
    dash = figure_of(figure_composed(Figure("–", like="88.8"), look=asked))
    value = figure_of(figure_composed(Figure("21.5", like="88.8"), look=asked))
    assert dash.size_px == value.size_px
    assert figure_of(figure_composed(Figure("–"), look=asked)).size_px > dash.size_px


def test_what_has_no_room_goes_the_spark_first() -> None:
    full = Figure("7", label="Hut", below="+1", spark=series([1, 2, 3, 2, 4]))
    for height_px, texts, spark in ((200, 3, True), (60, 3, False), (40, 2, False), (16, 1, False)):
        composed = figure_composed(full, look=look(120, height_px))
        assert len(composed.texts) == texts, height_px
        assert bool(composed.grid.drawn().any()) is spark


def test_a_unit_wider_than_the_box_is_left_out() -> None:
    asked = Look(40, 40, look().wording, ruler=SevenPixelsALetter())
    assert len(figure_composed(Figure("7", unit="cubits"), look=asked).texts) == 1


def test_words_for_those_who_cannot_see_it() -> None:
    html = str(big_number(Figure("−7", "°C", label="Hut & slip"), look=look()))
    assert 'aria-label="Hut &amp; slip, −7 °C"' in html
    assert 'class="wb-figure"' in html


def test_by_difference_against_a_threshold() -> None:
    rising = series([10.0, 10.2, 10.4, 10.6, 10.8, 11.0, 11.2])
    over = timedelta(hours=3)
    for threshold, heading in ((1.2, Heading.RISING), (1.3, Heading.STEADY)):
        found = trend(rising, over=over, threshold=threshold)
        assert found is not None
        assert found.heading is heading
        assert found.change == pytest.approx(1.2)
    falling = trend(series([5.0, 4, 3, 2, 1, 0, -1]), over=over, threshold=1)
    assert falling is not None
    assert falling.heading is Heading.FALLING
    level = trend(series([5.0] * 7), over=over, threshold=0)
    assert level is not None
    assert level.heading is Heading.STEADY


values = st.lists(st.floats(-50, 50), min_size=4, max_size=60)


@given(values, st.floats(0.5, 90))
@settings(max_examples=100, deadline=None)
def test_the_slope_and_its_error_against_a_library(given_values: list[float], minutes: float) -> None:
    """Ordinary least squares of statsmodels (Seabold and Perktold)."""
    one = series(list(given_values), minutes=minutes)
    line = slope(list(one.readings))
    assert line is not None
    hours = np.array([(r.at - START) / timedelta(hours=1) for r in one.readings])
    fitted = sm.OLS(np.array(given_values), sm.add_constant(hours)).fit()
    assert line.per_hour == pytest.approx(fitted.params[1], rel=1e-6, abs=1e-6)
    assert line.error_per_hour == pytest.approx(fitted.bse[1], rel=1e-5, abs=1e-5)


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 5, 6, 8, 12, 30, 120, 5000])
def test_student_s_quantile_against_a_library(freedom: int) -> None:
    assert student_975(freedom) == pytest.approx(student.ppf(0.975, freedom), rel=1e-3)


def test_by_slope_only_what_is_sure() -> None:
    over = timedelta(hours=12)
    noise = [0.3, -0.2, 0.1, -0.4, 0.2, 0.4, -0.3, 0.1, -0.1, 0.2, -0.2, 0.0]
    steady = trend(series([10 + n for n in noise]), over=over)
    rising = trend(series([10 + 0.2 * i + n for i, n in enumerate(noise)]), over=over)
    falling = trend(series([10 - 0.2 * i + n for i, n in enumerate(noise)]), over=over)
    assert steady is not None
    assert rising is not None
    assert falling is not None
    assert [steady.heading, rising.heading, falling.heading] == [
        Heading.STEADY,
        Heading.RISING,
        Heading.FALLING,
    ]
    exact = trend(series([1.0, 2.0, 3.0, 4.0]), over=over)
    assert exact is not None
    assert exact.heading is Heading.RISING
    level = trend(series([3.0] * 6), over=over)
    assert level is not None
    assert level.heading is Heading.STEADY


def test_no_trend_of_too_little() -> None:
    over = timedelta(hours=3)
    for few in ([], [None, None], [1.0], [1.0, 2.0, None, 3.0]):
        assert trend(series(list(few)), over=over) is None
    assert trend(series([1.0, 2.0]), over=over, threshold=1) is None
    assert slope([Reading(START, 1.0)] * 5) is None
    with pytest.raises(ValueError, match="stretch"):
        trend(series([1.0]), over=timedelta(0))
    with pytest.raises(ValueError, match="threshold"):
        trend(series([1.0]), over=over, threshold=-1)


def test_golden_arrows() -> None:
    sizes = (9, 15, 25, 41)
    plate = np.zeros((42, 3 * sum(sizes) + 24), dtype=np.uint8)
    x = 0
    for size in sizes:
        for heading in Heading:
            plate[:size, x : x + size] = arrow(heading, size_px=size).codes
            x += size + 2
    check_golden("trend-arrows", plate, PLATE)


def test_rising_and_falling_mirror_one_another() -> None:
    for size in (9, 15, 31, 63):
        up, down = arrow(Heading.RISING, size_px=size), arrow(Heading.FALLING, size_px=size)
        assert np.array_equal(up.codes[::-1], down.codes)


@given(figures)
@settings(max_examples=40, deadline=None)
def test_from_right_to_left_the_unit_stands_to_the_left_of_its_figure(figure: Figure) -> None:
    asked = look(300, 160, wording=wording("ar-EG"))
    composed = figure_composed(figure, look=asked)
    check_texts(composed.texts, asked.size)
    number = figure_of(composed)
    for text in composed.texts:
        if text.text == figure.unit and figure.unit:
            assert text.box[0] + text.box[2] <= number.box[0]
