"""Signs of house, harbour and road: what lists, rotas and timetables are about."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

import numpy as np

from wallbill.blocks.drawing import shapes
from wallbill.blocks.icons.signs_draft import Draft, joined
from wallbill.inks.impression import Mask


def _calendar(draft: Draft) -> Mask:
    """A wall calendar with a marked day."""
    rings = draft.line((8, 3), (8, 6)) | draft.line((16, 3), (16, 6))
    head = draft.box(3, 6, right=21, bottom=9)
    return joined(
        [draft.frame(3, 6, right=21, bottom=21), head, rings, draft.box(14, 14, right=16.5, bottom=16.5)]
    )


def _box_open(draft: Draft) -> Mask:
    """A box to be ticked."""
    return draft.frame(4, 4, right=20, bottom=20)


def _box_done(draft: Draft) -> Mask:
    """A ticked box."""
    return _box_open(draft) | draft.line((8, 12), (11, 15), (16, 8.5))


def _boat(draft: Draft) -> Mask:
    """A ferry from the side."""
    hull = draft.area((2, 14), (22, 14), (19, 20), (5, 20))
    cabin = draft.frame(6, 9, right=16, bottom=14)
    return joined([hull, cabin, draft.line((13, 4), (13, 9)), draft.line((10, 11), (10, 11))])


def _anchor(draft: Draft) -> Mask:
    """An anchor."""
    arms = draft.arc(12, 12, radius_units=8.5, span_deg=(95, 265))
    flukes = draft.line((1.5, 15), (3.5, 12), (6.5, 14)) | draft.line((22.5, 15), (20.5, 12), (17.5, 14))
    shank = draft.line((12, 7), (12, 20)) | draft.line((8, 10), (16, 10))
    return joined([draft.ring(12, 4.5, radius_units=2), shank, arms, flukes])


def _oar(draft: Draft) -> Mask:
    """A rowing oar, its blade up."""
    blade = draft.area((14, 7), (18, 3), (21, 6), (17, 10))
    return draft.line((3, 21), (16, 8)) | blade


def _oars(draft: Draft) -> Mask:
    """Two oars, crossed."""
    one = _oar(draft)
    span = int(2 * draft.middle)
    other = np.zeros_like(one)
    other[:, :span] = one[:, :span][:, ::-1]
    return (other & ~draft.clear(one)) | one


def _clock(draft: Draft) -> Mask:
    """A clock at four."""
    return draft.ring(12, 12, radius_units=9) | draft.line((12, 6.5), (12, 12), (16, 14.5))


def _house(draft: Draft) -> Mask:
    """A house with its door."""
    roof = draft.line((2, 12), (12, 3), (22, 12))
    walls = draft.line((5, 10), (5, 21), (19, 21), (19, 10))
    return joined([roof, walls, draft.line((10, 21), (10, 15), (14, 15), (14, 21))])


def _bin(draft: Draft) -> Mask:
    """A refuse bin."""
    lid = draft.line((3, 6), (21, 6)) | draft.line((9, 6), (9, 3), (15, 3), (15, 6))
    body = draft.line((5.5, 6), (7, 21), (17, 21), (18.5, 6))
    return joined([lid, body, draft.line((10, 10), (10, 17)), draft.line((14, 10), (14, 17))])


def _kettle(draft: Draft) -> Mask:
    """A kettle with its handle over the lid."""
    belly = draft.disc(11, 15, radius_units=7) & ~draft.box(0, 21, right=24, bottom=24)
    base = draft.line((7, 20), (15, 20))
    handle = draft.ring(11, 7, radius_units=4) & ~belly
    spout = draft.line((17, 14), (21, 10)) & ~belly
    return joined([draft.outline(belly), base & belly, handle, spout])


def _battery(draft: Draft, *, quarters: int) -> Mask:
    """A battery, so many quarters full."""
    case = draft.frame(2, 7, right=19, bottom=17) | draft.line((22, 11), (22, 13))
    (left, top), (right, bottom) = draft.at(2, 7), draft.at(19, 17)
    gap = draft.pen_px / 2 + max(1, draft.pen_px // 2)
    room = int(right - left - 2 * gap)
    bar = (int(left + gap), int(top + gap), round(room * quarters / 4), int(bottom - top - 2 * gap))
    return case | shapes.rectangle(draft.size, bar)


def _level(quarters: int) -> Callable[[Draft], Mask]:
    """A battery of this level."""

    def draw(draft: Draft) -> Mask:
        return _battery(draft, quarters=quarters)

    return draw


def _bus(draft: Draft) -> Mask:
    """A bus from the front."""
    body = draft.frame(4, 3, right=20, bottom=18) | draft.line((4, 12), (20, 12))
    wheels = draft.line((7, 18), (7, 21)) | draft.line((17, 18), (17, 21))
    return joined([body, wheels, draft.dot(8, 15, pens=1), draft.dot(16, 15, pens=1)])


def _train(draft: Draft) -> Mask:
    """A train from the front, on its rails."""
    body = draft.outline(joined([draft.disc(12, 9, radius_units=7), draft.box(5, 9, right=19, bottom=16)]))
    rails = draft.line((8, 18), (4, 22)) | draft.line((16, 18), (20, 22)) | draft.line((6, 20), (18, 20))
    return joined([body, rails, draft.line((5, 11), (19, 11)), draft.dot(12, 14, pens=1)])


def _arrow(turns: int) -> Callable[[Draft], Mask]:
    """An arrow, so many quarter turns from upright."""

    def draw(draft: Draft) -> Mask:
        upright = draft.line((12, 3), (12, 21)) | draft.line((6, 9), (12, 3), (18, 9))
        span = int(2 * draft.middle)
        mask = draft.nothing()
        mask[:span, :span] = np.rot90(upright[:span, :span], -turns)
        return mask

    return draw


PLACE_SIGNS: Mapping[str, Callable[[Draft], Mask]] = MappingProxyType(
    {
        "calendar": _calendar,
        "clock": _clock,
        "box-open": _box_open,
        "box-done": _box_done,
        "house": _house,
        "kettle": _kettle,
        "bin": _bin,
        "boat": _boat,
        "anchor": _anchor,
        "oar": _oar,
        "oars": _oars,
        "bus": _bus,
        "train": _train,
        "battery-empty": _level(0),
        "battery-low": _level(1),
        "battery-half": _level(2),
        "battery-full": _level(4),
        "arrow-up": _arrow(0),
        "arrow-right": _arrow(1),
        "arrow-down": _arrow(2),
        "arrow-left": _arrow(3),
    }
)
