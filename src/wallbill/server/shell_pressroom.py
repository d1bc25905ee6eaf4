"""What one process needs to gather and to pull: the store, the kept facts, its copy of the wall, its presses."""

import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from structlog.typing import FilteringBoundLogger

from wallbill.errors import Place, SheetError, WallbillError
from wallbill.server.model import Pull, Pulled, Round
from wallbill.server.packing import Print, Snapshot
from wallbill.server.rounds import Bench, do_pull, sorted_out
from wallbill.server.shell_copy import WallCopy
from wallbill.server.shell_puller import Given, Puller
from wallbill.server.shell_standings import KeptStandings
from wallbill.sheets.shell_facts import frozen_facts, gather_round
from wallbill.sources.frozen import Mark
from wallbill.sources.keeping import FactKeep
from wallbill.store.model import Outcome, Pressing
from wallbill.store.ports import Store

_ROLL_S = 5.0
Done = Callable[[tuple[Pressing, ...]], None]


def _nobody(_pressings: tuple[Pressing, ...]) -> None:
    """Nobody wants to be told."""


class Roll:
    """The displays that are installed, asked for again after a few seconds, or when one is not among them."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._lock = threading.Lock()
        self._known: dict[str, str] = {}
        self._read_s = -_ROLL_S

    def likes(self, names: Sequence[str]) -> dict[str, str]:
        """Whose settings these displays have; those that are not installed are left out. Raises `StoreError`."""
        with self._lock:
            late = time.monotonic() - self._read_s > _ROLL_S
            if late or any(name not in self._known for name in names):
                self._known = {each.name: each.like for each in self._store.installed()}
                self._read_s = time.monotonic()
            return {name: self._known[name] for name in names if name in self._known}


@dataclass(frozen=True, slots=True)
class Pressroom:
    """All that gathering and pulling need. May be used from several threads.

    ``copy``: of the wall. ``done``: told what was recorded of each pull.
    """

    store: Store
    keeper: FactKeep
    copy: WallCopy
    puller: Puller
    log: FilteringBoundLogger
    done: Done = field(default=_nobody)
    _roll: Roll = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_roll", Roll(self.store))

    def apart(self, work: Round) -> Round:
        """The round with pulls taken apart whose pictures would differ."""
        try:
            return sorted_out(work, self.copy.at(work.pulls[0].wall).texts) if work.pulls else work
        except (WallbillError, OSError):
            return work  # it is told when it is pressed

    def gather(self, work: Round) -> tuple[Mark, ...]:
        """Gathers the facts of a round into the keeper; gives the marks under which they are kept.

        A source's own trouble is kept beside its facts. Raises `WallbillError` where nothing can be gathered at all.
        """
        if not work.pulls:
            return ()
        wall = self.copy.at(work.pulls[0].wall).wall
        return gather_round(wall, work.at, keeper=self.keeper, only=frozenset(work.sources))

    def frozen(self, order: Pull, marks: tuple[Mark, ...], *, name: str) -> Snapshot:
        """What is kept of the facts under those marks. Raises `WallbillError` where it cannot be read."""
        wall = self.copy.at(order.wall).wall
        return Snapshot(name, frozen_facts(wall, order.at, marks, keeper=self.keeper))

    def give_up(self, order: Pull, why: str) -> None:
        """Records that a pull could not be done; what is up stays up. Raises `StoreError`."""
        fault = SheetError(
            f"the sheet could not be pressed: {why}",
            where=Place(f"display {order.displays[0]}"),
            mend="Try it by hand: wallbill press DIR DISPLAY --out DIR",
        )
        failed = Pulled(order.sheet, "asked" if order.sheet else "timetable", None, fault=str(fault))
        self._do(order, lambda *_: Print(failed))

    def pull(self, order: Pull, snapshot: Snapshot) -> None:
        """Does a pull, records and logs what came of it. Raises `StoreError`."""

        def press(asked: Pull, like: str, standing: bytes) -> Print:
            return self.puller.pull(asked, Given(like, snapshot, standing))

        self._do(order, press)

    def _do(self, order: Pull, press: Callable[[Pull, str, bytes], Print]) -> None:
        standings, zone = KeptStandings(self.keeper), self.copy.zone(order.wall)
        bench = Bench(self.store, standings, self._roll.likes, press, zone)
        pressings = do_pull(order, bench)
        for each in pressings:
            say = self.log.warning if each.outcome is Outcome.FAILED else self.log.info
            told = {"fault": each.told} if each.told else {}
            say(
                "pulled",
                display=each.display,
                outcome=str(each.outcome),
                sheet=each.sheet,
                at=each.looked_at.isoformat(),
                took_ms=each.took_ms,
                **told,
            )
        self.done(pressings)
