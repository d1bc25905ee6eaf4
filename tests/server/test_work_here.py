"""Work in this process, from a round to editions in the store: real presses, a real store."""

import threading
from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from tests.end_to_end.walls import display, wall
from tests.server.pressroom import AT, installed, order, pressroom, round_of

from wallbill.server.likeness import like_displays
from wallbill.server.model import Pull
from wallbill.server.packing import Print
from wallbill.server.shell_puller import Given, Puller
from wallbill.server.shell_work_here import WorkHere
from wallbill.sources.fetching import Kept
from wallbill.sources.shell_keeping import Keeper
from wallbill.store.model import Outcome, Why

OARS = """
[sources.oars]
kind = "own"
function = "oars:count"
"""


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


def test_a_hundred_like_displays_are_pressed_once(tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall")
    with pressroom(folder) as (room, done):
        names = tuple(f"d{number}" for number in range(100))
        installed(room.store, **dict.fromkeys(names, "porch"))
        known = room.copy.at(room.copy.digest())
        displays = {name: replace(known.wall.displays["porch"], name=name) for name in names}
        (group,) = like_displays(displays, known.texts)
        counting = CountingPuller(room.puller)
        work = WorkHere(replace(room, puller=counting))
        assert work.enqueue(round_of(order(folder, *group))) == 1
        drained(work)
        assert counting.pulls == 1
        assert {each.display for each in done} == set(names)
        _, ups = room.store.editions_up()
        assert len(ups) == 100
        assert len({up.digest for up in ups}) == 1


def test_a_later_look_overtakes_one_that_still_waits(tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall", OARS, sheets={"porch.html": "<p>{{ now|time }}</p>"})
    with pressroom(folder) as (room, done):
        installed(room.store, porch="porch")
        counting = CountingPuller(room.puller)
        gate = threading.Event()
        work = WorkHere(replace(room, keeper=SlowKeep(room.keeper, gate), puller=counting))
        for hour in range(5):
            work.enqueue(round_of(order(folder, "porch", at=AT + timedelta(hours=hour)), sources=("oars",)))
            assert work.enqueue(round_of(order(folder, "porch", at=AT + timedelta(hours=hour)))) == 0
        assert work.waiting() == 5
        gate.set()
        drained(work)
        assert done[-1].looked_at == AT + timedelta(hours=4)
        assert counting.pulls <= 2  # the first may have been begun


def test_facts_that_cannot_be_gathered_leave_what_is_up(tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall", OARS)
    with pressroom(folder) as (room, done):
        installed(room.store, porch="porch")
        first = WorkHere(room)
        first.enqueue(round_of(order(folder, "porch")))
        drained(first)
        room.keeper.close()
        later = WorkHere(room)
        later.enqueue(round_of(order(folder, "porch", at=AT + timedelta(hours=1)), sources=("oars",)))
        drained(later)
        assert [each.outcome for each in done] == [Outcome.NEW, Outcome.FAILED]
        assert "facts could not be gathered" in done[-1].told
        assert [up.number for up in room.store.history("porch")] == [1]


def test_what_waits_when_it_is_closed_is_left_and_what_is_begun_is_done(tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall", OARS + display("hall", sheet="porch"))
    with pressroom(folder) as (room, done):
        installed(room.store, porch="porch", hall="hall")
        gate = threading.Event()
        work = WorkHere(replace(room, keeper=SlowKeep(room.keeper, gate)))
        work.enqueue(round_of(order(folder, "porch"), order(folder, "hall"), sources=("oars",)))
        closing = threading.Thread(target=work.close)
        closing.start()
        gate.set()
        closing.join(20)
        assert not closing.is_alive()
        assert not done
        assert work.enqueue(round_of(order(folder, "porch"))) == 0


class CountingPuller(Puller):
    """A puller that counts what it is asked for."""

    def __init__(self, puller: Puller) -> None:
        self.__dict__.update(puller.__dict__)
        self.pulls = 0

    def pull(self, order: Pull, given: Given) -> Print:
        self.pulls += 1
        return super().pull(order, given)


class SlowKeep(Keeper):
    """A keeper that reads nothing before a gate is opened."""

    def __init__(self, keeper: object, gate: threading.Event) -> None:
        self.__dict__.update(vars(keeper))
        self._gate = gate

    def kept(self, source: str) -> Mapping[str, Kept]:
        assert self._gate.wait(20)
        return super().kept(source)
