"""Signs of weather and sky: what stands beside a number so that nobody has to read what the number is."""

import math
from collections.abc import Callable, Mapping
from types import MappingProxyType

from wallbill.blocks.icons.signs_draft import Draft, joined
from wallbill.inks.impression import Mask


def _drop(draft: Draft) -> Mask:
    """A drop of water."""
    whole = draft.disc(12, 15, radius_units=6) | draft.area((12, 2.5), (6.5, 12), (17.5, 12))
    return draft.outline(whole)


def _thermometer(draft: Draft) -> Mask:
    """A thermometer, half risen."""
    tube = joined([draft.box(7, 5, right=12, bottom=17), draft.disc(9.5, 5, radius_units=2.5)])
    rim = draft.outline(tube | draft.disc(9.5, 18, radius_units=4))
    marks = joined([draft.line((16, y), (19, y)) for y in (4, 8, 12)])
    return joined([rim, marks, draft.line((9.5, 10), (9.5, 18)), draft.dot(9.5, 18, pens=2)])


def _wind(draft: Draft) -> Mask:
    """Three streaks of wind, two of them curling."""
    upper = draft.arc(14, 6, radius_units=3, span_deg=(-90, 180)) | draft.line((2, 9), (14, 9))
    lower = draft.arc(17, 16, radius_units=3, span_deg=(0, 270)) | draft.line((2, 13), (17, 13))
    return upper | lower | draft.line((2, 17), (10, 17))


def _low_sun(draft: Draft, *, rising: bool) -> Mask:
    """Half a sun on the horizon, with an arrow that says which way it goes."""
    horizon = draft.line((2, 20), (22, 20))
    sun = draft.arc(12, 20, radius_units=5, span_deg=(-90, 90))
    rays = draft.line((4, 12), (5.5, 13.5)) | draft.line((20, 12), (18.5, 13.5))
    shaft = draft.line((12, 3), (12, 10))
    tip, back = (3, 6) if rising else (10, 7)
    return joined([horizon, sun, rays, shaft, draft.line((9, back), (12, tip), (15, back))])


def _sunrise(draft: Draft) -> Mask:
    """The sun comes up."""
    return _low_sun(draft, rising=True)


def _sunset(draft: Draft) -> Mask:
    """The sun goes down."""
    return _low_sun(draft, rising=False)


def _umbrella(draft: Draft) -> Mask:
    """An open umbrella."""
    dome = draft.arc(12, 12, radius_units=9, span_deg=(-90, 90)) | draft.line((3, 12), (21, 12))
    handle = draft.line((12, 3), (12, 19)) & ~draft.disc(12, 7, radius_units=3.4)
    stick = draft.line((12, 12), (12, 19)) | draft.line((12, 2), (12, 3))
    hook = draft.arc(9.5, 19, radius_units=2.5, span_deg=(90, 270))
    return joined([dome, handle & stick, stick, hook])


def _snow(draft: Draft) -> Mask:
    """A snow crystal with branches."""
    mask = draft.nothing()
    for turn in range(6):
        angle = math.radians(60 * turn)

        def out(along: float, aside: float, angle: float = angle) -> tuple[float, float]:
            return (
                12 + along * math.sin(angle) + aside * math.cos(angle),
                12 - along * math.cos(angle) + aside * math.sin(angle),
            )

        mask |= draft.curve([(12, 12), out(9.5, 0)])
        mask |= draft.curve([out(9, -3), out(6, 0), out(9, 3)])
    return mask


def _gauge(draft: Draft) -> Mask:
    """A dial with its needle, for pressure."""
    dial = draft.arc(12, 13, radius_units=9, span_deg=(-125, 125))
    return dial | draft.line((12, 13), (16, 8)) | draft.dot(12, 13, pens=1.8)


def _wave(draft: Draft, *, y: float) -> Mask:
    """A row of waves."""
    points = [(x / 4, y - 1.4 * math.sin((x / 4 - 2) * 2 * math.pi / 10)) for x in range(8, 89)]
    return draft.curve(points)


def _tide(draft: Draft, *, rising: bool) -> Mask:
    """Water, and an arrow that says which way it goes."""
    tip, back = (3, 6.5) if rising else (12, 8.5)
    arrow = draft.line((12, 3), (12, 12)) | draft.line((8.5, back), (12, tip), (15.5, back))
    return arrow | _wave(draft, y=17) | _wave(draft, y=21.5)


def _tide_rising(draft: Draft) -> Mask:
    """The tide comes in."""
    return _tide(draft, rising=True)


def _tide_falling(draft: Draft) -> Mask:
    """The tide goes out."""
    return _tide(draft, rising=False)


def _warning(draft: Draft) -> Mask:
    """A triangle that warns."""
    rim = draft.line((12, 3), (22, 20.5), (2, 20.5), closed=True)
    return rim | draft.line((12, 9), (12, 14)) | draft.dot(12, 17, pens=1)


WEATHER_SIGNS: Mapping[str, Callable[[Draft], Mask]] = MappingProxyType(
    {
        "drop": _drop,
        "thermometer": _thermometer,
        "wind": _wind,
        "sunrise": _sunrise,
        "sunset": _sunset,
        "umbrella": _umbrella,
        "snow": _snow,
        "gauge": _gauge,
        "tide-rising": _tide_rising,
        "tide-falling": _tide_falling,
        "warning": _warning,
    }
)
