"""Bars, rows and stacks: heights true to values, an even rhythm, totals that are the sum of their parts."""

from datetime import timedelta
from itertools import pairwise

import numpy as np
import pytest
import vega_datasets
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.blocks.charts.further import (
    BLACK,
    GREY,
    INF,
    LONDON,
    NAN,
    PLATE,
    RED,
    START,
    inked,
    spans,
    stretches,
    texts,
)
from tests.golden import check_golden

from wallbill.blocks.charts.amounts import Named, bar_chart_drawing, bar_columns_drawing
from wallbill.blocks.charts.fills import fills
from wallbill.blocks.charts.frames import bar_plot
from wallbill.blocks.charts.rows import Order, Parts, bar_rows_drawing, ordered, stacked_rows_drawing
from wallbill.blocks.charts.spec import ChartSpec, Threshold
from wallbill.blocks.charts.stacks import Heap, Pile, segments, stacked_bars_drawing, stacked_columns_drawing
from wallbill.blocks.drawing.grid import ACCENT, INK, NOTHING, PAPER
from wallbill.blocks.drawing.markup import tint_rgb
from wallbill.blocks.drawing.palette import Palette

KINDS = ("sun", "fog", "drizzle", "rain", "snow")


def seattle(year: int) -> list[tuple[float, str, int]]:
    """Daily precipitation in mm, kind of weather and month at Seattle: the data set of vega_datasets, from NOAA."""
    table = vega_datasets.data.seattle_weather()
    table = table[table.date.dt.year == year]
    return [(float(row.precipitation), str(row.weather), int(row.date.month)) for row in table.itertuples()]


def test_bars_are_as_high_as_their_values() -> None:
    drawing = bar_chart_drawing(
        spans([1, 2, 3, 4, 5, 0, 10], hours=24), spec=ChartSpec(300, 220, extremes=False)
    )
    ink = inked(drawing.grid, INK)
    foot = max(y for y in range(220) if ink[y].sum() > 150)
    placed = stretches(ink[foot - 1])
    heights = [int(ink[:foot, left].sum()) for left, _ in placed]
    assert len(placed) == 6, "nothing is nothing, not a stub"
    assert heights == pytest.approx([heights[-1] / 10 * value for value in (1, 2, 3, 4, 5, 10)], abs=1)


@pytest.mark.parametrize("count", [7, 12, 24, 31, 48, 53, 96])
@pytest.mark.parametrize("width_px", [296, 400, 648, 800])
def test_bars_of_equal_time_stand_in_an_even_rhythm(count: int, width_px: int) -> None:
    drawing = bar_chart_drawing(spans([5.0] * count), spec=ChartSpec(width_px, 160, extremes=False))
    ink = inked(drawing.grid, INK)
    foot = max(y for y in range(160) if ink[y].sum() > width_px / 2)
    placed = stretches(ink[foot - 1])
    if width_px / count < 8 and len(placed) < count:
        return  # so many bars stand without air
    assert len(placed) == count
    wide = {length for _, length in placed}
    apart = {b - a for (a, _), (b, _) in pairwise(placed)}
    spread = 0 if (width_px - 60) % count < 0.1 * width_px else 1
    assert max(wide) - min(wide) <= spread
    assert max(apart) - min(apart) <= spread


def test_amounts_below_zero_go_down_from_a_line_and_look_otherwise() -> None:
    for palette in (BLACK, RED, GREY):
        spec = ChartSpec(300, 160, palette=palette, extremes=False)
        drawing = bar_chart_drawing(spans([4.0, -4.0, 2.0], hours=24), spec=spec)
        ink = inked(drawing.grid, INK)
        zero = next(y for y in range(20, 140) if ink[y].sum() > 200)
        left, middle = 300 * 1 // 5, 300 * 1 // 2
        assert drawing.flat().codes[zero - 10, left : left + 20].any()
        below = drawing.flat().codes[zero + 5 : zero + 20, middle - 10 : middle + 10]
        assert (
            (below == ACCENT).all()
            if palette is RED
            else 0 < (below == INK).mean() < 1 or bool(drawing.tints)
        )


def test_a_gap_is_no_zero() -> None:
    spec = ChartSpec(300, 120)
    known = bar_chart_drawing(spans([3.0, 0.0, 2.0], hours=24), spec=spec)
    gap = bar_chart_drawing(spans([3.0, NAN, 2.0], hours=24), spec=spec)
    assert "0" in texts(known)
    assert "0" not in texts(gap)
    columns = bar_columns_drawing([Named("a", 3), Named("b", INF), Named("c", None)], spec=spec)
    assert texts(columns).count("–") == 2


def test_every_bar_says_its_value_where_there_is_room_and_the_scale_goes() -> None:
    values = [3.2, 4.0, -1.5, 2.7]
    wide = bar_chart_drawing(spans(values, hours=24), spec=ChartSpec(300, 140))
    assert {"3.2", "4", "−1.5", "2.7"} <= set(texts(wide))
    narrow = bar_chart_drawing(spans(values * 20), spec=ChartSpec(300, 140))
    assert {"4", "−1.5"} <= set(texts(narrow))
    assert "3.2" not in texts(narrow)
    assert "0" in texts(narrow), "the scale is back"


def test_a_threshold_is_seen_across_solid_bars() -> None:
    spec = ChartSpec(300, 140, thresholds=(Threshold(2, "limit"),))
    drawing = bar_chart_drawing(spans([4.0] * 4, hours=24), spec=spec)
    rows = np.flatnonzero((drawing.grid.codes == PAPER).any(axis=1))
    assert len(rows) == 1
    assert "limit" in texts(drawing)


def test_days_stand_under_their_bars_over_the_change_of_the_clocks() -> None:
    day = timedelta(days=1)
    local = START.astimezone(LONDON)
    days = [
        type(one)(local + i * day, local + (i + 1) * day, one.value) for i, one in enumerate(spans([2.0] * 7))
    ]
    spec = ChartSpec(420, 120, zone=LONDON, day_label=lambda at: f"{at:%a}")
    drawing = bar_chart_drawing(days, spec=spec)
    names = [
        label for label in drawing.labels if label.text in {"Fri", "Sat", "Sun", "Mon", "Tue", "Wed", "Thu"}
    ]
    assert [label.text for label in names] == ["Fri", "Sat", "Sun", "Mon", "Tue", "Wed", "Thu"]
    values = [label for label in drawing.labels if label.text == "2"]
    for name, value in zip(names, values, strict=True):
        assert abs(name.box[0] + name.box[2] / 2 - value.box[0] - value.box[2] / 2) <= 1


def test_a_year_of_rain() -> None:
    # vega_datasets 0.9: 366 days of 2012, the wettest with 54.1 mm.
    rain = [amount for amount, _, _ in seattle(2012)]
    spec = ChartSpec(800, 200, unit="mm", zone=LONDON, day_label=lambda at: f"{at:%b}")
    drawing = bar_chart_drawing(spans(rain, hours=24), spec=spec)
    assert len(rain) == 366
    assert "54.1" in texts(drawing)
    ink = inked(drawing.grid, INK)
    foot = max(y for y in range(200) if ink[y].sum() > 400)
    assert sum(length for _, length in stretches(ink[foot - 1])) == pytest.approx(
        2 * sum(1 for amount in rain if amount), abs=8
    )
    assert (drawing.title or "").startswith("highest 54.1 mm")


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.lists(st.floats(-50, 50).map(lambda v: round(v, 1)), min_size=3, max_size=3),
        min_size=1,
        max_size=12,
    )
)
def test_stacked_parts_end_where_their_sums_lie(values: list[list[float]]) -> None:
    spec = ChartSpec(500, 300)
    above = max(sum(v for v in row if v > 0) for row in values)
    below = min(sum(v for v in row if v < 0) for row in values)
    plot = bar_plot(spans([0.0] * len(values)), spec=spec, values=[above, below, 1.0], right_px=0)
    zero = plot.y(0)
    for row in values:
        placed = segments(plot, Pile(100, 110, 10, tuple(row)), fills(BLACK, count=3))
        tops = [box[1] for box, _ in placed if box[1] < zero]
        bottoms = [box[1] + box[3] - 1 for box, _ in placed if box[1] > zero]
        assert min(tops, default=zero) == plot.y(sum(v for v in row if v > 0))
        assert max(bottoms, default=zero) == plot.y(sum(v for v in row if v < 0))
        boxes = sorted((box[1], box[1] + box[3]) for box, _ in placed)
        assert all(a[1] <= b[0] for a, b in pairwise(boxes)), "no part overlaps another"
        for upper, lower in pairwise(boxes):
            assert lower[0] - upper[1] <= 2, (
                "no more than a clear row, or the line of zero, lies between parts"
            )


def test_shares_fill_the_whole_height_and_row() -> None:
    wholes = [Parts("a", (1.0, 2.0, 1.0)), Parts("b", (30.0, 0.0, 10.0)), Parts("c", (1.0, None, 1.0))]
    spec = ChartSpec(400, 160, unit="kWh")
    columns = stacked_columns_drawing(wholes, spec=spec, parts=("sun", "battery", "grid"), share=True)
    assert {"100", "%", "0", "–"} <= set(texts(columns))
    rows = stacked_rows_drawing(wholes, spec=spec, parts=("sun", "battery", "grid"), share=True)
    ink = rows.flat().codes != NOTHING
    middles = [one.box[1] + one.box[3] // 2 for one in rows.labels if one.text in {"a", "b"}]
    ends = [int(np.flatnonzero(ink[y]).max()) for y in middles]
    assert ends[0] == ends[1]
    assert {"sun", "battery", "grid"} <= set(texts(rows))


def test_an_unknown_part_makes_the_whole_unknown() -> None:
    step = timedelta(hours=24)
    heaps = [
        Heap(START, START + step, (2.0, 1.0)),
        Heap(START + step, START + 2 * step, (2.0, None)),
        Heap(START + 2 * step, START + 3 * step, (1.0, 1.0)),
    ]
    drawing = stacked_bars_drawing(heaps, spec=ChartSpec(300, 140), parts=("sun", "grid"))
    assert {"3", "2"} <= set(texts(drawing))
    assert not drawing.flat().codes[20:100, 110:140].any()
    with pytest.raises(ValueError, match="2 parts, there are 3 names"):
        stacked_bars_drawing(heaps, spec=ChartSpec(300, 140), parts=("sun", "grid", "wind"))


@pytest.mark.parametrize("palette", [BLACK, RED, GREY])
def test_parts_side_by_side_look_unlike(palette: Palette) -> None:
    looks = [(fill.hatch, fill.code) for fill in fills(palette, count=6)]
    assert len(set(looks)) == 6
    if palette.smooth:
        greys = [tint_rgb(palette, fill.hatch)[0] for fill in fills(palette, count=6) if fill.hatch]
        assert min(abs(a - b) for i, a in enumerate(greys) for b in greys[i + 1 :]) >= 17, (
            "two steps of sixteen greys"
        )


def test_rows_keep_their_order_or_are_sorted_with_gaps_last() -> None:
    given_ = [Named("a", 1), Named("b", None), Named("c", 3), Named("d", 3), Named("e", -2)]
    assert [one.name for one in ordered(given_, Order.GIVEN)] == ["a", "b", "c", "d", "e"]
    assert [one.name for one in ordered(given_, Order.FALLING)] == ["c", "d", "a", "e", "b"]
    assert [one.name for one in ordered(given_, Order.RISING)] == ["e", "a", "c", "d", "b"]


def test_rows_without_room_are_counted() -> None:
    given_ = [Named(f"room {i}", float(i)) for i in range(20)]
    drawing = bar_rows_drawing(given_, spec=ChartSpec(200, 100, label_px=14), order=Order.FALLING)
    assert "room 19" in texts(drawing)
    shown = sum(text.startswith("room") for text in texts(drawing))
    assert f"+{20 - shown}" in texts(drawing)


def test_a_bar_in_a_row_is_as_long_as_its_value() -> None:
    drawing = bar_rows_drawing([Named("a", 10.0), Named("b", 5.0), Named("c", 2.5)], spec=ChartSpec(400, 90))
    ink = inked(drawing.grid, INK)
    lengths = [max(length for _, length in stretches(ink[y])) for y in (12, 45, 77)]
    assert lengths[1] == pytest.approx(lengths[0] / 2, abs=1.5)
    assert lengths[2] == pytest.approx(lengths[0] / 4, abs=1.5)


def _months() -> list[Parts]:
    days = seattle(2012)
    return [
        Parts(name, tuple(float(sum(m == month and kind == one for _, kind, m in days)) for one in KINDS))
        for month, name in enumerate("JFMAMJJASOND", start=1)
    ]


def test_the_days_of_each_month_add_up() -> None:
    # vega_datasets 0.9, seattle-weather: a kind of weather for every day of 2012, a leap year.
    drawing = stacked_columns_drawing(_months(), spec=ChartSpec(500, 200, unit="days"), parts=KINDS)
    totals = [text for text in texts(drawing) if text in {"29", "30", "31"}]
    assert totals == ["31", "29", "31", "30", "31", "30", "31", "31", "30", "31", "30", "31"]
    assert [text for text in texts(drawing) if text in KINDS] == list(KINDS)


@pytest.mark.parametrize(("name", "palette"), [("black", BLACK), ("red", RED)])
def test_goldens(name: str, palette: Palette) -> None:
    small = ChartSpec(300, 130, palette=palette, unit="kWh", zone=LONDON, day_label=lambda at: f"{at:%a}")
    week = spans([3.2, 4.1, -1.2, 2.8, NAN, -2.4, 5.6], hours=24)
    check_golden(f"chart-bars-{name}", bar_chart_drawing(week, spec=small).flat().codes, PLATE)
    rooms = [Named("Kitchen", 4.2), Named("Workshop", 7.9), Named("Sail loft", 1.1), Named("Porch", None)]
    rows = ChartSpec(300, 110, palette=palette, unit="kWh", thresholds=(Threshold(6, "limit"),))
    check_golden(
        f"chart-rows-{name}", bar_rows_drawing(rooms, spec=rows, marked="Sail loft").flat().codes, PLATE
    )
    months = ChartSpec(360, 160, palette=palette, unit="days")
    check_golden(
        f"chart-months-{name}",
        stacked_columns_drawing(_months(), spec=months, parts=KINDS).flat().codes,
        PLATE,
    )
    rain = [amount for amount, _, _ in seattle(2012)]
    year = ChartSpec(
        480,
        120,
        palette=palette,
        unit="mm",
        zone=LONDON,
        day_label=lambda at: f"{at:%b}",
        thresholds=(Threshold(25),),
    )
    check_golden(
        f"chart-year-{name}", bar_chart_drawing(spans(rain, hours=24), spec=year).flat().codes, PLATE
    )
