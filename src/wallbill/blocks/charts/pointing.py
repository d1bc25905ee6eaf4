"""Labels that point at data: values beside marked readings, names at the ends of lines. None ever hides data."""

from collections.abc import Sequence
from dataclasses import replace

from wallbill.blocks.charts.marks import line_styles, thin_line
from wallbill.blocks.charts.plot import GAP_PX, Plot, centred, reach_px, row_top_px
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import Sketch
from wallbill.blocks.drawing.labels import Align, Label, clearest, stacked
from wallbill.blocks.drawing.shapes import Pixel
from wallbill.inks.impression import Mask

LEADER_PX = 12
"""Room for the leaders from the ends of lines to names that had to move."""

_MOVED = 3  # a name that moved by less than a third of its height needs no leader
_FURTHER = (0.5, 1.0, 1.5, 2.0)  # heights of a label by which it may stand off its reading


def extreme_labels(
    sketch: Sketch,
    ends: Sequence[tuple[str, Pixel, bool]],
    *,
    spec: ChartSpec,
    taken: Sequence[Label],
    floor_px: int | None = None,
) -> tuple[Label, ...]:
    """Labels for marked points (text, pixel, whether above), each where it covers the least of the drawing.

    None covers data, if the sketch knows where that begins; a label without such a place is left out. One that had to
    move away from its point gets a fine leader. ``floor_px``: the row of the axis, below which none may reach.
    """
    found: list[Label] = []
    drawn, data = sketch.solid(), sketch.data()
    for text, at, above in ends:
        near, others = beside(text, at, spec=spec, above=above), (*taken, *found)
        label = clearest(_over(near, floor_px), others, drawn=drawn, never=data)
        if label is None and data is not None:
            label = clearest(_over(_further(near), floor_px), others, drawn=drawn, never=data)
            if label is not None and not _lead(sketch, at, label, spec=spec, data=data):
                label = None
        if label is not None:
            found.append(label)
    return tuple(found)


def beside(text: str, at: Pixel, *, spec: ChartSpec, above: bool) -> tuple[Label, ...]:
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


def _over(places: Sequence[Label], floor_px: int | None) -> Sequence[Label]:
    """The places above the axis; letters end a little above the end of their box."""
    if floor_px is None:
        return places
    return [place for place in places if place.box[1] + place.box[3] <= floor_px + 2]


def _further(near: Sequence[Label]) -> tuple[Label, ...]:
    """The same places moved away, first up and down on the wanted side, then on the other."""
    over, under = near[0], near[7]
    places = []
    for share in _FURTHER:
        for label in (over, under):
            left, top, wide, high = label.box
            away = round(share * high) * (1 if label.box[1] > near[5].box[1] else -1)
            places += [
                replace(label, box=(left + aside, top + away, wide, high))
                for aside in (0, wide // 2, -wide // 2, wide, -wide)
            ]
    return tuple(places)


def _lead(sketch: Sketch, at: Pixel, label: Label, *, spec: ChartSpec, data: Mask) -> bool:
    """Draws a fine line from a marked point to the nearest edge of its label; not, and False, if it would cross data."""
    left, top, wide, high = label.box
    below = top > at[1]
    end = (
        min(max(at[0], left + 2), left + wide - 3),
        top + high // 6 if below else top + high - high // 6 - 1,
    )
    begin = at[1] + (reach_px(spec) if below else -reach_px(spec))
    ends = [(at[0], begin), end]
    if (begin < end[1]) != below:
        return True  # so near that no line is needed
    if (shapes.line(sketch.size, ends) & data).any():
        return False
    thin_line(sketch, ends)
    return True


def end_labels(
    sketch: Sketch,
    plot: Plot,
    ends: Sequence[tuple[str, Pixel]],
    *,
    spec: ChartSpec,
    taken: Sequence[Label] = (),
) -> tuple[Label, ...]:
    """The name of each line right of the plot at the height of its end; where names would meet, with leaders to them.

    ``ends``: name and last pixel of each line. ``taken``: labels that stand already, of which names keep clear above.
    """
    height = spec.line_height_px
    past = line_styles(spec, count=1)[0].marker_px // 2
    left = plot.right_px + past + 2
    room = spec.width_px - left
    told = [(spec.shortened(name, room - LEADER_PX), at) for name, at in ends]
    ends = [(name, at) for name, at in told if name]
    wanted = [Label(name, (left, at[1] - height // 2, room, height), Align.LEFT) for name, at in ends]
    floor = min(plot.bottom_px + row_top_px(spec), spec.height_px)
    over = [label.box for label in taken if label.box[0] + label.box[2] > left and label.box[1] < plot.box[1]]
    found = stacked(wanted, top_px=max((box[1] + box[3] for box in over), default=0), bottom_px=floor)
    if all(abs(a.box[1] - b.box[1]) <= height // _MOVED for a, b in zip(found, wanted, strict=False)):
        return found
    moved = []
    for label, (_, at) in zip(found, ends, strict=False):
        x, top, wide, high = label.box
        thin_line(sketch, [(x, at[1]), (x + LEADER_PX - 4, top + high // 2)])
        moved.append(replace(label, box=(x + LEADER_PX, top, wide - LEADER_PX, high)))
    return tuple(moved)
