"""Amounts as rows: a name, a bar from zero, and its value; also the parts of a whole in each row."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from markupsafe import Markup

from wallbill.blocks.charts.amounts import NO_VALUE, Named, emphasis
from wallbill.blocks.charts.fills import PLAIN, Fill, below_zero, boxes, fills, put
from wallbill.blocks.charts.frames import clear_under, finish, names_above, shortened, unit_label
from wallbill.blocks.charts.lines import nothing_known
from wallbill.blocks.charts.marks import accent_or_ink
from wallbill.blocks.charts.plot import GAP_PX, Scale, centred, exact_text
from wallbill.blocks.charts.readings import is_number
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.charts.telling import amounts_told, told
from wallbill.blocks.charts.ticks import ticks
from wallbill.blocks.charts.valueaxis import ValueAxis
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import ACCENT, INK, MUTED, PAPER, Sketch
from wallbill.blocks.drawing.labels import Align, Kind, Label, spread
from wallbill.blocks.drawing.markup import Drawing, to_markup
from wallbill.blocks.drawing.shapes import Box
from wallbill.inks.impression import Mask

_NAME_SHARE = 0.4  # of the width, for names at the most: judged by eye
_BAR_SHARE = 0.56  # of a row's height: judged by eye
_MOST_LINES = 2.4  # a row is not higher than so many lines of labels: judged by eye
_LEADER_PX = 4


class Order(StrEnum):
    """The order of rows: as given, or by value; unknown values come last."""

    GIVEN = "given"
    FALLING = "falling"
    RISING = "rising"


@dataclass(frozen=True, slots=True)
class Parts:
    """The parts of one whole under a name, in the order of the parts' names; None, or not finite, is a gap."""

    name: str
    values: tuple[float | None, ...]

    @property
    def known(self) -> tuple[float, ...] | None:
        """The parts, or None where any is unknown: then the whole is unknown too."""
        finite = tuple(value for value in self.values if value is not None and is_number(value))
        return finite if len(finite) == len(self.values) and finite else None


@dataclass(frozen=True, slots=True)
class Rows:
    """Where rows lie: their height, the top of the first, how many are shown, and the columns of names and bars.

    ``names_px``: width of the column of names. ``bars_px``: first column of the bars and the first after them.
    """

    pitch_px: int
    top_px: int
    count: int
    names_px: int
    bars_px: tuple[int, int]

    def middle_px(self, number: int) -> int:
        """The row of pixels in the middle of a row."""
        return self.top_px + number * self.pitch_px + self.pitch_px // 2

    def bar(self, number: int) -> tuple[int, int]:
        """Top and height of the bar in a row."""
        high = max(3, round(self.pitch_px * _BAR_SHARE))
        return self.middle_px(number) - high // 2, high


def ordered(named: Sequence[Named], order: Order) -> tuple[Named, ...]:
    """The amounts in the order asked for; equal ones stay as given, gaps come last."""
    if order is Order.GIVEN:
        return tuple(named)
    sign = -1 if order is Order.FALLING else 1
    return tuple(
        sorted(named, key=lambda one: (one.known is None, 0.0 if one.known is None else sign * one.known))
    )


def rows_that_fit(spec: ChartSpec, *, count: int, head_px: int = 0, foot_px: int = 0) -> int:
    """How many of ``count`` rows have room for their labels; one fewer than fit where the last must tell the rest."""
    room = (spec.height_px - head_px - foot_px) // spec.line_height_px
    return count if count <= room else max(0, room - 1)


def bar_rows(
    named: Sequence[Named], *, spec: ChartSpec, order: Order = Order.GIVEN, marked: str = ""
) -> Markup:
    """Amounts as rows of a name, a bar from zero and a value; a gap has a dash for its value.

    ``marked``: the name of the one that stands out. Where not all have room, the last row tells how many are left out.
    """
    drawing = bar_rows_drawing(named, spec=spec, order=order, marked=marked)
    return to_markup(drawing, spec.palette, label_px=spec.label_px)


def stacked_rows(
    rows: Sequence[Parts], *, spec: ChartSpec, parts: Sequence[str], share: bool = False
) -> Markup:
    """The parts of a whole in each row, told apart by fills whose names stand above; ``share``: all rows are as long.

    A row of which a part is unknown, or negative, has no bar.
    """
    drawing = stacked_rows_drawing(rows, spec=spec, parts=parts, share=share)
    return to_markup(drawing, spec.palette, label_px=spec.label_px)


def bar_rows_drawing(
    named: Sequence[Named], *, spec: ChartSpec, order: Order = Order.GIVEN, marked: str = ""
) -> Drawing:
    """The drawing behind `bar_rows`."""
    lines = ordered(named, order)
    values = [one.known for one in lines if one.known is not None]
    if not values:
        return nothing_known(spec, [one.name for one in named])
    reached = [0.0, *values, *spec.include, *(threshold.value for threshold in spec.thresholds)]
    low, high = min(reached), max(reached)
    scale = Scale(ticks(min(values), max(values), count=4), low, high if high > low else low + 1)
    texts = [NO_VALUE if one.known is None else exact_text(scale, one.known, spec=spec) for one in lines]
    head = spec.line_height_px + 2 if any(t.name for t in spec.thresholds) or spec.unit else 0
    place = placed_rows([one.name for one in lines], texts, spec=spec, head_px=head)
    axis = ValueAxis(
        scale.marks, scale.low, scale.high, place.bars_px[0], place.bars_px[1] - place.bars_px[0]
    )
    sketch = Sketch(*spec.size)
    tints = boxes(sketch, _row_bars(place, axis, lines, spec=spec, marked=marked))
    _leaders(sketch, place, axis, lines)
    upright(sketch, axis.x(0), place)
    rules = _threshold_rules(sketch, place, axis, spec)
    labels = (*row_labels([one.name for one in lines], texts, place, spec=spec), *unit_above(spec, head))
    labels += _threshold_names(axis, spec, labels)
    clear_under(sketch, labels, rules)
    title = told(spec, [amounts_told([(one.name, one.known) for one in lines], spec.unit, spec=spec)])
    return finish(sketch, labels, tints=tints, spec=spec, title=title)


def placed_rows(
    names: Sequence[str], texts: Sequence[str], *, spec: ChartSpec, head_px: int = 0, foot_px: int = 0
) -> Rows:
    """Rows of equal whole height between a head and a foot, with columns for the names and for the values' texts."""
    count = rows_that_fit(spec, count=len(names), head_px=head_px, foot_px=foot_px)
    room = spec.height_px - head_px - foot_px
    lines = max(1, count + (1 if count < len(names) else 0))
    pitch = max(1, min(room // lines, round(spec.line_height_px * _MOST_LINES)))
    widest = max((spec.text_px(name) for name in names), default=0)
    left = min(widest, round(spec.width_px * _NAME_SHARE))
    right = max((spec.text_px(text) for text in texts), default=0)
    first = left + (2 * GAP_PX if left else 0)
    last = max(first + 8, spec.width_px - right - (2 * GAP_PX if right else 0))
    return Rows(pitch, head_px, count, left, (first, last))


def row_labels(
    names: Sequence[str], texts: Sequence[str], place: Rows, *, spec: ChartSpec
) -> tuple[Label, ...]:
    """Names at the left, values at the right in a column of their own; what is left out is counted in the last row."""
    high = spec.line_height_px
    labels = []
    for number, name in enumerate(names[: place.count]):
        top = place.middle_px(number) - high // 2
        text = shortened(name, place.names_px, spec=spec)
        labels.append(Label(text, (0, top, place.names_px, high), Align.LEFT))
        if number < len(texts):
            wide = spec.text_px(texts[number])
            labels.append(Label(texts[number], (spec.width_px - wide, top, wide, high), Align.RIGHT))
    rest = len(names) - place.count
    if rest:
        more = f"+{rest}"
        top = place.middle_px(place.count) - high // 2
        labels.append(Label(more, (0, top, spec.text_px(more, Kind.AXIS), high), Align.LEFT, Kind.AXIS))
    return spread([label for label in labels if label.text], (), size=spec.size, gap_px=0)


def upright(sketch: Sketch, x: int, place: Rows) -> None:
    """A fine line down all rows, such as that of zero."""
    line = shapes.nothing(sketch.size)
    put(line, (x, place.top_px, 1, place.count * place.pitch_px))
    sketch.lay(line)


def unit_above(spec: ChartSpec, head_px: int) -> tuple[Label, ...]:
    """The unit over the column of values, if there is a head for it."""
    return tuple(
        Label(one.text, (spec.width_px - one.box[2], 0, one.box[2], one.box[3]), Align.RIGHT, one.kind)
        for one in (unit_label(spec) if head_px else ())
    )


def _row_bars(
    place: Rows, axis: ValueAxis, lines: Sequence[Named], *, spec: ChartSpec, marked: str
) -> list[tuple[Box, Fill]]:
    zero, negative = axis.x(0), below_zero(spec.palette)
    found = []
    for number, one in enumerate(lines[: place.count]):
        if not one.known:
            continue
        top, high = place.bar(number)
        x = axis.x(one.known)
        left, wide = (zero + 1, max(1, x - zero)) if one.known > 0 else (min(x, zero - 1), max(1, zero - x))
        fill = PLAIN if one.known > 0 else negative
        if marked:
            fill = emphasis(spec.palette, chosen=one.name == marked)
        found.append(((left, top, wide, high), fill))
    return found


def _leaders(sketch: Sketch, place: Rows, axis: ValueAxis, lines: Sequence[Named]) -> None:
    """Dots from the end of each bar to its value, which lead the eye along the row."""
    dots = shapes.nothing(sketch.size)
    last = axis.right_px + GAP_PX
    for number, one in enumerate(lines[: place.count]):
        start = max(axis.x(one.known or 0.0), axis.x(0)) + 2 * GAP_PX
        first = last - (last - start) // _LEADER_PX * _LEADER_PX  # dots stand under one another
        if first < last:
            dots[place.middle_px(number), first:last:_LEADER_PX] = True
    sketch.lay(dots, MUTED)


def _threshold_rules(sketch: Sketch, place: Rows, axis: ValueAxis, spec: ChartSpec) -> Mask:
    """A dashed line down the rows at each threshold, knocked out of solid bars; gives its pixels on open ground."""
    rules = shapes.nothing(sketch.size)
    top, bottom = place.top_px, place.top_px + place.count * place.pitch_px
    for threshold in spec.thresholds:
        for start in range(top, bottom, 10):
            put(rules, (axis.x(threshold.value), start, 1, min(6, bottom - start)))
    grid = sketch.grid()
    inked = grid.mask(INK) | grid.mask(ACCENT)
    sketch.lay(rules & inked, PAPER).lay(rules & ~inked, accent_or_ink(spec.palette))
    return rules & ~inked


def _threshold_names(axis: ValueAxis, spec: ChartSpec, taken: Sequence[Label]) -> tuple[Label, ...]:
    names = []
    for threshold in spec.thresholds:
        label = centred(threshold.name, (axis.x(threshold.value), 0), spec=spec)
        left = min(max(0, label.box[0]), max(0, spec.width_px - label.box[2]))
        if threshold.name:
            names.append(Label(label.text, (left, *label.box[1:]), label.align))
    return spread(names, taken, size=spec.size, gap_px=3)


def stacked_rows_drawing(
    rows: Sequence[Parts], *, spec: ChartSpec, parts: Sequence[str], share: bool = False
) -> Drawing:
    """The drawing behind `stacked_rows`. Raises ValueError for a row with another number of parts than names."""
    check_parts(rows, parts)
    known = {number: row.known for number, row in enumerate(rows) if row.known and min(row.known) >= 0}
    most = max((sum(values) for values in known.values() if values), default=0.0)
    if most <= 0:
        return nothing_known(spec, [row.name for row in rows])
    scale = Scale(ticks(0, most, count=4), 0.0, most)
    totals = [
        NO_VALUE if i not in known else "" if share else exact_text(scale, sum(known[i] or ()), spec=spec)
        for i in range(len(rows))
    ]
    names = [row.name for row in rows]
    start = placed_rows(names, totals, spec=spec).bars_px[0]
    key = names_above(parts, spec=spec, left_px=start)
    head = max(box[1] + box[3] for box in (label.box for label in key.labels)) + 2
    place = placed_rows(names, totals, spec=spec, head_px=head)
    styles = fills(spec.palette, count=len(parts))
    placed = list(zip(key.patches, styles, strict=True))
    for number, values in known.items():
        if number < place.count and values and sum(values) > 0:
            placed += _segments(place, number, values, (sum(values) if share else most, styles))
    sketch = Sketch(*spec.size)
    tints = boxes(sketch, placed)
    upright(sketch, place.bars_px[0], place)
    labels = spread(row_labels(names, totals, place, spec=spec), key.labels, size=spec.size, gap_px=0)
    labels = (*key.labels, *labels)
    title = told(spec, parts_told(rows, parts, spec))
    return finish(sketch, labels, tints=tints, spec=spec, title=title)


def parts_told(rows: Sequence[Parts], parts: Sequence[str], spec: ChartSpec) -> Iterator[str]:
    """What the parts of each named whole are."""
    for row in rows:
        saying = amounts_told(zip(parts, row.values, strict=True), spec.unit, spec=spec)
        yield f"{row.name}: {saying}" if row.name else saying


def check_parts(rows: Sequence[Parts], parts: Sequence[str]) -> None:
    """Raises ValueError where a whole has another number of parts than there are names."""
    for row in rows:
        if len(row.values) != len(parts):
            raise ValueError(
                f"{row.name or 'a bar'} has {len(row.values)} parts, there are {len(parts)} names: {', '.join(parts)}"
            )


def _segments(
    place: Rows, number: int, values: Sequence[float], how: tuple[float, Sequence[Fill]]
) -> list[tuple[Box, Fill]]:
    """The parts of a row end to end; ``how``: the amount that fills the row, and the parts' fills.

    Each part ends at the pixel of the sum so far, so that all together are as long as the whole.
    """
    whole, styles = how
    left, right = place.bars_px
    top, high = place.bar(number)
    ends = [left + 1]
    total = 0.0
    for value in values:
        total += value
        ends.append(left + 1 + math.floor(total / whole * (right - left - 1) + 0.5))
    return [
        ((start, top, end - start - (1 if end < ends[-1] and end - start > 1 else 0), high), fill)
        for start, end, fill in zip(ends, ends[1:], styles, strict=False)
        if end > start
    ]
