"""Signs of the household: what runs, burns, opens and locks."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from wallbill.blocks.icons.signs_draft import Draft, joined
from wallbill.inks.impression import Mask


def _laundry(draft: Draft) -> Mask:
    """A washing machine from the front."""
    drum = draft.ring(12, 14, radius_units=4)
    return joined(
        [
            draft.frame(3, 2, right=21, bottom=22),
            drum,
            draft.line((7, 6), (8, 6)),
            draft.line((16, 6), (17, 6)),
        ]
    )


def _dishwasher(draft: Draft) -> Mask:
    """A glass in a machine."""
    glass = draft.area((9, 10), (15, 10), (15, 12), (13, 14), (11, 14), (9, 12))
    foot = draft.line((12, 14), (12, 18)) | draft.line((9, 18), (15, 18))
    return joined([draft.frame(3, 2, right=21, bottom=22), draft.line((3, 6), (21, 6)), glass, foot])


def _fridge(draft: Draft) -> Mask:
    """A fridge with its freezer above."""
    handles = draft.line((9, 5), (9, 6)) | draft.line((9, 13), (9, 16))
    return joined([draft.frame(5, 2, right=19, bottom=22), draft.line((5, 9), (19, 9)), handles])


def _flame(draft: Draft, *, inner: bool = True) -> Mask:
    rim = draft.shape(
        (12, 22),
        (5.5, 19.5),
        (4, 14.5),
        (6.5, 9.5),
        (9, 10.5),
        (12.5, 2.5),
        (16.5, 8),
        (20, 14.5),
        (18.5, 19.5),
    )
    tongue = draft.shape((12, 22), (9, 19), (12, 13.5), (15, 19))
    return draft.outline(rim) | (tongue if inner else draft.nothing())


def _fire(draft: Draft) -> Mask:
    """A flame."""
    return _flame(draft)


def _boiler(draft: Draft) -> Mask:
    """A boiler on the wall: its window and its pipes."""
    flame = draft.disc(12, 12, radius_units=1.6) | draft.area((12, 6), (10, 11.5), (14, 11.5))
    pipes = draft.line((8, 18), (8, 22)) | draft.line((16, 18), (16, 22))
    return joined([draft.frame(5, 2, right=19, bottom=18), flame, pipes])


def _radiator(draft: Draft) -> Mask:
    """A radiator, warm air above it."""
    bars = joined([draft.line((x, 10), (x, 20)) for x in (9, 15)])
    feet = draft.both(draft.line((6, 20), (6, 22)))
    warm = [draft.line((x + 1, 1), (x - 1, 3), (x + 1, 5), (x - 1, 7)) for x in (6, 12, 18)]
    return joined([draft.frame(3, 11, right=21, bottom=20), bars, feet, *warm])


def _window_closed(draft: Draft) -> Mask:
    """A window, shut."""
    cross = draft.line((12, 3), (12, 21)) | draft.line((3, 12), (21, 12))
    return draft.frame(3, 3, right=21, bottom=21) | cross


def _window_open(draft: Draft) -> Mask:
    """A window, both sashes swung open."""
    sash = draft.line((3, 3), (8, 7), (8, 17), (3, 21))
    return draft.frame(3, 3, right=21, bottom=21) | draft.both(sash)


def _door_closed(draft: Draft) -> Mask:
    """A door, shut."""
    return joined(
        [
            draft.frame(6, 2, right=18, bottom=21),
            draft.line((2, 21), (22, 21)),
            draft.line((14, 12), (14, 13)),
        ]
    )


def _door_open(draft: Draft) -> Mask:
    """A door, ajar."""
    leaf = draft.area((6, 2), (13, 5), (13, 21), (6, 21)) & ~draft.box(10, 12, right=10, bottom=13)
    return joined(
        [
            leaf,
            draft.line((6, 2), (18, 2), (18, 21)),
            draft.line((2, 21), (6, 21)),
            draft.line((18, 21), (22, 21)),
        ]
    )


def _padlock(draft: Draft, *, left: float) -> Mask:
    """The body of a padlock with its keyhole."""
    return draft.frame(left, 11, right=left + 14, bottom=21) | draft.line((left + 7, 15), (left + 7, 17))


def _locked(draft: Draft) -> Mask:
    """A padlock, shut."""
    bow = draft.arc(12, 7, radius_units=4, span_deg=(-90, 90))
    legs = draft.line((8, 7), (8, 11)) | draft.line((16, 7), (16, 11))
    return joined([_padlock(draft, left=5), bow, legs])


def _unlocked(draft: Draft) -> Mask:
    """A padlock, its bow swung aside."""
    bow = draft.arc(17, 7, radius_units=4, span_deg=(-90, 90))
    legs = draft.line((13, 7), (13, 11)) | draft.line((21, 7), (21, 8))
    return joined([_padlock(draft, left=2), bow, legs])


def _bulb(draft: Draft) -> Mask:
    """A bulb's glass, whole."""
    return draft.disc(12, 9, radius_units=5) | draft.box(10, 12, right=14, bottom=17)


def _light_on(draft: Draft) -> Mask:
    """A bulb that shines."""
    rays = joined([draft.line((2, 9), (3, 9)), draft.line((4, 17), (5, 16)), draft.line((4, 1.5), (5, 2.5))])
    return joined([_bulb(draft), draft.line((10, 21), (14, 21)), draft.both(rays)])


def _light_off(draft: Draft) -> Mask:
    """A bulb that is dark."""
    return draft.outline(_bulb(draft)) | draft.line((10, 21), (14, 21))


def _plug(draft: Draft) -> Mask:
    """A mains plug."""
    pins = draft.line((8, 2), (8, 8)) | draft.line((16, 2), (16, 8))
    body = draft.disc(12, 11, radius_units=6) | draft.box(6, 8, right=18, bottom=11)
    return joined(
        [
            draft.outline(body & ~draft.box(0, 1, right=24, bottom=5)),
            draft.line((4, 8), (20, 8)),
            pins,
            draft.line((12, 17), (12, 22)),
        ]
    )


def _solar(draft: Draft) -> Mask:
    """A solar panel under the sun."""
    rim = draft.line((6, 12), (18, 12), (21, 22), (3, 22), closed=True)
    grid = draft.line((4.5, 17), (19.5, 17)) | draft.line((12, 12), (12, 22))
    sun = joined(
        [
            draft.dot(12, 4, pens=2),
            draft.both(draft.line((6, 4), (7, 4))),
            draft.both(draft.line((8, 8), (8.5, 7.5))),
        ]
    )
    return joined([rim, grid, sun])


def _grid(draft: Draft) -> Mask:
    """A mast of the power line."""
    legs = draft.both(draft.line((10, 2), (10, 8), (6, 22)))
    arms = draft.line((3, 7), (21, 7)) | draft.line((4, 12), (20, 12))
    ends = draft.both(draft.line((3, 7), (3, 9)) | draft.line((4, 12), (4, 14)))
    return joined([legs, arms, ends, draft.line((10, 2), (14, 2)), draft.line((8, 17), (16, 17))])


def _watering_can(draft: Draft) -> Mask:
    """A watering can."""
    body = draft.line((8, 8), (17, 8), (17, 21), (8, 21), closed=True)
    spout = draft.line((8, 19), (4, 9)) | draft.line((2, 10), (6, 7))
    ear = draft.line((17, 11), (22, 11), (22, 18), (17, 18))
    return joined([body, spout, ear, draft.line((10, 8), (12.5, 4), (15, 8))])


def _plant(draft: Draft) -> Mask:
    """A plant in its pot."""
    pot = draft.area((7, 15), (17, 15), (16, 22), (8, 22))
    leaf = draft.shape((12, 11), (6, 10.5), (3.5, 4), (9, 5.5))
    return joined([pot, draft.line((12, 8), (12, 15)), draft.outline(draft.both(leaf))])


def _pet_bowl(draft: Draft) -> Mask:
    """A bowl with feed in it."""
    bowl = draft.area((5, 14), (19, 14), (22, 20), (2, 20))
    return joined([bowl, draft.dot(12, 6), draft.both(draft.dot(8, 10))])


def _bed(draft: Draft) -> Mask:
    """Someone in bed."""
    frame = draft.line((2, 5), (2, 21)) | draft.line((2, 17), (22, 17), (22, 21))
    cover = draft.line((10, 17), (10, 10), (19, 10), (22, 13), (22, 17))
    return joined([frame, cover, draft.dot(6, 12.5, pens=2)])


def _radio(draft: Draft) -> Mask:
    """A loudspeaker box: what plays or speaks."""
    return joined(
        [draft.frame(5, 2, right=19, bottom=22), draft.ring(12, 15, radius_units=3.5), draft.dot(12, 7)]
    )


HOME_SIGNS: Mapping[str, Callable[[Draft], Mask]] = MappingProxyType(
    {
        "laundry": _laundry,
        "dishwasher": _dishwasher,
        "fridge": _fridge,
        "fire": _fire,
        "boiler": _boiler,
        "radiator": _radiator,
        "window-closed": _window_closed,
        "window-open": _window_open,
        "door-closed": _door_closed,
        "door-open": _door_open,
        "locked": _locked,
        "unlocked": _unlocked,
        "light-on": _light_on,
        "light-off": _light_off,
        "plug": _plug,
        "solar": _solar,
        "grid": _grid,
        "watering-can": _watering_can,
        "plant": _plant,
        "pet-bowl": _pet_bowl,
        "bed": _bed,
        "loudspeaker": _radio,
    }
)
