"""Steps, states, areas and dots: what holds, what is stacked, what is pointed out, and where nothing is known."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
import statsmodels.datasets
import vega_datasets
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.blocks.charts.further import (
    BLACK,
    INF,
    LONDON,
    NAN,
    PLATE,
    RED,
    START,
    check_drawing,
    inked,
    series,
    stretches,
    texts,
)
from tests.golden import check_golden

from wallbill.blocks.charts.areas import area_drawing
from wallbill.blocks.charts.dots import Cloud, Marker, Names, dot_drawing, markers, paired, scatter_drawing
from wallbill.blocks.charts.layers import stacked_layers
from wallbill.blocks.charts.lines import plain_plot
from wallbill.blocks.charts.periods import Gathering, Period, gathered, spans_of
from wallbill.blocks.charts.readings import runs
from wallbill.blocks.charts.spec import ChartSpec, Threshold
from wallbill.blocks.charts.states import State, Strip, fills_of, state_drawing
from wallbill.blocks.charts.steps import step_drawing, treads
from wallbill.blocks.drawing.grid import ACCENT, INK
from wallbill.blocks.drawing.palette import Palette
from wallbill.errors import SheetError
from wallbill.facts.series import Reading, Series

HOUR = timedelta(hours=1)
PRICES = (
    *[0.19] * 6, *[0.28] * 3, *[0.24] * 7, *[0.41] * 4, *[0.24] * 3, *[0.19] * 7, *[0.28] * 3,
    None, None, None, *[0.24] * 4, *[0.35] * 4, *[0.24] * 4,
)  # fmt: skip


def test_a_value_holds_until_the_next_and_equal_ones_are_one_tread() -> None:
    line = treads(series([1.0, 1.0, 2.0, None, NAN, 2.0]), ChartSpec(300, 100))
    hours = (line.end_us - line.start_us) / 3.6e9
    assert line.values.tolist() == [1, 2, 2]
    assert hours.tolist() == [2, 1, 1]


def test_the_last_value_holds_as_long_as_now() -> None:
    spec = ChartSpec(300, 100, now=START + 9 * HOUR)
    line = treads(series([1.0, 2.0]), spec)
    assert (line.end_us[-1] - line.start_us[-1]) / 3.6e9 == 8
    short = treads(series([1.0, 2.0]), ChartSpec(300, 100, now=START + 9 * HOUR, gap_after=2 * HOUR))
    assert (short.end_us - short.start_us).tolist() == [3.6e9, 7.2e9]


def test_steps_are_level_and_upright_and_a_gap_is_open() -> None:
    spec = ChartSpec(400, 140, palette=RED, extremes=False)
    drawing = step_drawing([series([1.0, 3.0, None, 2.0])], spec=spec)
    line = inked(drawing.grid, ACCENT)
    columns = np.flatnonzero(line.any(axis=0))
    (gap,) = np.flatnonzero(np.diff(columns) > 1)
    assert columns[gap + 1] - columns[gap] == pytest.approx((columns[-1] - columns[0]) / 4, abs=5)
    heights = line.sum(axis=0)[columns]
    assert set(heights.tolist()) - {3} == {heights.max()}, "three pixels high but at the riser"
    assert (heights == heights.max()).sum() == 2, "the riser is finer than the treads"


def test_treads_with_room_say_their_values() -> None:
    drawing = step_drawing([series(PRICES)], spec=ChartSpec(600, 140))
    assert {"0.19", "0.24", "0.41"} <= set(texts(drawing))


def test_a_peak_of_one_reading_among_thousands_is_drawn() -> None:
    values = [10.0] * 5000
    values[3217] = 30.0
    drawing = step_drawing([series(values, minutes=1)], spec=ChartSpec(300, 120))
    assert "30" in texts(drawing)
    assert inked(drawing.grid, INK)[:40].sum() > 20


def _strip(name: str, *parts: tuple[float, str | None]) -> Strip:
    ends = [*(hour for hour, _ in parts[1:]), 48]
    return Strip(
        name,
        tuple(
            State(START + hour * HOUR, START + end * HOUR, text)
            for (hour, text), end in zip(parts, ends, strict=True)
            if text is not None
        ),
    )


DOOR = _strip(
    "Door", (0, "shut"), (7, "open"), (9.5, "shut"), (16, "open"), (22, "shut"), (31, None), (34, "open")
)
HEAT = _strip(
    "Heating", (0, "frost"), (6, "comfort"), (9, "eco"), (16, "comfort"), (23, "frost"), (33, "eco")
)


def test_quiet_states_are_a_line_and_the_most_notable_is_solid() -> None:
    door = fills_of(DOOR)
    assert door["open"].solid
    assert not door["shut"].solid
    heat = fills_of(HEAT, [["zu", "offen"], ["frost", "eco", "comfort"]])
    assert heat["comfort"].solid
    assert len({id(fill) for fill in heat.values()}) == 3
    # a fill does not change with what happens to be shown
    assert fills_of(_strip("x", (0, "eco")), [["frost", "eco", "comfort"]])["eco"] == heat["eco"]


def test_states_say_their_names_or_stand_in_a_key() -> None:
    drawing = state_drawing(
        [DOOR, HEAT], spec=ChartSpec(460, 120), order=[["shut", "open"], ["frost", "eco", "comfort"]]
    )
    said = texts(drawing)
    assert {"Door", "Heating", "open", "eco", "comfort"} <= set(said)
    assert "shut" not in said, "a fine line needs no name"
    assert (drawing.title or "").startswith("Door: open, ")


def test_where_no_state_is_known_nothing_is_drawn() -> None:
    drawing = state_drawing([DOOR], spec=ChartSpec(500, 60))
    name = next(one for one in drawing.labels if one.text == "Door")
    rows = drawing.grid.codes[name.box[1] : name.box[1] + name.box[3] + 3, name.box[2] + 10 : 492]
    columns = (rows == INK).any(axis=0)
    holes = [(a, n) for a, n in stretches(np.asarray(~columns)) if n > 10]
    assert len(holes) == 1
    assert holes[0][1] / columns.size == pytest.approx(3 / 48, abs=0.02)


amounts = st.lists(st.floats(-20, 20).map(lambda v: round(v, 1)), min_size=8, max_size=8)


@settings(max_examples=40, deadline=None)
@given(st.lists(amounts, min_size=2, max_size=5))
def test_stacked_areas_add_up_in_every_column(values: list[list[float]]) -> None:
    spec = ChartSpec(300, 200)
    parts = [runs(series(row).readings) for row in values]
    plot = plain_plot([-100.0, 100.0], (START, START + 7 * HOUR), spec=spec)
    layers = stacked_layers(plot, parts)
    x = np.arange(plot.box[2]) / (plot.box[2] - 1) * 7
    for row, found in zip(values, layers.values, strict=True):
        assert found == pytest.approx(np.interp(x, range(8), row), abs=20 * 7 / plot.box[2] + 1e-6)
    for above in (True, False):
        edges = layers.edges(plot, above=above)
        total = np.clip(layers.values, *((0, None) if above else (None, 0))).sum(axis=0)
        assert edges[-1].tolist() == plot.rows(total).tolist()


def test_a_stack_is_known_where_all_its_parts_are() -> None:
    spec = ChartSpec(400, 160)
    whole, part = [2.0] * 20, [1.0] * 8 + [None] * 4 + [1.0] * 8
    drawing = area_drawing([series(whole, name="sun"), series(part, name="car")], spec=spec)
    assert {"sun", "car", "3"} <= set(texts(drawing))
    foot = max(y for y in range(160) if inked(drawing.grid, INK)[y].sum() > 200)
    filled = np.asarray(drawing.flat().codes[foot - 6] == INK)
    left, right = np.flatnonzero(filled)[[0, -1]]
    hole = max(stretches(np.asarray(~filled[left:right])), key=lambda one: one[1])
    assert hole[1] == pytest.approx((right - left) * 5 / 19, abs=8)


def test_an_area_stands_on_its_base() -> None:
    drawing = area_drawing([series([3.0, 5.0, 4.0])], spec=ChartSpec(300, 140, include=(0.0,)), base=4.0)
    assert len(drawing.tints) == 2
    over, under = (np.flatnonzero(tint.area.any(axis=1)) for tint in drawing.tints)
    assert over.max() < under.min()


def test_markers_are_symmetric_and_unlike() -> None:
    for side in (3, 5, 7, 9, 11):
        masks = [Marker(shape, side).mask() for shape in ("disc", "ring", "cross", "square")]
        for mask in masks:
            assert mask.shape == (side, side)
            assert np.array_equal(mask, mask[::-1])
            assert np.array_equal(mask, mask.T)
        if side > 3:
            assert len({mask.tobytes() for mask in masks}) == 4
    looks = {
        (one.shape, one.code) for one in markers(ChartSpec(300, 100, palette=RED), count=4, crowded=False)
    }
    assert len(looks) == 4


def test_every_reading_has_its_marker() -> None:
    values = [float(i % 5) for i in range(12)]
    drawing = dot_drawing([series(values)], spec=ChartSpec(400, 160, palette=RED, extremes=False))
    columns = np.asarray(inked(drawing.grid, ACCENT).any(axis=0))
    assert len(stretches(columns)) == 12


def test_two_series_are_paired_by_their_moments() -> None:
    across = series([1.0, 2.0, None, 4.0, INF])
    later = Series(
        across.origin,
        "loft",
        "%",
        tuple(
            Reading(r.at + timedelta(minutes=20), v)
            for r, v in zip(across.readings, (9.0, 8.0, 7.0, 6.0, 5.0), strict=True)
        ),
    )
    assert paired(across, later).points == ((1, 9), (2, 8), (4, 6))
    far = Series(across.origin, "loft", "%", (Reading(START + timedelta(days=9), 1.0),))
    assert paired(across, far).points == ()


def test_anscombes_quartet_keeps_its_points() -> None:
    # Anscombe, The American Statistician 27(1), 1973, as vega_datasets has it: mean of x 9, of y 7.50 in each set.
    table = vega_datasets.data.anscombe()
    clouds = [
        Cloud(str(name), tuple(zip(part.X.astype(float), part.Y.astype(float), strict=True)))
        for name, part in table.groupby("Series")
    ]
    for cloud in clouds:
        x, y = np.array(cloud.points).T
        assert (x.mean(), round(y.mean(), 2)) == (9, 7.5)
        spec = ChartSpec(300, 200, palette=RED)
        drawing = scatter_drawing([cloud], spec=spec, names=Names("x", "y"))
        check_drawing(drawing, spec)
        found = inked(drawing.grid, ACCENT)
        assert found.sum() == pytest.approx(len(set(cloud.points)) * Marker("disc", 7).mask().sum(), rel=0.25)


def test_readings_stand_for_the_time_up_to_the_next() -> None:
    readings = series([1.0, 2.0, None, 4.0]).readings
    found = spans_of((*readings, Reading(START + 20 * HOUR, 5.0)))
    assert [(span.end - span.start) / HOUR for span in found] == [1, 1, 1, 1, 1]
    assert np.isnan(found[2].value)
    before = spans_of(readings, at_end=True)
    assert (before[0].start, before[0].end) == (START - HOUR, START)


def test_days_are_those_of_the_wall_also_where_the_clocks_change() -> None:
    # 29 March 2026 has 23 hours in London, 25 October 25 (tz database).
    begin = datetime(2026, 3, 28, tzinfo=LONDON)
    readings = [Reading(begin + i * HOUR, 1.0) for i in range(24)]
    more = [Reading(datetime(2026, 3, 29, tzinfo=ZoneInfo("UTC")) + i * HOUR, 1.0) for i in range(47)]
    found = gathered([*readings, *more], Period.DAY, zone=LONDON)
    assert [(span.end - span.start) / HOUR for span in found] == [24, 23, 24]
    assert [span.value for span in found] == [24, 23, 24]


def test_months_add_up_to_the_year_and_a_month_of_nothing_is_a_gap() -> None:
    # vega_datasets 0.9, seattle-weather: pandas' own monthly sums.
    table = vega_datasets.data.seattle_weather()
    table = table[table.date.dt.year == 2013]
    zone = ZoneInfo("America/Los_Angeles")
    readings = [
        Reading(at.to_pydatetime().replace(tzinfo=zone), float(value))
        for at, value in zip(table.date, table.precipitation, strict=True)
    ]
    found = gathered(readings, Period.MONTH, zone=zone)
    expected = table.groupby(table.date.dt.month).precipitation.sum()
    assert [span.value for span in found] == pytest.approx(expected.tolist())
    highest = gathered(readings, Period.YEAR, zone=zone, how=Gathering.HIGHEST)
    assert highest[0].value == table.precipitation.max()
    holed = gathered([readings[0], readings[-1]], Period.MONTH, zone=zone)
    assert len(holed) == 12
    assert np.isnan([span.value for span in holed]).sum() == 10
    with pytest.raises(SheetError, match="more than"):
        gathered([Reading(START, 1.0), Reading(START + timedelta(days=900), 1.0)], Period.HOUR, zone=zone)


def test_gaps_of_a_real_record_stay_gaps() -> None:
    # statsmodels co2: weekly means at Mauna Loa 1958-2001, 2284 weeks, 59 of them missing (Keeling and Whorf).
    table = statsmodels.datasets.co2.load_pandas().data
    readings = tuple(
        Reading(at.to_pydatetime().replace(tzinfo=ZoneInfo("UTC")), float(value))
        for at, value in zip(table.index, table.co2, strict=True)
    )
    assert sum(1 for reading in readings if np.isnan(reading.value or 0)) == 59
    line = Series(series([]).origin, "Mauna Loa", "ppm", readings[:400])
    spec = ChartSpec(800, 160, extremes=False)
    drawing = step_drawing([line], spec=spec)
    check_drawing(drawing, spec)
    gaps = sum(
        1 for one in stretches(np.array([np.isnan(r.value or 0) for r in line.readings])) if one[1] > 1
    )
    drawn = (drawing.grid.codes[10:120, 60:780] == INK).any(axis=0)
    assert len(stretches(~drawn)) >= gaps - 1 > 0


@pytest.mark.parametrize(("name", "palette"), [("black", BLACK), ("red", RED)])
def test_goldens(name: str, palette: Palette) -> None:
    spec = ChartSpec(
        340, 120, palette=palette, unit="€/kWh", zone=LONDON, now=START + 20.5 * HOUR,
        nights=((START, START + 6 * HOUR), (START + 19 * HOUR, START + 30 * HOUR)), thresholds=(Threshold(0.3, "dear"),),
    )  # fmt: skip
    check_golden(f"chart-steps-{name}", step_drawing([series(PRICES)], spec=spec).flat().codes, PLATE)
    strips = ChartSpec(360, 110, palette=palette, zone=LONDON, now=START + 20.5 * HOUR)
    order = [["shut", "open"], ["frost", "eco", "comfort"]]
    check_golden(
        f"chart-states-{name}", state_drawing([DOOR, HEAT], spec=strips, order=order).flat().codes, PLATE
    )
    sun = [max(0.0, 4 * float(np.sin((i - 6) / 12 * np.pi))) for i in range(48)]
    house = [1.2 + 0.5 * float(np.sin(i / 3)) for i in range(48)]
    stack = ChartSpec(340, 120, palette=palette, unit="kW", zone=LONDON)
    check_golden(
        f"chart-areas-{name}",
        area_drawing([series(sun, name="sun"), series(house, name="house")], spec=stack).flat().codes,
        PLATE,
    )
    frost = ChartSpec(340, 120, palette=palette, unit="°C", zone=LONDON)
    wave = [6 * float(np.sin(i / 5)) + 2 for i in range(40)]
    check_golden(f"chart-area-{name}", area_drawing([series(wave)], spec=frost).flat().codes, PLATE)
    check_golden(
        f"chart-dots-{name}",
        dot_drawing([series(wave, name="quay"), series(wave[5:], name="loft")], spec=frost).flat().codes,
        PLATE,
    )


def test_strips_come_before_their_key_and_what_has_no_room_is_counted() -> None:
    strips = [_strip(f"Door {i}", (0, "shut"), (7, "open"), (8, "shut")) for i in range(5)]
    order = [["shut", "open"]]
    roomy = texts(state_drawing(strips, spec=ChartSpec(300, 180), order=order))
    assert {"open", *(f"Door {i}" for i in range(5))} <= set(roomy)
    tight = texts(state_drawing(strips, spec=ChartSpec(300, 132), order=order))
    assert {f"Door {i}" for i in range(5)} <= set(tight)
    assert "open" not in tight
    assert {"Door 0", "+3"} <= set(texts(state_drawing(strips, spec=ChartSpec(300, 84), order=order)))
