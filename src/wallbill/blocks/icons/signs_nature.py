"""Signs of air, sky and sea: what is measured, and what is seen from the quay."""

import math
from collections.abc import Callable, Mapping
from types import MappingProxyType

from wallbill.blocks.drawing import shapes
from wallbill.blocks.icons.parts import crescent
from wallbill.blocks.icons.signs_draft import Draft, joined
from wallbill.inks.impression import Mask


def _co2(draft: Draft) -> Mask:
    """The formula of carbon dioxide."""
    c = draft.line((7, 6), (2, 6), (2, 15), (7, 15))
    two = draft.line((18, 13), (22, 13), (22, 17), (18, 17), (18, 21), (22, 21))
    return joined([c, draft.frame(10, 6, right=15, bottom=15), two])


def _humidity(draft: Draft) -> Mask:
    """A drop, half of it filled."""
    whole = draft.disc(12, 15, radius_units=6) | draft.area((12, 2.5), (6.5, 12), (17.5, 12))
    return draft.outline(whole) | (whole & draft.box(0, 15, right=24, bottom=24))


def _pressure(draft: Draft) -> Mask:
    """Air that presses upon the ground."""
    arrows = joined(
        [draft.line((x, 2), (x, 14)) | draft.line((x - 4, 10), (x, 14), (x + 4, 10)) for x in (12,)]
    )
    sides = draft.both(draft.line((4, 2), (4, 8)))
    return joined([arrows, sides, draft.line((2, 18), (22, 18)), draft.line((5, 22), (19, 22))])


def _uv(draft: Draft) -> Mask:
    """The sun over the letters U and V."""
    sun = joined(
        [
            draft.disc(12, 6, radius_units=2),
            draft.both(draft.line((4, 6), (6, 6))),
            draft.line((12, 0.8), (12, 1)),
            draft.both(draft.line((6.5, 1), (7, 1.5))),
        ]
    )
    u = draft.line((3, 13), (3, 21), (9, 21), (9, 13))
    v = draft.line((14, 13), (17.5, 22), (21, 13))
    return joined([sun, u, v])


def _sunscreen(draft: Draft) -> Mask:
    """A tube of cream with the sun on it."""
    tube = draft.line((6, 9), (18, 9), (18, 22), (6, 22), closed=True)
    return joined(
        [
            tube,
            draft.frame(9, 2, right=15, bottom=6),
            draft.line((12, 6), (12, 9)),
            draft.disc(12, 15.5, radius_units=2),
        ]
    )


def _pollen(draft: Draft) -> Mask:
    """A flower that sheds."""
    petals = joined(
        [
            draft.disc(9 + 3.6 * math.sin(a), 8 + 3.6 * math.cos(a), radius_units=2.2)
            for a in (0, math.pi / 2, math.pi, 3 * math.pi / 2)
        ]
    )
    stem = draft.line((9, 12), (9, 22))
    grains = joined([draft.dot(x, y, pens=1) for x, y in ((17, 11), (21, 14), (16, 17), (21, 20))])
    return joined([petals & ~draft.dot(9, 8), stem, grains])


def _waves(draft: Draft, *, y: float) -> Mask:
    """A row of waves about the height ``y``."""
    points = [(2 + 10 * n / 3, y - (1.2 if n % 2 else -1.2)) for n in range(7)]
    return draft.line(*points)


def _wave(draft: Draft) -> Mask:
    """Three rows of waves."""
    return joined([_waves(draft, y=y) for y in (6, 12, 18)])


def _tide(draft: Draft) -> Mask:
    """A tide staff in the water."""
    staff = (
        draft.line((8, 2), (8, 15))
        | joined([draft.line((8, y), (13, y)) for y in (3, 11)])
        | draft.line((8, 7), (11, 7))
    )
    return joined([staff, _waves(draft, y=17), _waves(draft, y=21.5)])


def _moon(draft: Draft) -> Mask:
    """The moon."""
    return crescent(draft.size, centre=draft.at(12, 12), radius_px=draft.steps(9) + draft.pen_px / 2)


def _star(draft: Draft) -> Mask:
    """A star of five rays."""
    corners = [
        (12 + r * math.sin(n * math.pi / 5), 13 - r * math.cos(n * math.pi / 5))
        for n, r in ((n, 12 if n % 2 == 0 else 5.2) for n in range(10))
    ]
    scale = 2 * draft.middle / 24
    half = shapes.polygon(draft.size, [(x * scale, y * scale) for x, y in corners])
    return draft.both(half)


def _fish(draft: Draft) -> Mask:
    """A fish."""
    body = draft.shape((2, 12), (6, 7.5), (11, 7), (16, 12), (11, 17), (6, 16.5))
    tail = draft.area((16, 12), (21, 7), (21, 17))
    return draft.outline(body) | (tail & ~body) | tail | draft.dot(7, 11, pens=1)


def _sail(draft: Draft) -> Mask:
    """A sailing boat."""
    hull = draft.area((3, 18), (21, 18), (18, 21), (6, 21))
    jib = draft.line((8, 14), (4, 14), (8, 7), closed=True)
    return joined([hull, draft.area((12, 2), (19, 14), (12, 14)), jib])


def _lighthouse(draft: Draft) -> Mask:
    """A lighthouse, its beams to both sides."""
    tower = draft.line((10, 9), (8, 21)) | draft.line((14, 9), (16, 21))
    lamp = draft.line((9, 9), (9, 5), (12, 2), (15, 5), (15, 9), closed=True)
    beams = draft.both(draft.line((2, 3), (5, 4.5)) | draft.line((2, 10), (5, 8.5)))
    return joined(
        [tower, lamp, beams, draft.line((5, 21), (19, 21)), draft.box(9.5, 14, right=14.5, bottom=16)]
    )


def _crane(draft: Draft) -> Mask:
    """A crane of the harbour."""
    mast = draft.line((8, 2), (8, 21)) | draft.line((3, 21), (13, 21))
    jib = draft.line((2, 7), (21, 7)) | draft.line((2, 7), (8, 2), (21, 7))
    return joined(
        [
            mast,
            jib,
            draft.line((19, 7), (19, 14)),
            draft.line((16, 14), (16, 16), (19, 18), (19, 14))
            if draft.pen_px < 0
            else draft.box(18, 15, right=20, bottom=17),
        ]
    )


def _rain_gauge(draft: Draft) -> Mask:
    """A rain gauge with its marks, part full."""
    glass = draft.line((3, 2), (7, 6), (7, 22), (17, 22), (17, 6), (21, 2))
    marks = draft.line((7, 10), (10, 10)) | draft.line((7, 14), (10, 14))
    return joined([glass, marks, draft.box(7, 18, right=17, bottom=22)])


def _telescope(draft: Draft) -> Mask:
    """Glasses to look out with."""
    tube = draft.both(draft.line((9, 4), (5, 4), (2, 15), (2, 20), (9, 20), (9, 4)))
    return joined([tube, draft.line((9, 9), (15, 9)), draft.both(draft.line((2, 15), (9, 15)))])


def _lifebuoy(draft: Draft) -> Mask:
    """A lifebuoy."""
    bands = draft.line((5, 5), (9, 9)) | draft.line((5, 19), (9, 15))
    return joined(
        [draft.ring(12, 12, radius_units=10), draft.ring(12, 12, radius_units=4), draft.both(bands)]
    )


def _tree(draft: Draft) -> Mask:
    """A tree."""
    crown = draft.outline(
        joined(
            [
                draft.disc(12, 7, radius_units=4),
                draft.both(draft.disc(7, 11, radius_units=4)),
                draft.box(7, 8, right=17, bottom=15),
            ]
        )
    )
    return crown | draft.line((12, 11), (12, 22))


NATURE_SIGNS: Mapping[str, Callable[[Draft], Mask]] = MappingProxyType(
    {
        "co2": _co2,
        "humidity": _humidity,
        "pressure": _pressure,
        "uv": _uv,
        "sunscreen": _sunscreen,
        "pollen": _pollen,
        "rain-gauge": _rain_gauge,
        "wave": _wave,
        "tide": _tide,
        "moon": _moon,
        "star": _star,
        "tree": _tree,
        "fish": _fish,
        "sail": _sail,
        "lighthouse": _lighthouse,
        "lifebuoy": _lifebuoy,
        "crane": _crane,
        "binoculars": _telescope,
    }
)
