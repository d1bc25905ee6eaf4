"""The scale bar of a map, and round lengths."""

import math
from collections.abc import Sequence

from wallbill.blocks.drawing.grid import INK, PAPER
from wallbill.blocks.drawing.labels import Align, Kind, Label, clearest
from wallbill.blocks.maps.canvas import Canvas
from wallbill.blocks.maps.spec import MapSpec, Measure
from wallbill.blocks.maps.view import View

_EDGE_PX = 10  # from the scale bar to the map's edge
_WIDEST = 0.25  # of the map


def round_length(most: float) -> float:
    """The largest 1, 2 or 5 times a power of ten that is not above ``most`` (above zero)."""
    power = 10.0 ** math.floor(math.log10(most))
    return next((share * power for share in (5, 2, 1) if share * power <= most), power)


def draw_scale_bar(canvas: Canvas, view: View, *, spec: MapSpec, taken: Sequence[Label]) -> tuple[Label, ...]:
    """A bar of a round length in the corner where it covers the least; true in the middle of the map.

    A map of the world has none.
    """
    if spec.scale is Measure.NONE or view.whole:
        return ()
    unit_px = spec.scale.metres / view.metres_per_px()
    length = round_length(spec.width_px * _WIDEST / unit_px)
    bar_px = round(length * unit_px)
    text = spec.scale_label(length, spec.scale.value)
    text_px = spec.text_px(text, Kind.AXIS)
    wide, high = max(bar_px + 1, text_px + 3), spec.line_height_px + 8
    left, right = _EDGE_PX, spec.width_px - _EDGE_PX - wide
    top, bottom = _EDGE_PX - 4, spec.height_px - _EDGE_PX - high
    spots = ((left, bottom), (right, bottom), (left, top), (right, top))
    choices = [Label(text, (x, y, wide, high), Align.LEFT, Kind.AXIS) for x, y in spots]
    best = clearest(choices, taken, drawn=canvas.busy | canvas.faint)
    if best is None:
        return ()
    x, y, _, _ = best.box
    floor = y + high - 2
    if canvas.smooth:
        canvas.clear((x - 4, y - 2, wide + 8, high + 4))  # an even grey lets it be read without a box
    else:
        canvas.fill((x - 4, y - 2, wide + 8, high + 4), PAPER)
    canvas.fill((x, floor - 1, bar_px + 1, 2), INK)
    for end in (x, x + bar_px):
        canvas.fill((end, floor - 6, 1, 7), INK)
    return (Label(text, (x + 3, y, text_px, spec.line_height_px), Align.LEFT, Kind.AXIS),)
