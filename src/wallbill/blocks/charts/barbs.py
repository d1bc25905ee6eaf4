"""Wind barbs as a station plot has them, drawn on whole pixels: one alone, and a row over time.

The staff points to where the wind comes from. A half barb stands for 5 knots, a whole one for 10, a pennant for 50,
by the speed rounded to the nearest 5 knots; 0 to 2 knots is calm, a ring about the station. Barbs stand on the side
of lower pressure: clockwise of the staff in the northern hemisphere, the other side in the southern. Directions are
those of the compass of 36 points, ten degrees apart.
Source: US National Weather Service, "Wind Speed & Direction" of a station plot (weather.gov/hfo/windbarbinfo); the
side of the barbs from memory of the WMO's Manual on the Global Data-processing and Forecasting System.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache
from itertools import pairwise
from statistics import median

import numpy as np
from markupsafe import Markup

from wallbill.blocks.asked import check_direction, check_size
from wallbill.blocks.charts.frames import finish
from wallbill.blocks.charts.lines import nothing_known
from wallbill.blocks.charts.marks import foot, night_tint, now_mark
from wallbill.blocks.charts.plot import (
    Plot,
    Scale,
    day_row_px,
    foot_px,
    row_top_px,
    time_axis,
    time_marks,
    time_step,
)
from wallbill.blocks.charts.readings import Span
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.charts.telling import spans_told, told
from wallbill.blocks.charts.ticks import ticks
from wallbill.blocks.charts.timeaxis import Step
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import INK, NOTHING, Grid, Sketch
from wallbill.blocks.drawing.markup import Drawing, to_markup
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.shapes import Point
from wallbill.blocks.drawing.svg import to_svg
from wallbill.blocks.icons.wind import compass_point
from wallbill.errors import SheetError
from wallbill.units.quantity import Quantity

LEAST_PX = 24
MOST_KN = 200  # stronger than any wind at the ground: 220 kn were measured once, in a cyclone (from memory)

_ABOUT_A_DAY_S = 20 * 3600  # a day of 23 hours counts, half a day does not
_LEAN = (
    1 / math.sqrt(5),
    2 / math.sqrt(5),
)  # of a barb: along the staff to its tip, and away from it, 63 degrees
_REACH = 0.95  # of the drawing's side: as far as anything in it reaches, in every direction
_STAFF = 0.74  # of the drawing's side: as much as has room in every direction
_BARB = 0.42  # of the staff: judged by eye
_SPACING = 0.18  # of the staff, from barb to barb where there are few
_MARKED = 0.86  # of the staff may carry barbs
_CLOSE_PX = 3.4  # barbs nearer than this are of one pixel, or they would run together
_PENNANT = 1.3  # spacings that a pennant takes, and as many to the barb after it as makes a clear gap


@dataclass(frozen=True, slots=True)
class Feathers:
    """What a speed is shown by: ``pennants`` of 50 knots, ``whole`` barbs of 10, ``half`` ones of 5."""

    pennants: int
    whole: int
    half: int

    @property
    def calm(self) -> bool:
        """Whether there is nothing to show."""
        return self.pennants + self.whole + self.half == 0


@dataclass(frozen=True, slots=True)
class Wind:
    """The wind from ``start`` up to ``end`` (aware); ``from_deg``: where it comes from, degrees clockwise from north.

    None: not known. A calm wind needs no direction.
    """

    start: datetime
    end: datetime
    speed: Quantity | None
    from_deg: float | None


def feathers(speed_kn: float) -> Feathers:
    """Pennants, whole and half barbs of a speed in knots, rounded to the nearest 5, halves up.

    Raises `SheetError` for a speed that is negative, above 200 knots, or no number.
    """
    if not 0 <= speed_kn <= MOST_KN:
        raise SheetError(
            f"a wind blows with 0 to {MOST_KN} knots, got {speed_kn:g}",
            mend="Hand it the wind_speed of an hour, or a number of knots.",
        )
    fives = math.floor(speed_kn / 5 + 0.5)
    pennants, rest = divmod(fives, 10)
    return Feathers(pennants, *divmod(rest, 2))


def wind_barb(
    speed: Quantity | float, from_deg: float | None, *, size_px: int, palette: Palette, southern: bool = False
) -> Markup:
    """A wind barb as inline SVG, ``size_px`` square.

    ``speed``: a quantity, or a number of knots. ``from_deg``: where the wind comes from, to the nearest ten degrees;
    None only for a calm. ``southern``: barbs stand on the other side. The text alternative is in English.
    Raises `SheetError` for a size below 24, a direction that is no number, or a speed that no wind has.
    """
    speed_kn = knots(speed)
    words = (
        "calm" if feathers(speed_kn).calm else f"{round(speed_kn)} knots from {compass_point(from_deg or 0)}"
    )
    return to_svg(barb_grid(speed_kn, from_deg, size_px=size_px, southern=southern), palette, title=words)


def knots(speed: Quantity | float) -> float:
    """A speed in knots, to a thousandth; a bare number is one already. `WallbillError` for another kind of quantity."""
    return round(speed.to("kn").value, 3) if isinstance(speed, Quantity) else float(speed)


def barb_grid(speed_kn: float, from_deg: float | None, *, size_px: int, southern: bool = False) -> Grid:
    """The same drawing as ink codes.

    Nine directions of a quarter are drawn, the others are their turns; southern barbs are mirror images.
    """
    check_size(size_px, least_px=LEAST_PX, what="a wind barb")
    shown = feathers(speed_kn)
    if shown.calm:
        return _calm(size_px)
    check_direction(from_deg)
    tens = math.floor((from_deg or 0.0) % 360 / 10 + 0.5) % 36
    if southern:
        return barb_grid(speed_kn, (36 - tens) * 10 % 360, size_px=size_px).mirrored()
    quarters, rest = divmod(tens, 9)
    return _drawn(shown, rest, size_px).turned(quarters)


@lru_cache(maxsize=1024)
def _drawn(shown: Feathers, tens: int, size_px: int) -> Grid:
    """Barbs for a wind from ``tens`` times ten degrees, below ninety."""
    size, staff = (size_px, size_px), _STAFF * size_px
    line_px = max(2, round(size_px / 22))
    at = _placed(size_px, tens, line_px=line_px)
    mask = shapes.disc(size, at(0, 0), radius_px=_dot_px(size_px))
    mask |= shapes.stroke(size, [at(0, 0), at(staff, 0)], line_px=line_px)
    place, spacing = _spacing(shown, staff)
    fine_px = 1 if spacing < _CLOSE_PX else max(2, round(size_px / 26))
    for _ in range(shown.pennants):
        tip = _end(at, place, _BARB * staff)
        mask |= shapes.polygon(size, [at(place, 0), tip, at(place - _PENNANT * spacing, 0)])
        mask |= shapes.stroke(size, [at(place, 0), tip], line_px=fine_px)
        place -= _PENNANT * spacing
    place -= spacing * 0.5 if shown.pennants else 0
    for length in [1.0] * shown.whole + [0.55] * shown.half:
        ends = [at(place, 0), _end(at, place, length * _BARB * staff)]
        mask |= shapes.line(size, [(math.floor(x), math.floor(y)) for x, y in ends], line_px=fine_px)
        place -= spacing
    return Sketch(*size).lay(mask, INK).grid()


_Placed = Callable[[float, float], Point]
"""From pixels along the staff, from the station on, and away from it on the barbs' side, to a point."""


def _placed(size_px: int, tens: int, *, line_px: int) -> _Placed:
    """Where things lie for a wind from that direction.

    The middle of all that may be drawn lies in the middle of the drawing, the station so that an upright staff covers
    whole pixels.
    """
    angle = math.radians(10 * tens)
    along, aside = (math.sin(angle), -math.cos(angle)), (math.cos(angle), math.sin(angle))
    staff, dot = _STAFF * size_px, _dot_px(size_px)
    up = (staff * (1 + _BARB * _LEAN[0]) - dot) / 2
    out = (staff * _BARB * _LEAN[1] - dot) / 2
    snap = 0.5 if line_px % 2 else 0.0
    x, y = (
        math.floor(size_px / 2 - up * a - out * b + 0.5) + snap for a, b in zip(along, aside, strict=True)
    )

    def at(far: float, off: float) -> Point:
        return x + far * along[0] + off * aside[0], y + far * along[1] + off * aside[1]

    return at


def _end(at: _Placed, place: float, length: float) -> Point:
    """The free end of a barb that stands at a place on the staff."""
    return at(place + length * _LEAN[0], length * _LEAN[1])


def _dot_px(size_px: int) -> float:
    """Radius of the station."""
    return max(2.0, math.floor(size_px / 12 + 0.5) / 2 + 0.5)


def _spacing(shown: Feathers, staff_px: float) -> tuple[float, float]:
    """Where on the staff the outermost barb stands, from the station, and how far the next is from it, pixels."""
    alone = shown.half and not shown.whole and not shown.pennants
    units = shown.pennants * _PENNANT + (0.5 if shown.pennants else 0) + shown.whole + shown.half
    spacing = min(_SPACING, _MARKED / units) * staff_px
    return (staff_px - spacing if alone else staff_px), spacing


@lru_cache(maxsize=64)
def _calm(size_px: int) -> Grid:
    """A dot in a ring: no wind."""
    size, middle = (size_px, size_px), size_px / 2
    line_px = max(2, round(size_px / 22))
    ring = shapes.ring(
        size, (middle, middle), radius_px=math.floor(size_px * 0.3) + middle % 1, line_px=line_px
    )
    dot = shapes.disc(size, (middle, middle), radius_px=math.floor(_dot_px(size_px)) + middle % 1)
    return Sketch(*size).lay(ring | dot, INK).grid()


def wind_barbs(winds: Sequence[Wind], *, spec: ChartSpec, southern: bool = False) -> Markup:
    """Barbs over time, as large as the height allows and as many as have room, each at its moment."""
    return to_markup(barbs_drawing(winds, spec=spec, southern=southern), spec.palette, label_px=spec.label_px)


def barbs_drawing(winds: Sequence[Wind], *, spec: ChartSpec, southern: bool = False) -> Drawing:
    """The drawing behind `wind_barbs`. Raises `SheetError` where the height leaves no room for a barb."""
    known = [wind.speed for wind in winds if wind.speed is not None and _shown_kn(wind) is not None]
    if not known:
        return nothing_known(spec)
    shown = (min(wind.start for wind in winds), max(wind.end for wind in winds))
    top = 6 if spec.now else 0
    rough = time_axis(shown, spec, width_px=max(2, spec.width_px - spec.label_px))
    room = spec.height_px - top - foot_px(time_step(rough, spec), spec) - 2
    side = min(room, 64) // 2 * 2
    if side < LEAST_PX:
        least = spec.height_px + LEAST_PX - side
        raise SheetError(
            f"a row of wind barbs of {LEAST_PX} pixels needs more height than {spec.height_px}",
            mend=f"Write height_px={least} or more, or a smaller label_px.",
        )
    wide = max(16, spec.width_px - side)
    axis = time_axis(shown, spec, width_px=wide)
    plot = Plot((side // 2, top, wide, side + 3), axis, Scale(ticks(0, 1), 0, 1))
    sketch = Sketch(*spec.size)
    step = time_step(axis, spec)
    marks = time_marks(plot, spec, step=step, top_px=plot.bottom_px + row_top_px(spec))
    floor = plot.bottom_px - 1
    foot(sketch, plot, marks=replace(marks, midnights=()), floor_px=floor, day_row_px=day_row_px(step, spec))
    begin, high = day_row_px(step, spec)
    for midnight in marks.midnights:
        sketch.fill((plot.x(midnight), floor + begin, 1, high))
    now_mark(sketch, plot, now=spec.now, floor_px=floor)
    for x, wind in _chosen(plot, winds, side, step=step):
        if (speed_kn := _shown_kn(wind)) is not None:
            grid = barb_grid(speed_kn, wind.from_deg, size_px=side, southern=southern)
            clear = shapes.grown(np.pad(grid.drawn(), 1), 1)
            sketch.put(clear, NOTHING, at=(x - side // 2 - 1, top - 1)).stamp(grid, at=(x - side // 2, top))
    nights = night_tint(plot, spec, floor_px=floor)
    strengths = [
        Span(one.start, one.end, one.speed.value) for one in winds if one.speed and _shown_kn(one) is not None
    ]
    title = told(spec, [spans_told(strengths, known[0].unit, spec=spec)])
    return finish(sketch, marks.labels, tints=nights, spec=spec, title=title)


def _shown_kn(wind: Wind) -> float | None:
    """The speed of a wind that a barb can show; None for a gap, and for what no wind is."""
    speed_kn = knots(wind.speed) if wind.speed is not None else math.nan
    if not 0 <= speed_kn <= MOST_KN:
        return None
    known = wind.from_deg is not None and math.isfinite(wind.from_deg)
    return speed_kn if known or feathers(speed_kn).calm else None


def _chosen(plot: Plot, winds: Sequence[Wind], side_px: int, *, step: Step) -> list[tuple[int, Wind]]:
    """The winds, each with its column, at marks of the axis so far apart that barbs do not touch.

    Winds of a day or more stand in the middle of their days; a step of days takes round hours between its marks.
    """
    usual_s = median((wind.end - wind.start).total_seconds() for wind in winds)
    if usual_s >= _ABOUT_A_DAY_S:
        every = [((plot.x(wind.start) + plot.x(wind.end)) // 2, wind) for wind in winds]
        every = [(x, wind) for x, wind in every if plot.box[0] <= x < plot.right_px]
    else:
        marks = plot.axis.ticks(step if step.within_day else plot.axis.step(side_px + 2))
        there = [
            (tick, next((one for one in winds if one.start <= tick.at < one.end), None)) for tick in marks
        ]
        every = [(plot.x(tick.at), wind) for tick, wind in there if wind is not None]
        places = [plot.x(tick.at) for tick in marks]
        apart = min((b - a for a, b in pairwise(places)), default=side_px)
        kept = set(places[:: max(1, math.ceil(_REACH * side_px / max(apart, 1)))])
        every = [(x, wind) for x, wind in every if x in kept]
    found: list[tuple[int, Wind]] = []
    for x, wind in every:
        if not found or x - found[-1][0] >= _REACH * side_px:
            found.append((x, wind))
    return found
