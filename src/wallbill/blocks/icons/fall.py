"""What falls from a cloud in an icon: strokes of rain, crystals of snow, balls of hail, in even rows."""

from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.shapes import Box, Size
from wallbill.blocks.icons import parts
from wallbill.blocks.icons.sizes import Measures
from wallbill.facts.forecast import Falling, Strength, Weather
from wallbill.inks.impression import Mask

_STRENGTHS = tuple(Strength)

_Rows = tuple[tuple[float, ...], tuple[float, ...]]

_ONE_ROW: tuple[_Rows, ...] = (((0,), ()), ((-0.5, 0.5), ()), ((-1, 0, 1), ()))
_TWO_ROWS: tuple[_Rows, ...] = (((-0.5,), (0.5,)), ((-1, 1), (0,)), ((-1, 0, 1), (-0.5, 0.5)))
_LOW_ROOM: tuple[_Rows, ...] = (*_TWO_ROWS[:2], ((-1.5, 0.5), (-0.5, 1.5)))
_BESIDE_FLASH: tuple[_Rows, ...] = (((0,), ()), ((-0.5,), (0.5,)), ((-0.5, 0.5), (0,)))
"""Where things stand in the upper and the lower row, in steps from the middle, by strength."""


def fall(size: Size, weather: Weather, *, measures: Measures, room: Box) -> Mask:
    """All that falls, within ``room``: the more and the longer, the stronger; nothing where nothing falls."""
    level = _STRENGTHS.index(weather.strength)
    if weather.falling is Falling.NONE:
        return shapes.nothing(size)
    if weather.falling is Falling.SLEET:
        return _sleet(size, weather, level, measures=measures, room=room)
    if weather.falling in {Falling.RAIN, Falling.FREEZING_RAIN}:
        return _rain(size, weather, level, measures=measures, room=room)
    return _scattered(size, weather, level, measures=measures, room=room)


def _rain(size: Size, weather: Weather, level: int, *, measures: Measures, room: Box) -> Mask:
    """Slanting strokes in one row; freezing rain falls on a bar of ice."""
    left, top, width, height = room
    mask = shapes.nothing(size)
    if weather.falling is Falling.FREEZING_RAIN:
        ice = measures.size - measures.pen - 1
        height = ice - measures.fall - top + 1
        margin = 0 if weather.thunder else round(width * 0.1)
        mask |= shapes.rectangle(size, (left + margin, ice, width - 2 * margin, measures.pen))
    longest = _length(weather, level, measures=measures, height=height)
    wanted = level + (1 if weather.thunder else 2)
    count, pitch, length = _even(wanted, width=width, longest=longest, pen=measures.slant)
    lean = (length - 1) // 2
    spread = (count - 1) * pitch + measures.slant + lean
    first = left + (width - spread) // 2 + lean
    for number in range(count):
        mask |= parts.slanted(size, (first + number * pitch, top), length_px=length, pen_px=measures.slant)
    return mask


def _length(weather: Weather, level: int, *, measures: Measures, height: int) -> int:
    """Rows of a stroke; beside a flash, where few strokes fit, the heavier are always the longer.

    Light rain beside a flash is one stroke where the others are more, and thin strokes are always one, two and
    three: they need not be short as well.
    """
    alike = weather.thunder and (weather.falling is Falling.SLEET or (level == 1 and measures.pen > 1))
    room = height - 1 - (2 - level if alike else 0)
    least = 2 if weather.falling is Falling.SLEET else 1
    return max(least, min(measures.rain[level], room))


def _even(wanted: int, *, width: int, longest: int, pen: int) -> tuple[int, int, int]:
    """So many strokes of those ``wanted`` as fit into ``width`` and stand clear, their pitch and their length.

    They are cut by up to a quarter before one is left out, two by up to half before they become one.
    """
    least = 2 * pen - pen // 4
    for count in range(wanted, 1, -1):
        for length in range(longest, longest * (3 if count > 2 else 2) // 4 - 1, -1):
            most = (width - pen - (length - 1) // 2) // (count - 1)
            if most >= least:
                return count, min(most, max(least, round(width * 0.86 / count))), length
    return 1, 0, longest


def _sleet(size: Size, weather: Weather, level: int, *, measures: Measures, room: Box) -> Mask:
    """Strokes and crystals side by side in even gaps; in heavy sleet crystals outnumber the strokes.

    Where two rows of crystals fit, heavy sleet is two strokes about two crystals.
    """
    left, top, width, height = room
    radius = measures.flake
    while weather.thunder and radius > 1 and 2 * radius + 1 > width * 0.45:
        radius -= 1
    arm, tall = measures.arm_of(radius), 2 * radius + 1
    rows = 2 if height > 2 * tall else 1
    items = _SLEET[0 if weather.thunder else min(level, 3 - rows)]
    strokes = items.count("/")
    spare = width - (len(items) - strokes) * (tall + 1) - strokes * measures.slant
    length = min(
        _length(weather, level, measures=measures, height=height), max(2, 2 * (spare // strokes) + 2)
    )
    lean = (length - 1) // 2
    wide = [tall if item == "*" else measures.slant + lean for item in items]
    gap = max(1, min(round(width * 0.86 - sum(wide)) // max(1, len(items) - 1), tall))
    x = left + (width - sum(wide) - gap * (len(items) - 1)) // 2
    mask = shapes.nothing(size)
    for item, across in zip(items, wide, strict=True):
        if item == "/":
            mask |= parts.slanted(size, (x + lean, top), length_px=length, pen_px=measures.slant)
        else:
            for row in range(rows if level == 2 else 1):
                centre = (
                    x + radius + (1 - 2 * row) * measures.pen // 2,
                    top + radius + row * (tall + 1),
                )
                mask |= parts.flake(size, centre=centre, radius_px=radius, arm_px=arm)
        x += across + gap
    return mask


_SLEET = ("/*", "/*/", "*/*")
"""The order of strokes and crystals from the left, by strength."""


def _largest_flake(measures: Measures, *, width: int, height: int, beside: bool) -> int:
    """The radius of the largest crystal of which two rows fit; ``beside`` a flash, two side by side as well."""
    for radius in range(measures.flake, 1, -1):
        across = measures.flake_extent(radius)
        high, wide = (4 * radius + 1, 2 * across + 1) if beside else (3 * radius, 2 * radius + 2)
        if height >= high and width >= wide:
            return radius
    return 1


def _scattered(size: Size, weather: Weather, level: int, *, measures: Measures, room: Box) -> Mask:
    """Crystals, balls or short strokes in two rows, those of the second between those of the first."""
    left, top, width, height = room
    radius = _largest_flake(measures, width=width, height=height, beside=weather.thunder)
    arm = measures.arm_of(radius)
    tall = _across(weather.falling, radius, measures=measures)
    step = min(height - tall - 1, max(tall, round(height * 0.5)))
    rows, pitch = _TWO_ROWS[level], max(tall + 2, round(width * 0.3) // 2 * 2)
    if weather.thunder:
        across = measures.flake_extent(radius) if weather.falling is Falling.SNOW else tall
        rows, pitch = _BESIDE_FLASH[level], min(across + 2, width - across)
        if weather.falling is Falling.SNOW:
            step = max(step, min(height - tall - (1 if weather.fog else 0), tall + 1))
    elif step < 2:
        rows = _ONE_ROW[level]
    elif step < (tall - 1 if weather.falling is Falling.SNOW else tall) and level == 2:
        rows, pitch = _LOW_ROOM[level], min(tall + 1, (width - tall) // 3)
    middle = left + width // 2
    mask = shapes.nothing(size)
    for row, places in enumerate(rows):
        for place in places:
            x, y = middle + round(place * pitch), top + row * step
            if weather.thunder:
                x = max(left + tall // 2, min(x, left + width - tall + tall // 2))
            if weather.falling is Falling.SNOW:
                mask |= parts.flake(size, centre=(x, y + radius), radius_px=radius, arm_px=arm)
            else:
                mask |= _grain(size, weather.falling, measures=measures, top=(x, y))
    return mask


def _across(falling: Falling, radius: int, *, measures: Measures) -> int:
    """Rows or columns of one thing that falls, whichever is more; ``radius``: of a crystal."""
    return {
        Falling.SNOW: 2 * radius + 1,
        Falling.HAIL: measures.ball,
        Falling.ICE_PELLETS: parts.pellet_width(measures.ball),
    }.get(falling, measures.drizzle)


def _grain(size: Size, falling: Falling, *, measures: Measures, top: tuple[int, int]) -> Mask:
    """One ball of hail, grain of ice or short stroke of drizzle."""
    if falling is Falling.HAIL:
        return parts.ball(size, top=top, diameter_px=measures.ball)
    if falling is Falling.ICE_PELLETS:
        return parts.pellet(size, top=top, height_px=measures.ball)
    return parts.slanted(size, top, length_px=measures.drizzle, pen_px=measures.slant)
