"""A pull done: twice, by two at once, for many displays, with a fault; on a real store, with a press that does as told."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from tests.server.test_editing import impressed

from wallbill.server.model import Pull, Pulled, Round
from wallbill.server.packing import (
    Print,
    Snapshot,
    marks_of,
    packed_print,
    packed_snapshot,
    plain_marks,
    plain_round,
    print_of,
    round_of,
    snapshot_of,
)
from wallbill.server.rounds import Bench, do_pull, sorted_out
from wallbill.sources.fetching import Failures, Kept
from wallbill.sources.frozen import KeptSource, Mark
from wallbill.store.model import Asked, Impressed, Installed, Outcome, Why
from wallbill.store.ports import Store
from wallbill.store.shell import open_store, store_url

AT = datetime(2026, 3, 14, 8, tzinfo=UTC)
ORDER = Pull(("hall", "porch", "shed"), AT, "", "wall-1", "timetable")


def picture(number: int) -> Impressed:
    codes = np.zeros((16, 32), dtype=np.uint8)
    codes[:, :number] = 1
    return impressed(codes)


@dataclass
class Desk:
    """A store, and a press that gives what it is told to, and keeps what it was asked."""

    store: Store
    made: list[Print] = field(default_factory=list)
    asked: list[tuple[Pull, str, bytes]] = field(default_factory=list)
    standings: dict[str, tuple[str, bytes]] = field(default_factory=dict)

    def get(self, display: str, digest: str) -> bytes:
        known, standing = self.standings.get(display, ("", b""))
        return standing if known == digest else b""

    def put(self, display: str, digest: str, standing: bytes) -> None:
        self.standings[display] = (digest, standing)

    def likes(self, names: Sequence[str]) -> dict[str, str]:
        return {each.name: each.like for each in self.store.installed() if each.name in names}

    def press(self, order: Pull, like: str, standing: bytes) -> Print:
        self.asked.append((order, like, standing))
        return self.made.pop(0)

    def do(self, order: Pull, *made: Pulled) -> tuple[Outcome, ...]:
        self.made = [Print(each, b"page of " + each.sheet.encode()) for each in made]
        done = do_pull(order, Bench(self.store, self, self.likes, self.press, UTC))
        return tuple(each.outcome for each in done)


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    store = open_store(store_url(tmp_path, None))
    store.install(
        Installed("hall", "hall", AT), Installed("porch", "hall", AT), Installed("shed", "hall", AT)
    )
    yield Desk(store)
    store.close()


def pulled(number: int, sheet: str = "hall", by: str = "timetable") -> Pulled:
    return Pulled(sheet, by, picture(number), findings='[{"rule": "x"}]', stale=("sea",), took_ms=12)


def test_one_pull_goes_up_on_each_display_of_the_group(desk: Desk) -> None:
    assert desk.do(ORDER, pulled(1)) == (Outcome.NEW,) * 3
    assert len(desk.asked) == 1
    _, ups = desk.store.editions_up()
    assert {up.display: (up.number, up.digest) for up in ups} == dict.fromkeys(
        ORDER.displays, (1, picture(1).digest)
    )
    (pressing,) = desk.store.pressings(display="shed")
    assert (pressing.looked_at, pressing.sheet, pressing.took_ms) == (AT, "hall", 12)
    assert (pressing.findings, pressing.stale) == ('[{"rule": "x"}]', ("sea",))


def test_doing_it_twice_changes_nothing(desk: Desk) -> None:
    desk.do(ORDER, pulled(1))
    before = desk.store.editions_up(), desk.store.pressings()
    assert desk.do(ORDER) == ()
    assert (desk.store.editions_up(), desk.store.pressings()) == before


def test_a_pull_that_was_broken_off_is_done_for_the_rest(desk: Desk) -> None:
    desk.do(replace(ORDER, displays=("hall",)), pulled(1))
    assert desk.do(ORDER, pulled(1)) == (Outcome.NEW,) * 2
    assert desk.asked[-1][0].displays == ("porch", "shed")
    assert desk.asked[-1][1] == "hall"  # whose settings the porch has


def test_an_older_pull_does_not_put_an_older_page_up(desk: Desk) -> None:
    desk.do(replace(ORDER, at=AT + timedelta(hours=1)), pulled(2))
    assert desk.do(ORDER) == ()
    assert desk.store.history("hall")[0].at == AT + timedelta(hours=1)


def test_a_sheet_asked_for_in_the_same_second_is_pressed(desk: Desk) -> None:
    desk.do(ORDER, pulled(1))
    desk.store.ask(Asked("hall", "rota", AT + timedelta(hours=10), "keeper", AT))
    asked = Pull(("hall",), AT, "rota", "wall-1", "asked")
    assert desk.do(asked, pulled(2, "rota", "asked")) == (Outcome.NEW,)
    up = desk.store.history("hall")[0]
    assert (up.why, up.told) == (Why.ASKED, "somebody asked for sheet rota until 18:00")
    assert desk.do(asked) == ()


def test_a_failed_pull_leaves_what_is_up(desk: Desk) -> None:
    desk.do(ORDER, pulled(1))
    later = replace(ORDER, at=AT + timedelta(hours=1))
    fault = Pulled("hall", "timetable", None, fault="sheets/hall.html:3: it broke")
    assert desk.do(later, fault) == (Outcome.FAILED,) * 3
    assert desk.store.history("hall")[0].digest == picture(1).digest
    assert desk.store.pressings(display="hall")[0].told == "sheets/hall.html:3: it broke"
    assert desk.do(later) == ()


def test_the_slower_of_two_workers_reads_anew(desk: Desk) -> None:
    """Between reading what is up and putting up, another worker was quicker; with the same picture, then another."""
    desk.do(ORDER, pulled(1))
    for hour, theirs, ours in ((1, 5, 5), (2, 7, 6)):
        at = AT + timedelta(hours=hour)
        mine = replace(ORDER, at=at, displays=("hall",))

        class Late(Desk):
            def press(self, order: Pull, like: str, standing: bytes) -> Print:
                Desk(self.store).do(mine, pulled(theirs))  # noqa: B023  called before the loop goes on
                return super().press(order, like, standing)

        late = Late(desk.store)
        assert late.do(mine, pulled(ours)) == ((Outcome.SAME,) if hour == 1 else (Outcome.NEW,))
    numbers = [up.number for up in desk.store.history("hall")]
    assert numbers == list(range(len(numbers), 0, -1))


def test_a_display_that_was_taken_off_meanwhile_is_passed_over(desk: Desk) -> None:
    desk.store.uninstall("porch")
    assert desk.do(ORDER, pulled(1)) == (Outcome.NEW,) * 2
    assert {up.display for up in desk.store.editions_up()[1]} == {"hall", "shed"}


def test_the_page_of_what_is_up_goes_along_and_only_that(desk: Desk) -> None:
    hall = replace(ORDER, displays=("hall",))
    desk.do(hall, pulled(1))
    desk.do(replace(hall, at=AT + timedelta(hours=1)), pulled(2, "morning"))
    desk.do(replace(hall, at=AT + timedelta(hours=2)), pulled(2, "other"))
    assert [standing for _, _, standing in desk.asked] == [b"", b"page of hall", b"page of morning"]
    assert desk.standings["hall"] == (picture(2).digest, b"page of morning")  # not of what was no news


def test_a_sheet_that_asks_for_the_name_takes_a_pull_apart() -> None:
    texts = {"hall.html": "Boats", "sign.html": "{{ display.name }}"}
    work = Round(AT, (), (ORDER, replace(ORDER, sheet="sign")))
    found = sorted_out(work, texts)
    assert [each.displays for each in found.pulls] == [ORDER.displays, ("hall",), ("porch",), ("shed",)]
    assert len({each.lock for each in found.pulls}) == 4


def test_what_goes_to_a_press_and_back_comes_out_as_it_went_in() -> None:
    kept = Kept("sea", "payload", "me", "asked", b"\0waves", {"etag": '"1"'}, AT, AT + timedelta(hours=1))
    failed = Failures("mine", 2, AT, "it is closed", "wait")
    snapshot = Snapshot("round 1", (KeptSource("sea", (kept, kept), failed), KeptSource("sky")))
    assert snapshot_of(*packed_snapshot(snapshot)) == snapshot
    made = Print(replace(pulled(1), dated=(("sea", AT.isoformat()),)), b"page")
    assert print_of(*packed_print(made)) == made
    fault = Print(Pulled("hall", "asked", None, fault="broken"))
    assert print_of(*packed_print(fault)) == fault
    work = Round(AT, ("sea",), (ORDER,))
    assert round_of(plain_round(work)) == work
    marks = (Mark("sea", "me", "mine"),)
    assert marks_of(plain_marks(marks)) == marks
