"""What falls from a cloud in an icon: strokes of rain, crystals of snow, balls of hail, in even rows."""

from wallbill.blocks import icon_parts as parts
from wallbill.blocks import shapes
from wallbill.blocks.icon_sizes import Measures
from wallbill.blocks.shapes import Box, Size
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
    length = min(measures.rain[level], height - 1)
    mask = shapes.nothing(size)
    if weather.falling is Falling.FREEZING_RAIN:
        ice = measures.size - measures.pen - 1
        length = min(length, ice - measures.fall - top)
        margin = 0 if weather.thunder else round(width * 0.1)
        mask |= shapes.rectangle(size, (left + margin, ice, width - 2 * margin, measures.pen))
    lean = (length - 1) // 2
    count, pitch = _even(level + (1 if weather.thunder else 2), width=width, lean=lean, pen=measures.pen)
    spread = (count - 1) * pitch + measures.pen + lean
    first = left + (width - spread) // 2 + lean
    for number in range(count):
        mask |= parts.slanted(size, (first + number * pitch, top), length_px=length, pen_px=measures.pen)
    return mask


def _even(count: int, *, width: int, lean: int, pen: int) -> tuple[int, int]:
    """So many strokes of ``count`` as fit into ``width`` with a clear pen's width between, and their pitch."""
    for fitting in range(count, 1, -1):
        pitch = min(round(width * 0.86 / fitting), (width - pen - lean) // (fitting - 1))
        if pitch >= 2 * pen:
            return fitting, pitch
    return 1, 0


def _sleet(size: Size, weather: Weather, level: int, *, measures: Measures, room: Box) -> Mask:
    """Strokes and crystals side by side in even gaps; in heavy sleet crystals outnumber the strokes.

    Where two rows of crystals fit, heavy sleet is two strokes about two crystals.
    """
    left, top, width, height = room
    length = min(measures.rain[level], height - 1)
    lean, tall = (length - 1) // 2, 2 * measures.flake + 1
    rows = 2 if height > 2 * tall else 1
    items = _SLEET[0 if weather.thunder else min(level, 3 - rows)]
    wide = [tall if item == "*" else measures.pen + lean for item in items]
    gap = max(1, min(round(width * 0.86 - sum(wide)) // max(1, len(items) - 1), tall))
    x = left + (width - sum(wide) - gap * (len(items) - 1)) // 2
    mask = shapes.nothing(size)
    for item, across in zip(items, wide, strict=True):
        if item == "/":
            mask |= parts.slanted(size, (x + lean, top), length_px=length, pen_px=measures.pen)
        else:
            for row in range(rows if level == 2 else 1):
                centre = (
                    x + measures.flake + (1 - 2 * row) * measures.pen // 2,
                    top + measures.flake + row * (tall + 1),
                )
                mask |= parts.flake(size, centre=centre, radius_px=measures.flake, arm_px=measures.arm)
        x += across + gap
    return mask


_SLEET = ("/*", "/*/", "*/*")
"""The order of strokes and crystals from the left, by strength."""


def _scattered(size: Size, weather: Weather, level: int, *, measures: Measures, room: Box) -> Mask:
    """Crystals, balls or short strokes in two rows, those of the second between those of the first."""
    left, top, width, height = room
    radius = measures.flake
    side_by_side = 2 if weather.thunder else 1  # heavy snow has two between the edge and a flash
    while radius > 1 and (height < 3 * radius or width < side_by_side * (2 * radius + 1) + 1):
        radius -= 1
    tall = {Falling.SNOW: 2 * radius + 1, Falling.HAIL: measures.ball}.get(weather.falling, measures.drizzle)
    step = min(height - tall - 1, max(tall, round(height * 0.5)))
    rows, pitch = _TWO_ROWS[level], max(tall + 2, round(width * 0.3) // 2 * 2)
    if weather.thunder:
        rows, pitch = _BESIDE_FLASH[level], min(tall + 2, width - tall)
    elif step < 2:
        rows = _ONE_ROW[level]
    elif step < tall - 1 and level == 2:
        rows, pitch = _LOW_ROOM[level], min(tall + 1, (width - tall) // 3)
    middle = left + width // 2
    mask = shapes.nothing(size)
    for row, places in enumerate(rows):
        for place in places:
            x, y = middle + round(place * pitch), top + row * step
            if weather.falling is Falling.SNOW:
                mask |= parts.flake(size, centre=(x, y + radius), radius_px=radius, arm_px=measures.arm)
            elif weather.falling is Falling.HAIL:
                mask |= parts.ball(size, top=(x, y), diameter_px=measures.ball)
            else:
                mask |= parts.slanted(size, (x, y), length_px=measures.drizzle, pen_px=measures.pen)
    return mask
