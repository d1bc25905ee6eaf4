"""Signs of the ways to go: on foot, on wheels, on rails, over water and through the air."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from wallbill.blocks.icons.signs_draft import Draft, joined
from wallbill.inks.impression import Mask


def _side_of_car(draft: Draft, *, down: float = 0) -> Mask:
    """A car from the side, moved ``down`` so many units."""
    wheels = draft.both(draft.ring(7, 18 + down, radius_units=2))
    roof = draft.line(
        (2, 18 + down),
        (2, 12 + down),
        (5, 12 + down),
        (8, 6 + down),
        (16, 6 + down),
        (19, 12 + down),
        (22, 12 + down),
        (22, 18 + down),
    )
    sill = draft.line((5, 12 + down), (19, 12 + down))
    foot = (
        draft.line((2, 18 + down), (4, 18 + down))
        | draft.line((10, 18 + down), (14, 18 + down))
        | draft.line((20, 18 + down), (22, 18 + down))
    )
    return joined([roof, sill, foot, wheels])


def _car(draft: Draft) -> Mask:
    """A car."""
    return _side_of_car(draft)


def _car_charging(draft: Draft) -> Mask:
    """A car from the front with a flash over it."""
    body = draft.line((4, 20), (4, 15), (7, 10), (17, 10), (20, 15), (20, 20), closed=True)
    wheels = draft.both(draft.line((6, 20), (6, 22)))
    flash = draft.area((13, 1), (10, 5), (14, 5), (11, 9))
    lamps = draft.both(draft.dot(8, 17, pens=1))
    return draft.before(
        flash, joined([body, draft.line((4, 15), (20, 15)), wheels, lamps]) & ~draft.clear(flash)
    )


def _taxi(draft: Draft) -> Mask:
    """A car with a sign on its roof."""
    return _side_of_car(draft, down=2) | draft.box(10, 3, right=14, bottom=4)


def _bicycle(draft: Draft) -> Mask:
    """A bicycle."""
    wheels = draft.both(draft.ring(5.5, 16, radius_units=4))
    frame = draft.line((5.5, 16), (9, 9), (16, 9), (11, 16), closed=True) | draft.line((9, 9), (11, 16))
    return joined(
        [
            wheels,
            frame,
            draft.line((18.5, 16), (15.5, 6), (18.5, 6)),
            draft.line((7, 6), (10, 6)),
            draft.line((8.5, 6), (9, 9)),
        ]
    )


def _walk(draft: Draft) -> Mask:
    """Someone walking."""
    body = draft.line((12, 8), (11, 14))
    legs = draft.line((11, 14), (8, 22)) | draft.line((11, 14), (15, 17), (16, 22))
    arms = draft.line((12, 8), (8, 10), (7, 13)) | draft.line((12, 8), (15, 11), (18, 12))
    return joined([draft.dot(13, 3, pens=2), body, legs, arms])


def _tram(draft: Draft) -> Mask:
    """A tram from the front, its bow at the wire."""
    body = draft.frame(6, 8, right=18, bottom=19) | draft.line((6, 14), (18, 14))
    bow = (
        draft.line((8, 2), (16, 2))
        | draft.line((12, 2), (9, 5), (12, 8))
        | draft.line((12, 2), (15, 5), (12, 8))
    )
    rails = draft.both(draft.line((8, 19), (6, 22)))
    return joined([body, bow, rails, draft.both(draft.dot(9, 16.5, pens=1))])


def _ferry(draft: Draft) -> Mask:
    """A ferry for cars from the side, over the waves."""
    hull = draft.area((2, 13), (22, 13), (20, 18), (4, 18))
    house = draft.line((5, 13), (5, 9), (19, 9), (19, 13)) | draft.line((8, 9), (8, 5), (14, 5), (14, 9))
    return joined(
        [
            hull,
            house,
            draft.line((17, 5), (17, 9)),
            draft.line((2, 22), (6, 22)),
            draft.line((10, 22), (14, 22)),
            draft.line((18, 22), (22, 22)),
        ]
    )


def _plane(draft: Draft) -> Mask:
    """An aeroplane from above."""
    wing = draft.area((12, 8), (22, 14), (22, 15), (12, 13))
    tail = draft.area((12, 18), (16, 21), (16, 22), (12, 21))
    return joined([draft.both(wing | tail), draft.box(12, 3, right=12, bottom=21), draft.dot(12, 3, pens=1)])


def _underground(draft: Draft) -> Mask:
    """A train in its tunnel."""
    tunnel = draft.arc(12, 11, radius_units=9, span_deg=(-90, 90)) | draft.both(draft.line((3, 11), (3, 22)))
    train = draft.frame(8, 8, right=16, bottom=18) | draft.line((8, 13), (16, 13))
    return joined([tunnel, train, draft.both(draft.line((9, 18), (7, 22)))])


def _parking(draft: Draft) -> Mask:
    """The letter of parking on its board."""
    letter = draft.line((9, 18), (9, 7), (13, 7)) | draft.line((9, 13), (13, 13))
    bow = draft.arc(13, 10, radius_units=3, span_deg=(0, 180))
    return joined([draft.frame(3, 3, right=21, bottom=21), letter, bow])


def _pin(draft: Draft) -> Mask:
    """A pin on a map."""
    whole = draft.disc(12, 9, radius_units=6) | draft.area((6.5, 11), (17.5, 11), (12, 21))
    return draft.outline(whole) | draft.dot(12, 9)


def _flag(draft: Draft) -> Mask:
    """A flag on its pole."""
    return draft.line((5, 2), (5, 22)) | draft.area((5, 3), (20, 3), (16, 8), (20, 13), (5, 13))


def _compass(draft: Draft) -> Mask:
    """A compass, its needle to the north-east."""
    needle = draft.area((17, 7), (13.5, 13.5), (10.5, 10.5))
    other = draft.line((10.5, 10.5), (7, 17), (13.5, 13.5))
    return joined([draft.ring(12, 12, radius_units=10), needle, other])


def _suitcase(draft: Draft) -> Mask:
    """A suitcase."""
    return joined(
        [
            draft.frame(3, 7, right=21, bottom=20),
            draft.line((9, 7), (9, 3), (15, 3), (15, 7)),
            draft.both(draft.line((7, 7), (7, 20))),
        ]
    )


def _away(draft: Draft) -> Mask:
    """Out of the house."""
    house = draft.line((2, 11), (9, 4), (16, 11)) | draft.line((4, 9), (4, 21), (14, 21), (14, 20))
    arrow = draft.line((9, 15), (21, 15)) | draft.line((18, 11), (22, 15), (18, 19))
    return draft.before(arrow, house)


def _home(draft: Draft) -> Mask:
    """In the house."""
    roof = draft.line((2, 12), (12, 3), (22, 12))
    walls = draft.line((5, 10), (5, 21), (19, 21), (19, 10))
    return joined([roof, walls, draft.dot(12, 11.5, pens=2), draft.box(10, 17, right=14, bottom=21)])


TRAVEL_SIGNS: Mapping[str, Callable[[Draft], Mask]] = MappingProxyType(
    {
        "car": _car,
        "car-charging": _car_charging,
        "taxi": _taxi,
        "bicycle": _bicycle,
        "walk": _walk,
        "tram": _tram,
        "underground": _underground,
        "ferry": _ferry,
        "plane": _plane,
        "parking": _parking,
        "pin": _pin,
        "flag": _flag,
        "compass": _compass,
        "suitcase": _suitcase,
        "home": _home,
        "away": _away,
    }
)
