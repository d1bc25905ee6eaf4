"""Marks: what states, signals and trends look like beside a word or a number."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from wallbill.blocks.icons.signs_draft import Draft, joined
from wallbill.inks.impression import Mask


def _radio(draft: Draft) -> Mask:
    """Waves from a point upwards."""
    arcs = joined([draft.arc(12, 19, radius_units=r, span_deg=(-45, 45)) for r in (5, 10, 15)])
    return arcs | draft.dot(12, 19)


def _wifi(draft: Draft) -> Mask:
    """Wireless, there."""
    return _radio(draft)


def _struck(draft: Draft, mask: Mask) -> Mask:
    """A sign struck through: not there, or switched off."""
    return draft.before(draft.line((3, 21), (21, 3)), mask)


def _wifi_off(draft: Draft) -> Mask:
    """Wireless, gone."""
    return _struck(draft, _radio(draft))


def _bell(draft: Draft) -> Mask:
    """A bell."""
    dome = draft.line((3, 18), (6, 15), (6, 10), (9, 6), (15, 6), (18, 10), (18, 15), (21, 18), closed=True)
    return joined([dome, draft.line((12, 3), (12, 6)), draft.line((10, 21.5), (14, 21.5))])


def _bell_off(draft: Draft) -> Mask:
    """A bell that is silent."""
    return _struck(draft, _bell(draft))


def _check(draft: Draft) -> Mask:
    """Done, or well."""
    return draft.line((3, 13), (9, 19), (21, 6))


def _cross(draft: Draft) -> Mask:
    """Not so, or failed."""
    return draft.line((4, 4), (20, 20)) | draft.line((4, 20), (20, 4))


def _plus(draft: Draft) -> Mask:
    """More."""
    return draft.line((12, 4), (12, 20)) | draft.line((4, 12), (20, 12))


def _minus(draft: Draft) -> Mask:
    """Less."""
    return draft.line((4, 12), (20, 12))


def _info(draft: Draft) -> Mask:
    """A letter i in its ring."""
    return joined(
        [draft.ring(12, 12, radius_units=10), draft.line((12, 11), (12, 17)), draft.dot(12, 7, pens=1.3)]
    )


def _question(draft: Draft) -> Mask:
    """A question mark: nobody knows."""
    hook = draft.arc(12, 8, radius_units=5, span_deg=(-90, 120)) | draft.line((12, 15), (12, 13), (16, 10.5))
    return joined([hook, draft.dot(12, 20, pens=1.3)])


def _trend_up(draft: Draft) -> Mask:
    """It rises."""
    return draft.line((4, 20), (20, 4)) | draft.line((10, 4), (20, 4), (20, 14))


def _trend_down(draft: Draft) -> Mask:
    """It falls."""
    return draft.line((4, 4), (20, 20)) | draft.line((10, 20), (20, 20), (20, 10))


def _trend_steady(draft: Draft) -> Mask:
    """It stays."""
    return draft.line((3, 9), (21, 9)) | draft.line((3, 15), (21, 15))


def _refresh(draft: Draft) -> Mask:
    """A round arrow: again, or up to date."""
    bow = draft.arc(12, 12, radius_units=8, span_deg=(100, 400))
    return bow | draft.area((14, 2), (20, 6), (14, 9))


def _pause(draft: Draft) -> Mask:
    """It rests."""
    return draft.both(draft.box(7, 4, right=8, bottom=20))


def _play(draft: Draft) -> Mask:
    """It runs."""
    return draft.area((6, 4), (20, 12), (6, 20))


def _cloud_off(draft: Draft) -> Mask:
    """A broken link: no answer."""
    left = draft.line((9, 8), (5, 8), (2, 11), (2, 13), (5, 16), (9, 16))
    return draft.both(left) | draft.line((10, 3), (11, 6)) | draft.line((14, 18), (15, 21))


MARK_SIGNS: Mapping[str, Callable[[Draft], Mask]] = MappingProxyType(
    {
        "wifi": _wifi,
        "wifi-off": _wifi_off,
        "bell": _bell,
        "bell-off": _bell_off,
        "link-broken": _cloud_off,
        "check": _check,
        "cross": _cross,
        "plus": _plus,
        "minus": _minus,
        "info": _info,
        "question": _question,
        "trend-up": _trend_up,
        "trend-down": _trend_down,
        "trend-steady": _trend_steady,
        "refresh": _refresh,
        "play": _play,
        "pause": _pause,
    }
)
