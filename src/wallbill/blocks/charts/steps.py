"""Values that hold until the next, as steps: prices, tariffs, settings."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np
from markupsafe import Markup

from wallbill.blocks.charts.fills import put
from wallbill.blocks.charts.frames import finish, names_at_ends
from wallbill.blocks.charts.lines import ground, nothing_known, plain_plot
from wallbill.blocks.charts.marks import LineStyle, line_styles, threshold_labels
from wallbill.blocks.charts.plot import Plot, centred, exact_text, reach_px
from wallbill.blocks.charts.readings import Run, is_number, micros, moment_of, run_of
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.charts.telling import series_told, told
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import Sketch
from wallbill.blocks.drawing.labels import Label, clearest
from wallbill.blocks.drawing.markup import Drawing, to_markup
from wallbill.blocks.drawing.shapes import Reals, Wholes
from wallbill.facts.series import Reading, Series
from wallbill.inks.impression import Mask

_HOUR_US = 3_600_000_000
_MOST_LABELLED = 16  # with more treads than this only the highest and the lowest are labelled: judged by eye


def step_chart(series: Sequence[Series], *, spec: ChartSpec) -> Markup:
    """One or more series of one unit whose values hold until the next, as steps over time.

    A value holds up to the next reading, a gap among them; the last as long as now, or for the usual time between
    readings if that is longer. Where a series alone has few treads, each that has room for it is labelled.
    """
    return to_markup(step_drawing(series, spec=spec), spec.palette, label_px=spec.label_px)


@dataclass(frozen=True, slots=True, eq=False)
class Treads:
    """The stretches over which one value holds, in order of time; none is empty, and no two overlap.

    ``start_us``, ``end_us``: int64, shape (n,), microseconds since 1970 (UTC). ``values``: float64, shape (n,).
    """

    start_us: Wholes
    end_us: Wholes
    values: Reals

    def __len__(self) -> int:
        return len(self.values)

    def on(self, start: datetime | None, end: datetime | None) -> "Treads":
        """Those of which any part lies between two moments; None: no bound."""
        kept = np.ones(len(self), dtype=np.bool_)
        if start is not None:
            kept &= self.end_us > micros(start)
        if end is not None:
            kept &= self.start_us < micros(end)
        return Treads(self.start_us[kept], self.end_us[kept], self.values[kept])


def treads(series: Series, spec: ChartSpec) -> Treads:
    """What a series holds, and for how long; equal values that follow on one another are one tread.

    ``spec.gap_after``: a value is not trusted for longer than that; None: until the next reading.
    """
    run = run_of(sorted(series.readings, key=lambda reading: reading.at))
    if not len(run):
        return Treads(run.at_us, run.at_us, run.values)
    steps_us = np.diff(run.at_us)
    usual_us = int(np.median(steps_us)) if len(steps_us) else _HOUR_US
    last = int(run.at_us[-1]) + usual_us
    ends = np.append(run.at_us[1:], max(last, micros(spec.now)) if spec.now else last)
    if spec.gap_after:
        ends = np.minimum(ends, run.at_us + spec.gap_after // timedelta(microseconds=1))
    known = np.fromiter((is_number(reading.value) for reading in run), np.bool_, len(run))
    kept = known & (ends > run.at_us)
    starts, ends, values = run.at_us[kept], ends[kept], run.values[kept]
    if not len(values):
        return Treads(starts, ends, values)
    other = np.append(True, (starts[1:] != ends[:-1]) | (values[1:] != values[:-1]))
    firsts = np.flatnonzero(other)
    return Treads(starts[firsts], ends[np.append(firsts[1:], len(values)) - 1], values[firsts])


def step_drawing(series: Sequence[Series], *, spec: ChartSpec) -> Drawing:
    """The drawing behind `step_chart`. Raises ValueError for series of different units."""
    if len({one.unit for one in series}) > 1:
        raise ValueError(f"one scale shows one unit, got {[one.unit for one in series]}")
    lines = [treads(one, spec) for one in series]
    every = [line for line in lines if len(line)]
    if not every:
        return nothing_known(spec, [one.name for one in series])
    shown = (
        moment_of(min(line.start_us[0] for line in every)),
        moment_of(max(line.end_us[-1] for line in every)),
    )
    names = [one.name for one in series] if len(series) > 1 else []
    seen = [part.values for line in every if len(part := line.on(spec.start, spec.end))]
    values = np.concatenate(seen or [line.values for line in every])
    reached = [float(values.min()), float(values.max())]
    plot = plain_plot(reached, shown, spec=spec, end_names=names)
    sketch, labels, tints = ground(plot, spec)
    lines = [line.on(plot.axis.start, plot.axis.end) for line in lines]
    styles = line_styles(spec, count=len(series))
    for line, style in reversed(list(zip(lines, styles, strict=True))):
        mask = stairs(plot, line, style=style, size=spec.size)
        sketch.erase(shapes.grown(mask, 1)) if len(lines) > 1 else None
        sketch.lay(mask, style.code)
    if names:
        ends = [plot.y(float(line.values[-1])) if len(line) else None for line in lines]
        labels += names_at_ends(plot, names, ends, spec=spec)
    if spec.extremes:
        labels += _tread_labels(sketch, plot, lines, spec=spec, taken=labels)
    labels += threshold_labels(sketch, plot, spec=spec, taken=labels)
    title = told(spec, _told(series, lines, spec))
    return finish(sketch, labels, tints=tints, spec=spec, title=title)


def _told(series: Sequence[Series], lines: Sequence[Treads], spec: ChartSpec) -> Iterator[str]:
    """What each series shows: its range, the value that holds now or held last, and the highest."""
    for one, line in zip(series, lines, strict=True):
        past = line.on(None, spec.now) if spec.now and len(line.on(None, spec.now)) else line
        moments = [moment_of(at_us) for at_us in past.start_us.tolist()]
        readings = tuple(map(Reading, moments, past.values.tolist()))
        parts = (Run(readings, past.start_us, past.values),) if readings else ()
        yield from series_told([(one.name, parts)], one.unit, spec=replace(spec, start=None, end=None))


def stairs(plot: Plot, line: Treads, *, style: LineStyle, size: tuple[int, int]) -> Mask:
    """Treads as level strokes, joined by upright ones where one follows on another, cut at the plot's sides.

    ``line``: those on the plot's axis.
    """
    mask = shapes.nothing(size)
    if not len(line):
        return mask
    left, right = plot.box[0], plot.right_px - 1
    first = np.clip(plot.columns(line.start_us), left, right)
    last = np.clip(plot.columns(line.end_us), left, right)
    rows = plot.rows(line.values)
    wide = style.line_px
    up, thin = (wide - 1) // 2, max(1, wide - 1)
    side = (thin - 1) // 2
    long = last > first
    for x, end, y in zip(first[long].tolist(), last[long].tolist(), rows[long].tolist(), strict=True):
        put(mask, (x - side, y - up, end - x + thin, wide))
    follows = np.flatnonzero(line.start_us[1:] == line.end_us[:-1])
    for x, top, bottom in _risers(first, rows, follows):
        put(mask, (x - side, top - up, thin, bottom - top + wide))
    mask[:, :left] = mask[:, right + 1 :] = False
    return mask & _dashes(size, style.dash_px) if style.dash_px else mask


def _risers(columns: Wholes, rows: Wholes, follows: Wholes) -> list[tuple[int, int, int]]:
    """Column, top and bottom of the upright strokes, one for each column in which a tread is followed by another.

    ``follows``: the places of treads that are followed.
    """
    if not len(follows):
        return []
    x = columns[follows + 1]
    top, bottom = np.minimum(rows[follows], rows[follows + 1]), np.maximum(rows[follows], rows[follows + 1])
    firsts = np.flatnonzero(np.diff(x, prepend=x[0] - 1))
    tops, bottoms = np.minimum.reduceat(top, firsts), np.maximum.reduceat(bottom, firsts)
    return list(zip(x[firsts].tolist(), tops.tolist(), bottoms.tolist(), strict=True))


def _dashes(size: tuple[int, int], dash_px: Sequence[int]) -> Mask:
    """A pattern that cuts level and upright strokes alike into dashes: on and off by the sum of column and row."""
    cycle = np.concatenate(
        [np.full(length, part % 2 == 0) for part, length in enumerate(dash_px)], dtype=np.bool_
    )
    x, y = np.arange(size[0])[np.newaxis, :], np.arange(size[1])[:, np.newaxis]
    return np.asarray(cycle[(x + y) % len(cycle)])


def _tread_labels(
    sketch: Sketch, plot: Plot, lines: Sequence[Treads], *, spec: ChartSpec, taken: Sequence[Label]
) -> tuple[Label, ...]:
    """The highest and the lowest value, and of a series alone with few treads every one that has room."""
    known = [line for line in lines if len(line)]
    if not known:
        return ()
    top = _tread(plot, *max(((line, int(line.values.argmax())) for line in known), key=_value))
    bottom = _tread(plot, *min(((line, int(line.values.argmin())) for line in known), key=_value))
    wanted = [top, bottom] if top.value != bottom.value else [top]
    if len(lines) == 1 and len(lines[0]) <= _MOST_LABELLED:
        every = [_tread(plot, lines[0], place) for place in range(len(lines[0]))]
        wanted += [tread for tread in every if tread not in wanted]
    drawn = sketch.solid()
    found: list[Label] = []
    for tread in wanted:
        choices = _on_tread(plot, tread, spec, above=tread is not bottom, must=tread in (top, bottom))
        label = clearest(choices, (*taken, *found), drawn=drawn)
        if label is not None:
            found.append(label)
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Tread:
    """A tread on the plot: its first column and the first after it, and its value."""

    left_px: int
    right_px: int
    value: float


def _tread(plot: Plot, line: Treads, place: int) -> _Tread:
    left, right = plot.columns(np.array([line.start_us[place], line.end_us[place]])).tolist()
    return _Tread(max(left, plot.box[0]), min(right, plot.right_px), float(line.values[place]))


def _value(one: tuple[Treads, int]) -> float:
    return float(one[0].values[one[1]])


def _on_tread(plot: Plot, tread: _Tread, spec: ChartSpec, *, above: bool, must: bool) -> list[Label]:
    """Places for a tread's value: over or under its middle, near it where it must be told and the tread is short."""
    left, right = tread.left_px, tread.right_px
    text = exact_text(plot.scale, tread.value, spec=spec)
    wide = spec.text_px(text)
    if not must and wide > right - left:
        return []
    y, middle = plot.y(tread.value), (left + right) // 2
    over, under = y - reach_px(spec) - spec.line_height_px + 2, y + reach_px(spec)
    places = []
    for top in (over, under) if above else (under, over):
        for aside in (0, wide // 2, -(wide // 2)) if must else (0,):
            x = min(max(middle + aside, plot.box[0] + wide // 2), plot.right_px - wide // 2)
            places.append(centred(text, (x, top), spec=spec))
    return places
