"""What each kind of notice looks for: for every display, source and part, whether it is amiss, mended or not known."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from enum import StrEnum

from wallbill.facts.origin import Freshness
from wallbill.server.scrubbing import scrubbed_text
from wallbill.server.watched import LONGEST_RETRY, Seen, SeenDisplay, SeenSource
from wallbill.store.model import Contact, Outcome, Pressing, Report

FIRST_CALL = timedelta(days=1)
"""A display that was added and has not called for so long is told. Common practice, no source."""

STALE_CALLS = 3
"""A display that takes nothing up so often in a row shows something old."""

_GRACE = timedelta(minutes=5)
_GRACE_SHARE = 0.1  # a sleeping clock without a crystal is out by a few per cent (common practice, no source)
_FAULT_FOR = timedelta(minutes=2)
_STALE_FOR = timedelta(minutes=10)
_AHEAD = timedelta(minutes=2)  # a contact further ahead than this was noted by another clock
_DAY = timedelta(days=1)
_STEADY = timedelta(minutes=15)
_BATTERY_STEADY = timedelta(hours=6)
_BATTERY_MARGIN = 1.25
_CLIMATE_MARGIN_C = 1.0
_OLD_NEWS = timedelta(days=7)
_LONGEST_TOLD = 300


class Kind(StrEnum):
    """The kinds of notices; each has a heading in docs/reference/watching.md."""

    MISSED_WAKES = "missed-wakes"
    SHOWS_OLD = "shows-old"
    DISPLAY_ERROR = "display-error"
    BATTERY_LOW = "battery-low"
    TOO_COLD = "too-cold"
    TOO_WARM = "too-warm"
    PRESS_FAILED = "press-failed"
    STALE_SOURCE = "stale-source"
    SERVER_FAULT = "server-fault"


class State(StrEnum):
    """How something stands. Of what is not known a notice neither begins nor ends."""

    AMISS = "amiss"
    MENDED = "mended"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Signal:
    """How one thing stands at one look. ``steady``: how long it must look mended before that is believed.

    ``what``, ``mend``, ``since``: for a notice, where it is amiss.
    """

    kind: Kind
    subject: str
    state: State
    since: datetime
    what: str = ""
    mend: str = ""
    steady: timedelta = _STEADY


def signals(seen: Seen, now: datetime) -> Iterator[Signal]:
    """How everything stands at ``now``, in a fixed order."""
    for display in seen.displays:
        yield _missed_wakes(display, seen, now)
        yield _shows_old(display, now)
        yield _display_error(display, now)
        yield _battery_low(display, seen, now)
        yield from _climate(display, now)
        yield _press_failed(display, now)
    for source in seen.sources:
        yield _stale_source(source, seen, now)
    for fault in seen.faults:
        state = State.AMISS if now - fault.since >= _FAULT_FOR else State.UNKNOWN
        yield Signal(Kind.SERVER_FAULT, fault.part, state, min(fault.since, now), fault.what, fault.mend)


def worded(moment: datetime, zone: tzinfo) -> str:
    """A moment in words, local to the wall."""
    return f"{moment.astimezone(zone):%Y-%m-%d %H:%M %Z}"


def cleaned(text: str) -> str:
    """A text from outside as one short line, without control characters and without keys that it may quote."""
    line = scrubbed_text(" ".join("".join(c if c.isprintable() else " " for c in text).split()))
    return line if len(line) <= _LONGEST_TOLD else line[: _LONGEST_TOLD - 1] + "…"


def grace(contact: Contact) -> timedelta:
    """By how much a device may be late without a word: five minutes, and a tenth of its sleep for its clock."""
    return _GRACE + max(contact.due_at - contact.at, timedelta(0)) * _GRACE_SHARE


def lateness(due_at: datetime, seen: Seen, now: datetime) -> timedelta:
    """How long after ``due_at`` a call could have reached us; what the server was away for does not count."""
    if due_at >= seen.up_since:
        return now - due_at
    before = timedelta(0) if seen.down_since is None else max(seen.down_since - due_at, timedelta(0))
    return before + (now - seen.up_since)


def _retrying(due_at: datetime, seen: Seen) -> timedelta:
    """How long a device may still sleep that found nobody: its waits grow with the time that it has tried."""
    began = due_at if seen.down_since is None else max(due_at, seen.down_since)
    return min(max(seen.up_since - began, timedelta(0)), LONGEST_RETRY)


def _missed_wakes(display: SeenDisplay, seen: Seen, now: datetime) -> Signal:
    contact = display.contact
    if contact is None:
        return _never_called(display, seen, now)
    due_at = contact.due_at
    if contact.at > now + _AHEAD:
        due_at = seen.up_since + min(due_at - contact.at, _DAY)
    late, spare = lateness(due_at, seen, now), grace(contact)
    allowed = seen.settings.missed_wakes * display.every + spare + _retrying(due_at, seen)
    state = State.AMISS if late > allowed else State.MENDED if late <= spare else State.UNKNOWN
    # A little more than one call can look good for: the next one must come on time too.
    steady = min(max(contact.due_at - contact.at, display.every), _DAY) + spare + timedelta(minutes=1)
    if state is not State.AMISS:
        return Signal(Kind.MISSED_WAKES, display.name, state, now, steady=steady)
    last, due = worded(contact.at, seen.zone), worded(due_at, seen.zone)
    return Signal(
        Kind.MISSED_WAKES,
        display.name,
        state,
        min(due_at, now),
        f"{display.name} has not called: last at {last}, due at {due}",
        "Look at its power and its network; press its button, or take its battery off for a minute.",
    )


def _never_called(display: SeenDisplay, seen: Seen, now: datetime) -> Signal:
    late = lateness(display.installed_at + FIRST_CALL, seen, now) > timedelta(0)
    since = worded(display.installed_at, seen.zone)
    return Signal(
        Kind.MISSED_WAKES,
        display.name,
        State.AMISS if late else State.UNKNOWN,
        min(display.installed_at, now),
        f"{display.name} has never called since it was added at {since}",
        "Check the address, the key and the network on the device, or take the display off the wall.",
    )


def _shows_old(display: SeenDisplay, now: datetime) -> Signal:
    showing = display.showing
    told = showing.given and display.contact is not None and display.contact.at <= now + _AHEAD
    state = State.UNKNOWN
    if showing.missed >= STALE_CALLS:
        state = State.AMISS
    elif told and not showing.missed:
        state = State.MENDED
    return Signal(
        Kind.SHOWS_OLD,
        display.name,
        state,
        min(showing.since or now, now),
        f"{display.name} calls, but does not take up what it is given: it still shows something older",
        "Look at its log: the picture may arrive cut short, the panel may not refresh, or its storage may be full.",
        steady=display.every + _GRACE,
    )


def _display_error(display: SeenDisplay, now: datetime) -> Signal:
    run = _run([report for report in display.reports if report.at <= now + _AHEAD])
    if not run:
        state = State.MENDED if display.reports else State.UNKNOWN
        return Signal(Kind.DISPLAY_ERROR, display.name, state, now, steady=display.every)
    return Signal(
        Kind.DISPLAY_ERROR,
        display.name,
        State.AMISS,
        run[-1].at,
        f"{display.name} reports an error: {cleaned(run[0].error or '')}",
        "Look at the device; the words are its own.",
        steady=display.every + _GRACE,
    )


def _run(reports: Sequence[Report]) -> list[Report]:
    """The newest reports, one after the other, that tell an error."""
    run: list[Report] = []
    for report in reports:
        if not report.error:
            break
        run.append(report)
    return run


def _battery_low(display: SeenDisplay, seen: Seen, now: datetime) -> Signal:
    battery, ahead = display.battery, seen.settings.battery_ahead / _DAY
    state, what = State.UNKNOWN, ""
    if battery is not None:
        days = battery.days
        soon = days is not None and days <= ahead
        if soon or battery.nearly:
            state = State.AMISS
        elif days is None or days > ahead * _BATTERY_MARGIN:
            state = State.MENDED
        left = f"will be empty in about {_days(days)}" if days and soon else "is nearly empty"
        left = "is empty" if days == 0 else left
        assumed = ", which is assumed: say battery_empty in wall.toml" if battery.assumed else ""
        what = f"the battery of {display.name} {left} (at {battery.empty_mv / 1000:.2f} V{assumed})"
    return Signal(
        Kind.BATTERY_LOW,
        display.name,
        state,
        now,
        what,
        "Charge or change it.",
        steady=_BATTERY_STEADY,
    )


def _days(days: float) -> str:
    whole = max(round(days), 1)
    return "a day" if whole == 1 else f"{whole} days"


def _climate(display: SeenDisplay, now: datetime) -> Iterator[Signal]:
    climate = display.climate
    report = next((report for report in display.reports if report.temperature_c is not None), None)
    if climate is None or report is None or report.temperature_c is None:
        yield Signal(Kind.TOO_COLD, display.name, State.UNKNOWN, now)
        yield Signal(Kind.TOO_WARM, display.name, State.UNKNOWN, now)
        return
    told_c = report.temperature_c
    for kind, beyond_c, limit_c, side, mend in (
        (Kind.TOO_COLD, climate.lowest_c - told_c, climate.lowest_c, "below", "Bring it to a warmer place"),
        (Kind.TOO_WARM, told_c - climate.highest_c, climate.highest_c, "above", "Give it shade and air"),
    ):
        yield Signal(
            kind,
            display.name,
            State.MENDED if now - report.at > _OLD_NEWS else _outside(beyond_c),
            min(report.at, now),
            f"{display.name} is at {told_c:.0f} °C, {side} the {limit_c:g} °C that its panel is made for",
            f"{mend}; refreshes may stay faint or fail.",
            steady=2 * display.every,
        )


def _outside(beyond_c: float) -> State:
    """How a temperature stands that lies by so much beyond its limit."""
    if beyond_c > 0:
        return State.AMISS
    return State.MENDED if beyond_c < -_CLIMATE_MARGIN_C else State.UNKNOWN


def _press_failed(display: SeenDisplay, now: datetime) -> Signal:
    run: list[Pressing] = []
    for pressing in display.pressings:
        if pressing.outcome is not Outcome.FAILED:
            break
        run.append(pressing)
    if not run:
        state = State.MENDED if display.pressings else State.UNKNOWN
        return Signal(Kind.PRESS_FAILED, display.name, state, now, steady=display.every)
    lasted = len(run) > 1 or now - run[0].looked_at > display.every + _GRACE
    newest = run[0]
    told, _, mend = newest.told.partition("\n")
    return Signal(
        Kind.PRESS_FAILED,
        display.name,
        State.AMISS if lasted else State.UNKNOWN,
        min(run[-1].looked_at, now),
        f"the sheet {newest.sheet} of {display.name} cannot be pressed: {cleaned(told)}",
        cleaned(mend).removeprefix("mend: ")
        or "Press it by hand with wallbill press, and mend what it says.",
        steady=display.every,
    )


def _stale_source(source: SeenSource, seen: Seen, now: datetime) -> Signal:
    words = {Freshness.STALE: "gives nothing new", Freshness.MISSING: "gives nothing"}
    state = State.UNKNOWN
    if source.freshness is Freshness.FRESH:
        state = State.MENDED
    elif source.freshness is not None and now - max(source.since, seen.up_since) >= _STALE_FOR:
        state = State.AMISS
    why = f": {cleaned(source.trouble)}" if source.trouble else ""
    return Signal(
        Kind.STALE_SOURCE,
        source.name,
        state,
        min(source.since, now),
        f"the source {source.name} {words.get(source.freshness or Freshness.STALE, '')}{why}",
        cleaned(source.mend) or "Ask it by hand with wallbill facts, and look at its publisher's pages.",
        steady=2 * _STEADY,
    )
