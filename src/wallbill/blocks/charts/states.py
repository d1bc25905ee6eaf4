"""States over time as text on strips: what is open, on, or under way, and from when to when."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from markupsafe import Markup

from wallbill.blocks.charts.fills import EMPTY, PLAIN, Fill, beneath, boxes
from wallbill.blocks.charts.frames import Key, finish, names_above, over_bars, shortened
from wallbill.blocks.charts.lines import nothing_known
from wallbill.blocks.charts.marks import foot, night_tint
from wallbill.blocks.charts.plot import (
    GAP_PX,
    Plot,
    Scale,
    day_row_px,
    foot_px,
    row_top_px,
    time_axis,
    time_marks,
    time_step,
)
from wallbill.blocks.charts.rows import Rows
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.charts.telling import told
from wallbill.blocks.charts.ticks import ticks
from wallbill.blocks.drawing.grid import NOTHING, Sketch
from wallbill.blocks.drawing.labels import Align, Kind, Label, spread
from wallbill.blocks.drawing.markup import Drawing, to_markup
from wallbill.blocks.drawing.patterns import Hatch
from wallbill.blocks.drawing.shapes import Box

QUIET = frozenset({"", "off", "closed", "shut", "false", "no", "0", "idle", "none", "offline"})
"""States that nothing is to be seen of but a fine line, if the order of states does not say otherwise."""

_STRIP_SHARE = 0.62  # of a row's height: judged by eye
_MOST_LINES = 2.4  # a row is not higher than so many lines of labels: judged by eye
_NAME_SHARE = 0.3  # of the width, for names at the most: judged by eye
_LINE = Fill(None)  # stands for the fine line: never laid as a box
_BETWEEN = (EMPTY, Fill(Hatch.RISING_25), Fill(Hatch.CHECKS_50), Fill(Hatch.DOTS_12), Fill(Hatch.CROSSED_43))
_BETWEEN_GREYS = (EMPTY, Fill(Hatch.DOTS_25), Fill(Hatch.DOTS_75), Fill(Hatch.CHECKS_50), Fill(Hatch.DOTS_12))


@dataclass(frozen=True, slots=True)
class State:
    """What was so from ``start`` up to ``end`` (aware)."""

    start: datetime
    end: datetime
    text: str


@dataclass(frozen=True, slots=True)
class Strip:
    """The states of one thing under its name; where it has none, nothing is known."""

    name: str
    states: tuple[State, ...]


def state_strip(strips: Sequence[Strip], *, spec: ChartSpec, order: Sequence[Sequence[str]] = ()) -> Markup:
    """States over time, one strip a thing, each state's name on it where it has room and in a key where it never has.

    ``order``: for each vocabulary, such as that of doors, its states from the quietest, which is drawn as a fine
    line, to the most notable, which is solid. A strip goes by the vocabulary that has most of its states. Without
    one, states such as off and closed come first and the others follow by their names.
    """
    return to_markup(state_drawing(strips, spec=spec, order=order), spec.palette, label_px=spec.label_px)


def state_drawing(
    strips: Sequence[Strip], *, spec: ChartSpec, order: Sequence[Sequence[str]] = ()
) -> Drawing:
    """The drawing behind `state_strip`."""
    shown = [state for strip in strips for state in strip.states if _seen(state, spec)]
    if not shown:
        return nothing_known(spec, [strip.name for strip in strips])
    styles = [fills_of(strip, order, smooth=spec.palette.smooth) for strip in strips]
    plot, place = _places(strips, shown, spec, head_px=0)
    unnamed = _never_named(strips, plot, styles, spec)
    key = Key((), ())
    if unnamed:
        key = names_above(list(unnamed), spec=spec, left_px=place.bars_px[0])
        head = max(label.box[1] + label.box[3] for label in key.labels) + 2
        lower = _places(strips, shown, spec, head_px=head)
        if lower[1].count < place.count:  # a strip matters more than a key
            key, unnamed = Key((), ()), {}
        else:
            plot, place = lower
    sketch = Sketch(*spec.size)
    labels = (*key.labels, *_strip_names(strips, place, spec), *_foot(sketch, plot, spec))
    placed = list(zip(key.patches, unnamed.values(), strict=True))
    names: list[Label] = []
    for number, strip in enumerate(strips[: place.count]):
        tall = _tall_px(place, spec)
        where = (strip, place.middle_px(number) - tall // 2, tall)
        drawn, texts = _strip(sketch, plot, where, style=styles[number], spec=spec)
        placed += drawn
        names += texts
    tints = boxes(sketch, placed)
    over_bars(sketch, plot, spec=replace(spec, thresholds=()), floor_px=plot.bottom_px - 1)
    upon = spread(names, labels, size=spec.size, gap_px=0)
    for label in upon:
        x, y, wide, high = label.box
        sketch.fill((x - 2, y + 1, wide + 4, high - 2), NOTHING)
    under = beneath(night_tint(plot, spec, floor_px=plot.bottom_px - 1), tints)
    plates = replace(spec.palette, smooth=False)  # names stand on clear ground on a panel of greys, too
    labels += upon
    title = told(spec, _told(strips, spec))
    return finish(sketch, labels, tints=(*under, *tints), spec=replace(spec, palette=plates), title=title)


def _told(strips: Sequence[Strip], spec: ChartSpec) -> Iterator[str]:
    """The state of each thing now, or the last one known, and since when."""
    for strip in strips:
        past = [state for state in strip.states if spec.now is None or state.start <= spec.now]
        last = max(past or strip.states, key=lambda state: state.start, default=None)
        said = f"{last.text}, {spec.moment_label(last.start.astimezone(spec.zone))}" if last else "–"
        yield f"{strip.name}: {said}" if strip.name else said


def fills_of(
    strip: Strip, order: Sequence[Sequence[str]] = (), *, smooth: bool = False
) -> Mapping[str, Fill]:
    """A fill for each state of a strip: a fine line for the quietest, solid for the most notable, others between."""
    states = {state.text for state in strip.states}
    words = max(order, key=lambda one: len(states & set(one)), default=())
    words = tuple(words) if states & set(words) else ()
    rest = sorted(states - set(words), key=lambda state: (state.lower() not in QUIET, state.lower()))
    found: dict[str, Fill] = {}
    between = iter(_BETWEEN_GREYS if smooth else _BETWEEN)
    every = (*words, *rest)
    for number, state in enumerate(every):
        if (number == 0 and words) or (not words and state.lower() in QUIET):
            found[state] = _LINE
        else:
            found[state] = PLAIN if number == len(every) - 1 else next(between, PLAIN)
    return found


def _tall_px(place: Rows, spec: ChartSpec) -> int:
    """Height of a strip: a good part of its row, and enough for a name upon it where the row has that."""
    return max(round(place.pitch_px * _STRIP_SHARE), min(place.pitch_px - 3, spec.line_height_px + 2), 3)


def _seen(state: State, spec: ChartSpec) -> bool:
    return (
        state.end > state.start
        and (spec.start is None or state.end > spec.start)
        and (spec.end is None or state.start < spec.end)
    )


def _places(
    strips: Sequence[Strip], shown: Sequence[State], spec: ChartSpec, *, head_px: int
) -> tuple[Plot, Rows]:
    """The plot over all strips, and their rows."""
    widest = max(spec.text_px(strip.name) for strip in strips)
    names = min(widest, round(spec.width_px * _NAME_SHARE))
    left = names + (2 * GAP_PX if names > spec.label_px // 2 else 0)
    wide = max(16, spec.width_px - left - spec.label_px // 2)
    stretch = (min(state.start for state in shown), max(state.end for state in shown))
    axis = time_axis(stretch, spec, width_px=wide)
    top = head_px + (6 if spec.now and axis.start <= spec.now <= axis.end else 0)
    room = max(8, spec.height_px - top - foot_px(time_step(axis, spec), spec))
    count = max(1, min(len(strips), room // (spec.line_height_px + 2)))
    pitch = max(8, min(room // count, round(spec.line_height_px * _MOST_LINES)))
    plot = Plot((left, top, wide, min(room, pitch * count) + 1), axis, Scale(ticks(0, 1), 0, 1))
    return plot, Rows(pitch, top, count, names, (left, left + wide))


def _strip_names(strips: Sequence[Strip], place: Rows, spec: ChartSpec) -> tuple[Label, ...]:
    high = spec.line_height_px
    labels = []
    for number, strip in enumerate(strips[: place.count]):
        text = shortened(strip.name, place.names_px, spec=spec)
        if text:
            top = place.middle_px(number) - high // 2
            labels.append(Label(text, (0, top, place.names_px, high), Align.LEFT))
    if rest := len(strips) - place.count:
        labels.append(_rest(rest, place, spec))
    return spread(labels, (), size=spec.size, gap_px=0)


def _rest(count: int, place: Rows, spec: ChartSpec) -> Label:
    """How many strips have no room, beside the axis under the last."""
    text = f"+{count}"
    top = place.top_px + place.count * place.pitch_px + 1
    return Label(text, (0, top, spec.text_px(text, Kind.AXIS), spec.line_height_px), Align.LEFT, Kind.AXIS)


def _foot(sketch: Sketch, plot: Plot, spec: ChartSpec) -> tuple[Label, ...]:
    step = time_step(plot.axis, spec)
    marks = time_marks(plot, spec, step=step, top_px=plot.bottom_px + row_top_px(spec))
    foot(sketch, plot, marks=marks, floor_px=plot.bottom_px - 1, day_row_px=day_row_px(step, spec))
    return marks.labels


def _columns(plot: Plot, state: State) -> tuple[int, int]:
    """First column of a state and the first after it, cut at the plot's sides."""
    return max(plot.x(state.start), plot.box[0]), min(plot.x(state.end), plot.right_px)


def _strip(
    sketch: Sketch, plot: Plot, where: tuple[Strip, int, int], *, style: Mapping[str, Fill], spec: ChartSpec
) -> tuple[list[tuple[Box, Fill]], list[Label]]:
    """The boxes of one strip and the names upon them; fine lines are drawn at once. ``where``: strip, top, height."""
    strip, top, tall = where
    placed, names = [], []
    for state in strip.states:
        left, right = _columns(plot, state)
        if left >= right:
            continue
        fill = style[state.text]
        if fill is _LINE:
            sketch.fill((left, top + tall - 1, right - left, 1))
            continue
        placed.append(((left, top, right - left, tall), fill))
        wide = (spec.text_px(state.text) + 1) // 2 * 2
        if wide + 8 <= right - left and spec.line_height_px <= tall + 2:
            middle = top + tall // 2 - spec.line_height_px // 2
            names.append(Label(state.text, ((left + right - wide) // 2, middle, wide, spec.line_height_px)))
    return placed, names


def _never_named(
    strips: Sequence[Strip], plot: Plot, styles: Sequence[Mapping[str, Fill]], spec: ChartSpec
) -> dict[str, Fill]:
    """The states, with their fills, that are shown, are no fine line, and have nowhere room for their name."""
    room: dict[str, int] = {}
    fill: dict[str, Fill] = {}
    for strip, style in zip(strips, styles, strict=True):
        for state in strip.states:
            left, right = _columns(plot, state)
            if left < right and style[state.text] is not _LINE:
                room[state.text] = max(room.get(state.text, 0), right - left)
                fill.setdefault(state.text, style[state.text])
    return {name: fill[name] for name, wide in room.items() if spec.text_px(name) + 8 > wide}
