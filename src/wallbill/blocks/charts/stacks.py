"""Parts of a whole as stacked bars: over time, or side by side under their names."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from markupsafe import Markup

from wallbill.blocks.charts.amounts import name_labels, named_plot, slots, under_scale
from wallbill.blocks.charts.fills import Fill, beneath, boxes, fills
from wallbill.blocks.charts.frames import (
    aired,
    bar_plot,
    clear_under,
    finish,
    names_beside,
    names_room_px,
    over_bars,
    sides,
    snapped,
    time_foot,
    under_unit,
)
from wallbill.blocks.charts.lines import nothing_known
from wallbill.blocks.charts.marks import night_tint, threshold_labels
from wallbill.blocks.charts.plot import GAP_PX, Plot, centred, exact_text, gutter_px
from wallbill.blocks.charts.readings import Span, is_number
from wallbill.blocks.charts.rows import Parts, check_parts, parts_told
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.charts.telling import amounts_told, told
from wallbill.blocks.drawing.grid import Sketch
from wallbill.blocks.drawing.labels import Label, spread
from wallbill.blocks.drawing.markup import Drawing, to_markup
from wallbill.blocks.drawing.shapes import Box


@dataclass(frozen=True, slots=True)
class Heap:
    """The parts of a whole over a stretch of time (aware), in the order of the parts' names.

    A part that is None or no finite number makes the whole unknown: the bar is left out.
    """

    start: datetime
    end: datetime
    values: tuple[float | None, ...]


@dataclass(frozen=True, slots=True)
class Pile:
    """A bar of parts on its plot: columns from ``left_px`` up to ``right_px``, the width of its slot, its parts."""

    left_px: int
    right_px: int
    slot_px: int
    values: tuple[float, ...]

    @property
    def above(self) -> float:
        """The sum of the parts above zero."""
        return sum(value for value in self.values if value > 0)

    @property
    def below(self) -> float:
        """The sum of the parts below zero, 0 or less."""
        return sum(value for value in self.values if value < 0)


def stacked_bars(
    heaps: Sequence[Heap], *, spec: ChartSpec, parts: Sequence[str], share: bool = False
) -> Markup:
    """Parts over time, stacked from zero, what is negative downwards; their names stand beside the last bar.

    ``share``: each bar is 100 %, its parts their shares of it; a bar with a negative part has none and is left out.
    Raises ValueError for a bar with another number of parts than names.
    """
    drawing = stacked_bars_drawing(heaps, spec=spec, parts=parts, share=share)
    return to_markup(drawing, spec.palette, label_px=spec.label_px)


def stacked_columns(
    rows: Sequence[Parts], *, spec: ChartSpec, parts: Sequence[str], share: bool = False
) -> Markup:
    """As `stacked_bars`, of wholes that have names instead of a time, in the order given."""
    drawing = stacked_columns_drawing(rows, spec=spec, parts=parts, share=share)
    return to_markup(drawing, spec.palette, label_px=spec.label_px)


def stacked_bars_drawing(
    heaps: Sequence[Heap], *, spec: ChartSpec, parts: Sequence[str], share: bool = False
) -> Drawing:
    """The drawing behind `stacked_bars`."""
    check_parts([Parts("", heap.values) for heap in heaps], parts)
    seen = [
        (heap, values)
        for heap in heaps
        if (values := whole(heap.values, share=share)) is not None
        and (spec.start is None or heap.end > spec.start)
        and (spec.end is None or heap.start < spec.end)
    ]
    if not seen:
        return nothing_known(spec, parts)
    spec = replace(spec, unit="%") if share else spec
    spans = [Span(heap.start, heap.end, 0.0) for heap in heaps]
    reached = _reached([values for _, values in seen])
    right = names_room_px(parts, spec)
    plot = bar_plot(spans, spec=spec, values=reached, right_px=right)
    piles = _piles(plot, seen)
    direct = spec.extremes and not share and _totals_fit(plot, piles, spec)
    if direct:
        plot = snapped(plot, spans, left_px=spec.label_px // 2, right_px=spec.width_px - right)
        plot = under_unit(plot, spec)
        piles = _piles(plot, seen)
    sketch = Sketch(*spec.size)
    labels = (*under_scale(sketch, plot, spec, direct=direct), *time_foot(sketch, plot, spans, spec=spec))
    means = [math.fsum(part) / len(seen) for part in zip(*(values for _, values in seen), strict=True)]
    each = amounts_told(zip(parts, means, strict=True), spec.unit, spec=spec)
    sayings = [f"⌀ {each}"]
    return _finished(sketch, plot, piles, spec=spec, what=(labels, parts, direct, sayings))


def stacked_columns_drawing(
    rows: Sequence[Parts], *, spec: ChartSpec, parts: Sequence[str], share: bool = False
) -> Drawing:
    """The drawing behind `stacked_columns`."""
    check_parts(rows, parts)
    unit = spec.unit
    spec = replace(spec, now=None, nights=(), unit="%" if share else unit)
    known = [
        (number, v) for number, row in enumerate(rows) if (v := whole(row.values, share=share)) is not None
    ]
    if not known:
        return nothing_known(spec, [row.name for row in rows])
    reached, right = _reached([values for _, values in known]), names_room_px(parts, spec)
    bare = named_plot(reached, spec, left_px=0, right_px=right)
    direct = spec.extremes and not share and _totals_fit(bare, _side_by_side(bare, rows, known), spec)
    left = gutter_px(bare.scale, spec)
    plot = under_unit(bare, spec) if direct else named_plot(reached, spec, left_px=left, right_px=right)
    sketch = Sketch(*spec.size)
    gaps = set(range(len(rows))) - {number for number, _ in known}
    names = name_labels(plot, [row.name for row in rows], gaps=gaps, spec=spec)
    labels = (*under_scale(sketch, plot, spec, direct=direct), *names)
    sketch.fill((plot.box[0], plot.bottom_px - 1, plot.box[2], 1))
    what = (labels, parts, direct, parts_told(rows, parts, replace(spec, unit=unit)))
    return _finished(sketch, plot, _side_by_side(plot, rows, known), spec=spec, what=what)


def whole(values: Sequence[float | None], *, share: bool) -> tuple[float, ...] | None:
    """The parts, as percentages if ``share``; None where any is unknown, or no share can be told."""
    known = tuple(value for value in values if value is not None and is_number(value))
    if len(known) < len(values) or not known:
        return None
    if not share:
        return known
    total = math.fsum(known)
    return None if total <= 0 or min(known) < 0 else tuple(100 * value / total for value in known)


def _reached(every: Sequence[Sequence[float]]) -> list[float]:
    """The greatest sum above zero and the least below it; up to 1 where all are nothing."""
    above = max(math.fsum(v for v in values if v > 0) for values in every)
    below = min(math.fsum(v for v in values if v < 0) for values in every)
    return [round(below, 9), round(above, 9)] if above or below else [0.0, 1.0]


def _piles(plot: Plot, seen: Sequence[tuple[Heap, tuple[float, ...]]]) -> list[Pile]:
    spans = [Span(heap.start, heap.end, 0.0) for heap, _ in seen]
    return [Pile(*place, values) for place, (_, values) in zip(sides(plot, spans), seen, strict=True)]


def _side_by_side(
    plot: Plot, rows: Sequence[Parts], known: Sequence[tuple[int, tuple[float, ...]]]
) -> list[Pile]:
    places = slots(plot, len(rows))
    return [
        Pile(*aired(*places[number]), places[number][1] - places[number][0], values)
        for number, values in known
    ]


def _finished(
    sketch: Sketch,
    plot: Plot,
    piles: Sequence[Pile],
    *,
    spec: ChartSpec,
    what: tuple[tuple[Label, ...], Sequence[str], bool, Iterable[str]],
) -> Drawing:
    """Piles with all that lies under, over and beside them.

    ``what``: labels so far, the parts' names, whether totals are labelled, and what the bars say in words.
    """
    labels, parts, direct, sayings = what
    styles = fills(spec.palette, count=len(parts))
    placed = [one for pile in piles for one in segments(plot, pile, styles)]
    key = names_beside(
        parts,
        _middles(plot, piles[-1]),
        spec=spec,
        left_px=plot.right_px + GAP_PX,
        floor_px=plot.bottom_px,
    )
    tints = boxes(sketch, [*placed, *zip(key.patches, styles, strict=False)])
    if plot.scale.low < 0:
        sketch.fill((plot.box[0], plot.y(0), plot.box[2], 1))
    floor = plot.bottom_px - 1
    rules = over_bars(sketch, plot, spec=spec, floor_px=floor)
    labels = (*labels, *spread(key.labels, labels, size=spec.size, gap_px=0))
    if direct:
        totals = [_total(plot, pile, spec) for pile in piles]
        labels += spread(totals, labels, size=spec.size, gap_px=0)
    labels += threshold_labels(sketch, plot, spec=spec, taken=labels)
    clear_under(sketch, labels, rules)
    under = beneath(night_tint(plot, spec, floor_px=floor), tints)
    return finish(sketch, labels, tints=(*under, *tints), spec=spec, title=told(spec, sayings))


def segments(plot: Plot, pile: Pile, styles: Sequence[Fill]) -> list[tuple[Box, Fill]]:
    """The boxes of a pile: each part ends at the row of the sum so far, so that together they are as high as the whole.

    One row is clear between two parts, taken from the outer one, where that is higher than two rows.
    """
    zero = plot.y(0)
    up = down = zero
    above = below = 0.0
    found = []
    wide = pile.right_px - pile.left_px
    for value, fill in zip(pile.values, styles, strict=True):
        if value > 0:
            above += value
            top = plot.y(above)
            clear = 1 if up < zero and up - top > 2 else 0
            if top < up:
                found.append(((pile.left_px, top, wide, up - top - clear), fill))
            up = min(up, top)
        elif value < 0:
            below += value
            bottom = plot.y(below)
            clear = 1 if down > zero and bottom - down > 2 else 0
            if bottom > down:
                found.append(((pile.left_px, down + 1 + clear, wide, bottom - down - clear), fill))
            down = max(down, bottom)
    return found


def _middles(plot: Plot, pile: Pile) -> list[int]:
    """The row in the middle of each part of a pile."""
    above = below = 0.0
    found = []
    for value in pile.values:
        start = above if value >= 0 else below
        found.append(plot.y(start + value / 2))
        above, below = above + max(value, 0.0), below + min(value, 0.0)
    return found


def _total(plot: Plot, pile: Pile, spec: ChartSpec) -> Label:
    """The sum of all parts over a pile."""
    text = exact_text(plot.scale, math.fsum(pile.values), spec=spec)
    middle = (pile.left_px + pile.right_px) // 2
    return centred(text, (middle, plot.y(pile.above) - spec.line_height_px), spec=spec)


def _totals_fit(plot: Plot, piles: Sequence[Pile], spec: ChartSpec) -> bool:
    """Whether the sum of each pile is no wider than its slot."""
    return all(
        spec.text_px(exact_text(plot.scale, math.fsum(pile.values), spec=spec)) <= pile.slot_px - 2
        for pile in piles
    )
