"""Which notices begin, go on and end: each thing that is amiss is told once, and once more when it is over."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from types import MappingProxyType

from wallbill.server.watched import (
    Seen,
    SeenDisplay,
    SeenFault,
    SeenSource,
    Showing,
    Vigil,
    follow_contact,
    follow_report,
    keep_vigil,
    lasting,
)
from wallbill.server.watching_rules import Kind, Signal, State, signals
from wallbill.store.model import Notice

__all__ = [
    "Kind",
    "Seen",
    "SeenDisplay",
    "SeenFault",
    "SeenSource",
    "Showing",
    "Vigil",
    "follow_contact",
    "follow_report",
    "judge",
    "keep_vigil",
    "lasting",
    "over",
    "sent",
    "unsent",
]

REMEMBERED = timedelta(days=3)
"""How long ended notices make the next one of their name slower to end. `judge` is to be given those."""

STEADIEST = timedelta(days=1)
"""What has looked mended for so long is over, however often it came back."""

NO_NEWS = timedelta(days=7)
"""What has been over for so long is not sent out any more."""

_LEAST = timedelta(milliseconds=1)

_OVER: Mapping[str, str] = MappingProxyType(
    {
        Kind.MISSED_WAKES: "{} calls again",
        Kind.SHOWS_OLD: "{} shows what it is given again",
        Kind.DISPLAY_ERROR: "{} reports no error any more",
        Kind.BATTERY_LOW: "the battery of {} is good again",
        Kind.TOO_COLD: "{} is warm enough again",
        Kind.TOO_WARM: "{} is cool enough again",
        Kind.PRESS_FAILED: "the sheet of {} can be pressed again",
        Kind.STALE_SOURCE: "the source {} is fresh again",
        Kind.SERVER_FAULT: "{} works again",
    }
)

_Name = tuple[str, str]


def judge(seen: Seen, notices: Sequence[Notice], now: datetime) -> tuple[Notice, ...]:
    """The notices to be written at ``now`` (aware, UTC): new ones, and those that changed or ended.

    ``notices``: all that are open, and those that ended within `REMEMBERED`. One ends when what it told of has looked
    mended for a while, and for twice as long each time that it came back lately, so that flapping makes few notices.
    """
    ended = [notice for notice in notices if notice.ended_at is not None]
    open_now = sorted((n for n in notices if n.ended_at is None), key=lambda n: n.since, reverse=True)
    begun = {_name(notice): notice for notice in open_now}  # of two of one name the older stays
    again = Counter(_name(n) for n in ended if n.ended_at and now - n.ended_at <= REMEMBERED)
    taken = {(*_name(notice), notice.since) for notice in ended}
    written = [_dropped(notice, now) for notice in open_now if begun[_name(notice)] is not notice]
    for signal in signals(seen, now):
        name: _Name = (signal.kind, signal.subject)
        before = begun.pop(name, None)
        if before is None:
            if signal.state is State.AMISS:
                since = now if (*name, signal.since) in taken else signal.since
                written.append(Notice(signal.kind.value, signal.subject, signal.what, signal.mend, since))
            continue
        after = _gone_on(before, signal, now, steady=signal.steady * 2 ** again[name])
        if after != before:
            written.append(after)
    unseen = (_unseen(notice, now, again=again[name]) for name, notice in begun.items())
    return (*written, *(after for after in unseen if after is not None))


def unsent(notices: Sequence[Notice], now: datetime) -> tuple[Notice, ...]:
    """The notices that are still to be sent out: those that were never, and those that have ended since.

    What has been over for longer than `NO_NEWS` is left out: a wall that is given an address for its mail tells today's.
    """
    return tuple(
        notice
        for notice in notices
        if (notice.ended_at is None and notice.sent_at is None)
        or (
            notice.ended_at is not None
            and (notice.sent_at is None or notice.sent_at < notice.ended_at)
            and now - notice.ended_at <= NO_NEWS
        )
    )


def sent(notice: Notice, now: datetime) -> Notice:
    """The notice after it was accepted by everyone who is told. Whatever the clock does, it is not sent twice."""
    return replace(notice, sent_at=max(now, notice.ended_at or now))


def over(notice: Notice) -> str:
    """What is said of a notice that has ended, in words."""
    return _OVER.get(notice.kind, "{}: over").format(notice.subject)


def _name(notice: Notice) -> _Name:
    return notice.kind, notice.subject


def _gone_on(before: Notice, signal: Signal, now: datetime, *, steady: timedelta) -> Notice:
    """An open notice after another look."""
    if signal.state is State.AMISS:
        return replace(before, what=signal.what, mend=signal.mend, better_since=None)
    if signal.state is State.UNKNOWN:
        return before
    if before.better_since is None or before.better_since > now:
        return replace(before, better_since=now)
    return _ended(before, now) if now - before.better_since >= min(steady, STEADIEST) else before


def _ended(notice: Notice, now: datetime) -> Notice:
    """The notice with its end, later than when it went out, even where the clock was set back in between."""
    earliest = notice.since if notice.sent_at is None else max(notice.since, notice.sent_at + _LEAST)
    return replace(notice, ended_at=max(now, earliest))


def _dropped(notice: Notice, now: datetime) -> Notice:
    """A notice that ends without a word, because what it was about is there no more."""
    ended = _ended(notice, now)
    return replace(ended, sent_at=ended.ended_at)


def _unseen(notice: Notice, now: datetime, *, again: int) -> Notice | None:
    """What becomes of an open notice that no signal speaks of: a part that works again, or something that was removed."""
    if notice.kind != Kind.SERVER_FAULT:
        return _dropped(notice, now)
    mended = Signal(Kind.SERVER_FAULT, notice.subject, State.MENDED, now)
    after = _gone_on(notice, mended, now, steady=mended.steady * 2**again)
    return after if after != notice else None
