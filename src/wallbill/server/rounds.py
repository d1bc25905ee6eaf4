"""A pull from the order to the editions: what is left to be done of it, and what becomes of the picture on each display.

Doing the same pull twice changes nothing: a display that was pressed for that moment is passed over, and of two
workers that put up the same number the slower one reads anew.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, tzinfo
from typing import Protocol

from wallbill.server.editing import Look, Up, changed_outside, settle
from wallbill.server.likeness import asks_for_name
from wallbill.server.model import Pull, Pulled, Round
from wallbill.server.packing import Print
from wallbill.store.model import Edition, Impressed, Outcome, Pressing
from wallbill.store.ports import Store

_TRIES = 8
_FEW = 16


class Standings(Protocol):
    """Where the page that an impression was made from is kept, so that its pictures keep their dots."""

    def get(self, display: str, digest: str) -> bytes:
        """The page of the impression that a display has up, b"" where it is not known."""
        ...

    def put(self, display: str, digest: str, standing: bytes) -> None:
        """Keeps the page of an impression in place of the one before."""
        ...


@dataclass(frozen=True, slots=True)
class Bench:
    """What doing a pull needs. ``zone``: the wall's.

    ``likes``: of displays by name, whose settings each has; those that are installed no more are left out. ``press``: presses the order for the display of wall.toml that is named, from a standing page.
    """

    store: Store
    standings: Standings
    likes: Callable[[Sequence[str]], Mapping[str, str]]
    press: Callable[[Pull, str, bytes], Print]
    zone: tzinfo


def sorted_out(work: Round, texts: Mapping[str, str]) -> Round:
    """The round with each pull whose picture would differ from display to display taken apart.

    A sheet that is asked for by hand may ask for the display's name where those of the timetable do not.
    """
    pulls: list[Pull] = []
    for order in work.pulls:
        if order.sheet and len(order.displays) > 1 and asks_for_name([order.sheet], texts):
            pulls += [replace(order, displays=(name,)) for name in order.displays]
        else:
            pulls.append(order)
    return replace(work, pulls=tuple(pulls))


def do_pull(order: Pull, bench: Bench) -> tuple[Pressing, ...]:
    """Does a pull for each of its displays that still wants it; gives what was recorded of it.

    Raises `StoreError`; whatever goes wrong with the sheet is recorded as a failed pressing, and what is up stays up.
    """
    store = bench.store
    ups = _left(order, store)
    likes = bench.likes(tuple(ups)) if ups else {}
    ups = {name: edition for name, edition in ups.items() if name in likes}
    if not ups:
        return ()
    first = next(iter(ups))
    edition = ups[first]
    standing = bench.standings.get(first, edition.digest) if edition else b""
    ordered = replace(order, displays=(first, *(name for name in ups if name != first)))
    made = bench.press(ordered, likes[first], standing)
    until = _until(order, store, bench.zone) if made.pulled.by == "asked" else {}
    outside = _once(changed_outside)
    done = tuple(
        _put_up(
            made.pulled,
            Look(name, order.at, order.wall, until.get(name)),
            store=store,
            edition=ups[name],
            outside=outside,
        )
        for name in ups
    )
    if made.pulled.impression and made.standing and any(each.outcome is Outcome.NEW for each in done):
        bench.standings.put(first, made.pulled.impression.digest, made.standing)
    store.note_pressing(*done)
    return done


def _left(order: Pull, store: Store) -> dict[str, Edition | None]:
    """The displays of an order that are not pressed for its moment yet, with what they have up."""
    looked = _looked(order.displays, store)
    found = {}
    for name in order.displays:
        edition = next(iter(store.history(name, most=1)), None)
        if not _is_done(order, edition, looked.get(name)):
            found[name] = edition
    return found


def _looked(names: Sequence[str], store: Store) -> Mapping[str, datetime]:
    """The last moment that each display was pressed for."""
    if len(names) > _FEW:
        return {name: at for name, (at, _) in store.looked().items()}
    last = {name: next(iter(store.pressings(display=name, most=1)), None) for name in names}
    return {name: pressing.looked_at for name, pressing in last.items() if pressing}


def _is_done(order: Pull, edition: Edition | None, looked_at: datetime | None) -> bool:
    """Whether a display was pressed for this moment, or a later one. In the same second a sheet may be asked for."""
    if looked_at is None or looked_at < order.at:
        return False
    if looked_at > order.at or edition is None:
        return True
    return not (order.sheet and order.sheet != edition.sheet)


def _until(order: Pull, store: Store, zone: tzinfo) -> dict[str, datetime]:
    return {
        each.display: each.until.astimezone(zone)
        for each in store.asked()
        if each.display in order.displays and each.sheet == order.sheet
    }


def _put_up(
    pulled: Pulled, look: Look, *, store: Store, edition: Edition | None, outside: "Outside"
) -> Pressing:
    """Settles a picture on one display, reading anew whenever somebody else was quicker."""
    outcome = Outcome.FAILED
    for _ in range(_TRIES):
        impression = store.impression(edition.digest) if edition and _may_be_minor(pulled, edition) else None
        up = Up(edition, impression) if edition else None
        outcome, fresh = settle(up, pulled, look=look, outside=outside)
        if fresh is None or store.put_up(fresh, pulled.impression):
            break
        edition = next(iter(store.history(look.display, most=1)), None)
        if edition is not None and edition.at > look.at:
            outcome = Outcome.SAME  # a later look has been done already: it stays
            break
    return Pressing(
        display=look.display,
        looked_at=look.at,
        outcome=outcome,
        sheet=pulled.sheet,
        took_ms=pulled.took_ms,
        told=pulled.fault,
        findings=pulled.findings,
        stale=pulled.stale,
    )


def _may_be_minor(pulled: Pulled, edition: Edition) -> bool:
    """Whether the picture that is up has to be looked at."""
    return pulled.impression is not None and pulled.impression.digest != edition.digest


Outside = Callable[[Impressed, Impressed], bool]


def _once(reckon: Outside) -> Outside:
    """``reckon``, asked once for each pair: of a hundred like displays most have the same picture up."""
    known: dict[tuple[str, str], bool] = {}

    def outside(before: Impressed, after: Impressed) -> bool:
        key = before.digest, after.digest
        if key not in known:
            known[key] = reckon(before, after)
        return known[key]

    return outside
