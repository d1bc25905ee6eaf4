"""What the air does or carries, as parts of weather icons: dust, smoke, driven snow, squalls, heat and cold.

Each is drawn on the board of 24 units with the strokes of its size. What stands below a cloud keeps to the room that it
is given.
"""

from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.shapes import Box, Size
from wallbill.blocks.icons import parts
from wallbill.blocks.icons.signs_draft import Draft, joined
from wallbill.blocks.icons.sizes import Measures
from wallbill.inks.impression import Mask


def board(measures: Measures) -> Draft:
    """The drawing board of an icon's size."""
    return Draft(measures.size, measures.pen)


def gale(measures: Measures) -> Mask:
    """Three long streaks of wind, each of them curling."""
    draft = board(measures)
    upper = draft.arc(14, 6, radius_units=4, span_deg=(-75, 180)) | draft.line((1.5, 10), (14, 10))
    lower = draft.arc(12, 19, radius_units=3.2, span_deg=(0, 240)) | draft.line((4, 15.8), (12, 15.8))
    middle = draft.arc(19, 10, radius_units=3, span_deg=(-60, 180)) | draft.line((1.5, 13), (19, 13))
    if measures.size < _ROOM_FOR_THREE_PX:
        middle = draft.nothing()
        lower = draft.arc(16, 18, radius_units=3.5, span_deg=(0, 250)) | draft.line((3, 14.5), (16, 14.5))
    return joined([upper, middle, lower])


_ROOM_FOR_THREE_PX = 32


def dust(measures: Measures, *, dense: bool) -> Mask:
    """Wind that carries grains; many, and a second streak, where it is a storm of them."""
    draft = board(measures)
    streak = draft.arc(17, 6, radius_units=4, span_deg=(-75, 180)) | draft.line((1.5, 10), (17, 10))
    grains: list[tuple[float, float]] = [
        (4, 4.5),
        (11, 4.5),
        (3, 15.5),
        (9.5, 15.5),
        (16, 15.5),
        (6, 21),
        (12.5, 21),
        (19, 21),
    ]
    if dense:
        streak |= draft.line((2, 15), (8, 15)) | draft.line((13, 15), (22, 15))
        grains = [(2, 5), (7, 5), (12, 5), (2, 20), (7, 20), (12, 20), (17, 20), (22, 20)]
    return joined([streak, *(draft.dot(x, y, pens=1.5 if measures.pen > 2 else 1) for x, y in grains)])


def blowing_snow(measures: Measures) -> Mask:
    """Wind that carries crystals."""
    draft = board(measures)
    streak = draft.arc(17, 6, radius_units=4, span_deg=(-75, 180)) | draft.line((1.5, 10), (17, 10))
    mask = streak | draft.line((1.5, 14), (11, 14))
    radius = measures.flake
    arm = measures.arm_of(radius)
    size = measures.size
    for x, y in ((3.5, 4.5), (17.5, 17), (6.5, 20)):
        px, py = draft.at(x, y)
        across = min(int(px), size - radius - 1)
        down = min(int(py), size - radius - 1)
        mask |= parts.flake(
            draft.size, centre=(max(radius, across), max(radius, down)), radius_px=radius, arm_px=arm
        )
    return mask


def smoke(measures: Measures) -> Mask:
    """Three wisps that rise and waver."""
    draft = board(measures)
    wisps = [
        draft.bend((x, 21), (x - 2.4, 17), (x, 13), (x + 2.4, 9), (x, top))
        for x, top in ((5, 6), (12, 3), (19, 6))
    ]
    return joined(wisps)


def ash(measures: Measures) -> Mask:
    """A volcano with its cloud."""
    draft = board(measures)
    cloud = joined(
        [
            draft.disc(8, 6, radius_units=2.4),
            draft.disc(13, 4.5, radius_units=2.8),
            draft.disc(16.5, 7, radius_units=1.8),
        ]
    )
    cone = draft.line((2, 22), (9, 12), (15, 12), (22, 22), closed=True)
    return joined([cloud | draft.box(8, 6, right=16, bottom=7), cone])


def freezing_fog(measures: Measures) -> Mask:
    """Three banks of fog, and crystals below them."""
    size, radius = (measures.size, measures.size), measures.flake
    arm = measures.arm_of(radius)
    extent = measures.flake_extent(radius)
    banks = parts.fog(size, pitch_px=measures.fog, pen_px=measures.pen)
    rows = shapes.rectangle(size, (0, 0, measures.size, _after_third_bank(measures)))
    mask = banks & rows
    foot = min(measures.size - 1, _after_third_bank(measures) + 3 * measures.pen // 2 + extent)
    step = (measures.size - extent) // 3
    for number in (-1, 0, 1):
        centre = (measures.size // 2 + number * step, foot - extent + radius)
        mask |= parts.flake(size, centre=centre, radius_px=radius, arm_px=arm)
    return mask


def _after_third_bank(measures: Measures) -> int:
    """The first row below the third bank of fog."""
    top = (measures.size - 4 * measures.fog - measures.pen) // 2
    return top + 2 * measures.fog + measures.pen


def diamond_dust(measures: Measures) -> Mask:
    """Sparkles in clear air, large and small."""
    draft = board(measures)
    mask = draft.nothing()
    for x, y, reach in ((7, 8, 5), (17, 15, 5), (18, 4, 2.4), (5, 19, 2.4)):
        mask |= draft.line((x - reach, y), (x + reach, y)) | draft.line((x, y - reach), (x, y + reach))
        if reach > _LARGE_SPARKLE and measures.size >= _ROOM_FOR_THREE_PX:
            mask |= draft.area((x - 2, y), (x, y - 2), (x + 2, y), (x, y + 2))
    return mask


_LARGE_SPARKLE = 4


def distant_lightning(measures: Measures) -> Mask:
    """A flash without a cloud, drawn above the horizon by `horizon`."""
    size = (measures.size, measures.size)
    height = measures.bolt
    left = (measures.size - measures.bolt * 7 // 12) // 2
    top = measures.size - height - 3 * measures.pen - measures.size // 8
    return parts.bolt(size, top=(left, top), height_px=height)


def horizon(measures: Measures) -> Mask:
    """A level bar near the foot, with one to either side that is shorter and higher, as if far away."""
    draft = board(measures)
    return draft.line((2, 21), (22, 21))


def thermometer(measures: Measures, *, hot: bool) -> Mask:
    """A large thermometer at the left, risen to the top or hardly at all."""
    draft = board(measures)
    tube = joined([draft.box(2.5, 5, right=7.5, bottom=17), draft.disc(5, 4.5, radius_units=2.5)])
    rim = draft.outline(tube | draft.disc(5, 18, radius_units=4))
    level = draft.line((5, 6 if hot else 15), (5, 18))
    return joined([rim, level, draft.dot(5, 18, pens=2)])


def crystal(measures: Measures) -> Mask:
    """A crystal beside the thermometer."""
    draft = board(measures)
    x, y = draft.at(17, 8.5)
    radius = draft.steps(5)
    return parts.flake(
        draft.size,
        centre=(int(x) - 1 + measures.pen % 2, int(y) - 1 + measures.pen % 2),
        radius_px=radius,
        arm_px=measures.pen,
    )


def funnel(measures: Measures, *, room: Box) -> Mask:
    """A funnel below the cloud: bars that grow shorter and wander."""
    left, top, width, height = room
    size, pen = (measures.size, measures.size), measures.pen
    pitch = pen + max(1, round(pen * 0.6))
    count = max(2, (height + pitch - pen) // pitch)
    mask = shapes.nothing(size)
    middle = left + width / 2
    for number in range(count):
        share = 1 - number / count
        long = max(pen + 1, round(width * 0.72 * share**1.2))
        sway = round((0.06, 0.0, -0.08, -0.06, 0.02, 0.06, 0.03, 0.0)[number % 8] * width)
        mask |= shapes.rectangle(size, (round(middle - long / 2) + sway, top + number * pitch, long, pen))
    return mask


def streaks(measures: Measures, *, room: Box) -> Mask:
    """Wind below a cloud: a plain streak, and below it one whose end curls down."""
    left, top, width, height = room
    pen, size = measures.pen, (measures.size, measures.size)
    gap = max(1, round(pen * 0.8))
    y = top + 2 * pen + gap
    radius = min((top + height - y) // 2, round(measures.size * 0.14))
    bend_x = left + width - radius
    mask = shapes.rectangle(size, (left, y, bend_x - left, pen))
    mask |= shapes.arc(size, (bend_x, y + radius), radius_px=radius, line_px=pen, span_deg=(0, 235))
    return mask | shapes.rectangle(size, (left + width // 5, top + pen, width - width // 5, pen))


def low_wind(size: Size, *, measures: Measures) -> Mask:
    """A streak at the foot of the drawing with its end curled up, and a shorter one above it."""
    pen, wide, high = measures.pen, size[0], measures.low_fog + measures.pen
    radius = high / 2
    bend_x = wide - high // 2 - 1 + (high % 2) / 2
    curl = shapes.arc(size, (bend_x, size[1] - radius), radius_px=radius, line_px=pen, span_deg=(-80, 180))
    mask = shapes.rectangle(size, (wide // 16, size[1] - pen, int(bend_x) - wide // 16, pen))
    upper = shapes.rectangle(size, (wide * 3 // 16, size[1] - high, wide // 2 - high // 3, pen))
    return curl | mask | upper


def grains(size: Size, *, measures: Measures) -> Mask:
    """Two rows of grains at the foot of the drawing, where fog has its banks."""
    pen, pitch = measures.pen, measures.low_fog
    step = 3 * pen + (pen == 1)
    mask = shapes.nothing(size)
    for row in (0, 1):
        start = (size[0] - (size[0] // step) * step) // 2 + row * (step // 2)
        for x in range(start, size[0] - pen + 1, step):
            mask |= shapes.rectangle(size, (x, size[1] - pitch * (1 - row) - pen, pen, pen))
    return mask
