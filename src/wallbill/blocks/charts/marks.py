"""Drawing into a plot: grid, nights, lines in styles that need no colour, marks and their labels."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from wallbill.blocks.charts.markers import Marker, marker_cover, marker_mask, put_marker
from wallbill.blocks.charts.plot import TICK_PX, Plot, TimeMarks
from wallbill.blocks.charts.readings import Run, Runs, telling
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.cover import Soft, stroke_cover
from wallbill.blocks.drawing.greys import greys_of
from wallbill.blocks.drawing.grid import ACCENT, INK, MUTED, NOTHING, Sketch
from wallbill.blocks.drawing.labels import Align, Kind, Label, clearest
from wallbill.blocks.drawing.markup import Drawing, Tint
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.patterns import Hatch
from wallbill.blocks.drawing.shapes import Box, Pixel, Reals, Wholes
from wallbill.inks.impression import Mask

NIGHT = Hatch.DOTS_6

_TAG_EVERY_PX = 72  # from one tag of a line to its next: judged by eye
_SPARSE_TIMES = 2.5  # widths of a marker from one to the next, at the least: judged by eye
_LEAST_MARK_PX = 5


@dataclass(frozen=True, slots=True)
class LineStyle:
    """How one line differs from another without colour: width, dashes, and a marker.

    ``tagged``: it needs its marker to be told from the others, even where its readings stand too close to be marked.
    """

    line_px: int
    code: int = INK
    dash_px: tuple[int, ...] = ()
    marker: Marker = Marker.DISC
    tagged: bool = False

    @property
    def marker_px(self) -> int:
        """Width of a marker on the line, odd: that of a line of 3 pixels, or of this one if it is heavier."""
        return 2 * max(3, self.line_px) + 1


def line_styles(spec: ChartSpec, *, count: int) -> tuple[LineStyle, ...]:
    """A style for each of ``count`` lines: heavy and whole; in the second ink or dashed; fine with rings; dotted; and so on."""
    heavy, fine = spec.line_px, max(1, spec.line_px - 1)
    second = ACCENT if spec.palette.has_accent else INK
    if count == 1:
        return (LineStyle(heavy, second),)
    dashes = () if second == ACCENT else (3 * heavy + 1, 2 * heavy)
    every = (
        LineStyle(heavy),
        LineStyle(heavy if second == ACCENT else fine, second, dashes, Marker.SQUARE),
        LineStyle(1, INK, (), Marker.RING, tagged=True),
        LineStyle(heavy, INK, (1, 2 * heavy), Marker.DIAMOND),
        LineStyle(1, second, (), Marker.TRIANGLE, tagged=True),
        LineStyle(fine, second, (3 * heavy + 1, heavy + 1, 1, heavy + 1), Marker.CROSS),
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
    return run.cut(plot.axis.start, plot.axis.end)


def draw_line(sketch: Sketch, plot: Plot, parts: Runs, *, style: LineStyle, casing_px: int = 0) -> None:
    """Draws a line through each run of readings, smoothed where the sketch is; a reading alone is a dot.

    ``casing_px``: how much of what lies under it is taken away on both of its sides.
    """
    if not sketch.smooth or style.code != INK:
        line = trace(plot, parts, style=style, size=sketch.size)
        if casing_px:
            sketch.erase(shapes.grown(line, casing_px))
        sketch.lay(line, style.code)
        return
    paths = [plot.points(*within(run, plot)) for run in parts]
    lone = [path for path in paths if len(path[0]) == 1]
    joined = [path for path in paths if len(path[0]) > 1]
    if casing_px:
        wide = style.line_px + 2 * casing_px
        sketch.shade(stroke_cover(sketch.size, joined, line_px=wide, dash_px=style.dash_px), fade=True)
    sketch.shade(stroke_cover(sketch.size, joined, line_px=style.line_px, dash_px=style.dash_px))
    sketch.shade(stroke_cover(sketch.size, lone, line_px=style.line_px + 2))


def draw_markers(sketch: Sketch, plot: Plot, lines: Sequence[Runs], *, styles: Sequence[LineStyle]) -> None:
    """Marks every reading of several lines where there is room for it; else only tags those that need it, here and there."""
    marks_all = sparse(lines, plot, across_px=max(style.marker_px for style in styles))
    for number, (parts, style) in reversed(list(enumerate(zip(lines, styles, strict=True)))):
        if not marks_all and not style.tagged:
            continue
        places = [
            (plot.columns(at), plot.rows(values)) for at, values in (within(run, plot) for run in parts)
        ]
        if not marks_all:
            shift = number * _TAG_EVERY_PX // max(1, len(lines))
            places = [_tags(x, y, plot.box[0] + shift) for x, y in places]
        for columns, rows in places:
            for at in zip(columns.tolist(), rows.tolist(), strict=True):
                put_marker(sketch, style.marker, at, across_px=style.marker_px, code=style.code)


def sparse(lines: Sequence[Runs], plot: Plot, *, across_px: int) -> bool:
    """Whether readings stand far enough apart for each to be marked."""
    gaps = [np.diff(plot.columns(within(run, plot)[0])) for parts in lines for run in parts]
    every = np.concatenate([*gaps, np.empty(0)])
    return not len(every) or float(np.median(every)) >= _SPARSE_TIMES * across_px


def _tags(columns: Wholes, rows: Wholes, first_px: int) -> tuple[Wholes, Wholes]:
    """Places on a line at even distances, not at its very ends."""
    if not len(columns):
        return columns, rows
    x = np.arange(first_px, columns[-1] - _TAG_EVERY_PX // 6, _TAG_EVERY_PX)
    x = x[x >= columns[0] + _TAG_EVERY_PX // 6]
    return x, np.round(np.interp(x, columns, rows)).astype(np.int64)


def dot(size: tuple[int, int], at: tuple[int, int], *, across_px: int) -> Mask:
    """A disc of ``across_px`` pixels, made odd, about the pixel ``at``."""
    odd = across_px | 1
    return shapes.disc(size, (at[0] + 0.5, at[1] + 0.5), radius_px=odd / 2)


def marked(sketch: Sketch, at: tuple[int, int], *, style: LineStyle) -> None:
    """A dot with a clear rim, so that it stands out from its line."""
    across_px = max(_LEAST_MARK_PX, 2 * style.line_px + 1)
    half = across_px // 2 + 2
    rim = marker_mask(Marker.DISC, across_px=2 * half + 1)
    sketch.put(rim, NOTHING, at=(at[0] - half, at[1] - half))
    draw_dot(sketch, at, across_px=across_px, code=style.code)


def draw_dot(sketch: Sketch, at: tuple[int, int], *, across_px: int, code: int) -> None:
    """A disc about a pixel, smoothed where the sketch is. ``across_px``: odd."""
    corner = (at[0] - across_px // 2, at[1] - across_px // 2)
    if sketch.smooth and code == INK:
        sketch.shade(Soft(marker_cover(Marker.DISC, across_px=across_px), corner))
    else:
        sketch.put(marker_mask(Marker.DISC, across_px=across_px), code, at=corner)


def thin_line(sketch: Sketch, ends: Sequence[Pixel]) -> None:
    """A line of a pixel from pixel to pixel, smoothed where the sketch is."""
    if not sketch.smooth:
        sketch.lay(shapes.line(sketch.size, ends))
        return
    x, y = np.asarray(sorted(ends), dtype=np.float64).T + 0.5
    sketch.shade(stroke_cover(sketch.size, [(x, y)], line_px=1))


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
    cover = sketch.cover()
    greys = None if cover is None else greys_of(sketch.ground(), cover, bared, palette=spec.palette)
    return Drawing(sketch.grid(), tuple(labels), bared, title, greys=greys)


def accent_or_ink(palette: Palette) -> int:
    """The code for what should catch the eye."""
    return ACCENT if palette.has_accent else INK
