"""The height profile of a track: metres above the sea along the way, with what was climbed."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

from wallbill.blocks.charts.ticks import Cover, Ticks, ticks
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import ACCENT, INK, MUTED
from wallbill.blocks.drawing.labels import Align, Kind, Label, clearest, spread
from wallbill.blocks.drawing.markup import Drawing, to_markup
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.patterns import Hatch
from wallbill.blocks.maps.canvas import Canvas
from wallbill.blocks.maps.clip import Edges, inside
from wallbill.blocks.maps.heights import Stretch, named_along, steep, stretches
from wallbill.blocks.maps.looks import pattern_of
from wallbill.blocks.maps.pen import edges_along
from wallbill.blocks.maps.profile_spec import ProfileSpec
from wallbill.blocks.maps.projection import Reals
from wallbill.errors import SheetError
from wallbill.facts.track import Track
from wallbill.inks.impression import Mask

_LEAST_RANGE_M = 50.0  # a level walk is drawn level
_TICK_LINES = 3  # lines of type between the labels of heights, at the least
_TICK_PX = 4
_AIR_PX = 6


def height_profile(track: Track, *, spec: ProfileSpec, palette: Palette) -> Markup:
    """The track's heights along the way.

    What was climbed and descended is counted by `wallbill.facts.track.Track.climb`. Raises `SheetError` for a track
    without heights.
    """
    return to_markup(profile_drawing(track, spec=spec, palette=palette), palette, label_px=spec.label_px)


@dataclass(frozen=True, slots=True)
class _Plot:
    """The part of the drawing that holds the profile: left, top, right and bottom in pixels, and what they stand for."""

    canvas: Canvas
    spec: ProfileSpec
    box: tuple[int, int, int, int]
    length_m: float
    low_m: float
    high_m: float

    def x_px(self, along_m: Reals | float) -> Reals:
        """Points across, for metres along the way."""
        left, _, right, _ = self.box
        return np.asarray(left + 0.5 + np.asarray(along_m) * ((right - left - 1) / self.length_m))

    def y_px(self, height_m: Reals | float) -> Reals:
        """Points down, for metres above the sea."""
        _, top, _, bottom = self.box
        share = (np.asarray(height_m) - self.low_m) / (self.high_m - self.low_m)
        return np.asarray(bottom - 0.5 - share * (bottom - top - 1))


def profile_drawing(track: Track, *, spec: ProfileSpec, palette: Palette) -> Drawing:
    """The drawing behind `height_profile`."""
    parts = stretches(track)
    if not parts or track.length_m <= 0:
        raise SheetError(
            f"the track {track.name!r} has no heights to draw",
            mend="Record it with heights, or show its map alone.",
        )
    levels = _levels(parts, spec)
    canvas = Canvas(spec.size, palette)
    plot = _plot(track, levels, canvas, spec=spec)
    rim = _draw_axes(plot, levels)
    _draw_areas(plot, parts)
    canvas.ground()
    lines = edges_along([(plot.x_px(one.along_m), plot.y_px(one.height_m)) for one in parts])
    canvas.line(lines, line_px=spec.line_px, code=ACCENT if palette.has_accent else INK, casing_px=0)
    canvas.fill((plot.box[0], plot.box[3] - 1, plot.box[2] - plot.box[0], 1))
    labels = _head(canvas, spec, track)
    labels += _label_ends(plot, parts=parts, taken=(*rim, *labels))
    if spec.names:
        labels += _names(plot, track=track, parts=parts, taken=(*rim, *labels))
    for label in labels:
        x, y, width, height = label.box
        canvas.clear((x - 1, y, width + 2, height))
    title = _told(track, spec) if spec.title == "" else spec.title
    return Drawing(canvas.grid(), (*rim, *labels), (), title, kind="wb-profile", greys=canvas.greys())


def _levels(parts: Sequence[Stretch], spec: ProfileSpec) -> Ticks:
    """Round heights that enclose all of them, in the unit of heights."""
    low = min(float(one.height_m.min()) for one in parts)
    high = max(float(one.height_m.max()) for one in parts)
    if high - low < _LEAST_RANGE_M:
        low, high = (low + high - _LEAST_RANGE_M) / 2, (low + high + _LEAST_RANGE_M) / 2
    room_px = spec.height_px - _above_px(spec) - spec.line_height_px
    count = max(2, room_px // (_TICK_LINES * spec.line_height_px))
    unit = spec.heights.metres
    return ticks(low / unit, high / unit, count=count, whole=True, cover=Cover.LOOSE)


def _above_px(spec: ProfileSpec) -> int:
    """Room over the profile, for the figures, the names and the label of the highest place."""
    rows = 1 + (spec.climb or spec.names) + (spec.names and spec.height_px >= 12 * spec.line_height_px)
    return rows * spec.line_height_px + _AIR_PX


def _plot(track: Track, levels: Ticks, canvas: Canvas, *, spec: ProfileSpec) -> _Plot:
    texts = [_height_text(value, levels, spec) for value in levels.values]
    left = max(spec.text_px(text, Kind.AXIS) for text in texts) + _AIR_PX
    box = (left, _above_px(spec), spec.width_px, spec.height_px - spec.line_height_px - _TICK_PX)
    unit = spec.heights.metres
    return _Plot(canvas, spec, box, track.length_m, levels.values[0] * unit, levels.values[-1] * unit)


def _height_text(value: float, levels: Ticks, spec: ProfileSpec) -> str:
    """A height of the axis; the highest has the unit."""
    text = spec.number(value, levels.decimals)
    return f"{text}\N{NO-BREAK SPACE}{spec.heights.value}" if value == levels.values[-1] else text


def _draw_axes(plot: _Plot, levels: Ticks) -> tuple[Label, ...]:
    """Dotted lines at round heights, ticks at round distances, and the labels of both."""
    canvas, spec = plot.canvas, plot.spec
    left, _, right, bottom = plot.box
    labels = []
    mask = shapes.nothing(spec.size)
    for value in levels.values:
        row = int(plot.y_px(value * spec.heights.metres))
        mask[row, left:right:3] = True
        text = _height_text(value, levels, spec)
        top = min(max(0, row - spec.line_height_px // 2), spec.height_px - spec.line_height_px)
        labels.append(Label(text, (0, top, left - _AIR_PX, spec.line_height_px), Align.RIGHT, Kind.AXIS))
    canvas.lay(mask, MUTED)
    far = plot.length_m / spec.scale.metres
    wide = spec.text_px(f"{spec.number(far, 1)} {spec.scale.value}", Kind.AXIS)
    marks = ticks(0, far, count=max(2, (right - left) // (2 * wide)), cover=Cover.INSIDE)
    for value in marks.values:
        x = int(plot.x_px(value * spec.scale.metres))
        canvas.fill((x, bottom, 1, _TICK_PX))
        text = spec.number(value, marks.decimals if value else 0)
        if value == marks.values[-1]:
            text += f"\N{NO-BREAK SPACE}{spec.scale.value}"
        labels.append(_below(text, x, plot))
    return spread(labels, (), size=spec.size, gap_px=_AIR_PX)


def _below(text: str, x: int, plot: _Plot) -> Label:
    """A label under the axis, its middle at ``x`` as far as the drawing has room."""
    spec = plot.spec
    wide = spec.text_px(text, Kind.AXIS)
    at = min(max(plot.box[0], x - wide // 2), spec.width_px - wide)
    return Label(text, (at, plot.box[3] + _TICK_PX, wide, spec.line_height_px), Align.CENTRE, Kind.AXIS)


def _draw_areas(plot: _Plot, parts: Sequence[Stretch]) -> None:
    """What lies under the line: filled, and otherwise where it is steep."""
    spec = plot.spec
    for part in parts:
        gentle = np.ones(max(0, len(part.along_m) - 1), dtype=np.bool_)
        if spec.steep_percent > 0:
            gentle = ~steep(part, percent=spec.steep_percent)
        for which, area in ((gentle, spec.area), (~gentle, spec.steep_area)):
            pattern = pattern_of(area)
            if pattern is not None and which.any():
                _fill_under(plot, part, which, pattern=pattern)


def _fill_under(plot: _Plot, part: Stretch, which: Mask, *, pattern: Hatch) -> None:
    """Fills the strips below some steps of the line, down to the axis."""
    left, _, right, _ = plot.box  # from edge to edge, so that rounding decides about no column
    x, y = left + part.along_m * ((right - left) / plot.length_m), plot.y_px(part.height_m)
    begins = np.flatnonzero(which & ~np.concatenate([[False], which[:-1]]))
    ends = np.flatnonzero(which & ~np.concatenate([which[1:], [False]])) + 1
    sides = np.concatenate([begins, ends])  # a run of strips has one side on its left and one on its right
    edges = Edges(
        np.concatenate([x[:-1][which], x[sides]]),
        np.concatenate([y[:-1][which], y[sides]]),
        np.concatenate([x[1:][which], x[sides]]),
        np.concatenate([y[1:][which], np.full(len(sides), float(plot.box[3]))]),
    )
    plot.canvas.tint(inside(edges, plot.canvas.size), pattern)


def _label_ends(plot: _Plot, *, parts: Sequence[Stretch], taken: Sequence[Label]) -> tuple[Label, ...]:
    """A dot and the height at the highest place and at the lowest."""
    canvas, spec = plot.canvas, plot.spec
    highest = max(parts, key=lambda one: float(one.height_m.max()))
    lowest = min(parts, key=lambda one: float(one.height_m.min()))
    labels: list[Label] = []
    ends = [(highest, int(np.argmax(highest.height_m))), (lowest, int(np.argmin(lowest.height_m)))]
    if float(highest.height_m.max()) == float(lowest.height_m.min()):
        ends.pop()  # on the level one height tells both
    for part, at in ends:
        x, y = int(plot.x_px(part.along_m[at])), int(plot.y_px(part.height_m[at]))
        text = spec.told(float(part.height_m[at]) / spec.heights.metres, spec.heights.value)
        wide, high = spec.text_px(text), spec.line_height_px
        canvas.disc((x + 0.5, y + 0.5), across_px=2 * spec.line_px + 3)
        choices = [Label(text, (a, b, wide, high)) for a, b in _beside((x, y), plot, wide=wide)]
        best = clearest(choices, (*taken, *labels), drawn=canvas.busy)
        if best is not None:
            labels.append(best)
    return tuple(labels)


def _beside(at: tuple[int, int], plot: _Plot, *, wide: int) -> Iterator[tuple[int, int]]:
    """Left top corners for a label by a point of the line: above, above to a side, further up, and below the line."""
    spec = plot.spec
    x, y = at
    reach, high = spec.line_px + 3, spec.line_height_px
    for top in (y - reach - high, y - reach - 2 * high, y + reach, plot.box[3] - high - 1):
        if top >= 0 and top + high < plot.box[3]:
            for left in (x - wide // 2, x + 2, x - wide - 1):
                yield min(max(plot.box[0] + 2, left), spec.width_px - wide), top


def _head(canvas: Canvas, spec: ProfileSpec, track: Track) -> tuple[Label, ...]:
    """What was climbed and descended, in the right top corner, behind a triangle that points up or down."""
    if not spec.climb:
        return ()
    labels: list[Label] = []
    right, high = spec.width_px, spec.line_height_px
    side = high // 2 // 2 * 2 + 1
    for metres, up in ((track.descent_m, False), (track.climb_m, True)):
        text = spec.told((metres or 0) / spec.heights.metres, spec.heights.value)
        wide = spec.text_px(text)
        left, top = right - wide - side - spec.label_px // 4, (high - (side + 1) // 2) // 2
        if left < 0:
            return tuple(labels)
        labels.append(Label(text, (right - wide, 0, wide, high), Align.RIGHT))
        for row in range((side + 1) // 2):
            inset = (side - 1) // 2 - row if up else row
            canvas.fill((left + inset, top + row, side - 2 * inset, 1))
        right = left - spec.label_px
    return (*labels, *_key(canvas, spec, right_px=right))


def _key(canvas: Canvas, spec: ProfileSpec, *, right_px: int) -> tuple[Label, ...]:
    """What the area of steep parts means, if they are told apart."""
    pattern = pattern_of(spec.steep_area)
    if spec.steep_percent <= 0 or pattern is None:
        return ()
    high, side = spec.line_height_px, spec.line_height_px * 3 // 4
    text = f"> {spec.number(spec.steep_percent, 0)}\N{NO-BREAK SPACE}%"
    wide = spec.text_px(text)
    left, top = right_px - wide - side * 5 // 4 - spec.label_px // 4, (high - side) // 2
    box = (left, top, side * 5 // 4, side)
    if left < 0:
        return ()
    canvas.tint(shapes.rectangle(spec.size, box), pattern)
    canvas.lay(shapes.frame(spec.size, box))
    return (Label(text, (right_px - wide, 0, wide, high), Align.RIGHT),)


def _names(
    plot: _Plot, *, track: Track, parts: Sequence[Stretch], taken: Sequence[Label]
) -> tuple[Label, ...]:
    """The places on the way, in rows over the profile, each with a fine line down to it."""
    canvas, spec = plot.canvas, plot.spec
    along = np.concatenate([one.along_m for one in parts])
    height = np.concatenate([one.height_m for one in parts])
    found: list[Label] = []
    rows = max(1, (plot.box[1] - _AIR_PX) // spec.line_height_px - 1)
    for name, at_m in named_along(track):
        x, y = int(plot.x_px(at_m)), int(plot.y_px(float(np.interp(at_m, along, height))))
        wide = spec.text_px(name)
        for row in reversed(range(rows)):
            left = min(max(plot.box[0], x - wide // 2), spec.width_px - wide)
            label = Label(name, (left, row * spec.line_height_px, wide, spec.line_height_px))
            kept = spread([label], (*taken, *found), size=spec.size, gap_px=_AIR_PX)
            if kept:
                foot = label.box[1] + label.box[3]
                canvas.fill((x, foot, 1, max(0, y - foot)))
                canvas.disc((x + 0.5, y + 0.5), across_px=2 * spec.line_px + 3)
                found += kept
                break
    return tuple(found)


def _told(track: Track, spec: ProfileSpec) -> str:
    """The figures of a profile: name, way, climb, descent, highest and lowest place."""
    unit, sign = spec.heights.metres, spec.heights.value
    figures = [spec.told(track.length_m / spec.scale.metres, spec.scale.value, 1)]
    figures.append(f"+{spec.told((track.climb_m or 0) / unit, sign)}")
    figures.append(f"\N{MINUS SIGN}{spec.told((track.descent_m or 0) / unit, sign)}")
    figures.append(
        f"{spec.number((track.lowest_m or 0) / unit, 0)}–{spec.told((track.highest_m or 0) / unit, sign)}"
    )
    return ", ".join([track.name, *figures] if track.name else figures)
