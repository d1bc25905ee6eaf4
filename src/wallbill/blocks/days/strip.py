"""A strip of light: night, twilights and day of a local day or of any stretch of hours, with sun, moon and marks."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache
from types import MappingProxyType

from markupsafe import Markup

from wallbill.blocks.charts.timeaxis import Step, Tick, TimeAxis
from wallbill.blocks.days.heavens import Heavens, Light
from wallbill.blocks.days.look import Look
from wallbill.blocks.days.type import Composed, Role, Text, composed_markup, spread
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import NOTHING, PAPER, Grid, Sketch
from wallbill.blocks.drawing.labels import Align
from wallbill.blocks.drawing.markup import Tint
from wallbill.blocks.drawing.patterns import Hatch
from wallbill.blocks.icons.moon import moon_grid
from wallbill.blocks.icons.weather import icon_grid
from wallbill.facts.forecast import Forecast, Weather

TINTS = MappingProxyType(
    {
        Light.CIVIL: Hatch.DOTS_12,
        Light.NAUTICAL: Hatch.DOTS_25,
        Light.ASTRONOMICAL: Hatch.CHECKS_50,
        Light.NIGHT: Hatch.DOTS_75,
    }
)
"""The screen of each light, darker with every step; full day is the paper."""

_GAP_PX = 4
_TICK_PX = 4
_LEAST_BAND_PX = 10
_ICON_SIZES_PX = (64, 48, 32, 24, 16)


@dataclass(frozen=True, slots=True)
class Mark:
    """Something worth a mark on the strip, such as high water; ``text`` stands beside its time."""

    at: datetime
    text: str = ""


@dataclass(frozen=True, slots=True)
class DayStrip:
    """What a strip shows besides light. ``moon_phase``: at its middle, 0 to 1, None leaves the moon out.

    ``south``: the moon as it is seen from the southern half of the earth.
    """

    heavens: Heavens
    moon_phase: float | None = None
    south: bool = False
    forecast: Forecast | None = None
    marks: tuple[Mark, ...] = ()


@dataclass(frozen=True, slots=True)
class _Rows:
    """Top and height of each part; a height of 0 for one that finds no room."""

    icons: tuple[int, int]
    suns: tuple[int, int]
    band: tuple[int, int]
    hours: tuple[int, int]
    moon: tuple[int, int]
    marks: tuple[int, int]


@dataclass(frozen=True, slots=True)
class _Stage:
    """Where things go: the sketch, its rows, and the column of every moment."""

    look: Look
    rows: _Rows
    axis: TimeAxis
    left_px: int

    def x(self, moment: datetime) -> int:
        return self.left_px + self.axis.x_px(moment)

    @property
    def right_px(self) -> int:
        """The first column right of the band."""
        return self.left_px + self.axis.width_px


def day_strip(strip: DayStrip, *, look: Look) -> Markup:
    """The strip as HTML: darker screens for darker hours, sunrise, sunset and solar noon with their times.

    Below stand the hours, the moon's time above the horizon with its phase, and the marks that are given; above,
    if a forecast is given, its weather. What finds no room in the height is left out, the moon first of these.
    """
    return composed_markup(strip_composed(strip, look=look), look.palette)


def strip_composed(strip: DayStrip, *, look: Look) -> Composed:
    """What is behind `day_strip`."""
    pad_px = (look.text_px(look.hour(datetime(2000, 1, 1, 20, tzinfo=UTC))) + 3) // 2
    heavens = strip.heavens
    wide = max(2, look.width_px - 2 * pad_px)
    stage = _Stage(
        look, _rows(strip, look), TimeAxis(heavens.start, heavens.end, look.wording.zone, wide), pad_px
    )
    sketch = Sketch(*look.size)
    tints = _band(sketch, stage, heavens)
    texts = (
        *_hours(sketch, stage),
        *_suns(sketch, stage, heavens),
        *_moon(sketch, stage, strip),
        *_marks(sketch, stage, strip.marks),
    )
    _icons(sketch, stage, strip)
    _now(sketch, stage)
    return Composed(sketch.grid(), texts, tints, look.title or _words(strip, look))


def _arrow_px(look: Look) -> int:
    """Height of the small triangles of sunrise and sunset."""
    return max(5, look.label_px * 3 // 10)


def _rows(strip: DayStrip, look: Look) -> _Rows:
    line = look.line_height_px
    least_px = max(_LEAST_BAND_PX, look.height_px // 6)
    left = look.height_px - least_px
    heights = {}
    wanted = (
        ("hours", _TICK_PX + line, True),
        ("suns", line + _arrow_px(look) + 2, True),
        ("icons", 0, _has_weather(strip)),
        ("marks", line + 2, bool(strip.marks)),
        ("moon", max(line, 18) + 2 * look.pen_px, strip.moon_phase is not None),
    )
    for name, needed, asked in wanted:
        high = needed
        if name == "icons":
            high = _icon_px(left // 2) + 2 if asked and left // 2 >= 18 else 0
        heights[name] = high if asked and high <= left else 0
        left -= heights[name]
    order = ("icons", "suns", "band", "hours", "moon", "marks")
    heights["band"] = left + least_px
    top, placed = 0, {}
    for name in order:
        placed[name] = (top, heights[name])
        top += heights[name]
    return _Rows(**placed)


def _has_weather(strip: DayStrip) -> bool:
    start, end = strip.heavens.start, strip.heavens.end
    return strip.forecast is not None and any(
        hour.weather is not None and hour.valid_to > start and hour.valid_from < end
        for hour in strip.forecast.hours
    )


def _icon_px(room_px: int) -> int:
    return next((size for size in _ICON_SIZES_PX if size <= room_px), 0)


def _band(sketch: Sketch, stage: _Stage, heavens: Heavens) -> tuple[Tint, ...]:
    """The screens of the lights in a frame, with an upright line where the sun rises or sets."""
    top, high = stage.rows.band
    tints = []
    for light, pattern in TINTS.items():
        area = shapes.nothing(sketch.size)
        for lit in heavens.lights:
            if lit.light is light:
                left, right = stage.x(lit.start), stage.x(lit.end)
                area[top + 1 : top + high - 1, left:right] = True
        if area.any():
            tints.append(Tint(area, pattern))
    left, wide = stage.left_px, stage.axis.width_px
    for edge in (
        (left, top, wide, 1),
        (left, top + high - 1, wide, 1),
        (left, top, 1, high),
        (left + wide - 1, top, 1, high),
    ):
        sketch.fill(edge)
    for sun in heavens.suns:
        sketch.fill((stage.x(sun.at), top, 1, high))
    return tuple(tints)


def _hours(sketch: Sketch, stage: _Stage) -> tuple[Text, ...]:
    top, high = stage.rows.hours
    if not high:
        return ()
    look = stage.look
    widest = max(look.text_px(look.hour(datetime(2000, 1, 1, hour, tzinfo=UTC))) for hour in (9, 12, 20, 22))
    step = max(stage.axis.step(round(widest + 1.6 * look.label_px)), Step.HOUR, key=lambda one: one.usual_s)
    texts: list[Text] = []
    several = len(stage.axis.days()) > 1
    hourly = stage.axis.ticks(Step.HOUR) if step.within_day else ()
    for tick in _at_steps(hourly, step) if hourly else stage.axis.ticks(step):
        long = _TICK_PX + 2 if tick.starts_day else _TICK_PX
        sketch.fill((stage.x(tick.at), top, 1, long))
        names_day = not step.within_day or (several and tick.starts_day)
        text = look.wording.date(tick.local, "EEEd") if names_day else look.hour(tick.local)
        at = (stage.x(tick.at), top + _TICK_PX)
        texts.append(_centred(text, at, look=look, role=Role.STRONG if names_day else Role.AXIS))
    fine = max(stage.axis.step(6), Step.HOUR, key=lambda one: one.usual_s)
    for tick in _at_steps(hourly, fine) if fine.within_day else ():
        sketch.fill((stage.x(tick.at), top, 1, 2))
    texts.sort(key=lambda text: text.role is not Role.STRONG)  # names of days go first where room is short
    return spread(texts, (), size=look.size, gap_px=3)


def _at_steps(hourly: Sequence[Tick], step: Step) -> list[Tick]:
    """Those of the hours that a step of hours marks; above an hour, one that comes twice is marked once."""
    hours = step.usual_s // Step.HOUR.usual_s
    return [tick for tick in hourly if tick.local.hour % hours == 0 and (hours == 1 or not tick.local.fold)]


def _centred(text: str, at: tuple[int, int], *, look: Look, role: Role = Role.LABEL) -> Text:
    """A text in an even box about the column ``at[0]``, moved in where it would leave the block."""
    wide = (look.text_px(text, role=role) + 1) // 2 * 2
    left = min(max(0, at[0] - wide // 2), max(0, look.width_px - wide))
    return Text(text, (left, at[1], wide, look.line_height_px), look.label_px, Align.CENTRE, role)


def _suns(sketch: Sketch, stage: _Stage, heavens: Heavens) -> tuple[Text, ...]:
    """Times of sunrise and sunset over small triangles that point up and down, and of noon over a small sun."""
    top, high = stage.rows.suns
    if not high:
        return ()
    look, floor = stage.look, top + high - 1
    tall = _arrow_px(look)
    texts = []
    for sun in heavens.suns:
        x = stage.x(sun.at)
        _triangle(sketch, (x, floor - tall), tall_px=tall, upwards=sun.upwards, code=look.accent)
        texts.append(_centred(look.wording.time(sun.at), (x, top), look=look, role=Role.STRONG))
    for noon in heavens.noons:
        x = stage.x(noon)
        texts.append(_centred(look.wording.time(noon), (x, top), look=look))
        across = tall // 2 * 2 + 1
        disc = shapes.disc((across, across), (across / 2, across / 2), radius_px=across / 2)
        sketch.put(disc, look.accent, at=(x - across // 2, floor - tall))
    return spread(texts, (), size=look.size, gap_px=6)


def _triangle(sketch: Sketch, at: tuple[int, int], *, tall_px: int, upwards: bool, code: int) -> None:
    """A triangle whose middle is the column ``at[0]``, from the row ``at[1]`` down; twice as wide as high."""
    for row in range(tall_px):
        half = row if upwards else tall_px - 1 - row
        sketch.fill((at[0] - half, at[1] + row, 2 * half + 1, 1), code)


def _moon(sketch: Sketch, stage: _Stage, strip: DayStrip) -> tuple[Text, ...]:
    """A heavy line while the moon is up, its times at the ends, and its phase in the longest stretch."""
    top, high = stage.rows.moon
    if not high or strip.moon_phase is None:
        return ()
    look, middle = stage.look, top + high // 2
    pen = look.pen_px
    texts: list[Text] = []
    for start, end in strip.heavens.moon_up:
        left, right = stage.x(start), stage.x(end)
        sketch.fill((left, middle - pen, right - left + pen, 1 + pen))
    for moon in strip.heavens.moons:
        texts += _moon_time(sketch, stage, moon.at, upwards=moon.upwards)
    longest = max(strip.heavens.moon_up, key=lambda up: up[1] - up[0], default=None)
    across = min(high, look.line_height_px + 6) // 2 * 2
    if longest is None or across < 8:
        return spread(texts, (), size=look.size, gap_px=2)
    left = (stage.x(longest[0]) + stage.x(longest[1])) // 2 - across // 2
    left = min(max(left, 0), look.width_px - across)
    sketch.fill((left - 3, top, across + 6, high), NOTHING)
    sketch.stamp(
        moon_grid(strip.moon_phase, size_px=across, south=strip.south), at=(left, top + (high - across) // 2)
    )
    icon = Text("", (left - 3, top, across + 6, high), look.label_px)
    return spread(texts, (icon,), size=look.size, gap_px=2)


def _moon_time(sketch: Sketch, stage: _Stage, at: datetime, *, upwards: bool) -> list[Text]:
    """The time of moonrise before its line, or of moonset behind it; a short upright stroke ends the line."""
    top, high = stage.rows.moon
    look, x = stage.look, stage.x(at)
    sketch.fill((x, top + high // 2 - 4 * look.pen_px, 1 + look.pen_px, 8 * look.pen_px))
    text = look.wording.time(at)
    wide = look.text_px(text)
    left = x - _GAP_PX - wide if upwards else x + 1 + look.pen_px + _GAP_PX
    box = (left, top + (high - look.line_height_px) // 2, wide, look.line_height_px)
    return [Text(text, box, look.label_px, Align.RIGHT if upwards else Align.LEFT)]


def _marks(sketch: Sketch, stage: _Stage, marks: Sequence[Mark]) -> tuple[Text, ...]:
    """A small lozenge for each mark with its time and text beside it, shorter where room is short."""
    top, high = stage.rows.marks
    look = stage.look
    if not high:
        return ()
    placed: tuple[Text, ...] = ()
    shown = sorted((m for m in marks if stage.axis.start <= m.at <= stage.axis.end), key=lambda m: m.at)
    half_px = max(4, look.label_px // 4)
    lozenges = tuple(
        Text("", (stage.x(mark.at) - half_px, top, 2 * half_px + 1, high), look.label_px) for mark in shown
    )
    for number, mark in enumerate(shown):
        x, middle = stage.x(mark.at), top + high // 2
        for row in range(-half_px, half_px + 1):
            half = half_px - abs(row)
            sketch.fill((x - half, middle + row, 2 * half + 1, 1), look.accent)
        others = (*lozenges[:number], *lozenges[number + 1 :])
        placed += _mark_text(stage, mark, (*placed, *others), half_px=half_px)
    return placed


def _mark_text(stage: _Stage, mark: Mark, taken: Sequence[Text], *, half_px: int) -> tuple[Text, ...]:
    look = stage.look
    top, high = stage.rows.marks
    time = look.wording.time(mark.at)
    for text in dict.fromkeys((f"{time} {mark.text}".strip(), mark.text or time, time)):
        wide = look.text_px(text)
        row = top + (high - look.line_height_px) // 2
        for left, align in (
            (stage.x(mark.at) + half_px + _GAP_PX, Align.LEFT),
            (stage.x(mark.at) - half_px - _GAP_PX + 1 - wide, Align.RIGHT),
        ):
            found = spread(
                [Text(text, (left, row, wide, look.line_height_px), look.label_px, align)],
                taken, size=look.size, gap_px=4,
            )  # fmt: skip
            if found:
                return found
    return ()


@lru_cache(maxsize=256)
def _icon(weather: Weather, size_px: int, *, is_day: bool, solid: bool) -> Grid:
    """The weather's drawing, kept: a strip shows few different ones and the next strip much the same."""
    return icon_grid(weather, size_px=size_px, is_day=is_day, solid=solid)


def _icons(sketch: Sketch, stage: _Stage, strip: DayStrip) -> None:
    """The weather at even steps along the strip, by day or night as it is then."""
    top, high = stage.rows.icons
    if not high or strip.forecast is None:
        return
    size_px = high - 2
    step = max(stage.axis.step(round(size_px * 1.4)), Step.HOURS_2, key=lambda one: one.usual_s)
    last = -size_px
    for tick in stage.axis.ticks(step):
        hour = strip.forecast.at(tick.at)
        left = stage.x(tick.at) - size_px // 2
        if hour is None or hour.weather is None or left < 0 or left + size_px > stage.look.width_px:
            continue
        if left < last + size_px + 2:
            continue
        is_day = any(
            lit.light is Light.DAY and lit.start <= tick.at < lit.end for lit in strip.heavens.lights
        )
        grid = _icon(hour.weather, size_px, is_day=is_day, solid=stage.look.palette.has_accent)
        sketch.stamp(grid, at=(left, top))
        last = left


def _now(sketch: Sketch, stage: _Stage) -> None:
    """An upright stroke through the band with a clear rim, so that it shows on every screen."""
    now = stage.look.now
    if now is None or not stage.axis.start <= now <= stage.axis.end:
        return
    top, high = stage.rows.band
    x = stage.x(now)
    pen = stage.look.pen_px
    sketch.fill((x - 3 * pen, top, 6 * pen + 1, high), PAPER)
    sketch.fill(
        (x - pen, max(0, top - 3 * pen), 2 * pen + 1, high + 6 * pen),
        stage.look.accent,
    )


def _words(strip: DayStrip, look: Look) -> str:
    """The text alternative where the sheet gives none: the date, and the times under the signs of sun and moon."""
    wording = look.wording
    parts = [wording.date(strip.heavens.start, "full")]
    for sign, crossings in (("☀", strip.heavens.suns), ("☾", strip.heavens.moons)):
        times = [f"{'↑' if one.upwards else '↓'}{wording.time(one.at)}" for one in crossings]
        if times:
            parts.append(f"{sign} {' '.join(times)}")
    return ", ".join(parts)
