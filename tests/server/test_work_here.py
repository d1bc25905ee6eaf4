"""Work in this process, from a round to editions in the store: real presses, a real store."""

import threading
from datetime import timedelta
from pathlib import Path

from tests.end_to_end.walls import display, wall
from tests.server.pressroom import AT, installed, order, pressroom, round_of

from wallbill.server.shell_work_here import WorkHere
from wallbill.store.model import Outcome, Why


def test_a_round_puts_an_edition_up_on_each_display(tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall", display("hall", sheet="porch"))
    with pressroom(folder) as (room, done):
        installed(room.store, porch="porch", hall="hall")
        work = WorkHere(room)
        assert work.enqueue(round_of(order(folder, "porch"), order(folder, "hall"))) == 2
        drained(work)
        _, ups = room.store.editions_up()
        assert {up.display: (up.number, up.why, up.sheet) for up in ups} == {
            "porch": (1, Why.FIRST, "porch"),
            "hall": (1, Why.FIRST, "porch"),
        }
        assert {each.outcome for each in done} == {Outcome.NEW}
        kept = room.store.impression(ups[0].digest)
        assert kept is not None
        assert (kept.width_px, kept.height_px) == (296, 128)


def drained(work: WorkHere) -> None:
    """Waits until nothing waits, then closes the work."""
    until = threading.Event()
    for _ in range(1200):
        if not work.waiting():
            work.close()
            return
        until.wait(0.05)
    raise AssertionError("the work is not done")


def test_the_same_order_twice_changes_nothing(tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall")
    with pressroom(folder) as (room, done):
        installed(room.store, porch="porch")
        for _ in range(2):
            work = WorkHere(room)
            work.enqueue(round_of(order(folder, "porch")))
            drained(work)
        later = WorkHere(room)
        later.enqueue(round_of(order(folder, "porch", at=AT + timedelta(hours=1))))
        drained(later)
        assert [each.outcome for each in done] == [Outcome.NEW, Outcome.SAME]
        assert [up.number for up in room.store.history("porch")] == [1]
