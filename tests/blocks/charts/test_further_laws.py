"""Every further chart keeps to the laws of all, whatever it is given: labels apart and inside, gaps and limits survived."""

import contextlib
from collections.abc import Callable
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.blocks.charts.further import START, check_drawing, names, numbers, rows, series, spans, specs

from wallbill.blocks.charts.amounts import Named, bar_chart_drawing, bar_columns_drawing
from wallbill.blocks.charts.areas import area_drawing
from wallbill.blocks.charts.barbs import LEAST_PX, Wind, barbs_drawing
from wallbill.blocks.charts.dots import Cloud, Names, dot_drawing, scatter_drawing
from wallbill.blocks.charts.histogram import Sample, histogram_drawing
from wallbill.blocks.charts.ranges import Group, Range, box_rows_drawing, range_rows_drawing
from wallbill.blocks.charts.rows import Order, Parts, bar_rows_drawing, stacked_rows_drawing
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.charts.stacks import Heap, stacked_bars_drawing, stacked_columns_drawing
from wallbill.blocks.charts.states import State, Strip, state_drawing
from wallbill.blocks.charts.steps import step_drawing
from wallbill.blocks.drawing.markup import Drawing
from wallbill.errors import SheetError
from wallbill.units.quantity import Quantity

Row = list[float | None]
many = st.lists(rows, min_size=1, max_size=4)
minutes = st.sampled_from([1, 60, 1440, 44640])
named = st.lists(st.tuples(names, numbers), max_size=20)
heard = settings(max_examples=150, deadline=None)


@heard
@given(many, specs, minutes, st.sampled_from([step_drawing, area_drawing, dot_drawing]))
def test_charts_of_series(
    values: list[Row], spec: ChartSpec, step: int, draw: Callable[..., Drawing]
) -> None:
    lines = [series(row, name=f"line {i}", minutes=step) for i, row in enumerate(values)]
    check_drawing(draw(lines, spec=spec), spec)


@heard
@given(rows, specs, st.sampled_from([0.25, 1, 24, 730]))
def test_bars_over_time(values: Row, spec: ChartSpec, hours: float) -> None:
    amounts = [float("nan") if value is None else value for value in values]
    check_drawing(bar_chart_drawing(spans(amounts, hours=hours), spec=spec), spec)


@heard
@given(named, specs, st.sampled_from(list(Order)), names)
def test_bars_under_and_beside_names(
    pairs: list[tuple[str, float | None]], spec: ChartSpec, order: Order, marked: str
) -> None:
    bars = [Named(name, value) for name, value in pairs]
    check_drawing(bar_columns_drawing(bars, spec=spec, marked=marked), spec)
    check_drawing(bar_rows_drawing(bars, spec=spec, order=order, marked=marked), spec)


@heard
@given(st.data(), specs, st.integers(1, 7), st.booleans())
def test_stacks(data: st.DataObject, spec: ChartSpec, count: int, share: bool) -> None:  # noqa: FBT001  hypothesis hands it over by place
    parts = [f"part {i}" for i in range(count)]
    whole = st.tuples(*[numbers] * count)
    values = data.draw(st.lists(whole, max_size=20))
    wholes = [Parts(f"name {i}", row) for i, row in enumerate(values)]
    heaps = [
        Heap(START + timedelta(hours=i), START + timedelta(hours=i + 1), row) for i, row in enumerate(values)
    ]
    check_drawing(stacked_columns_drawing(wholes, spec=spec, parts=parts, share=share), spec)
    check_drawing(stacked_rows_drawing(wholes, spec=spec, parts=parts, share=share), spec)
    check_drawing(stacked_bars_drawing(heaps, spec=spec, parts=parts, share=share), spec)


@heard
@given(named, st.lists(st.tuples(names, numbers, numbers, numbers), max_size=9), rows, specs)
def test_samples(
    pairs: list[tuple[str, float | None]],
    triples: list[tuple[str, float | None, float | None, float | None]],
    values: Row,
    spec: ChartSpec,
) -> None:
    check_drawing(range_rows_drawing([Range(*triple) for triple in triples], spec=spec), spec)
    groups = [Group(name, tuple(values[i::3])) for i, (name, _) in enumerate(pairs[:3])]
    check_drawing(box_rows_drawing(groups, spec=spec), spec)
    marked = next((value for value in values if value is not None), None)
    check_drawing(histogram_drawing(Sample(tuple(values), marked), spec=spec), spec)


@heard
@given(st.lists(st.lists(st.tuples(numbers, numbers), max_size=30), min_size=1, max_size=3), specs)
def test_scatters(clouds: list[list[tuple[float | None, float | None]]], spec: ChartSpec) -> None:
    points = [tuple((x, y) for x, y in cloud if x is not None and y is not None) for cloud in clouds]
    given_ = [Cloud(f"cloud {i}", one, last=i == 0) for i, one in enumerate(points)]
    check_drawing(scatter_drawing(given_, spec=spec, names=Names("low, °C", "high, °C")), spec)


words = st.sampled_from(["off", "on", "open", "shut", "comfort", "eco", ""])


@heard
@given(st.lists(st.tuples(names, st.lists(words, max_size=20)), min_size=1, max_size=6), specs, minutes)
def test_states(strips: list[tuple[str, list[str]]], spec: ChartSpec, step: int) -> None:
    length = timedelta(minutes=step)
    given_ = [
        Strip(
            name, tuple(State(START + i * length, START + (i + 1) * length, s) for i, s in enumerate(states))
        )
        for name, states in strips
    ]
    check_drawing(state_drawing(given_, spec=spec), spec)
    check_drawing(state_drawing(given_, spec=spec, order=[["off", "on"], ["eco", "comfort"]]), spec)


@heard
@given(st.lists(st.tuples(numbers, numbers), max_size=40), specs, st.sampled_from([1, 3, 24]), st.booleans())
def test_barbs(
    given_: list[tuple[float | None, float | None]],
    spec: ChartSpec,
    hours: int,
    southern: bool,  # noqa: FBT001  hypothesis hands it over by place
) -> None:
    step = timedelta(hours=hours)
    winds = [
        Wind(START + i * step, START + (i + 1) * step, None if kn is None else Quantity(kn, "kn"), deg)
        for i, (kn, deg) in enumerate(given_)
    ]
    if spec.height_px < LEAST_PX + 18 + 3 * spec.label_px:
        with contextlib.suppress(SheetError):
            check_drawing(barbs_drawing(winds, spec=spec, southern=southern), spec)
    else:
        check_drawing(barbs_drawing(winds, spec=spec, southern=southern), spec)


def test_barbs_without_room_are_refused_with_the_height_that_would_do() -> None:
    wind = Wind(START, START + timedelta(hours=9), Quantity(12, "kn"), 200)
    with pytest.raises(SheetError, match="needs more height than 40") as caught:
        barbs_drawing([wind], spec=ChartSpec(300, 40))
    height_px = int(caught.value.mend.split("height_px=")[1].split()[0])
    check_drawing(barbs_drawing([wind], spec=ChartSpec(300, height_px)), ChartSpec(300, height_px))


@pytest.mark.parametrize("width_px", [60, 400])
def test_a_chart_of_nothing_is_a_dotted_line_that_says_so(width_px: int) -> None:
    spec = ChartSpec(width_px, 60)
    nothing = (
        step_drawing([series([None, float("nan")])], spec=spec),
        area_drawing([series([])], spec=spec),
        dot_drawing([series([float("inf")])], spec=spec),
        bar_chart_drawing([], spec=spec),
        bar_columns_drawing([Named("kitchen", None)], spec=spec),
        bar_rows_drawing([], spec=spec),
        histogram_drawing(Sample(()), spec=spec),
        box_rows_drawing([Group("kitchen", (None,))], spec=spec),
        range_rows_drawing([Range("Mon", None, 3)], spec=spec),
        state_drawing([Strip("door", ())], spec=spec),
        barbs_drawing([], spec=spec),
        scatter_drawing([Cloud("", ())], spec=spec),
    )
    for drawing in nothing:
        assert drawing.labels == ()
        assert drawing.grid.drawn()[30].any()
        assert (drawing.title or "").endswith("–")
