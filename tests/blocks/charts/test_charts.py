"""Charts: nothing overlaps or leaves its place, peaks and gaps show, and the engine paints every pixel as drawn."""

import re
from datetime import UTC, datetime, timedelta
from itertools import combinations
from typing import Any
from zoneinfo import ZoneInfo

import blitz_py
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.blocks.rulers import SevenPixelsALetter
from tests.golden import check_golden

from wallbill.blocks.charts.amounts import bar_chart_drawing
from wallbill.blocks.charts.lines import Band, band_drawing, line_chart, line_drawing, spark_drawing
from wallbill.blocks.charts.marks import line_styles
from wallbill.blocks.charts.readings import Span
from wallbill.blocks.charts.spec import ChartSpec, Threshold
from wallbill.blocks.charts.weather import WeatherUnits, weather_chart, weather_drawing
from wallbill.blocks.drawing.grid import ACCENT, INK, NOTHING
from wallbill.blocks.drawing.labels import Align, Kind, apart, inside
from wallbill.blocks.drawing.markup import Drawing, tint_rgb, to_markup
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.patterns import Hatch
from wallbill.blocks.drawing.ruler import Guess
from wallbill.facts.forecast import Forecast, Hour
from wallbill.facts.origin import Origin
from wallbill.facts.series import Reading, Series
from wallbill.units.quantity import Quantity

LONDON = ZoneInfo("Europe/London")
START = datetime(2026, 2, 27, 9, tzinfo=UTC)
ORIGIN = Origin("hut", "invented", "", None, START)
RED = Palette(accent="#c80000")
PLATE = ((255, 255, 255), (0, 0, 0), (200, 0, 0), (240, 240, 240), (120, 120, 120))


def series(
    values: list[float | None], *, name: str = "quay", minutes: float = 60, unit: str = "°C"
) -> Series:
    readings = tuple(Reading(START + timedelta(minutes=minutes * i), value) for i, value in enumerate(values))
    return Series(ORIGIN, name, unit, readings)


def wave(hours: int, *, low: float = 2, high: float = 12) -> list[float | None]:
    middle, swing = (low + high) / 2, (high - low) / 2
    return [middle + swing * float(np.sin((i - 1) / 24 * 2 * np.pi)) for i in range(hours)]


def forecast(hours: int = 36) -> Forecast:
    falls = [max(0.0, round(2.4 - 0.4 * abs(i - 14), 1)) for i in range(hours)]
    return Forecast(
        ORIGIN,
        tuple(
            Hour(
                START + timedelta(hours=i),
                START + timedelta(hours=i + 1),
                temperature=Quantity(value or 0, "°C"),
                precipitation=Quantity(falls[i], "mm"),
                wind_from_deg=(200 + 10 * i) % 360,
            )
            for i, value in enumerate(wave(hours))
        ),
    )


def check_labels(drawing: Drawing) -> None:
    assert all(inside(label.box, drawing.grid.size) for label in drawing.labels)
    for one, other in combinations(drawing.labels, 2):
        assert apart(one.box, other.box), (one, other)


def painted(html: str, size: tuple[int, int]) -> np.ndarray:
    page = f'<body style="margin:0;background:#fff">{html}</body>'
    width, height, data = blitz_py.render_rgba(page, width=size[0], height=size[1])
    return np.frombuffer(bytes(data), dtype=np.uint8).reshape(height, width, 4)[:, :, :3]


numbers = st.one_of(st.none(), st.floats(-40, 45, allow_nan=False).map(lambda number: round(number, 1)))
rows = st.lists(numbers, min_size=0, max_size=90)
specs = st.builds(
    ChartSpec,
    width_px=st.integers(120, 700),
    height_px=st.integers(60, 300),
    palette=st.sampled_from([Palette(), RED, Palette(muted="#808080", smooth=True)]),
    label_px=st.integers(9, 22),
    line_px=st.integers(1, 4),
    unit=st.sampled_from(["", "°C"]),
    zone=st.just(LONDON),
    now=st.just(START + timedelta(hours=7)),
    thresholds=st.sampled_from([(), (Threshold(5, "frost watch"),), (Threshold(0), Threshold(30, "hot"))]),
    extremes=st.booleans(),
)


@settings(max_examples=60, deadline=None)
@given(st.lists(rows, min_size=1, max_size=4), specs, st.sampled_from([10, 60, 180, 1440]))
def test_labels_never_overlap_and_stay_on_the_chart(
    given_rows: list[list[float | None]], spec: ChartSpec, minutes: int
) -> None:
    lines = [series(row, name=f"line {i}", minutes=minutes) for i, row in enumerate(given_rows)]
    drawing = line_drawing(lines, spec=spec)
    assert drawing.grid.size == spec.size
    check_labels(drawing)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(0, 60), min_size=0, max_size=60), specs)
def test_bars_keep_to_the_same_law(amounts: list[float], spec: ChartSpec) -> None:
    spans = [
        Span(START + timedelta(hours=i), START + timedelta(hours=i + 1), a) for i, a in enumerate(amounts)
    ]
    check_labels(bar_chart_drawing(spans, spec=spec))


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 72), specs, st.booleans())
def test_the_weather_keeps_to_the_same_law(hours: int, spec: ChartSpec, wind: bool) -> None:  # noqa: FBT001  hypothesis hands it over by place
    check_labels(weather_drawing(forecast(hours), spec=spec, units=WeatherUnits(wind=wind)))


def test_a_peak_among_thousands_of_readings_is_drawn() -> None:
    values: list[float | None] = [10.0] * 5000
    values[3217] = 30.0
    spec = ChartSpec(300, 120, extremes=False)
    flat = line_drawing(
        [series([10.0] * 5000, minutes=1)], spec=ChartSpec(300, 120, extremes=False, include=(30.0,))
    )
    peak = line_drawing([series(values, minutes=1)], spec=spec)
    top_rows = np.nonzero((peak.grid.codes == INK).any(axis=1))[0][:1]
    assert top_rows[0] < 20
    assert (peak.grid.codes == INK).sum() > (flat.grid.codes == INK).sum()


def test_a_gap_stays_a_gap() -> None:
    values: list[float | None] = [*[10.0] * 10, *[None] * 10, *[10.0] * 10]
    spec = ChartSpec(300, 100, extremes=False, palette=RED)
    drawn = line_drawing([series(values)], spec=spec).grid.codes == ACCENT
    columns = np.nonzero(drawn.any(axis=0))[0]
    jumps = np.diff(columns)
    assert (jumps > 1).sum() == 1
    assert jumps.max() == pytest.approx((columns.max() - columns.min()) * 11 / 29, abs=5)


def test_one_reading_alone_is_a_dot() -> None:
    drawing = line_drawing(
        [series([None, 10.0, None, 12.0, 12.0])], spec=ChartSpec(200, 80, palette=RED, extremes=False)
    )
    drawn = drawing.grid.codes == ACCENT
    assert drawn[:, : drawn.shape[1] // 2].any()


def test_lines_differ_without_colour() -> None:
    for palette in (Palette(), RED):
        styles = line_styles(ChartSpec(300, 100, palette=palette), count=5)
        looks = {(style.line_px, style.dash_px, style.marker if style.tagged else None) for style in styles}
        assert len(looks) == (
            5 if palette == Palette() else 4
        )  # with a second ink, one pair differs by that alone
        assert len({style.marker for style in styles}) == 5


def test_the_line_never_leaves_the_plot() -> None:
    spec = ChartSpec(300, 120, palette=RED, start=START + timedelta(hours=5), end=START + timedelta(hours=15))
    drawn = np.nonzero((line_drawing([series(wave(48))], spec=spec).grid.codes == ACCENT).any(axis=0))[0]
    left = 300 - 14  # the room right of the plot is a label's size
    assert drawn.max() <= left + 8
    assert drawn.min() > 10


def test_nothing_known_leaves_a_sign() -> None:
    for drawing in (
        line_drawing([series([None, None])], spec=ChartSpec(100, 40)),
        bar_chart_drawing([], spec=ChartSpec(100, 40)),
    ):
        assert drawing.labels == ()
        assert drawing.grid.drawn()[20].any()


def test_the_same_value_all_along_has_a_line_and_one_label() -> None:
    drawing = line_drawing([series([7.0] * 20)], spec=ChartSpec(300, 100))
    assert [label.text for label in drawing.labels].count("7") <= 2
    assert (drawing.grid.codes == INK).any()


def test_two_units_on_one_scale_are_refused() -> None:
    with pytest.raises(ValueError, match="one unit"):
        line_drawing([series([1.0, 2.0]), series([1.0, 2.0], unit="V")], spec=ChartSpec(200, 80))


def test_thresholds_may_be_written_as_a_sheet_writes_them() -> None:
    written: dict[str, Any] = {"thresholds": [[5, "frost watch"], 30], "include": [0]}
    spec = ChartSpec(200, 80, **written)
    assert spec.thresholds == (Threshold(5, "frost watch"), Threshold(30))
    assert list(spec.include) == [0]
    with pytest.raises(ValueError, match="a number and a name"):
        ChartSpec(200, 80, **{**written, "thresholds": ["frost"]})


@pytest.mark.parametrize("fault", [{"width_px": 10}, {"height_px": 4}, {"label_px": 3}, {"line_px": 0}])
def test_a_size_that_holds_no_chart_is_refused(fault: dict[str, int]) -> None:
    with pytest.raises(ValueError, match="got"):
        ChartSpec(**{"width_px": 200, "height_px": 80, **fault})  # type: ignore[arg-type]  # the faults are the point


@pytest.mark.parametrize(
    "palette", [Palette(), RED, Palette(ink="#ffffff", paper="#000000", muted="#ffffff")]
)
def test_the_engine_paints_the_very_pixels(palette: Palette) -> None:
    spec = ChartSpec(280, 120, palette=palette, zone=LONDON, nights=((START, START + timedelta(hours=6)),))
    drawing = weather_drawing(forecast(), spec=spec, units=WeatherUnits(wind=True))
    bare = Drawing(drawing.grid, (), drawing.tints, "")
    got = painted(
        f'<div style="background:{palette.paper}">{to_markup(bare, palette, label_px=14)}</div>', spec.size
    )
    css = {NOTHING: palette.paper, INK: palette.ink, 2: palette.accent, 3: palette.paper, 4: palette.muted}
    table = np.array(
        [[int(css[code][i : i + 2], 16) for i in (1, 3, 5)] for code in range(5)], dtype=np.uint8
    )
    assert np.array_equal(got, table[drawing.flat().codes])


def test_on_a_panel_of_greys_hatches_become_even_greys() -> None:
    grey = Palette(muted="#777777", smooth=True)
    spec = ChartSpec(280, 120, palette=grey, zone=LONDON, nights=((START, START + timedelta(hours=6)),))
    drawing = weather_drawing(forecast(), spec=spec, units=WeatherUnits())
    bare = Drawing(drawing.grid, (), drawing.tints, "")
    got = painted(str(to_markup(bare, grey, label_px=14)), spec.size)
    tones = set(got.reshape(-1, 3)[:, 0].tolist())
    assert tones <= {17 * step for step in range(16)}
    assert {tint_rgb(grey, tint.pattern)[0] for tint in drawing.tints} <= tones


def test_a_tint_is_the_hatches_mean_in_linear_light() -> None:
    # IEC 61966-2-1: half of the light is code 188 (187.5); the next of sixteen even steps below is 187.
    assert tint_rgb(Palette(), Hatch.CHECKS_50) == (187, 187, 187)
    assert tint_rgb(Palette(), Hatch.SOLID) == (0, 0, 0)


def test_the_text_alternative_is_there_and_escaped() -> None:
    html = str(line_chart([series(wave(24))], spec=ChartSpec(200, 80, title='Quay & "hut" <48 h>')))
    assert 'role="img"' in html
    assert 'aria-label="Quay &amp; &#34;hut&#34; &lt;48 h&gt;"' in html
    assert 'aria-label="Quay &amp;' in html
    bare = str(line_chart([series(wave(24))], spec=ChartSpec(200, 80, title="")))
    assert 'aria-hidden="true"' in bare
    assert "<title>" not in bare


def test_labels_stand_in_boxes_of_whole_pixels_and_centred_ones_are_even() -> None:
    drawing = weather_drawing(forecast(), spec=ChartSpec(320, 140, zone=LONDON), units=WeatherUnits())
    html = str(weather_chart(forecast(), spec=ChartSpec(320, 140, zone=LONDON)))
    assert all(label.box[2] % 2 == 0 for label in drawing.labels if label.align is Align.CENTRE)
    assert not re.search(r"\d\.\d+px", html)
    assert html.startswith('<div class="wb-chart"')
    assert 'class="wb-axis"' in html
    assert 'class="wb-label"' in html


def test_words_and_measures_come_from_the_spec() -> None:
    spec = ChartSpec(
        300,
        120,
        zone=LONDON,
        ruler=SevenPixelsALetter(),
        value_label=lambda value: f"{value:.0f} grad",
        hour_label=lambda local: f"{local:%H} Uhr",
        day_label=lambda local: "Tag",
    )
    texts = [label.text for label in line_drawing([series(wave(24))], spec=spec).labels]
    assert "12 grad" in texts
    assert any(text.endswith(" Uhr") for text in texts)
    assert "Tag" in texts
    widths = {
        label.box[2] for label in line_drawing([series(wave(24))], spec=spec).labels if label.text == "Tag"
    }
    assert widths == {22}  # 3 letters of 7 px, made even


def test_the_guess_of_a_texts_width_is_rather_too_wide() -> None:
    # Noto Sans: advances of tabular digits are 572 of 1000 units (read from the face).
    assert Guess().width_px("12", size_px=100) >= 114
    assert Guess().width_px("−3.5°", size_px=20) >= 20 * (0.572 * 3 + 0.268 + 0.428)


def test_a_day_of_25_hours_is_as_long_as_it_lasts() -> None:
    start = datetime(2026, 10, 24, 12, tzinfo=LONDON).astimezone(UTC)
    readings = tuple(Reading(start + timedelta(hours=i), float(i % 7)) for i in range(49))
    chart = line_drawing([Series(ORIGIN, "quay", "°C", readings)], spec=ChartSpec(600, 120, zone=LONDON))
    hours = [label.text for label in chart.labels if re.fullmatch(r"\d\d", label.text) and label.box[1] > 60]
    assert hours[:5] == ["12", "15", "18", "21", "00"]
    check_labels(chart)


def test_a_small_spark_letter_by_letter() -> None:
    drawing = spark_drawing(series([1.0, 3.0, 2.0]), spec=ChartSpec(40, 16, line_px=1))
    assert drawing.grid.letters().replace(" ", "") == SPARK.strip()


SPARK = """
........................................
........................................
........................................
........................................
...................###..................
.................##...####..............
...............##.........####..........
.............##...............#######...
..........###.....................###...
........##........................###...
......##................................
....##..................................
........................................
........................................
........................................
........................................
"""


def test_goldens() -> None:
    night = ((START + timedelta(hours=9), START + timedelta(hours=22)),)
    two = [
        series(wave(36)),
        series([None if 14 < i < 20 else v for i, v in enumerate(wave(36, low=8, high=11))], name="hut"),
    ]
    line = line_drawing(
        two,
        spec=ChartSpec(
            320,
            130,
            nights=night,
            thresholds=(Threshold(5, "frost"),),
            zone=LONDON,
            now=START + timedelta(hours=5),
        ),
    )
    check_golden("chart-line", line.flat().codes, PLATE)
    low = series([None if v is None else v - 1 - i / 20 for i, v in enumerate(wave(36))])
    high = series([None if v is None else v + 1 + i / 20 for i, v in enumerate(wave(36))])
    band = band_drawing(
        Band(low, high, series(wave(36))),
        spec=ChartSpec(320, 130, palette=RED, zone=LONDON, now=START + timedelta(hours=5)),
    )
    check_golden("chart-band", band.flat().codes, PLATE)
    weather = weather_drawing(
        forecast(),
        spec=ChartSpec(320, 140, palette=RED, nights=night, zone=LONDON, now=START + timedelta(hours=5)),
        units=WeatherUnits(wind=True),
    )
    check_golden("chart-weather", weather.flat().codes, PLATE)


GREY_PLATE = ((255, 255, 255), *((17 * step, 17 * step, 17 * step) for step in range(16)))


def greys_of(drawing: Drawing) -> np.ndarray:
    assert drawing.greys is not None
    return drawing.greys


def test_goldens_of_greys() -> None:
    grey = Palette(smooth=True)
    night = ((START + timedelta(hours=9), START + timedelta(hours=22)),)
    spec = ChartSpec(220, 100, palette=grey, zone=LONDON, nights=night, now=START + timedelta(hours=5))
    two = [series(wave(36)), series(wave(36, low=4, high=9), name="hut")]
    check_golden("chart-greys-line", greys_of(line_drawing(two, spec=spec)), GREY_PLATE)
    low, high = series([(v or 0) - 1 for v in wave(36)]), series([(v or 0) + 2 for v in wave(36)])
    band = band_drawing(Band(low, high, series(wave(36))), spec=spec)
    check_golden("chart-greys-band", greys_of(band), GREY_PLATE)


def test_goldens_of_several_lines() -> None:
    rows = [[3.0 + i, 9 + i, 5 + i / 2, 8 + 2 * i, 4 + i * 1.2] for i in range(6)]
    few = [series(list(row), name=f"line {i}", minutes=720) for i, row in enumerate(rows)]
    for name, palette in (("one-ink", Palette()), ("two-inks", RED)):
        drawing = line_drawing(few, spec=ChartSpec(300, 150, palette=palette, zone=LONDON))
        check_golden(f"chart-markers-{name}", drawing.flat().codes, PLATE)
    many = [series(wave(60, low=i, high=8 + 2 * i), name=f"line {i}") for i in range(5)]
    check_golden("chart-tags", line_drawing(many, spec=ChartSpec(300, 150, zone=LONDON)).flat().codes, PLATE)


def test_names_that_had_to_move_have_leaders() -> None:
    near = [series([5.0, 5 + i / 10], name=f"line {i}") for i in range(3)]
    far = [series([5.0, 5 + 8 * i], name=f"line {i}") for i in range(3)]
    spec, lefts = ChartSpec(300, 150, extremes=False, include=(0.0, 30.0)), []
    for lines in (near, far):
        drawing = line_drawing(lines, spec=spec)
        names = [label for label in drawing.labels if label.text.startswith("line")]
        assert len(names) == 3
        lefts.append(names[0].box[0])
    assert lefts[0] >= lefts[1] + 10
    leaders = line_drawing(near, spec=spec).grid.drawn()[:110, lefts[0] - 9 : lefts[0] - 4]
    assert leaders.any(axis=0).all()


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.floats(0, 30), min_size=5, max_size=120),
    st.sampled_from([Palette(), RED, Palette(smooth=True)]),
)
def test_labels_of_extremes_never_hide_data(values: list[float], palette: Palette) -> None:
    bare = ChartSpec(260, 120, palette=palette, extremes=False)
    spec = ChartSpec(260, 120, palette=palette)
    drawing = line_drawing([series([round(v, 1) for v in values])], spec=spec)
    code = ACCENT if palette.has_accent else INK
    data = (drawing.grid.codes == code)[:90]
    assert (line_drawing([series(list(values))], spec=bare).grid.codes == code).any()
    for label in drawing.labels:
        if label.kind is Kind.LABEL:
            x, y, wide, high = label.box
            air = high // 6
            assert not data[y + air : y + high - air, x : x + wide].any(), label
