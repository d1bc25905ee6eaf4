"""The weather on one axis of time: temperature above, what falls below, and the wind under it."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from statistics import median

from markupsafe import Markup

from wallbill.blocks.charts.lines import extremes, known, nothing_known, plain_plot
from wallbill.blocks.charts.marks import (
    composed,
    draw_line,
    foot,
    line_styles,
    night_tint,
    now_mark,
    rows,
    threshold_labels,
    threshold_rules,
)
from wallbill.blocks.charts.plot import (
    GAP_PX,
    TICK_PX,
    Plot,
    Scale,
    centred,
    day_row_px,
    exact_text,
    row_top_px,
    time_marks,
    time_step,
    value_labels,
    value_scale,
)
from wallbill.blocks.charts.readings import Runs, Span, is_number, rain, runs, temperatures
from wallbill.blocks.charts.spec import LEAST_HEIGHT_PX, ChartSpec
from wallbill.blocks.charts.telling import series_told, spans_told, told
from wallbill.blocks.charts.ticks import ticks
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import NOTHING, Grid, Sketch
from wallbill.blocks.drawing.labels import Align, Label, clearest
from wallbill.blocks.drawing.markup import Drawing, Tint, to_markup
from wallbill.blocks.drawing.patterns import Hatch
from wallbill.blocks.icons.wind import compass_point, wind_grid
from wallbill.facts.forecast import Forecast

_SOLID_PX = 5  # a bar this narrow is filled: a hatch would not show
_RAIN_SHARE = 0.3  # of the plot's height, for what falls: judged by eye


@dataclass(frozen=True, slots=True)
class WeatherUnits:
    """Units that a day's weather is drawn in.

    ``full_rain``: how much in a span fills the scale at the least, in the unit ``rain``. ``rain_label``: how an
    amount is worded. ``wind``: whether arrows show where the wind blows.
    """

    temperature: str = "°C"
    rain: str = "mm"
    full_rain: float = 2.0
    rain_label: Callable[[float], str] | None = None
    wind: bool = False


def weather_chart(forecast: Forecast, *, spec: ChartSpec, units: WeatherUnits = WeatherUnits()) -> Markup:
    """Temperature as a line, what falls as bars under it, and wind as arrows if asked, on one axis of time."""
    return to_markup(weather_drawing(forecast, spec=spec, units=units), spec.palette, label_px=spec.label_px)


def weather_drawing(forecast: Forecast, *, spec: ChartSpec, units: WeatherUnits) -> Drawing:
    """The drawing behind `weather_chart`."""
    parts = runs(temperatures(forecast, unit=units.temperature).readings, gap_after=spec.gap_after)
    falls = [span for span in rain(forecast, unit=units.rain) if is_number(span.value) and span.value >= 0]
    if not forecast.hours or not (parts or falls):
        return nothing_known(spec)
    plots = _weather_plots(forecast, parts, falls, spec=spec, units=units)
    upper, lower, whole = plots.upper, plots.lower, plots.whole
    sketch = Sketch(*spec.size, smooth=spec.palette.smooth)
    rows(sketch, upper, values=upper.scale.shown())
    labels = (*value_labels(upper, spec), *_under(sketch, whole, spec, extra_px=plots.arrow_px))
    threshold_rules(sketch, upper, spec=spec)
    tint = _stand(sketch, lower, falls)
    now_mark(sketch, whole, now=spec.now, floor_px=whole.bottom_px - 1)
    style = line_styles(spec, count=1)[0]
    sketch.begin_data()
    draw_line(sketch, upper, parts, style=style)
    if spec.extremes:
        labels += extremes(sketch, upper, parts=[parts], spec=spec, taken=labels)
    wording = replace(spec, value_label=units.rain_label or _rain_text(units.rain))
    labels += _most(sketch, lower, falls, spec=wording, taken=labels)
    labels += threshold_labels(sketch, upper, spec=spec, taken=labels)
    if units.wind:
        _arrows(sketch, whole, forecast, spec=spec, arrow_px=plots.arrow_px)
    tints = (*_apart(night_tint(whole, spec, floor_px=whole.bottom_px - 1), tint), tint)
    title = told(spec, _weather_told(parts, falls, spec, units))
    return composed(sketch, labels, tints=tints, spec=spec, title=title)


def _weather_told(parts: Runs, falls: Sequence[Span], spec: ChartSpec, units: WeatherUnits) -> Iterator[str]:
    """What the weather will be like: temperatures, and what falls in all and at the most."""
    if parts:
        yield from series_told([("", parts)], units.temperature, spec=spec)
    if falls:
        yield spans_told(falls, units.rain, spec=spec, sums=True)


@dataclass(frozen=True, slots=True)
class _Plots:
    """The plots of temperature and of what falls, the two as one, and the height of the wind's row."""

    upper: Plot
    lower: Plot
    whole: Plot
    arrow_px: int


def _weather_plots(
    forecast: Forecast, parts: Runs, falls: Sequence[Span], *, spec: ChartSpec, units: WeatherUnits
) -> _Plots:
    shown = (forecast.hours[0].valid_from, forecast.hours[-1].valid_to)
    arrow_px = (spec.label_px + 3) // 2 * 2 + 1 if units.wind else 0
    values = known([parts], spec)
    shorter = replace(spec, height_px=max(LEAST_HEIGHT_PX, spec.height_px - arrow_px))
    whole = plain_plot(values, shown, spec=shorter)
    left, top, wide, high = whole.box
    rain_px = round(high * _RAIN_SHARE)
    upper_px = max(2, high - rain_px - 4)
    scale = value_scale(values, spec, height_px=upper_px)
    upper = Plot((left, top, wide, upper_px), whole.axis, scale)
    seen = [span.value for span in falls if span.touches(spec.start, spec.end)]
    full = max([units.full_rain, *seen])
    lower = Plot((left, top + high - rain_px, wide, rain_px), whole.axis, Scale(ticks(0, full), 0.0, full))
    return _Plots(upper, lower, whole, arrow_px)


def _under(sketch: Sketch, plot: Plot, spec: ChartSpec, *, extra_px: int = 0) -> tuple[Label, ...]:
    """The axis of time, its marks and its labels, ``extra_px`` further down where a row lies between."""
    step = time_step(plot.axis, spec)
    marks = time_marks(plot, spec, step=step, top_px=plot.bottom_px + row_top_px(spec) + extra_px)
    begin, length = day_row_px(step, spec)
    foot(sketch, plot, marks=marks, floor_px=plot.bottom_px - 1, day_row_px=(begin + extra_px, length))
    return marks.labels


def _stand(sketch: Sketch, plot: Plot, spans: Sequence[Span]) -> Tint:
    """The bars: outlined and hatched, or filled where they are narrow; an amount above zero always shows."""
    area = shapes.nothing(sketch.size)
    floor = plot.bottom_px - 1
    placed = [(span, *_sides(plot, span)) for span in spans if span.value > 0]
    placed = [(span, left, right) for span, left, right in placed if left < right]
    narrow = bool(placed) and median(right - left for _, left, right in placed) <= _SOLID_PX
    for span, left, right in placed:
        tall = min(max(2, floor - plot.y(span.value)), floor - plot.box[1])
        sketch.fill((left, floor - tall, right - left, tall))
        if not narrow:
            sketch.fill((left + 1, floor - tall + 1, right - left - 2, tall - 2), NOTHING)
            area[floor - tall + 1 : floor, left + 1 : right - 1] = True
    return Tint(area, Hatch.RISING_25)


def _sides(plot: Plot, span: Span) -> tuple[int, int]:
    """Left and right column of a bar, cut at the plot's sides, with a little air on both sides of a wide one."""
    left, right = plot.x(span.start), plot.x(span.end)
    air = (right - left) // 10
    left, right = left + air + (1 if right - left > 3 else 0), right - air
    return max(left, plot.box[0]), min(max(right, left + 1), plot.right_px)


def _apart(under: tuple[Tint, ...], over: Tint) -> tuple[Tint, ...]:
    """Tints without the area of another that lies over them."""
    return tuple(Tint(tint.area & ~over.area, tint.pattern) for tint in under)


def _most(
    sketch: Sketch, plot: Plot, spans: Sequence[Span], *, spec: ChartSpec, taken: Sequence[Label]
) -> tuple[Label, ...]:
    """The label of the largest amount that is shown, over its bar or beside it."""
    shown = [span for span in spans if span.end > plot.axis.start and span.start < plot.axis.end]
    top = max(shown, key=lambda span: span.value, default=None)
    if top is None or top.value <= 0 or not spec.extremes:
        return ()
    left, right = max(plot.x(top.start), plot.box[0]), min(plot.x(top.end), plot.right_px)
    at = ((left + right) // 2, plot.y(top.value))
    text = exact_text(plot.scale, top.value, spec=spec)
    over = centred(text, (at[0], at[1] - spec.line_height_px), spec=spec)
    reach = (right - left) // 2 + GAP_PX
    wide, high = over.box[2], over.box[3]
    choices = [over]
    for down in (0, high // 2, high):
        choices.append(Label(text, (at[0] + reach, at[1] - high // 2 + down, wide, high), Align.LEFT))
        choices.append(Label(text, (at[0] - reach - wide, at[1] - high // 2 + down, wide, high), Align.RIGHT))
    lowest = plot.bottom_px - high
    kept = [choice for choice in choices if choice.box[1] <= lowest and choice.box[0] >= plot.box[0]]
    label = clearest(kept, taken, drawn=sketch.solid())
    return (label,) if label else ()


def _rain_text(unit: str) -> Callable[[float], str]:
    return lambda amount: f"{amount:.1f} {unit}"


def _arrows(sketch: Sketch, plot: Plot, forecast: Forecast, *, spec: ChartSpec, arrow_px: int) -> None:
    """An arrow under each mark of the axis that points where the wind blows to."""
    step = time_step(plot.axis, spec)
    last = -arrow_px
    darts: dict[str, Grid] = {}
    for tick in plot.axis.ticks(step):
        hour = forecast.at(tick.at)
        x = plot.x(tick.at)
        half = arrow_px // 2
        if hour is None or hour.wind_from_deg is None or x - last < arrow_px + 2:
            continue
        if x - half < 0 or x + half >= spec.width_px:
            continue
        at = (x - half, plot.bottom_px + TICK_PX)
        point = compass_point(hour.wind_from_deg)
        if point not in darts:
            darts[point] = wind_grid(hour.wind_from_deg, size_px=arrow_px)
        sketch.stamp(darts[point], at=at)
        last = x
