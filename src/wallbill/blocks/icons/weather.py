"""Weather icons, composed from what the sky does: cloud, sun or moon, what falls and how strongly, thunder, fog.

Each icon is a `Grid` of whole pixels, drawn for its size by `wallbill.blocks.icons.sizes`.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import partial
from types import MappingProxyType

from markupsafe import Markup

from wallbill.blocks.asked import check_phase, check_size
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import ACCENT, INK, PAPER, Grid, Sketch
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.shapes import Point
from wallbill.blocks.drawing.svg import to_svg
from wallbill.blocks.icons import air, parts
from wallbill.blocks.icons.fall import fall
from wallbill.blocks.icons.moon import phase_masks
from wallbill.blocks.icons.sizes import SIZES, Cloud, Measures
from wallbill.blocks.icons.words import Cover, Described, at_foot, cover, describe, leading
from wallbill.facts.forecast import Falling, Phenomenon, Weather
from wallbill.inks.impression import Mask

__all__ = ["Described", "describe", "icon", "icon_grid"]


def icon(
    weather: Weather,
    *,
    size_px: int,
    is_day: bool = True,
    palette: Palette,
    moon_phase: float | None = None,
) -> Markup:
    """The weather's picture as inline SVG, ``size_px`` square, with a text alternative in English.

    The drawings are made for 16, 24, 32, 48, 64, 96, 128 and 160 pixels; a size between takes the next smaller
    one in the middle of its box, a larger one the whole multiple of 96, 128 or 160 that fills it best.
    ``moon_phase``: 0 new, 0.25 first quarter, 0.5 full, up to 1: the moon of a night is drawn in that phase;
    None draws a crescent. Raises `SheetError` for a size below 16 or a phase outside 0 to 1.
    """
    grid = icon_grid(weather, size_px=size_px, is_day=is_day, moon_phase=moon_phase, solid=palette.has_accent)
    return to_svg(grid, palette, title=describe(weather, is_day).words)


def icon_grid(
    weather: Weather,
    *,
    size_px: int,
    is_day: bool = True,
    moon_phase: float | None = None,
    solid: bool = False,
) -> Grid:
    """The same picture as ink codes. ``solid``: the sun is a filled disc, for where it has an ink of its own."""
    if moon_phase is not None:
        check_phase(moon_phase)
    measures, times = fitting(size_px)
    light = _Light(is_day=is_day, moon_phase=moon_phase, solid=solid)
    drawing = _drawing(weather, measures, light)
    return drawing.enlarged(times).placed((size_px, size_px))


def fitting(size_px: int) -> tuple[Measures, int]:
    """The drawing for a box of ``size_px``, and how often every one of its pixels is repeated.

    Up to the largest drawing it is the next smaller one as it is; above, the one whose whole multiple fills the
    box best. Raises `SheetError` below 16 or above 8192 pixels.
    """
    check_size(size_px, least_px=min(SIZES), what="an icon")
    if size_px < max(SIZES):
        return SIZES[max(size for size in SIZES if size <= size_px)], 1
    best = max(
        (size for size in SIZES if size >= _LEAST_ENLARGED), key=lambda size: (size_px // size * size, size)
    )
    return SIZES[best], size_px // best


_LEAST_ENLARGED = 96
"""Smaller drawings are too coarse to be shown with larger pixels."""


@dataclass(frozen=True, slots=True)
class _Light:
    """What stands in the sky: the sun, a disc of its own ink where ``solid``, or the moon."""

    is_day: bool
    moon_phase: float | None
    solid: bool

    def draw(self, sketch: Sketch, measures: Measures, *, front: Mask, large: bool, centre: Point) -> None:
        """Draws it around ``centre``; rays that would be cut by ``front`` are left out."""
        if not self.is_day:
            radius = measures.moon if large else measures.veiled
            self._draw_moon(sketch, centre, radius=radius, pen=measures.pen)
            return
        shape, pen = (measures.sun if large else measures.behind), measures.pen
        code = ACCENT if self.solid else INK
        full = self.solid or (measures.solid and not large)
        for ray in parts.sun_rays(sketch.size, shape, centre=centre, pen_px=pen):
            if not (ray & front).any():
                sketch.lay(ray, code)
        disc = shapes.disc(sketch.size, centre, radius_px=shape.radius)
        hollow = shapes.disc(sketch.size, centre, radius_px=0 if full else shape.radius - pen)
        sketch.lay(disc & ~hollow, code)

    def _draw_moon(self, sketch: Sketch, centre: Point, *, radius: float, pen: int) -> None:
        if self.moon_phase is None:
            sketch.lay(parts.crescent(sketch.size, centre=centre, radius_px=radius))
            return
        dark, lit = phase_masks(sketch.size, self.moon_phase, centre=centre, radius_px=radius, line_px=pen)
        sketch.lay(lit, PAPER).lay(dark, INK)


def _drawing(weather: Weather, measures: Measures, light: _Light) -> Grid:
    """The picture at the size that it is drawn for."""
    sketch = Sketch(measures.size, measures.size)
    shown = leading(weather)
    if shown is not Phenomenon.NONE:
        _phenomenon(sketch, measures, weather=weather, light=light)
    elif weather.falling is not Falling.NONE or weather.thunder:
        _falling(sketch, measures, weather=weather, light=light)
    elif weather.fog:
        sketch.lay(parts.fog(sketch.size, pitch_px=measures.fog, pen_px=measures.pen))
    else:
        _dry(sketch, measures, covered=cover(weather), light=light)
    return sketch.grid()


def _phenomenon(sketch: Sketch, measures: Measures, *, weather: Weather, light: _Light) -> None:
    """What the air does, where that is what the picture is about."""
    shown = leading(weather)
    if shown in {Phenomenon.MIST, Phenomenon.HAZE}:
        _veiled(sketch, measures, weather=weather, light=light)
    elif shown in {Phenomenon.HOT, Phenomenon.COLD}:
        sketch.lay(air.thermometer(measures, hot=shown is Phenomenon.HOT))
        if shown is Phenomenon.COLD:
            sketch.lay(air.crystal(measures))
        else:
            reach = measures.behind.reach
            centre = (measures.size - reach - measures.pen % 2, reach + measures.size // 12)
            replace(light, is_day=True).draw(
                sketch, measures, front=shapes.nothing(sketch.size), large=False, centre=centre
            )
    elif shown in {Phenomenon.SQUALL, Phenomenon.FUNNEL}:
        room = _cloud_above(sketch, measures, weather=Weather(cloud=1, fog=True), light=light)
        below = air.funnel if shown is Phenomenon.FUNNEL else air.streaks
        sketch.lay(below(measures, room=room))
    elif shown is Phenomenon.DISTANT_LIGHTNING:
        sketch.lay(air.distant_lightning(measures), ACCENT).lay(air.horizon(measures))
    else:
        sketch.lay(_ALONE[shown](measures))


_ALONE: Mapping[Phenomenon, Callable[[Measures], Mask]] = MappingProxyType(
    {
        Phenomenon.GALE: air.gale,
        Phenomenon.DUST: partial(air.dust, dense=False),
        Phenomenon.SANDSTORM: partial(air.dust, dense=True),
        Phenomenon.BLOWING_SNOW: air.blowing_snow,
        Phenomenon.SMOKE: air.smoke,
        Phenomenon.ASH: air.ash,
        Phenomenon.FREEZING_FOG: air.freezing_fog,
        Phenomenon.DIAMOND_DUST: air.diamond_dust,
    }
)
"""Pictures that show neither cloud nor sun."""


def _veiled(sketch: Sketch, measures: Measures, *, weather: Weather, light: _Light) -> None:
    """Sun, moon or cloud above two banks of mist, or above two rows of grains where it is haze."""
    foot = measures.size - measures.low_fog - measures.pen
    if weather.phenomenon is Phenomenon.MIST:
        low = parts.low_fog(sketch.size, pitch_px=measures.low_fog, pen_px=measures.pen, ice=False)
    else:
        low = air.grains(sketch.size, measures=measures)
    if cover(weather) in {Cover.CLOUDY, Cover.OVERCAST}:
        left = (measures.size - measures.medium.width) // 2
        _cloud(sketch, measures, measures.medium, at=(left, foot - measures.casing - measures.pen))
    else:
        odd = (measures.behind.radius * 2) % 2 / 2 if light.is_day else 0
        centre = (measures.size // 2 - odd, (foot - measures.casing) // 2 + odd)
        light.draw(sketch, measures, front=low, large=False, centre=centre)
    sketch.lay(low)


def _dry(sketch: Sketch, measures: Measures, *, covered: Cover, light: _Light) -> None:
    """A sky that nothing falls from, from clear to overcast."""
    size, base = measures.size, measures.base_dry
    no_front = shapes.nothing(sketch.size)
    reach = measures.sun.reach if light.is_day else measures.moon
    if covered is Cover.CLEAR:
        middle = size / 2 - (measures.pen % 2) / 2 if light.is_day else size / 2
        light.draw(sketch, measures, front=no_front, large=True, centre=(middle, middle))
    elif covered is Cover.FAIR:
        front = _cased(sketch, measures, measures.small, at=(0, base))
        light.draw(sketch, measures, front=front, large=True, centre=(size - reach, reach + size // 24))
        _cloud(sketch, measures, measures.small, at=(0, base))
    elif covered is Cover.PARTLY:
        _broken(sketch, measures, light=light, showers=False)
    else:
        left = (size - measures.large.width) // 2
        if covered is Cover.OVERCAST:
            behind = (size - measures.small.width, base - measures.stagger)
            _cloud(sketch, measures, measures.small, at=behind)
            _cloud(sketch, measures, measures.medium, at=(0, base))
        else:
            _cloud(sketch, measures, measures.large, at=(left, base))


def _falling(sketch: Sketch, measures: Measures, *, weather: Weather, light: _Light) -> None:
    """A cloud with what falls from it, a flash where it thunders, and fog below; fog hides the sun or moon."""
    room = _cloud_above(sketch, measures, weather=weather, light=light)
    if weather.fog or at_foot(weather):
        room, weather = _into_fog(sketch, measures, weather=weather, room=room)
    if not weather.thunder:
        sketch.lay(fall(sketch.size, weather, measures=measures, room=room))
        return
    flash, beside = _flash(measures, room, weather=weather)
    sketch.lay(fall(sketch.size, weather, measures=measures, room=beside))
    sketch.erase(shapes.grown(flash, measures.casing)).lay(flash, ACCENT)


def _cloud_above(sketch: Sketch, measures: Measures, *, weather: Weather, light: _Light) -> shapes.Box:
    """Draws the cloud that something falls from, and gives the room below it."""
    foot = weather.fog or bool(at_foot(weather))
    shape = measures.medium if foot or weather.showers else measures.large
    left, base = (measures.size - shape.width) // 2, measures.base_foggy if foot else measures.base_wet
    if weather.showers and not foot:
        left, base = 0, measures.base_showers
        _broken(sketch, measures, light=light, showers=True)
    else:
        _cloud(sketch, measures, shape, at=(left, base))
    return left, base + measures.fall, shape.width, measures.size - base - measures.fall


def _into_fog(
    sketch: Sketch, measures: Measures, *, weather: Weather, room: shapes.Box
) -> tuple[shapes.Box, Weather]:
    """Draws two banks of fog, or what else drives along the ground, and gives the room that is left.

    Also gives what falls there as if it were fog: its ice is drawn.
    """
    left, top, width, _ = room
    foot = at_foot(weather)
    ice = weather.falling is Falling.FREEZING_RAIN and not foot
    if foot == "wind":
        sketch.lay(air.low_wind(sketch.size, measures=measures))
    elif foot == "dust":
        sketch.lay(air.grains(sketch.size, measures=measures))
    else:
        sketch.lay(parts.low_fog(sketch.size, pitch_px=measures.low_fog, pen_px=measures.pen, ice=ice))
    weather = replace(weather, fog=True)
    bottom = measures.size - measures.low_fog - measures.pen - measures.fall + 1
    return (left, top, width, bottom - top), replace(weather, falling=Falling.RAIN) if ice else weather


def _flash(measures: Measures, room: shapes.Box, *, weather: Weather) -> tuple[Mask, shapes.Box]:
    """A flash that starts in the cloud, and the room that it leaves to its left for what falls."""
    left, top, width, height = room
    across = measures.bolt * 7 // 12
    from_right = measures.strike if weather.fog or weather.showers else measures.bolt // 4
    alone = weather.falling is Falling.NONE
    x = left + (width - across) // 2 if alone else left + width - across - from_right
    above_fog = measures.low_fog + measures.pen + measures.casing
    y = measures.size - measures.bolt - (above_fog if weather.fog else 1)
    flash = parts.bolt((measures.size, measures.size), top=(x, y), height_px=measures.bolt)
    return flash, (left, top, x - left - measures.casing, height)


def _broken(sketch: Sketch, measures: Measures, *, light: _Light, showers: bool) -> None:
    """A cloud with the sun or moon behind it."""
    base = measures.base_showers if showers else measures.base_dry
    lift = measures.lift_showers if showers else measures.lift_dry
    front = _cased(sketch, measures, measures.medium, at=(0, base))
    reach = measures.behind.reach if light.is_day else measures.veiled
    light.draw(sketch, measures, front=front, large=False, centre=(measures.size - reach, base - lift))
    _cloud(sketch, measures, measures.medium, at=(0, base))


def _cloud(sketch: Sketch, measures: Measures, shape: Cloud, *, at: Point) -> None:
    """A cloud's outline, with everything behind it and its casing taken away."""
    whole = parts.cloud(sketch.size, shape, at=at)
    sketch.erase(_cased(sketch, measures, shape, at=at))
    sketch.lay(whole & ~parts.cloud(sketch.size, shape, at=at, inset_px=measures.pen))


def _cased(sketch: Sketch, measures: Measures, shape: Cloud, *, at: Point) -> Mask:
    """A cloud's area with its casing."""
    return shapes.grown(parts.cloud(sketch.size, shape, at=at), measures.casing)
