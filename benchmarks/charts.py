"""Charts: what each costs to make, beside matplotlib's raster back end with smoothing off drawing the same chart.

Both start from the same readings and end with pixels that can go on: ours with the HTML of the chart and its picture,
matplotlib with its canvas as an array. CPU time of this thread, the least of many runs, side by side in one run.
"""

import math
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from wallbill.blocks.charts.amounts import bar_chart
from wallbill.blocks.charts.lines import Band, band_chart, line_chart, spark
from wallbill.blocks.charts.readings import Span, rain, temperatures
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.charts.weather import WeatherUnits, weather_chart
from wallbill.blocks.drawing.palette import Palette
from wallbill.facts.forecast import Forecast, Hour
from wallbill.facts.origin import Origin
from wallbill.facts.series import Reading, Series
from wallbill.units.quantity import Quantity

START = datetime(2026, 3, 27, tzinfo=UTC)
ORIGIN = Origin("hut", "invented", "", None, START)
RED, GREYS = Palette(accent="#ff0000"), Palette(smooth=True)
NIGHTS = tuple((START + timedelta(hours=24 * d - 5), START + timedelta(hours=24 * d + 6)) for d in range(8))
HOUR = timedelta(hours=1)


def series(count: int, minutes: int, *, seed: int, name: str = "quay") -> Series:
    """Invented temperatures: a daily wave and a wandering rest."""
    chance = np.random.default_rng(seed)
    rest = np.cumsum(chance.normal(0, 0.3, count)) * math.sqrt(minutes / 60)
    rest -= np.linspace(0, rest[-1], count)
    wave = 7.5 + 4.5 * np.sin((np.arange(count) * minutes / 60 - 9 + seed) / 24 * 2 * np.pi) + rest
    moments = (START + timedelta(minutes=minutes * i) for i in range(count))
    return Series(ORIGIN, name, "°C", tuple(map(Reading, moments, wave.round(1).tolist())))


def forecast() -> Forecast:
    """Two days by the hour, with rain and wind."""
    hours = []
    for i, reading in enumerate(series(48, 60, seed=0).readings):
        fall = max(0.0, 2.4 - 0.4 * abs(i - 14))
        hours.append(
            Hour(
                reading.at,
                reading.at + HOUR,
                temperature=Quantity(reading.value or 0, "°C"),
                precipitation=Quantity(fall, "mm"),
                wind_from_deg=(200 + 10 * i) % 360,
            )
        )
    return Forecast(ORIGIN, tuple(hours))


def shifted(one: Series, by: float) -> Series:
    """The same readings higher or lower."""
    return replace(one, readings=tuple(Reading(r.at, (r.value or 0) + by) for r in one.readings))


def least_ms(work: Callable[[], object], runs: int = 25) -> float:
    """Least CPU time of this thread in milliseconds."""
    times = []
    for _ in range(runs):
        begin = time.thread_time()
        work()
        times.append(time.thread_time() - begin)
    return min(times) * 1000


Draw = Callable[[Any], None]


def usual(size: tuple[int, int], *draws: Draw) -> np.ndarray:
    """matplotlib's picture of a chart, RGBA: one set of axes for each of ``draws``, one above the other."""
    with mpl.rc_context({"text.antialiased": False, "lines.antialiased": False, "patch.antialiased": False}):
        figure = Figure(figsize=(size[0] / 100, size[1] / 100), dpi=100)
        canvas = FigureCanvasAgg(figure)
        for number, draw in enumerate(draws, start=1):
            draw(figure.add_subplot(len(draws), 1, number))
        canvas.draw()  # type: ignore[no-untyped-call]  # matplotlib types this in part
        return np.asarray(canvas.buffer_rgba())  # type: ignore[no-untyped-call]  # likewise


def columns(one: Series) -> tuple[list[datetime], list[float]]:
    """Moments and values, as matplotlib takes them."""
    return [r.at for r in one.readings], [r.value or 0.0 for r in one.readings]


def lines(many: Sequence[Series]) -> Draw:
    """matplotlib's way to draw lines with a grid, nights and a legend."""

    def draw(axes: Any) -> None:
        for one in many:
            axes.plot(*columns(one), linewidth=2, label=one.name)
        for begin, end in NIGHTS:
            axes.axvspan(begin, end, hatch="....", fill=False, linewidth=0)
        axes.grid(linestyle=":")
        if len(many) > 1:
            axes.legend()

    return draw


def upright(spans: Sequence[Span]) -> Draw:
    """matplotlib's way to draw bars."""

    def draw(axes: Any) -> None:
        axes.bar(
            [span.start for span in spans],
            [span.value for span in spans],
            width=[span.end - span.start for span in spans],
            align="edge",
            fill=False,
            hatch="//",
        )
        axes.grid(axis="y", linestyle=":")

    return draw


def band(low: Series, high: Series, middle: Series) -> Draw:
    """matplotlib's way to draw a range with its middle."""

    def draw(axes: Any) -> None:
        moments, floor = columns(low)
        axes.fill_between(moments, floor, columns(high)[1], hatch="//", facecolor="none", edgecolor="black")
        axes.plot(*columns(middle), linewidth=2)
        axes.grid(linestyle=":")

    return draw


def bare(one: Series) -> Draw:
    """matplotlib's way to draw a line and nothing else."""

    def draw(axes: Any) -> None:
        axes.plot(*columns(one), linewidth=2)
        axes.set_axis_off()

    return draw


def scenes(spec: ChartSpec) -> dict[str, tuple[Callable[[], object], Callable[[], object]]]:
    """Each chart as ours and as matplotlib's."""
    size, dark = spec.size, replace(spec, nights=NIGHTS)
    week, often = series(168, 60, seed=0), series(10_000, 1, seed=0)
    three = [series(168, 60, seed=seed, name=f"line {seed}") for seed in range(3)]
    spread = Band(shifted(week, -2), shifted(week, 2), week)
    day = timedelta(days=1)
    falls = [
        Span(START + i * day, START + (i + 1) * day, v) for i, v in enumerate((0, 1.2, 12.1, 0.3, 5, 6, 2))
    ]
    weather, units = forecast(), WeatherUnits(wind=True)
    hours = replace(dark, start=START, end=START + timedelta(hours=48))
    warm, wet = temperatures(weather, unit="°C"), rain(weather, unit="mm")
    return {
        "a week by the hour": (lambda: line_chart([week], spec=dark), lambda: usual(size, lines([week]))),
        "three lines": (lambda: line_chart(three, spec=dark), lambda: usual(size, lines(three))),
        "10 000 readings": (lambda: line_chart([often], spec=dark), lambda: usual(size, lines([often]))),
        "a band": (
            lambda: band_chart(spread, spec=dark),
            lambda: usual(size, band(spread.low, spread.high, week)),
        ),
        "seven bars": (lambda: bar_chart(falls, spec=spec), lambda: usual(size, upright(falls))),
        "weather of 48 hours": (
            lambda: weather_chart(weather, spec=hours, units=units),
            lambda: usual(size, lines([warm]), upright(wet)),
        ),
        "a spark": (lambda: spark(week, spec=spec), lambda: usual(size, bare(week))),
    }


def report() -> str:
    """The table as Markdown."""
    rows = ["| chart | size | matplotlib, ms | ours, ms | ratio | on greys, ms |", "|" + " --- |" * 6]
    for width, height in ((800, 480), (384, 140)):
        how = {"unit": "°C", "label_px": 20 if width > 500 else 14, "now": START + timedelta(hours=31)}
        inked = scenes(ChartSpec(width, height, palette=RED, **how))  # type: ignore[arg-type]  # options by name
        grey = scenes(ChartSpec(width, height, palette=GREYS, **how))  # type: ignore[arg-type]  # options by name
        for name, (ours, theirs) in inked.items():
            other, mine, smooth = least_ms(theirs, 9), least_ms(ours), least_ms(grey[name][0])
            row = f"| {name} | {width} x {height} | {other:.1f} | {mine:.1f} | {mine / other:.2f} | {smooth:.1f} |"
            rows.append(row)
    return "\n".join((*rows, ""))


if __name__ == "__main__":
    print(report(), end="")
