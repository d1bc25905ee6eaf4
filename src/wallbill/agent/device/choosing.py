"""How a picture is to be put on the glass: by a full, a fast or a partial refresh. Pure."""

from __future__ import annotations

from typing import NamedTuple

from wallbill.agent.device.plates import Part, Picture, changed_part

_MOST_SHARE = 0.5  # of the picture: a larger change is not worth the ghosts; a choice


class Refresh(NamedTuple):
    """A way to refresh. ``part``: what changed, in the panel's scan order; None for all of it."""

    mode: str
    part: Part | None = None


FULL = Refresh("full")


def refresh_for(
    old: Picture | None, new: Picture, *, modes: tuple[str, ...], since_full: int, full_every: int
) -> Refresh:
    """The gentlest refresh that the driver can do and that leaves no ghosts for long.

    ``old``: what the glass certainly shows, None where that is unknown: then only a full refresh will do.
    ``since_full``: refreshes since a full one; the ``full_every``-th is a full one.
    """
    if old is None or since_full + 1 >= full_every or old[:2] != new[:2]:
        return FULL
    part = changed_part(old, new)
    if part is None:  # the same once more: the pigments are to be moved
        return FULL
    if "partial" in modes:
        left, top, right, bottom = part
        if (right - left) * (bottom - top) <= _MOST_SHARE * new.width_px * new.height_px:
            return Refresh("partial", part)
    return Refresh("fast") if "fast" in modes else FULL
