"""Whether a pulled picture is news: what becomes of it, and why, in words for people."""

import io
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from PIL import Image

from wallbill.inks.impression import Codes, Mask
from wallbill.server.model import Pulled
from wallbill.store.model import Edition, Impressed, Outcome, Why

Part = tuple[int, int, int, int]


@dataclass(frozen=True, slots=True)
class Look:
    """What a display was pressed for: the moment (aware), the digest of the wall's files, and until when a sheet was asked for.

    ``until``: local to the wall, None if nobody asked.
    """

    display: str
    at: datetime
    wall: str
    until: datetime | None = None


@dataclass(frozen=True, slots=True)
class Up:
    """What a display has up, and its picture; None where that is no longer known."""

    edition: Edition
    impression: Impressed | None


def settle(
    up: Up | None,
    pulled: Pulled,
    *,
    look: Look,
    outside: Callable[[Impressed, Impressed], bool] | None = None,
) -> tuple[Outcome, Edition | None]:
    """What becomes of a pulled picture on a display, and the new edition if it is news.

    ``up``: None before the first edition. ``outside``: whether two impressions differ outside of their minor parts.
    """
    fresh = pulled.impression
    if fresh is None:
        return Outcome.FAILED, None
    if up is not None and fresh.digest == up.edition.digest:
        return Outcome.SAME, None
    if up is not None and up.impression is not None and pulled.sheet == up.edition.sheet:
        differs = outside or changed_outside
        if (fresh.minor or up.impression.minor) and not differs(up.impression, fresh):
            return Outcome.MINOR, None
    before = up.edition if up else None
    why, told = _why(before, pulled, look)
    return Outcome.NEW, Edition(
        display=look.display,
        number=before.number + 1 if before else 1,
        digest=fresh.digest,
        at=look.at,
        sheet=pulled.sheet,
        why=why,
        told=told,
        dated=pulled.dated,
        wall=look.wall,
    )


def rest_edition(before: Edition, at: datetime) -> Edition:
    """The same picture once more, for a panel that is not to stand still any longer. ``at``: aware."""
    hours = round((at - before.at).total_seconds() / 3600)
    return Edition(
        display=before.display,
        number=before.number + 1,
        digest=before.digest,
        at=at,
        sheet=before.sheet,
        why=Why.REST,
        told=f"the panel had rested {hours} h",
        dated=before.dated,
        wall=before.wall,
    )


def _why(before: Edition | None, pulled: Pulled, look: Look) -> tuple[Why, str]:
    """Why there is a new edition, and the same in words."""
    if before is None:
        return Why.FIRST, f"the first one, sheet {pulled.sheet}"
    if before.sheet != pulled.sheet:
        return _other_sheet(pulled, look)
    news = "; ".join(_news(before, pulled))
    if before.wall != look.wall:
        return Why.WALL, "; ".join(filter(None, ("the wall was edited", news)))
    return Why.FACTS, news or "time has passed"


def _other_sheet(pulled: Pulled, look: Look) -> tuple[Why, str]:
    if pulled.by == "asked":
        until = f" until {look.until:%H:%M}" if look.until else ""
        return Why.ASKED, f"somebody asked for sheet {pulled.sheet}{until}"
    if pulled.by == "interrupt":
        return Why.INTERRUPT, f"sheet {pulled.sheet}, as its interrupt holds"
    return Why.TIMETABLE, f"sheet {pulled.sheet} by the timetable"


def _news(before: Edition, pulled: Pulled) -> Iterator[str]:
    """Which facts are newer than they were, and which are stale."""
    known = dict(before.dated)
    newer = [name for name, dated in pulled.dated if known.get(name) != dated]
    if newer:
        yield f"newer: {', '.join(newer)}"
    if pulled.stale:
        yield f"stale: {', '.join(pulled.stale)}"


def changed_outside(before: Impressed, after: Impressed) -> bool:
    """Whether two impressions differ in more than their minor parts.

    A changed pixel is minor where it lies in a minor part of both. Where it lies in a minor part of one only, as the part
    grew, shrank or moved, it is minor if the other shows that part's own ground there: nothing else took the place.
    """
    if (before.panel, before.width_px, before.height_px) != (after.panel, after.width_px, after.height_px):
        return True
    old, new = _codes(before.png), _codes(after.png)
    if old.shape != new.shape:
        return True
    changed: Mask = old != new
    was, becomes = _within(before.minor, changed), _within(after.minor, changed)
    excused = was & becomes
    excused |= was & ~becomes & _bare(old, new, before.minor)
    excused |= becomes & ~was & _bare(new, old, after.minor)
    return bool((changed & ~excused).any())


def _codes(png: bytes) -> Codes:
    """The ink codes of an impression's own PNG: uint8, shape (height, width)."""
    with Image.open(io.BytesIO(png), formats=("PNG",)) as image:
        return np.asarray(image, dtype=np.uint8)


def _within(parts: Sequence[Part], like: Mask) -> Mask:
    """True inside of any part: bool, of the shape of ``like``."""
    found: Mask = np.zeros_like(like)
    for left, top, right, bottom in parts:
        found[max(top, 0) : max(bottom, 0), max(left, 0) : max(right, 0)] = True
    return found


def _bare(owner: Codes, other: Codes, parts: Sequence[Part]) -> Mask:
    """True in each part of ``owner`` where ``other`` shows the part's ground, its most frequent ink."""
    found: Mask = np.zeros(owner.shape, dtype=np.bool_)
    for left, top, right, bottom in parts:
        box = slice(max(top, 0), max(bottom, 0)), slice(max(left, 0), max(right, 0))
        if owner[box].size:
            found[box] |= other[box] == np.bincount(owner[box].ravel()).argmax()
    return found
