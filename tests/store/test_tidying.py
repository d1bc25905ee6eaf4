"""What is old goes, a little at a time; what is up, or wanted, stays."""

from collections import Counter
from datetime import timedelta
from typing import Any

from sqlalchemy import Engine, event

from tests.store import deeds
from tests.store.houses import House
from tests.store.values import NOW
from wallbill.store.model import Installed, Outcome, Pressing, Report

DAY_S = 86400.0


def test_much_goes_in_batches(house: House) -> None:
    store = house.open()
    store.install(Installed("hall", "hall", NOW))
    old, new = NOW - timedelta(days=100), NOW - timedelta(days=1)
    store.note_contacts([], [Report("hall", old)] * 1300 + [Report("hall", new)] * 7)
    store.note_pressing(*[Pressing("hall", old, Outcome.SAME, "sheet", 1)] * 600)
    for number in range(1, 13):
        assert store.put_up(deeds.edition("hall", number, number, at=old), deeds.impression(number, size=40))
    commits: list[int] = []
    largest: Counter[str] = Counter()

    def committed(_connection: Any) -> None:
        commits.append(1)

    def executed(_connection: Any, cursor: Any, statement: str, *_: Any) -> None:
        if statement.startswith("DELETE"):
            largest[statement.split()[2]] = max(largest[statement.split()[2]], cursor.rowcount)

    event.listen(Engine, "commit", committed)
    event.listen(Engine, "after_cursor_execute", executed)
    try:
        # Of 12 editions one is up; its picture stays, and the one that is wanted.
        wanted = [deeds.impression(3).digest, "no such picture"]
        assert store.tidy(NOW, keep_s=90 * DAY_S, wanted=wanted) == 1300 + 600 + 11 + 10
    finally:
        event.remove(Engine, "commit", committed)
        event.remove(Engine, "after_cursor_execute", executed)
    assert max(largest.values()) == 500
    assert len(commits) >= 3 + 2 + 1 + 1
    assert [each.number for each in store.history("hall")] == [12]
    assert store.impression(deeds.impression(12).digest) is not None
    assert store.impression(deeds.impression(3).digest) is not None
    assert len(store.reports("hall")) == 7
    assert store.looked() == {"hall": (old, Outcome.SAME)}
    assert store.tidy(NOW, keep_s=90 * DAY_S, wanted=wanted) == 0
    assert store.tidy(NOW, keep_s=90 * DAY_S) == 1


def test_a_picture_that_comes_back_while_it_is_dropped_is_not_lost(house: House) -> None:
    """Somebody puts an edition up that needs a picture just when that was found to be of no use."""
    store, other = house.open(), house.open(patience_s=20)
    deeds.begin(store)
    for number, picture in ((1, 7), (2, 8)):
        assert store.put_up(deeds.edition("hall", number, picture), deeds.impression(picture))
    store.uninstall("hall")
    done: list[bool] = []

    def found(_connection: Any, _cursor: Any, statement: str, *_: Any) -> None:
        if statement.startswith("SELECT impressions") and not done:
            done.append(True)
            done.append(other.put_up(deeds.edition("porch", 1, 7)))

    event.listen(Engine, "after_cursor_execute", found)
    try:
        assert store.tidy(NOW, keep_s=0) == 1
    finally:
        event.remove(Engine, "after_cursor_execute", found)
    assert done == [True, True]
    assert store.impression(deeds.impression(7).digest) is not None
    assert store.impression(deeds.impression(8).digest) is None
