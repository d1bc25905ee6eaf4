"""Alert messages of any format, and which of them still hold: updates, cancels, ends and places."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import TypeVar

from wallbill.errors import Place
from wallbill.facts.alerts import Alert, Certainty, Severity, Urgency
from wallbill.findings import Finding, Weight
from wallbill.sources.alerts_area import Area, Spot

Key = tuple[str, str]
"""Sender and identifier of a message."""

UNSAID = timedelta(days=1)
"""For how long a warning holds whose publisher does not say; CAP 1.2 leaves it to the recipient (from memory)."""

_WordT = TypeVar("_WordT", Severity, Urgency, Certainty)


@dataclass(frozen=True, slots=True)
class Notice:
    """A warning, its areas, and whether it is one: an all-clear and a lowest level of awareness are none."""

    alert: Alert
    areas: tuple[Area, ...]
    warns: bool = True


@dataclass(frozen=True, slots=True)
class Message:
    """One alert message. ``status``, ``kind``: as CAP has them, in lower case, such as ``actual`` and ``update``."""

    key: Key
    sent: datetime
    status: str
    kind: str
    references: tuple[Key, ...]
    notices: tuple[Notice, ...]
    findings: tuple[Finding, ...] = ()


def word_of(kind: type[_WordT], text: str) -> _WordT:
    """A word of CAP, in whatever case; "unknown" for one that it does not have. "Very Likely" of CAP 1.0 is likely."""
    word = text.strip().lower().removeprefix("very ")
    return kind(word) if word in tuple(kind) else kind("unknown")


def instant(text: str) -> datetime | None:
    """An ISO 8601 instant with its offset, in UTC; None for none, or for one without an offset.

    CAP 1.2 wants an offset in figures, ``-00:00`` for UTC; the ``Z`` that some publishers write is understood.
    """
    try:
        moment = datetime.fromisoformat(text.strip())
        return None if moment.tzinfo is None else moment.astimezone(UTC)
    except (ValueError, OverflowError):
        return None


def ending(*, ends: datetime | None, begins: Iterable[datetime | None]) -> datetime:
    """When a warning ends: as it says, else a day after the last of its beginnings."""
    known = [moment for moment in begins if moment is not None]
    return ends or min(max(known), datetime.max.replace(tzinfo=UTC) - UNSAID) + UNSAID


def references_of(text: str) -> tuple[Key, ...]:
    """The messages named by ``sender,identifier,sent`` groups, parted by white space."""
    groups = (group.split(",") for group in text.split())
    return tuple((parts[0], parts[1]) for parts in groups if len(parts) >= 2 and parts[1])


def withdrawn_by(messages: Iterable[Message]) -> frozenset[Key]:
    """The messages that are no longer to be shown, since an actual update or cancel names them."""
    return frozenset(
        key
        for message in messages
        if message.status == "actual" and message.kind in {"update", "cancel"}
        for key in message.references
    )


def in_force(messages: Sequence[Message], spot: Spot, now: datetime) -> tuple[Alert, ...]:
    """The warnings of actual alerts and updates that are not withdrawn, not over at ``now``, and not known to be elsewhere.

    Of two messages with one key the later counts.
    """
    gone = withdrawn_by(messages)
    last: dict[Key, Message] = {}
    for message in messages:
        if message.key not in last or message.sent > last[message.key].sent:
            last[message.key] = message
    found = []
    for key, message in last.items():
        if key in gone or message.status != "actual" or message.kind not in {"alert", "update"}:
            continue
        for notice in message.notices:
            if notice.warns and not notice.alert.is_over(now):
                placed = _placed(notice, spot)
                if placed.here is not False:
                    found.append(placed)
    return tuple(found)


def _placed(notice: Notice, spot: Spot) -> Alert:
    """The warning with the areas that hold the place; of one with no area at all nobody is outside."""
    judged = [(area, spot.is_in(area)) for area in notice.areas]
    ours = [area for area, here in judged if here]
    if not judged:
        here: bool | None = True
    elif ours:
        here = True
    else:
        here = None if any(here is None for _, here in judged) else False
    shown = ours or [area for area, _ in judged]
    return replace(
        notice.alert,
        here=here,
        areas=tuple(dict.fromkeys(area.name for area in shown if area.name)),
        codes=tuple(dict.fromkeys(code for area in shown for code in area.codes)),
    )


def unplaced(alerts: Sequence[Alert], file: str) -> tuple[Finding, ...]:
    """A finding where warnings are shown since their place cannot be told."""
    codes = list(
        dict.fromkeys(f"{name}={value}" for a in alerts if a.here is None for name, value in a.codes)
    )
    if not codes:
        return ()
    return (
        Finding(
            rule="sources.alert-place",
            where=Place(file),
            what="warnings name their areas by codes only, so they are shown wherever they are for: "
            + ", ".join(codes[:8]),
            mend='Name the codes that the wall lies in: areas = ["…"].',
            weight=Weight.NOTE,
        ),
    )
