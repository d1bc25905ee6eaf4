"""What a warning is of, drawn small enough to stand inside a frame: one picture a family of dangers.

The board of 24 units is a little more than half as wide as the icon. The strokes are as wide as those of the frame, so
the pictures are plainer than signs.
"""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from wallbill.blocks.drawing import shapes
from wallbill.blocks.icons import parts
from wallbill.blocks.icons.signs_draft import Draft, joined
from wallbill.facts.hazards import Hazard
from wallbill.inks.impression import Mask


def _wind(draft: Draft) -> Mask:
    """Three streaks, two of them curling."""
    upper = draft.arc(15, 5, radius_units=4, span_deg=(-60, 180)) | draft.line((2, 9), (15, 9))
    lower = draft.arc(14, 19, radius_units=4, span_deg=(0, 240)) | draft.line((4, 15), (14, 15))
    return upper | lower


def _snow(draft: Draft) -> Mask:
    """A crystal."""
    x, y = draft.at(12, 12)
    reach = draft.steps(11)
    rise = reach / 2
    run = round(reach * 0.866)
    mask = shapes.stroke(draft.size, [(x, y - reach), (x, y + reach)], line_px=draft.pen_px)
    for way in (-1, 1):
        mask |= shapes.stroke(
            draft.size, [(x - run, y - way * rise), (x + run, y + way * rise)], line_px=draft.pen_px
        )
    if draft.size_px > 24:
        mask |= draft.both(draft.line((8, 1), (12, 5)) | draft.line((8, 23), (12, 19)))
        mask |= draft.both(
            draft.line((1.5, 10.5), (5.5, 9), (4.5, 5)) | draft.line((1.5, 13.5), (5.5, 15), (4.5, 19))
        )
    return mask


def _flash(draft: Draft) -> Mask:
    """A flash."""
    return draft.area((14, 1), (6, 13), (11, 13), (9, 23), (18, 10), (13, 10), (17, 1))


def _fog(draft: Draft) -> Mask:
    """Broken bars."""
    return joined(
        [
            draft.line((7, 4), (18, 4)),
            draft.line((2, 9.5), (9, 9.5)) | draft.line((15, 9.5), (21, 9.5)),
            draft.line((3, 15), (14, 15)) | draft.line((20, 15), (22, 15)),
            draft.line((7, 20.5), (18, 20.5)),
        ]
    )


def _thermometer(draft: Draft) -> Mask:
    """A thermometer at the left, its bulb filled."""
    tube = joined([draft.box(5.5, 5, right=10.5, bottom=17), draft.disc(8, 4.5, radius_units=2.5)])
    return draft.outline(tube) | draft.disc(8, 18.5, radius_units=3.5)


def _hot(draft: Draft) -> Mask:
    """A thermometer, and an arrow up."""
    arrow = draft.line((18, 5), (18, 18)) | draft.line((14.5, 8.5), (18, 5), (21.5, 8.5))
    return joined([_thermometer(draft), draft.line((8, 7), (8, 17)), arrow])


def _cold(draft: Draft) -> Mask:
    """A thermometer, and a crystal."""
    arms = draft.line((18, 2), (18, 12)) | draft.line((14, 4.5), (22, 9.5)) | draft.line((14, 9.5), (22, 4.5))
    return joined([_thermometer(draft), arms])


def _ripples(draft: Draft, *, y: float) -> Mask:
    """A zigzag of water as wide as the board."""
    return draft.line((1, y), (4.5, y - 2.5), (8.5, y), (12, y - 2.5), (15.5, y), (19.5, y - 2.5), (23, y))


def _coastal(draft: Draft) -> Mask:
    """A wave that breaks over the water."""
    crest = draft.bend((1, 15), (5, 13), (8, 5), (14, 2), (19, 6), (16, 9.5), (13, 7))
    return joined([crest, draft.bend((13, 7), (13, 12), (18, 15), (23, 15)), _ripples(draft, y=21.5)])


def _fire(draft: Draft) -> Mask:
    """A flame."""
    rim = draft.shape((12, 22), (6, 20), (4, 15), (6.5, 10), (9, 11), (12, 3), (17, 9), (20, 15), (18, 20))
    hollow = draft.shape((12, 21), (10, 18.5), (12.5, 14.5), (15, 18.5))
    return rim & ~hollow


def _avalanche(draft: Draft) -> Mask:
    """Balls of snow upon a slope."""
    slope = draft.area((1, 9), (4, 9), (20, 22), (5, 22), (1, 17))
    balls = joined([draft.dot(9, 5, pens=1.9), draft.dot(15.5, 9, pens=1.9), draft.dot(20.5, 14.5, pens=1.9)])
    return (slope & ~draft.clear(balls)) | balls


def _drops(draft: Draft, *, top: float, length: float, xs: tuple[float, ...]) -> Mask:
    """Slanting strokes of rain."""
    (_, y0), (_, y1) = draft.at(0, top), draft.at(0, top + length)
    mask = draft.nothing()
    lean = int(y1 - y0) // 4
    for x in xs:
        middle, _ = draft.at(x, 0)
        left = int(middle - draft.pen_px / 2) + lean
        mask |= parts.slanted(
            draft.size,
            (left, int(y0)),
            length_px=int(y1 - y0),
            pen_px=max(draft.pen_px, round(draft.pen_px * 1.1)),
        )
    return mask


def _rain(draft: Draft) -> Mask:
    """A cloud, and rain that pours from it."""
    cloud = joined(
        [
            draft.disc(7, 8, radius_units=3),
            draft.disc(13, 6, radius_units=4),
            draft.disc(18, 9, radius_units=2.5),
            draft.box(7, 8, right=18, bottom=10.5),
        ]
    )
    return cloud | _drops(draft, top=14.5, length=8, xs=(6.5, 12, 17.5))


def _flood(draft: Draft) -> Mask:
    """A house that stands in the water."""
    house = draft.line((2, 10), (12, 2), (22, 10)) | draft.both(draft.line((5, 9), (5, 14)))
    return joined([house, _ripples(draft, y=17.5), _ripples(draft, y=23)])


def _rain_flood(draft: Draft) -> Mask:
    """Rain upon high water."""
    return joined(
        [
            _drops(draft, top=1, length=10, xs=(6.5, 12.5, 18.5)),
            _ripples(draft, y=17),
            _ripples(draft, y=22.5),
        ]
    )


def _air(draft: Draft) -> Mask:
    """Dust in the air: grains of two sizes."""
    large = [draft.dot(x, y, pens=2) for x, y in ((5, 13), (12, 5), (19, 11), (12, 19))]
    small = [draft.dot(x, y, pens=1) for x, y in ((5, 6), (19, 4), (12, 12), (5, 20), (19, 19))]
    return joined([*large, *small])


def _general(draft: Draft) -> Mask:
    """An exclamation mark."""
    x, y0 = draft.at(12, 2)
    _, y1 = draft.at(12, 14)
    wide = draft.pen_px + 2 * -(-draft.pen_px // 2)
    top, bottom = y0 - draft.pen_px / 2, y1 + draft.pen_px / 2
    narrow = draft.pen_px / 2
    stem = shapes.polygon(
        draft.size, [(x - wide / 2, top), (x + wide / 2, top), (x + narrow, bottom), (x - narrow, bottom)]
    )
    (_, y2) = draft.at(12, 21)
    left = int(x - wide / 2)
    return draft.both(stem) | shapes.rectangle(draft.size, (left, int(y2 - wide / 2), wide, wide))


PICTURES: Mapping[Hazard, Callable[[Draft], Mask]] = MappingProxyType(
    {
        Hazard.WIND: _wind,
        Hazard.SNOW_ICE: _snow,
        Hazard.THUNDERSTORM: _flash,
        Hazard.FOG: _fog,
        Hazard.HIGH_TEMPERATURE: _hot,
        Hazard.LOW_TEMPERATURE: _cold,
        Hazard.COASTAL: _coastal,
        Hazard.FOREST_FIRE: _fire,
        Hazard.AVALANCHE: _avalanche,
        Hazard.RAIN: _rain,
        Hazard.FLOOD: _flood,
        Hazard.RAIN_FLOOD: _rain_flood,
        Hazard.AIR_QUALITY: _air,
        Hazard.GENERAL: _general,
    }
)
