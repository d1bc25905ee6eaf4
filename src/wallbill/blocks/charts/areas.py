"""Lines with the area down to their base: one alone, or the parts of a whole stacked."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
from markupsafe import Markup

from wallbill.blocks.charts.fills import Fill, beneath, boxes, fills
from wallbill.blocks.charts.frames import Key, clear_under, finish, names_beside, names_room_px, over_bars
from wallbill.blocks.charts.layers import Layers, band, by_column, edge, stacked_layers
from wallbill.blocks.charts.lines import extremes, ground, in_one_unit, known, nothing_known, plain_plot
from wallbill.blocks.charts.marks import (
    draw_line,
    line_styles,
    threshold_labels,
    trace,
)
from wallbill.blocks.charts.plot import GAP_PX, Plot, exact_text
from wallbill.blocks.charts.pointing import extreme_labels
from wallbill.blocks.charts.readings import Runs, reach
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.charts.telling import series_told, told
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import ACCENT, MUTED, Sketch
from wallbill.blocks.drawing.labels import Label, spread
from wallbill.blocks.drawing.markup import Drawing, Tint, to_markup
from wallbill.blocks.drawing.patterns import Hatch, hatch
from wallbill.facts.series import Series
from wallbill.inks.impression import Mask


def area_chart(series: Sequence[Series], *, spec: ChartSpec, base: float = 0.0) -> Markup:
    """One series as a line over a hatched area, or several of one unit stacked, told apart by their fills.

    ``base``: where the area of one series ends; a stack stands on zero, with what is negative below it. The parts of
    a stack are known only where all of them are; their names stand at the right.
    Raises ValueError for series of different units.
    """
    return to_markup(area_drawing(series, spec=spec, base=base), spec.palette, label_px=spec.label_px)


def area_drawing(series: Sequence[Series], *, spec: ChartSpec, base: float = 0.0) -> Drawing:
    """The drawing behind `area_chart`."""
    parts, shown = in_one_unit(series, spec)
    if shown is None:
        return nothing_known(spec, [one.name for one in series])
    if len(series) > 1:
        return _stack(parts, [one.name for one in series], spec, unit=series[0].unit)
    plot = plain_plot(known(parts, spec), shown, spec=replace(spec, include=(base, *spec.include)))
    sketch, labels, tints = ground(plot, replace(spec, now=None, thresholds=()))
    layer = Layers((by_column(plot, parts[0]) - base)[np.newaxis, :])
    shifted = replace(plot, scale=replace(plot.scale, low=plot.scale.low - base, high=plot.scale.high - base))
    over = band(shifted, layer, above=True, size=spec.size)[0]
    falls = (layer.values[layer.known[np.newaxis, :]] < 0).any()
    under = band(shifted, layer, above=False, size=spec.size)[0] if falls else shapes.nothing(spec.size)
    area = over | under
    sketch.erase(area & sketch.grid().mask(MUTED))
    inside = _under_line(sketch, over, under, spec)
    rules = over_bars(sketch, plot, spec=spec, floor_px=plot.bottom_px - 1)
    if plot.scale.low < base < plot.scale.high:
        sketch.fill((plot.box[0], plot.y(base), plot.box[2], 1))
    style = line_styles(spec, count=1)[0]
    if not spec.palette.smooth:  # a hatch keeps clear of the line; an even grey runs up to it
        line = trace(plot, parts[0], style=style, size=spec.size)
        inside = beneath(inside, (), drawn=shapes.grown(line, 1))
    draw_line(sketch, plot, parts[0], style=style)
    if spec.extremes:
        labels += extremes(sketch, plot, parts=parts, spec=spec, taken=labels)
    labels += threshold_labels(sketch, plot, spec=spec, taken=labels)
    clear_under(sketch, labels, rules)
    every = (*beneath(tints, inside), *inside)
    title = told(spec, series_told([(series[0].name, parts[0])], series[0].unit, spec=spec))
    return finish(sketch, labels, tints=every, spec=spec, title=title)


def _under_line(sketch: Sketch, over: Mask, under: Mask, spec: ChartSpec) -> tuple[Tint, ...]:
    """The hatches of one series: one above its base, another below it, in the second ink where there is one."""
    first = Hatch.DOTS_25 if spec.palette.smooth else Hatch.RISING_25
    if not spec.palette.has_accent:
        second = Hatch.CHECKS_50 if spec.palette.smooth else Hatch.FALLING_25
        return Tint(over, first), Tint(under, second)
    sketch.lay(under & hatch(spec.size, Hatch.FALLING_25), ACCENT)
    return (Tint(over, first),)


def _stack(parts: Sequence[Runs], names: Sequence[str], spec: ChartSpec, *, unit: str) -> Drawing:
    """Several series stacked."""
    shown = reach(parts)
    if shown is None:
        return nothing_known(spec, names)
    room = names_room_px(names, spec)
    rough = plain_plot([0.0, 1.0], shown, spec=spec)
    total = stacked_layers(rough, parts).values
    if not np.isfinite(total).any():
        return nothing_known(spec, names)
    reached = [
        float(np.nanmax(np.clip(total, 0, None).sum(axis=0))),
        float(np.nanmin(np.clip(total, None, 0).sum(axis=0))),
    ]
    plot = plain_plot(reached, shown, spec=replace(spec, include=(0.0, *spec.include)))
    plot = _narrowed(plot, spec.width_px - room)
    layers = stacked_layers(plot, parts)
    sketch, labels, nights = ground(plot, replace(spec, now=None, thresholds=()))
    styles = fills(spec.palette, count=len(parts))
    tints = _layers(sketch, plot, layers, styles)
    key = _names(plot, layers, names, spec)
    tints += boxes(sketch, zip(key.patches, styles, strict=False))
    rules = over_bars(sketch, plot, spec=spec, floor_px=plot.bottom_px - 1)
    labels += spread(key.labels, labels, size=spec.size, gap_px=0)
    if spec.extremes:
        labels += _greatest(sketch, plot, layers, spec=spec, taken=labels)
    labels += threshold_labels(sketch, plot, spec=spec, taken=labels)
    clear_under(sketch, labels, rules)
    every = (*beneath(nights, tints), *tints)
    title = told(spec, series_told(list(zip(names, parts, strict=True)), unit, spec=spec))
    return finish(sketch, labels, tints=every, spec=spec, title=title)


def _narrowed(plot: Plot, right_px: int) -> Plot:
    """The plot cut at a column, so that names have room beside it."""
    left, top, wide, high = plot.box
    wide = max(16, min(wide, right_px - left))
    return replace(plot, box=(left, top, wide, high), axis=replace(plot.axis, width_px=wide))


def _layers(sketch: Sketch, plot: Plot, layers: Layers, styles: Sequence[Fill]) -> tuple[Tint, ...]:
    """The parts' areas with a fine line along the outer edge of each; gives their hatches."""
    size = sketch.size
    ways = (True, False) if (layers.values[:, layers.known] < 0).any() else (True,)
    bands = [band(plot, layers, above=way, size=size) for way in ways]
    areas = [one[0] | one[-1] for one in zip(*bands, strict=True)]
    every = shapes.nothing(size)
    for area in areas:
        every |= area
    sketch.erase(every & sketch.grid().mask(MUTED))
    tints = []
    for area, fill in zip(areas, styles, strict=True):
        if fill.solid:
            sketch.lay(area, fill.code)
        elif fill.hatch is not None:
            tints.append(Tint(area, fill.hatch))
    lines = shapes.nothing(size)
    for way in ways:
        rows = layers.edges(plot, above=way)
        for inner, outer in pairwise(rows):
            lines |= edge(plot, outer, layers.known & (outer != inner), size=size)
    total = layers.edges(plot, above=True)[-1]
    lines |= shapes.grown(edge(plot, total, layers.known & (total != plot.y(0)), size=size), 1)
    sketch.lay(lines)
    return tuple(tints)


def _names(plot: Plot, layers: Layers, names: Sequence[str], spec: ChartSpec) -> Key:
    """Each part's name at the height of its middle in the last column that is known."""
    last = int(np.flatnonzero(layers.known)[-1])
    values = layers.values[:, last]
    middles = []
    for number, value in enumerate(values.tolist()):
        same = values[:number][(values[:number] >= 0) == (value >= 0)]
        middles.append(plot.y(float(same.sum()) + value / 2))
    left = plot.right_px + GAP_PX
    return names_beside(names, middles, spec=spec, left_px=left, floor_px=plot.bottom_px)


def _greatest(
    sketch: Sketch, plot: Plot, layers: Layers, *, spec: ChartSpec, taken: Sequence[Label]
) -> tuple[Label, ...]:
    """The label of the greatest sum of the parts above zero."""
    totals = np.clip(layers.values, 0, None).sum(axis=0)
    if not np.nanmax(totals) > 0:
        return ()
    place = int(np.nanargmax(totals))
    value = float(totals[place])
    at = (plot.box[0] + place, plot.y(value))
    text = exact_text(plot.scale, value, spec=spec)
    return extreme_labels(sketch, [(text, at, True)], spec=spec, taken=taken)
