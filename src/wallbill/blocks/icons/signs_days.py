"""Signs of what fills a day: errands, meals, school, feasts, health."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from wallbill.blocks.drawing import shapes
from wallbill.blocks.icons.signs_draft import Draft, joined
from wallbill.inks.impression import Mask


def _post(draft: Draft) -> Mask:
    """A letter box on its post, the flag up."""
    back = draft.arc(7, 9, radius_units=5, span_deg=(-90, 90)) | draft.line(
        (2, 9), (2, 15), (12, 15), (12, 9)
    )
    body = draft.line((7, 4), (18, 4), (22, 8), (22, 15), (12, 15))
    return joined([back, body, draft.line((14, 15), (14, 22)), draft.line((16, 9), (19, 9))])


def _parcel(draft: Draft) -> Mask:
    """A parcel with its tape."""
    return joined(
        [
            draft.frame(3, 4, right=21, bottom=21),
            draft.line((3, 9), (21, 9)),
            draft.box(10, 5, right=14, bottom=13),
        ]
    )


def _wheelie(draft: Draft) -> Mask:
    """A bin with a lid and an empty front."""
    return draft.line((3, 4), (21, 4)) | draft.line((4, 4), (5.5, 22), (18.5, 22), (20, 4))


def _bin_paper(draft: Draft) -> Mask:
    """The bin for paper: lines of text."""
    return joined(
        [
            _wheelie(draft),
            draft.line((9.5, 9), (14.5, 9)),
            draft.line((9.5, 13), (14.5, 13)),
            draft.line((9.5, 17), (14.5, 17)),
        ]
    )


def _bin_glass(draft: Draft) -> Mask:
    """The bin for glass: a bottle."""
    return joined(
        [_wheelie(draft), draft.line((12, 8), (12, 12)), draft.box(10.8, 13, right=13.2, bottom=17)]
    )


def _bin_bio(draft: Draft) -> Mask:
    """The bin for garden and kitchen: a leaf."""
    leaf = draft.shape((10, 16), (9.5, 12), (14.5, 9), (14.5, 13))
    return joined([_wheelie(draft), leaf, draft.line((9.5, 17), (10, 16))])


def _bin_rest(draft: Draft) -> Mask:
    """The bin for the rest: a cross."""
    return joined([_wheelie(draft), draft.line((9.5, 10), (14.5, 16)), draft.line((14.5, 10), (9.5, 16))])


def _bin_packaging(draft: Draft) -> Mask:
    """The bin for packaging: a ring."""
    return _wheelie(draft) | draft.ring(12, 13, radius_units=3)


def _cake(draft: Draft) -> Mask:
    """A birthday cake with three candles."""
    candles = joined([draft.line((x, 8), (x, 11)) for x in (7, 12, 17)])
    lights = joined([draft.line((x, 4), (x, 4)) for x in (7, 12, 17)])
    icing = draft.line((4, 14), (6, 16), (9, 14), (12, 16), (15, 14), (18, 16), (20, 14))
    return joined([draft.frame(3, 12, right=21, bottom=21), icing, candles, lights])


def _heart(draft: Draft) -> Mask:
    """A heart."""
    lobes = draft.both(draft.disc(7.5, 9, radius_units=4.5))
    return lobes | draft.area((3.5, 11), (20.5, 11), (12, 20)) | draft.box(8, 8, right=16, bottom=11)


def _phone(draft: Draft) -> Mask:
    """A telephone, its receiver on the hook."""
    receiver = draft.line((3, 9), (3, 6), (6, 4), (18, 4), (21, 6), (21, 9))
    body = draft.line((8, 8), (16, 8), (21, 20), (3, 20), closed=True)
    return joined(
        [
            receiver,
            body,
            draft.ring(12, 14, radius_units=2.4),
            draft.line((2, 9), (4, 9)),
            draft.line((20, 9), (22, 9)),
        ]
    )


def _mobile(draft: Draft) -> Mask:
    """A telephone for the pocket."""
    return joined([draft.frame(6, 2, right=18, bottom=22), draft.line((11, 18), (13, 18))])


def _envelope(draft: Draft) -> Mask:
    """A letter."""
    return draft.frame(2, 5, right=22, bottom=19) | draft.line((2, 6), (12, 14), (22, 6))


def _music(draft: Draft) -> Mask:
    """Two notes under a beam."""
    heads = draft.disc(6, 19, radius_units=2) | draft.disc(17, 17, radius_units=2)
    return joined(
        [
            heads,
            draft.line((8, 19), (8, 5)),
            draft.line((19, 17), (19, 3)),
            draft.area((8, 5), (19, 3), (19, 5), (8, 7)),
        ]
    )


def _book(draft: Draft) -> Mask:
    """An open book."""
    page = draft.line((12, 7), (9, 5), (2, 5), (2, 19), (9, 19), (12, 21))
    return draft.both(page) | draft.line((12, 7), (12, 21))


def _school(draft: Draft) -> Mask:
    """A cap with its tassel."""
    board = draft.area((12, 4), (22, 9), (12, 14), (2, 9))
    return joined([board, draft.both(draft.line((6, 13), (6, 18), (12, 21))), draft.line((22, 9), (22, 17))])


def _gym(draft: Draft) -> Mask:
    """A dumb-bell."""
    return draft.line((6, 12), (18, 12)) | draft.both(
        draft.box(6, 6, right=7, bottom=18) | draft.line((2, 9), (2, 15))
    )


def _medicine(draft: Draft) -> Mask:
    """A capsule, half of it filled."""
    wide = 2 * draft.steps(4) + draft.pen_px
    a, b, middle = draft.at(6, 18), draft.at(18, 6), draft.at(12, 12)
    whole = shapes.stroke(draft.size, [a, b], line_px=wide)
    x, y = shapes.centres(draft.size)
    lower = whole & ((x - middle[0]) - (y - middle[1]) <= draft.pen_px / 2)
    return draft.outline(whole) | lower


def _basket(draft: Draft) -> Mask:
    """A shopping basket."""
    body = draft.line((4, 10), (6, 21), (18, 21), (20, 10))
    ribs = (
        joined([draft.line((x, 14), (x, 17)) for x in (9, 12, 15)])
        if draft.pen_px > 1
        else draft.both(draft.line((9.5, 14), (9.5, 18)))
    )
    return joined([body, draft.line((2, 10), (22, 10)), draft.both(draft.line((7, 10), (10, 3))), ribs])


def _trolley(draft: Draft) -> Mask:
    """A shopping trolley."""
    body = draft.line((2, 3), (5, 3), (8, 16), (19, 16)) | draft.line((6, 7), (21, 7), (19, 12), (7, 12))
    return joined([body, draft.dot(9, 20), draft.dot(18, 20)])


def _coffee(draft: Draft) -> Mask:
    """A cup that steams."""
    cup = draft.line((4, 10), (4, 15), (7, 18), (14, 18), (17, 15), (17, 10), closed=True)
    ear = draft.line((17, 11), (21, 11), (21, 15), (17, 15))
    steam = joined([draft.line((x, 3), (x, 6)) for x in (8, 13)])
    return joined([cup, ear, steam, draft.line((3, 22), (18, 22))])


def _meal(draft: Draft) -> Mask:
    """A dish under its cover."""
    dome = draft.arc(12, 18, radius_units=9, span_deg=(-90, 90))
    return joined(
        [dome, draft.line((2, 18), (22, 18)), draft.dot(12, 6, pens=1.6), draft.line((6, 22), (18, 22))]
    )


def _cutlery(draft: Draft) -> Mask:
    """Fork and knife."""
    fork = draft.line((3, 2), (3, 8), (7, 11), (11, 8), (11, 2)) | draft.line((7, 2), (7, 22))
    knife = draft.area((17, 2), (20, 6), (20, 13), (17, 13)) | draft.line((17, 2), (17, 22))
    return fork | knife


def _key(draft: Draft) -> Mask:
    """A key."""
    return joined(
        [
            draft.ring(7, 12, radius_units=5),
            draft.line((12, 12), (22, 12)),
            draft.line((21, 12), (21, 17)),
            draft.line((16, 12), (16, 16)),
        ]
    )


def _camera(draft: Draft) -> Mask:
    """A camera."""
    body = draft.line((2, 7), (7, 7), (9, 4), (15, 4), (17, 7), (22, 7), (22, 20), (2, 20), closed=True)
    return body | draft.ring(12, 13, radius_units=3.5)


def _mask(draft: Draft) -> Mask:
    """A mask for mouth and nose."""
    cloth = draft.line((6, 8), (12, 6), (18, 8), (18, 15), (12, 19), (6, 15), closed=True)
    bands = draft.both(draft.line((6, 9), (2, 10), (2, 14), (6, 15)))
    return joined([cloth, bands, draft.line((10, 11), (14, 11)), draft.line((10, 14), (14, 14))])


def _person(draft: Draft) -> Mask:
    """Someone."""
    shoulders = draft.line((4, 21), (4, 18), (8, 14), (16, 14), (20, 18), (20, 21), closed=True)
    return draft.ring(12, 7, radius_units=4) | shoulders


def _gift(draft: Draft) -> Mask:
    """A present with its bow."""
    box = draft.frame(4, 12, right=20, bottom=21) | draft.frame(2, 8, right=22, bottom=12)
    return joined(
        [box, draft.line((12, 8), (12, 21)), draft.both(draft.line((12, 8), (7, 6), (8, 2), (12, 8)))]
    )


DAY_SIGNS: Mapping[str, Callable[[Draft], Mask]] = MappingProxyType(
    {
        "post": _post,
        "parcel": _parcel,
        "bin-paper": _bin_paper,
        "bin-glass": _bin_glass,
        "bin-bio": _bin_bio,
        "bin-packaging": _bin_packaging,
        "bin-rest": _bin_rest,
        "cake": _cake,
        "gift": _gift,
        "heart": _heart,
        "person": _person,
        "phone": _phone,
        "mobile": _mobile,
        "envelope": _envelope,
        "music": _music,
        "book": _book,
        "school": _school,
        "gym": _gym,
        "medicine": _medicine,
        "mask": _mask,
        "basket": _basket,
        "trolley": _trolley,
        "coffee": _coffee,
        "meal": _meal,
        "cutlery": _cutlery,
        "key": _key,
        "camera": _camera,
    }
)
