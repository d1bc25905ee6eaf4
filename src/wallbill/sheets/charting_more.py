"""The further charts as sheets call them: amounts, parts, steps, states, markers, samples, winds."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from functools import partial
from typing import Any, TypeVar

from markupsafe import Markup

from wallbill.blocks.charts.amounts import bar_chart, bar_columns
from wallbill.blocks.charts.areas import area_chart
from wallbill.blocks.charts.barbs import feathers, knots, wind_barb, wind_barbs
from wallbill.blocks.charts.dots import Cloud, Names, dot_chart, paired, scatter
from wallbill.blocks.charts.histogram import Sample, histogram
from wallbill.blocks.charts.periods import Gathering, Period, gathered, spans_of
from wallbill.blocks.charts.ranges import box_rows, range_rows
from wallbill.blocks.charts.rows import Order, bar_rows, stacked_rows
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.charts.stacks import Heap, stacked_bars, stacked_columns
from wallbill.blocks.charts.states import state_strip
from wallbill.blocks.charts.steps import step_chart
from wallbill.blocks.charts.summary import Quartiles
from wallbill.errors import SheetError
from wallbill.facts.forecast import Day, Forecast, Hour
from wallbill.facts.series import Reading, Series
from wallbill.places.words import did_you_mean
from wallbill.sheets.bench import Bench, gap
from wallbill.sheets.chart_facts import (
    Scales,
    groups_of,
    is_missing,
    named_of,
    parts_of,
    points_of,
    ranges_of,
    sample_of,
)
from wallbill.sheets.chart_times import Times
from wallbill.sheets.charting import Charts, moment_of
from wallbill.units.quantity import Quantity

_Kind = TypeVar("_Kind", bound=StrEnum)

_LONG = timedelta(days=45)  # a chart of more days than this has months under it
_VERY_LONG = timedelta(days=4 * 365)  # and of more than this, years


_MOST_STATES = 12  # a longer key is no longer read: judged by eye


@dataclass(frozen=True, slots=True)
class MoreCharts:
    """The functions of a sheet that draw amounts, parts, steps, states, markers, samples and winds."""

    bench: Bench

    @property
    def functions(self) -> Mapping[str, Callable[..., Any]]:
        """By the names that sheets call them by."""
        return {
            "step_chart": self.step_chart,
            "area_chart": self.area_chart,
            "dot_chart": self.dot_chart,
            "scatter": self.scatter,
            "state_strip": self.state_strip,
            "bar_chart": self.bar_chart,
            "bar_rows": self.bar_rows,
            "stacked_bars": self.stacked_bars,
            "stacked_rows": self.stacked_rows,
            "range_rows": self.range_rows,
            "box_rows": self.box_rows,
            "histogram": self.histogram,
            "wind_barb": self.wind_barb,
            "wind_barbs": self.wind_barbs,
        }

    def spec(
        self, how: dict[str, Any], *, block: str, unit: str = "", shown: timedelta | None = None
    ) -> ChartSpec:
        """What a chart is asked to be.

        ``how``: what the sheet says, ``digits`` and ``day_pattern`` among it. ``shown``: how long a time the data
        is of: a long one has months or years under it where the sheet does not say how days are printed.
        """
        wording = self.bench.wording
        said = {name: value for name, value in how.items() if not is_missing(value)}
        digits, pattern = said.pop("digits", None), said.pop("day_pattern", None)
        if digits is not None:
            said["value_label"] = partial(wording.number, digits=digits)
        if "start" in said and "end" in said:
            ends = [moment_of(said[name], wording.zone, name=name) for name in ("start", "end")]
            shown = ends[1] - ends[0]
        if pattern is None and shown is not None and shown > _LONG:
            pattern = "y" if shown > _VERY_LONG else "MMM"
        if pattern:
            said["day_label"] = partial(wording.date, pattern=pattern)
        said.setdefault("unit", "" if unit == "1" else unit)
        size = _size(said, block=block)
        rest = {name: value for name, value in said.items() if name not in {"width_px", "height_px"}}
        return Charts(self.bench).spec(*size, block=block, **rest)

    def _lines(self, draw: Callable[..., Markup], block: str, /, given: Any, **how: Any) -> Markup:
        """One series or several of one unit, or what ``of`` names of a forecast."""
        series = Times(self.bench.wording, block).series(given, how.pop("of", None))
        if not series:
            return _gap(how)
        return draw(series, spec=self.spec(how, block=block, unit=series[0].unit, shown=_length(series)))

    def step_chart(self, given: Any, **how: Any) -> Markup:
        """Values that hold until the next; see `wallbill.blocks.charts.steps.step_chart`."""
        return self._lines(step_chart, "a step chart", given, **how)

    def dot_chart(self, given: Any, **how: Any) -> Markup:
        """Readings as markers over time; see `wallbill.blocks.charts.dots.dot_chart`."""
        return self._lines(dot_chart, "a dot chart", given, **how)

    def area_chart(self, given: Any, *, base: float = 0.0, **how: Any) -> Markup:
        """A line over a hatched area, or several stacked; see `wallbill.blocks.charts.areas.area_chart`."""
        return self._lines(partial(area_chart, base=base), "an area chart", given, **how)

    def scatter(self, across: Any, up: Any = None, **how: Any) -> Markup:
        """Two series against each other, the latest pair pointed out; or a list of pairs of numbers.

        ``across_name``, ``up_name``: what stands beside the axes, if not the series' names and units.
        """
        names = [how.pop("across_name", None), how.pop("up_name", None)]
        if is_missing(across) or (isinstance(across, Series) and is_missing(up)):
            return _gap(how)
        if isinstance(across, Series):
            series = Times(self.bench.wording, "a scatter").pair(across, up)
            names = [
                name or ", ".join(part for part in (one.name, one.unit) if part)
                for name, one in zip(names, series, strict=True)
            ]
            cloud = paired(*series)
        else:
            points = points_of(across, Scales(self.bench.wording))
            if not points:
                return _gap(how)
            cloud = Cloud("", points)
        return scatter(
            [cloud], spec=self.spec(how, block="a scatter"), names=Names(names[0] or "", names[1] or "")
        )

    def state_strip(self, given: Any, *, order: Any = (), words: Any = None, **how: Any) -> Markup:
        """States over time on strips; see `wallbill.blocks.charts.states.state_strip`.

        ``words``: texts for numbers and truths. ``order``: the states from the quietest on, or several such lists.
        """
        strips = Times(self.bench.wording, "a strip of states").strips(given, words or {}, self.bench.now)
        if not strips:
            return _gap(how)
        count = len({state.text for strip in strips for state in strip.states})
        if count > _MOST_STATES:
            raise SheetError(
                f"a strip of states tells at most {_MOST_STATES} states apart, and there are {count}",
                mend="Draw readings with step_chart, or give words= to sum them up.",
            )
        vocabularies = [order] if order and isinstance(order[0], str) else order
        return state_strip(strips, spec=self.spec(how, block="a strip of states"), order=vocabularies)

    def bar_chart(self, given: Any, *, of: str | None = None, marked: str = "", **how: Any) -> Markup:
        """Bars over time, or side by side under names; see `wallbill.blocks.charts.amounts`.

        ``of``: what of a forecast. ``per``: the period that readings are gathered by, ``gather``: whether their sum,
        mean, highest or lowest. ``at_end``: readings tell of the time before them. ``marked``: a name that stands out.
        """
        at_end, period = how.pop("at_end", False), how.pop("per", None)
        way = _choice(Gathering, how.pop("gather", "sum"), "gather")
        if is_missing(given):
            return _gap(how)
        scales = Scales(self.bench.wording)
        if not _over_time(given):
            named = named_of(given, scales, block="a bar chart")
            return (
                bar_columns(named, spec=self.spec(how, block="a bar chart", unit=scales.unit), marked=marked)
                if named
                else _gap(how)
            )
        times = Times(self.bench.wording, "a bar chart")
        spans = times.spans(given, scales, of=of, at_end=at_end)
        if period is not None and spans:
            spans = gathered(
                [Reading(span.start, span.value) for span in spans],
                _choice(Period, period, "per"),
                zone=self.bench.wording.zone,
                how=way,
            )
        if not spans:
            return _gap(how)
        shown = max(span.end for span in spans) - min(span.start for span in spans)
        return bar_chart(spans, spec=self.spec(how, block="a bar chart", unit=scales.unit, shown=shown))

    def bar_rows(self, given: Any, *, order: str = "given", marked: str = "", **how: Any) -> Markup:
        """Rows of a name, a bar and a value; ``order``: given, falling or rising. ``marked``: the one that stands out."""
        scales = Scales(self.bench.wording)
        named = named_of(given, scales, block="a chart of rows")
        if not named:
            return _gap(how)
        spec = self.spec(how, block="a chart of rows", unit=scales.unit)
        return bar_rows(named, spec=spec, order=_choice(Order, order, "order"), marked=marked)

    def stacked_bars(self, given: Any, *, parts: Any = (), share: bool = False, **how: Any) -> Markup:
        """Parts stacked, over time of several series, or side by side of names with lists or tables of numbers."""
        if is_missing(given):
            return _gap(how)
        if isinstance(given, list | tuple) and given and all(isinstance(one, Series) for one in given):
            series = Times(self.bench.wording, "a stacked chart").series(given)
            heaps = heaps_of(series)
            if not heaps:
                return _gap(how)
            spec = self.spec(
                how, block="a stacked chart", unit=series[0].unit, shown=heaps[-1].end - heaps[0].start
            )
            names = tuple(parts) or tuple(one.name for one in series)
            return stacked_bars(heaps, spec=spec, parts=names, share=bool(share))
        return self._parts(stacked_columns, given, parts=parts, share=share, how=how)

    def stacked_rows(self, given: Any, *, parts: Any = (), share: bool = False, **how: Any) -> Markup:
        """Parts end to end in rows, of names with lists or tables of numbers."""
        return self._parts(stacked_rows, given, parts=parts, share=share, how=how)

    def _parts(
        self, draw: Callable[..., Markup], given: Any, *, parts: Any, share: bool, how: dict[str, Any]
    ) -> Markup:
        scales = Scales(self.bench.wording)
        rows, names = parts_of(given, tuple(parts), scales, block="a stacked chart")
        if not rows or not names:
            return _gap(how)
        return draw(
            rows,
            spec=self.spec(how, block="a stacked chart", unit=scales.unit),
            parts=names,
            share=bool(share),
        )

    def range_rows(self, given: Any, **how: Any) -> Markup:
        """Rows from a low to a high: of the days of a forecast, or of lists of a name, a low, a high and a mark."""
        scales = Scales(self.bench.wording)
        ranges = ranges_of(given, scales, wording=self.bench.wording)
        return (
            range_rows(ranges, spec=self.spec(how, block="a chart of ranges", unit=scales.unit))
            if ranges
            else _gap(how)
        )

    def box_rows(self, given: Any, *, quartiles: str = "hinges", **how: Any) -> Markup:
        """Five-number summaries as rows; ``quartiles``: hinges, linear, hazen or weibull."""
        scales = Scales(self.bench.wording)
        method = _choice(Quartiles, quartiles, "quartiles")
        groups = groups_of(given, scales)
        if not groups:
            return _gap(how)
        return box_rows(
            groups, spec=self.spec(how, block="a chart of boxes", unit=scales.unit), method=method
        )

    def histogram(self, given: Any, *, marked: Any = None, step: float | None = None, **how: Any) -> Markup:
        """How often values occur; ``marked``: a value pointed out, or "latest"; ``step``: the width of the bins."""
        scales = Scales(self.bench.wording)
        values = sample_of(given, scales, block="a histogram")
        if not values:
            return _gap(how)
        if marked == "latest":
            marked = given.latest_quantity if isinstance(given, Series) else values[-1]
        sample = Sample(values, scales.number(marked), None if step is None else float(step))
        return histogram(sample, spec=self.spec(how, block="a histogram", unit=scales.unit))

    def wind_barb(self, speed: Any, from_deg: Any, *, size_px: float) -> Markup:
        """One wind barb; a gap where the speed, or the direction of a wind that is no calm, is not known."""
        size = round(size_px)
        if is_missing(speed) or not isinstance(speed, Quantity | int | float):
            if is_missing(speed):
                return gap(size, size)
            raise SheetError("a wind barb needs a speed", mend="Hand it the wind_speed of an hour, or knots.")
        if is_missing(from_deg) and not feathers(knots(speed)).calm:
            return gap(size, size)
        direction = None if is_missing(from_deg) else from_deg
        palette, southern = self.bench.palette, self.bench.spot.latitude_deg < 0
        return wind_barb(speed, direction, size_px=size, palette=palette, southern=southern)

    def wind_barbs(self, given: Any, **how: Any) -> Markup:
        """Barbs over time, of a forecast, its hours or its days."""
        winds = Times(self.bench.wording, "a row of wind barbs").winds(given)
        if not winds:
            return _gap(how)
        return wind_barbs(
            winds, spec=self.spec(how, block="a row of wind barbs"), southern=self.bench.spot.latitude_deg < 0
        )


def _gap(how: Mapping[str, Any]) -> Markup:
    width_px, height_px = _size(how, block="a chart")
    return gap(round(width_px), round(height_px))


def _size(how: Mapping[str, Any], *, block: str) -> tuple[float, float]:
    """Width and height of a chart, pixels. Raises `SheetError` where the sheet does not say them."""
    if "width_px" not in how or "height_px" not in how:
        raise SheetError(f"{block} has a size", mend="Write width_px=400, height_px=160.")
    return how["width_px"], how["height_px"]


def _length(series: tuple[Series, ...]) -> timedelta:
    """From the first reading of all to the last."""
    moments = [reading.at for one in series for reading in one.readings]
    return max(moments) - min(moments) if moments else timedelta(0)


def _choice(kind: type[_Kind], given: Any, name: str) -> _Kind:
    """The member of an enumeration that a sheet names. Raises `SheetError` for none."""
    try:
        return kind(given)
    except ValueError:
        raise SheetError(
            f"{name}={given!r} is not known", mend=did_you_mean(str(given), [one.value for one in kind])
        ) from None


def _over_time(given: Any) -> bool:
    """Whether amounts come with their times, not with names."""
    if isinstance(given, list | tuple) and given:
        first = given[0]
        return isinstance(first, Hour | Day) or (
            isinstance(first, list | tuple) and bool(first) and isinstance(first[0], date)
        )
    return isinstance(given, Series | Forecast)


def heaps_of(series: tuple[Series, ...]) -> tuple[Heap, ...]:
    """The values of several series at each moment that any of them has, as parts of one whole."""
    moments = sorted({reading.at for one in series for reading in one.readings})
    tables = [{reading.at: reading.value for reading in one.readings} for one in series]
    spans = spans_of([Reading(at, 0.0) for at in moments])
    return tuple(
        Heap(span.start, span.end, tuple(table.get(span.start) for table in tables)) for span in spans
    )
