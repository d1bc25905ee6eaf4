"""Drawing into a plot: grid, nights, lines in styles that need no colour, marks and their labels."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from wallbill.blocks.charts.plot import GAP_PX, TICK_PX, Plot, TimeMarks, centred, reach_px
from wallbill.blocks.charts.readings import Run, Runs, micros, telling
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import ACCENT, INK, MUTED, NOTHING, Sketch
from wallbill.blocks.drawing.labels import Align, Kind, Label, clearest
from wallbill.blocks.drawing.markup import Drawing, Tint
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.patterns import Hatch
from wallbill.blocks.drawing.shapes import Box, Reals, Wholes
from wallbill.inks.impression import Mask

NIGHT = Hatch.DOTS_6


@dataclass(frozen=True, slots=True)
class LineStyle:
    """How one line differs from another without colour: width, dashes, a marker every so many pixels."""

    line_px: int
    code: int = INK
    dash_px: tuple[int, ...] = ()


def line_styles(spec: ChartSpec, *, count: int) -> tuple[LineStyle, ...]:
    """A style for each of ``count`` lines: the first heavy and whole, the others by dash, weight and second ink."""
    heavy, fine = spec.line_px, max(1, spec.line_px - 1)
    second = ACCENT if spec.palette.has_accent else INK
    every = (
        LineStyle(heavy, INK if count > 1 else second),
        LineStyle(
            heavy if second == ACCENT else fine,
            second,
            () if second == ACCENT else (2 * heavy + 2, heavy + 2),
        ),
        LineStyle(1, INK),
        LineStyle(fine, INK, (1, fine + 2)),
        LineStyle(fine, second, (4 * heavy, heavy + 1, 1, heavy + 1)),
    )
    return tuple(every[i % len(every)] for i in range(count))


def rows(sketch: Sketch, plot: Plot, *, values: Sequence[float]) -> None:
    """A dotted line across the plot at each value; a whole one at zero where values lie on both sides of it."""
    left, _, width, _ = plot.box
    for value in values:
        y = plot.y(value)
        crossed = value == 0 and plot.scale.low < 0 < plot.scale.high
        if y < plot.bottom_px - 1:
            sketch.fill((left, y, width, 1), MUTED, every=(1 if crossed else 4, 1))


def foot(sketch: Sketch, plot: Plot, *, marks: TimeMarks, floor_px: int, day_row_px: tuple[int, int]) -> None:
    """The axis of time at the row ``floor_px``, a short mark for each tick, a rule where a day begins.

    ``day_row_px``: where the rule beside the day's name starts below the axis, and its height.
    """
    left, top, width, _ = plot.box
    sketch.fill((left, floor_px, width, 1))
    for tick in marks.ticks:
        sketch.fill((plot.x(tick.at), floor_px, 1, TICK_PX))
    for midnight in marks.midnights:
        sketch.fill((plot.x(midnight), floor_px + day_row_px[0], 1, day_row_px[1]))
    for midnight in marks.midnights:
        sketch.fill((plot.x(midnight), top, 1, floor_px - top), MUTED, every=(1, 2))


def night_tint(plot: Plot, spec: ChartSpec, *, floor_px: int) -> tuple[Tint, ...]:
    """The stretches of night over the height of the plot, as a light screen."""
    area = shapes.nothing(spec.size)
    for start, end in spec.nights:
        left, right = max(plot.x(start), plot.box[0]), min(plot.x(end), plot.right_px)
        if left < right:
            area |= shapes.rectangle(spec.size, (left, plot.box[1], right - left, floor_px - plot.box[1]))
    return (Tint(area, NIGHT),) if area.any() else ()


def now_mark(sketch: Sketch, plot: Plot, *, now: datetime | None, floor_px: int) -> None:
    """A thin line over the height of the plot with a small triangle on top, if ``now`` is on the axis."""
    if now is None or not plot.axis.start <= now <= plot.axis.end:
        return
    x, top = plot.x(now), plot.box[1]
    sketch.fill((x, top, 1, floor_px - top))
    for i in range(5):
        sketch.fill((x - 4 + i, top - 5 + i, 9 - 2 * i, 1))


def trace(plot: Plot, parts: Runs, *, style: LineStyle, size: tuple[int, int]) -> Mask:
    """The line through each run of readings, cut at the plot's sides; a reading alone is a dot."""
    mask = shapes.nothing(size)
    for run in parts:
        at_us, values = within(run, plot)
        columns = plot.columns(at_us)
        kept = telling(columns, values)
        pixels = np.stack((columns[kept], plot.rows(values[kept])), axis=1)
        if len(pixels) == 1:
            mask |= dot(size, (int(pixels[0, 0]), int(pixels[0, 1])), across_px=style.line_px + 2)
        elif len(pixels):
            mask |= shapes.line(size, pixels, line_px=style.line_px, dash_px=style.dash_px)
    return mask


def within(run: Run, plot: Plot) -> tuple[Wholes, Reals]:
    """The moments (microseconds) and values of a run on the axis, with the points where it enters and leaves."""
    first, last = (micros(edge) for edge in (plot.axis.start, plot.axis.end))
    begin, end = np.searchsorted(run.at_us, first, "left"), np.searchsorted(run.at_us, last, "right")
    at_us, values = run.at_us[begin:end], run.values[begin:end]
    for edge, place in ((first, begin), (last, end)):
        if 0 < place < len(run) and edge not in (run.at_us[place - 1], run.at_us[place]):
            share = (edge - run.at_us[place - 1]) / (run.at_us[place] - run.at_us[place - 1])
            value = run.values[place - 1] + share * (run.values[place] - run.values[place - 1])
            where = 0 if edge == first else len(at_us)
            at_us, values = np.insert(at_us, where, edge), np.insert(values, where, value)
    return at_us, values


def dot(size: tuple[int, int], at: tuple[int, int], *, across_px: int) -> Mask:
    """A disc of ``across_px`` pixels, made odd, about the pixel ``at``."""
    odd = across_px | 1
    return shapes.disc(size, (at[0] + 0.5, at[1] + 0.5), radius_px=odd / 2)


def marked(sketch: Sketch, at: tuple[int, int], *, style: LineStyle) -> None:
    """A dot with a clear rim, so that it stands out from its line."""
    for across_px, code in ((2 * style.line_px + 5, NOTHING), (2 * style.line_px + 1, style.code)):
        half = across_px // 2
        spot = dot((across_px, across_px), (half, half), across_px=across_px)
        sketch.put(spot, code, at=(at[0] - half, at[1] - half))


def beside(text: str, at: tuple[int, int], *, spec: ChartSpec, above: bool) -> tuple[Label, ...]:
    """Places for a label at a point: above or below it, then to its sides, then the other way."""
    height, reach = spec.line_height_px, reach_px(spec)
    x, y = at
    over, under = y - reach - height + 1, y + reach + 1
    wide = (spec.text_px(text) + 1) // 2 * 2
    first, second = (over, under) if above else (under, over)
    places = []
    for top in (first, second):
        middle = centred(text, (x, top), spec=spec)
        places.append(middle)
        for aside in (wide // 4, -wide // 4, wide // 2, -wide // 2):
            left, box_top, width, box_height = middle.box
            places.append(Label(text, (left + aside, box_top, width, box_height)))
    side = y - height // 2
    places.insert(5, Label(text, (x + reach + GAP_PX, side, wide, height), Align.LEFT))
    places.insert(6, Label(text, (x - reach - GAP_PX - wide, side, wide, height), Align.RIGHT))
    return tuple(places)


def extreme_labels(
    sketch: Sketch,
    ends: Sequence[tuple[str, tuple[int, int], bool]],
    *,
    spec: ChartSpec,
    taken: Sequence[Label],
) -> tuple[Label, ...]:
    """Labels for marked points (text, pixel, whether above), each where it covers the least of the drawing."""
    found: list[Label] = []
    for text, at, above in ends:
        choices = beside(text, at, spec=spec, above=above)
        label = clearest(choices, (*taken, *found), drawn=sketch.drawn())
        if label is not None:
            found.append(label)
    return tuple(found)


def threshold_rules(sketch: Sketch, plot: Plot, *, spec: ChartSpec) -> None:
    """A dashed line across the plot at each threshold."""
    for threshold in spec.thresholds:
        left, _, width, _ = plot.box
        ends = [(left, plot.y(threshold.value)), (left + width - 1, plot.y(threshold.value))]
        sketch.lay(shapes.line(sketch.size, ends, line_px=1, dash_px=(6, 4)), accent_or_ink(spec.palette))


def threshold_labels(
    sketch: Sketch, plot: Plot, *, spec: ChartSpec, taken: Sequence[Label]
) -> tuple[Label, ...]:
    """The name of each threshold on its line, where it covers the least of the drawing."""
    found: list[Label] = []
    height = spec.line_height_px
    for threshold in spec.thresholds:
        wide = (spec.text_px(threshold.name) + 1) // 2 * 2
        if not threshold.name or wide > plot.box[2]:
            continue
        y, slack = plot.y(threshold.value), plot.box[2] - wide
        choices = [
            Label(threshold.name, (plot.box[0] + slack * part // 8, top, wide, height), Align.CENTRE)
            for top in (y - height, y + 2)
            for part in (8, 0, 7, 1, 6, 2, 5, 3, 4)
        ]
        label = clearest(choices, (*taken, *found), drawn=sketch.solid())
        if label is not None:
            found.append(label)
    return tuple(found)


def cleared(
    sketch: Sketch, labels: Sequence[Label], *, tints: Sequence[Tint], palette: Palette
) -> tuple[Tint, ...]:
    """The tints without the ground of the labels on the plot, whose dotted lines are taken away as well.

    An even grey stays: type reads as well on it, and it would show as a box.
    """
    grounds = [_ground(label.box) for label in labels if label.kind is Kind.LABEL]
    for box in grounds:
        sketch.clear(box, MUTED)
    if palette.smooth:
        return tuple(tints)
    bared = []
    for tint in tints:
        area = tint.area.copy()
        for x, y, width, height in grounds:
            area[max(0, y) : y + height, max(0, x) : x + width] = False
        bared.append(Tint(area, tint.pattern))
    return tuple(bared)


def _ground(box: Box) -> Box:
    """The part of a label's box that its letters stand on, with air to its sides."""
    x, y, width, height = box
    return (x - 1, y + 1, width + 2, height - 2)


def composed(
    sketch: Sketch, labels: Sequence[Label], *, tints: Sequence[Tint], spec: ChartSpec, title: str
) -> Drawing:
    """The finished drawing: what would run under its labels is taken away first."""
    bared = cleared(sketch, labels, tints=tints, palette=spec.palette)
    return Drawing(sketch.grid(), tuple(labels), bared, title)


def accent_or_ink(palette: Palette) -> int:
    """The code for what should catch the eye."""
    return ACCENT if palette.has_accent else INK
