"""What watching over a wall looks at, as values: each display, each source, the server's own parts."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta, tzinfo

from wallbill.facts.origin import Freshness
from wallbill.panels.model import Climate
from wallbill.server.batteries import Forecast
from wallbill.store.model import Contact, Pressing, Report
from wallbill.wall.model import WatchSettings

LONGEST_RETRY = timedelta(hours=6)
"""How long a device that found nobody waits at most before it tries again (docs/reference/devices.md)."""

_BREAK = timedelta(minutes=5)
_BACKWARD = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class Vigil:
    """Since when the server has watched without a break; it was away from ``down_since`` until ``up_since``.

    ``looked_at``: the last look. ``down_since`` None: nobody knows since when it had been away.
    """

    up_since: datetime
    down_since: datetime | None
    looked_at: datetime


def keep_vigil(vigil: Vigil | None, now: datetime, *, alive_at: datetime | None = None) -> Vigil:
    """The vigil after a look at ``now``. To be called at every look, each minute or so.

    A stretch without a look, a machine that slept and a clock that jumped are all the same: the displays could not be
    seen. ``alive_at``: the last sign of life of the run before, such as its newest contact or pressing; counts at the
    first look only. A short wake between two breaks makes one long break of them.
    """
    if vigil is None:
        return Vigil(now, alive_at if alive_at and alive_at <= now else None, now)
    if -_BACKWARD <= now - vigil.looked_at <= _BREAK:
        return replace(vigil, looked_at=max(now, vigil.looked_at))
    short = vigil.looked_at - vigil.up_since < LONGEST_RETRY
    down_since = vigil.down_since if short else vigil.looked_at
    return Vigil(now, None if down_since is None else min(down_since, now), now)


@dataclass(frozen=True, slots=True)
class Showing:
    """Whether a display takes up what it is given, followed call by call.

    ``given``: the tags that it came away with at its last two calls, the last one first. ``missed``: how often in a
    row it then said that it shows something else; ``since``: the first of those times, None if none.
    """

    given: tuple[str, ...] = ()
    missed: int = 0
    since: datetime | None = None


def follow_contact(showing: Showing, contact: Contact) -> Showing:
    """The same after another call. A call that says nothing of what is shown leaves the count as it is."""
    judged = showing
    if contact.shown and showing.given:
        judged = _counted(showing, good=contact.shown == showing.given[0], at=contact.at)
    return replace(judged, given=(contact.tag, *showing.given[:1])) if contact.tag else judged


def follow_report(showing: Showing, report: Report) -> Showing:
    """The same after a report: it may speak of the call before, so either of the last two tags is good."""
    if not report.shown or len(showing.given) < 2:
        return showing
    if report.shown == showing.given[0]:
        return replace(showing, missed=0, since=None)
    return _counted(showing, good=report.shown in showing.given, at=report.at)


def _counted(showing: Showing, *, good: bool, at: datetime) -> Showing:
    if good:
        return replace(showing, missed=0, since=None)
    return replace(showing, missed=showing.missed + 1, since=showing.since or at)


@dataclass(frozen=True, slots=True)
class SeenDisplay:
    """What is known of a display. ``reports``, ``pressings``: the last few, newest first.

    ``every``: its usual interval. ``contact``: its last; ``due_at`` in it covers quiet hours already.
    ``battery``: of `batteries.forecast`, None where it cannot be told. ``climate``: of its panel.
    """

    name: str
    installed_at: datetime
    every: timedelta
    contact: Contact | None = None
    reports: tuple[Report, ...] = ()
    pressings: tuple[Pressing, ...] = ()
    showing: Showing = Showing()
    battery: Forecast | None = None
    climate: Climate | None = None


@dataclass(frozen=True, slots=True)
class SeenSource:
    """How the last gathering found a source, and since when it has been so; ``freshness`` None: none gathered yet.

    ``trouble``, ``mend``: of its last failure in words, "" if it did not fail.
    """

    name: str
    freshness: Freshness | None
    since: datetime
    trouble: str = ""
    mend: str = ""


@dataclass(frozen=True, slots=True)
class SeenFault:
    """A part of the server that fails: ``store``, ``workers``, ``clockwork``, ``disk``, ``mail``, ``webhook``.

    ``since``: when it was first found so; see `lasting`.
    """

    part: str
    what: str
    mend: str
    since: datetime


def lasting(before: Iterable[SeenFault], found: Iterable[SeenFault]) -> tuple[SeenFault, ...]:
    """The faults that are found now, each dated from the first of the looks in a row that found its part at fault."""
    since = {fault.part: fault.since for fault in before}
    return tuple(
        replace(fault, since=min(since.get(fault.part, fault.since), fault.since)) for fault in found
    )


@dataclass(frozen=True, slots=True)
class Seen:
    """All that is judged at one look. ``zone``: of the wall, for moments in words.

    ``up_since``, ``down_since``: of the `Vigil`. Faults that are not listed are no more.
    """

    up_since: datetime
    zone: tzinfo
    down_since: datetime | None = None
    displays: tuple[SeenDisplay, ...] = ()
    sources: tuple[SeenSource, ...] = ()
    faults: tuple[SeenFault, ...] = ()
    settings: WatchSettings = field(default_factory=WatchSettings)
