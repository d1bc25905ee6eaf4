"""Values that hold until the next, as steps: prices, tariffs, settings."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import pairwise
from statistics import median

import numpy as np
from markupsafe import Markup

from wallbill.blocks.charts.fills import put
from wallbill.blocks.charts.frames import names_at_ends
from wallbill.blocks.charts.lines import ground, nothing_known, plain_plot
from wallbill.blocks.charts.marks import LineStyle, composed, line_styles, threshold_labels
from wallbill.blocks.charts.plot import Plot, centred, exact_text, reach_px
from wallbill.blocks.charts.readings import Span, is_number, micros, run_of
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.charts.telling import series_told, told
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import MUTED, Sketch
from wallbill.blocks.drawing.labels import Label, clearest
from wallbill.blocks.drawing.markup import Drawing, to_markup
from wallbill.blocks.drawing.shapes import Wholes
from wallbill.facts.series import Reading, Series
from wallbill.inks.impression import Mask

_MOST_LABELLED = 16  # with more treads than this only the highest and the lowest are labelled: judged by eye


def step_chart(series: Sequence[Series], *, spec: ChartSpec) -> Markup:
    """One or more series of one unit whose values hold until the next, as steps over time.

    A value holds up to the next reading, a gap among them; the last as long as now, or for the usual time between
    readings if that is longer. Where a series alone has few treads, each that has room for it is labelled.
    """
    return to_markup(step_drawing(series, spec=spec), spec.palette, label_px=spec.label_px)


def step_drawing(series: Sequence[Series], *, spec: ChartSpec) -> Drawing:
    """The drawing behind `step_chart`. Raises ValueError for series of different units."""
    if len({one.unit for one in series}) > 1:
        raise ValueError(f"one scale shows one unit, got {[one.unit for one in series]}")
    lines = [treads(one, spec) for one in series]
    every = [tread for line in lines for tread in line]
    if not every:
        return nothing_known(spec, [one.name for one in series])
    shown = (min(tread.start for tread in every), max(tread.end for tread in every))
    names = [one.name for one in series] if len(series) > 1 else []
    plot = plain_plot(_reached(every, spec), shown, spec=spec, end_names=names)
    sketch, labels, tints = ground(plot, spec)
    styles = line_styles(spec, count=len(series))
    for line, style in reversed(list(zip(lines, styles, strict=True))):
        mask = stairs(plot, line, style=style, size=spec.size)
        sketch.erase(shapes.grown(mask, 1)) if len(lines) > 1 else None
        sketch.lay(mask, style.code)
    if names:
        ends = [plot.y(visible[-1].value) if (visible := on_axis(line, plot)) else None for line in lines]
        labels += names_at_ends(plot, names, ends, spec=spec)
    if spec.extremes:
        labels += _tread_labels(sketch, plot, lines, spec=spec, taken=labels)
    labels += threshold_labels(sketch, plot, spec=spec, taken=labels)
    title = told(spec, _told(series, lines, spec))
    return composed(sketch, labels, tints=tints, spec=spec, title=title)


def _told(series: Sequence[Series], lines: Sequence[Sequence[Span]], spec: ChartSpec) -> Iterator[str]:
    """What each series shows: its range, and the value that holds now or held last."""
    for one, line in zip(series, lines, strict=True):
        parts = tuple(
            run_of([Reading(tread.start, tread.value)]) for tread in line if tread.touches(None, spec.now)
        )
        yield from series_told([(one.name, parts)], one.unit, spec=replace(spec, start=None))


def treads(series: Series, spec: ChartSpec) -> tuple[Span, ...]:
    """The stretches over which one value holds, in order of time; equal values that follow on one another are one.

    ``spec.gap_after``: a value is not trusted for longer than that; None: until the next reading.
    """
    ordered = sorted(series.readings, key=lambda reading: reading.at)
    if not ordered:
        return ()
    steps = [later.at - earlier.at for earlier, later in pairwise(ordered)]
    usual = timedelta(seconds=median(step.total_seconds() for step in steps)) if steps else timedelta(hours=1)
    last = ordered[-1].at
    ends = [reading.at for reading in ordered[1:]]
    ends.append(max(last + usual, spec.now) if spec.now else last + usual)
    found: list[Span] = []
    for reading, end in zip(ordered, ends, strict=True):
        if reading.value is None or not is_number(reading.value):
            continue
        until = min(end, reading.at + spec.gap_after) if spec.gap_after else end
        if found and found[-1].end == reading.at and found[-1].value == reading.value:
            found[-1] = replace(found[-1], end=until)
        elif until > reading.at:
            found.append(Span(reading.at, until, reading.value))
    return tuple(found)


def on_axis(line: Sequence[Span], plot: Plot) -> tuple[Span, ...]:
    """The treads of which any part is on the axis."""
    return tuple(tread for tread in line if tread.end > plot.axis.start and tread.start < plot.axis.end)


def _reached(every: Sequence[Span], spec: ChartSpec) -> list[float]:
    """Every value in the stretch shown; all of them where none is."""
    shown = [
        tread.value
        for tread in every
        if (not spec.start or tread.end > spec.start) and (not spec.end or tread.start < spec.end)
    ]
    return shown or [tread.value for tread in every]


def stairs(plot: Plot, line: Sequence[Span], *, style: LineStyle, size: tuple[int, int]) -> Mask:
    """Treads as level strokes, joined by upright ones where one follows on another, cut at the plot's sides."""
    mask = shapes.nothing(size)
    shown = on_axis(line, plot)
    if not shown:
        return mask
    left, right = plot.box[0], plot.right_px - 1
    first = np.clip(plot.columns(_moments([tread.start for tread in shown])), left, right)
    last = np.clip(plot.columns(_moments([tread.end for tread in shown])), left, right)
    rows = plot.rows(np.array([tread.value for tread in shown]))
    wide = style.line_px
    up, side = (wide - 1) // 2, (max(1, wide - 1) - 1) // 2
    for x, end, y in zip(first.tolist(), last.tolist(), rows.tolist(), strict=True):
        if end > x:
            put(mask, (x - side, y - up, end - x + max(1, wide - 1), wide))
    joined = [i for i in range(1, len(shown)) if shown[i - 1].end == shown[i].start]
    for x, (top, bottom) in _risers(first, rows, joined).items():
        put(mask, (x - side, top - up, max(1, wide - 1), bottom - top + wide))
    mask[:, :left] = mask[:, right + 1 :] = False
    return mask & _dashes(size, style.dash_px) if style.dash_px else mask


def _moments(moments: Sequence[datetime]) -> Wholes:
    return np.array([micros(moment) for moment in moments], dtype=np.int64)


def _risers(columns: Wholes, rows: Wholes, joined: Sequence[int]) -> dict[int, tuple[int, int]]:
    """Top and bottom of the upright stroke in each column in which a tread follows on another."""
    found: dict[int, tuple[int, int]] = {}
    heights = rows.tolist()
    for x, i in zip(columns[list(joined)].tolist(), joined, strict=True):
        top, bottom = found.get(x, (heights[i], heights[i]))
        found[x] = (min(top, heights[i - 1], heights[i]), max(bottom, heights[i - 1], heights[i]))
    return found


def _dashes(size: tuple[int, int], dash_px: Sequence[int]) -> Mask:
    """A pattern that cuts level and upright strokes alike into dashes: on and off by the sum of column and row."""
    cycle = np.concatenate(
        [np.full(length, part % 2 == 0) for part, length in enumerate(dash_px)], dtype=np.bool_
    )
    x, y = np.arange(size[0])[np.newaxis, :], np.arange(size[1])[:, np.newaxis]
    return np.asarray(cycle[(x + y) % len(cycle)])


def _tread_labels(
    sketch: Sketch, plot: Plot, lines: Sequence[Sequence[Span]], *, spec: ChartSpec, taken: Sequence[Label]
) -> tuple[Label, ...]:
    """The highest and the lowest value, and of a series alone with few treads every one that has room."""
    shown = [tread for line in lines for tread in on_axis(line, plot)]
    if not shown:
        return ()
    top, bottom = max(shown, key=lambda one: one.value), min(shown, key=lambda one: one.value)
    wanted = [top, bottom] if top.value != bottom.value else [top]
    if len(lines) == 1 and len(shown) <= _MOST_LABELLED:
        wanted += [tread for tread in shown if tread not in (top, bottom)]
    drawn = sketch.drawn() & ~sketch.grid().mask(MUTED)
    found: list[Label] = []
    for tread in wanted:
        choices = _on_tread(plot, tread, spec, above=tread is not bottom, must=tread in (top, bottom))
        label = clearest(choices, (*taken, *found), drawn=drawn)
        if label is not None:
            found.append(label)
    return tuple(found)


def _on_tread(plot: Plot, tread: Span, spec: ChartSpec, *, above: bool, must: bool) -> list[Label]:
    """Places for a tread's value: over or under its middle, near it where it must be told and the tread is short."""
    left, right = max(plot.x(tread.start), plot.box[0]), min(plot.x(tread.end), plot.right_px)
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
