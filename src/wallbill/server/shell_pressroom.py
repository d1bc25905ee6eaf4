"""What one process needs to gather and to pull: the store, the kept facts, its copy of the wall, its presses."""

from collections.abc import Callable
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

Done = Callable[[tuple[Pressing, ...]], None]


def _nobody(_pressings: tuple[Pressing, ...]) -> None:
    """Nobody wants to be told."""


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

    def apart(self, work: Round) -> Round:
        """The round with pulls taken apart whose pictures would differ."""
        try:
            return sorted_out(work, self.copy.at(work.pulls[0].wall).texts) if work.pulls else work
        except (WallbillError, OSError):
            return work  # it is told when it is pressed

    def gather(self, work: Round) -> tuple[Mark, ...]:
        """Gathers the facts of a round into the keeper; gives the marks under which they are kept, and logs a fault."""
        if not work.pulls:
            return ()
        try:
            wall = self.copy.at(work.pulls[0].wall).wall
            return gather_round(wall, work.at, keeper=self.keeper, only=frozenset(work.sources))
        except Exception:  # the pulls tell what they lack; the others go on
            self.log.exception("gathering failed")
            return ()

    def frozen(self, order: Pull, marks: tuple[Mark, ...], *, name: str) -> Snapshot:
        """What is kept of the facts under those marks."""
        try:
            wall = self.copy.at(order.wall).wall
            return Snapshot(name, frozen_facts(wall, order.at, marks, keeper=self.keeper))
        except (WallbillError, OSError) as fault:
            self.log.warning("kept facts cannot be read", fault=str(fault))
            return Snapshot(f"{name} (none)")

    def give_up(self, order: Pull, why: str) -> None:
        """Records that a pull could not be done. Raises `StoreError`."""
        fault = SheetError(
            f"the sheet could not be pressed: {why}",
            where=Place(f"display {order.displays[0]}"),
            mend="Try it by hand: wallbill press DIR DISPLAY --out DIR; see that the machines have memory to spare.",
        )
        failed = Pulled(order.sheet, "asked" if order.sheet else "timetable", None, fault=str(fault))
        self._do(order, lambda *_: Print(failed))

    def pull(self, order: Pull, snapshot: Snapshot) -> None:
        """Does a pull, records and logs what came of it. Raises `StoreError`."""

        def press(asked: Pull, like: str, standing: bytes) -> Print:
            return self.puller.pull(asked, Given(like, snapshot, standing))

        self._do(order, press)

    def _do(self, order: Pull, press: Callable[[Pull, str, bytes], Print]) -> None:
        bench = Bench(self.store, KeptStandings(self.keeper), press, self.copy.zone(order.wall))
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
