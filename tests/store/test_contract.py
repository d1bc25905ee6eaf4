"""Both databases do what a store in plain dictionaries does, whatever is asked of them in whatever order."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    rule,
    run_state_machine_as_test,
)

from tests.store import values
from tests.store.houses import House
from tests.store.memory import MemoryStore
from tests.store.reading import everything
from wallbill.errors import StoreError
from wallbill.store.model import (
    Asked,
    Contact,
    Edition,
    Impressed,
    Installed,
    Key,
    Notice,
    Person,
    Pressing,
    Report,
    Session,
)
from wallbill.store.ports import Store
from wallbill.store.tables import METADATA, counters


def clear(store: Any) -> None:
    """Takes every row out, past the store's methods."""

    def work(connection: Any) -> None:
        for table in reversed(METADATA.sorted_tables):
            if table is not counters:
                connection.execute(table.delete())
        connection.execute(counters.update().values(last=0))

    store._database.write(work, lasting=False)


def outcome(call: Callable[[], object]) -> object:
    """What a call gave, rows as lists, or that it was refused."""
    try:
        given = call()
    except StoreError:
        return StoreError
    return list(given) if isinstance(given, list | tuple) else given


seldom = st.sampled_from([False, False, False, False, True])


class Twins(RuleBasedStateMachine):
    """Does the same to a real store and to the one in memory, and compares all that both say."""

    store: Store

    def __init__(self) -> None:
        super().__init__()
        clear(self.store)
        self.real, self.plain = self.store, MemoryStore()
        self.mark = 0

    def both(self, act: Callable[[Store], object]) -> None:
        assert outcome(lambda: act(self.real)) == outcome(lambda: act(self.plain))

    @initialize()
    def begin(self) -> None:
        hung = [Installed(name, name, values.NOW) for name in values.NAMES]
        self.both(lambda store: store.install(*hung))
        ada, zoe = (Person(name, "hash", added_at=values.NOW) for name in ("ada", "Zoë"))
        self.both(lambda store: store.put_person(ada))
        self.both(lambda store: store.put_person(zoe))

    @rule(given=st.lists(values.installed, max_size=3), gone=values.names, sure=seldom)
    def install(self, given: list[Installed], gone: str, *, sure: bool) -> None:
        if sure:
            self.both(lambda store: store.uninstall(gone))
        self.both(lambda store: store.install(*given))

    @rule(key=values.keys, ends=values.maybe_moments)
    def add_key(self, key: Key, ends: Any) -> None:
        self.both(lambda store: store.add_key(key, others_end_at=ends))

    @rule(name=values.names, at=values.moments)
    def end_keys(self, name: str, at: Any) -> None:
        self.both(lambda store: store.end_keys(name, at))

    @rule(asked=values.asked, undone=seldom)
    def ask(self, asked: Asked, *, undone: bool) -> None:
        self.both(lambda store: store.ask(asked))
        if undone:
            self.both(lambda store: store.unask(asked.display))

    @rule(edition=values.editions, impression=values.impressed, bare=seldom, wrong=seldom)
    def put_up(self, edition: Edition, impression: Impressed, *, bare: bool, wrong: bool) -> None:
        number = edition.number if wrong else self.plain.last(edition.display) + 1
        edition = replace(edition, number=number, digest=impression.digest)
        self.both(lambda store: store.put_up(edition, None if bare else impression))

    @rule(given=st.lists(values.pressings, max_size=3))
    def note_pressing(self, given: list[Pressing]) -> None:
        self.both(lambda store: store.note_pressing(*given))

    @rule(called=st.lists(values.contacts, max_size=3), told=st.lists(values.reports, max_size=3))
    def note_contacts(self, called: list[Contact], told: list[Report]) -> None:
        self.both(lambda store: store.note_contacts(called, told))

    @rule(given=st.lists(values.notices, max_size=3))
    def put_notices(self, given: list[Notice]) -> None:
        self.both(lambda store: store.put_notices(given))

    @rule(person=values.persons, gone=seldom)
    def put_person(self, person: Person, *, gone: bool) -> None:
        if gone:
            self.both(lambda store: store.drop_person(person.name))
        else:
            self.both(lambda store: store.put_person(person))

    @rule(session=values.sessions, end=seldom)
    def put_session(self, session: Session, *, end: bool) -> None:
        self.both(lambda store: store.put_session(session))
        if end:
            self.both(lambda store: store.end_session(session.digest))

    @rule(days=st.integers(-50, 50), keep_days=st.integers(0, 20), wanted=st.sets(values.digests, max_size=2))
    def tidy(self, days: int, keep_days: int, wanted: set[str]) -> None:
        now = values.NOW + timedelta(days=days)
        self.both(lambda store: store.tidy(now, keep_s=keep_days * 86400.0, wanted=wanted))

    @rule(name=values.names, since=values.maybe_moments, most=st.integers(0, 4))
    def look(self, name: str, since: Any, most: int) -> None:
        mark = self.mark
        self.both(lambda store: store.editions_up(after=mark))
        self.mark = self.plain.editions_up(after=mark)[0]
        self.both(lambda store: store.history(name, most=most))
        self.both(lambda store: store.pressings(display=name, most=most))
        self.both(lambda store: store.reports(name, since=since, most=most))
        self.both(lambda store: store.notices())
        self.both(lambda store: store.check())
        self.both(lambda store: [store.impression(digest) for digest in values.DIGESTS])
        self.both(lambda store: [store.session(digest) for digest in ("s1", "s2", "s3")])

    def teardown(self) -> None:
        self.look("hall", None, 4)
        assert everything(self.real) == everything(self.plain)


def test_a_database_does_what_a_dictionary_does(house: House) -> None:
    store = house.open()
    run_state_machine_as_test(
        type("TwinsOf", (Twins,), {"store": store}),
        settings=settings(
            max_examples=30, stateful_step_count=40, suppress_health_check=[HealthCheck.too_slow]
        ),
    )


def test_many_at_once_are_written_as_few_are(house: House) -> None:
    real = house.open()

    def many(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[list[Any]]:
        return st.lists(strategy, min_size=25, max_size=30)

    names = [Installed(f"d{number}", "hall", values.NOW) for number in range(30)]

    @settings(max_examples=5, suppress_health_check=[HealthCheck.too_slow])
    @given(many(values.contacts), many(values.reports), many(values.pressings), many(values.notices))
    def same(
        called: list[Contact], told: list[Report], pressed: list[Pressing], noticed: list[Notice]
    ) -> None:
        clear(real)
        plain = MemoryStore()
        called = [replace(each, display=f"d{number}") for number, each in enumerate(called)]
        for store in (real, plain):
            store.install(*names, *(Installed(name, name, values.NOW) for name in values.NAMES))
            store.note_contacts(called, told)
            store.note_pressing(*pressed)
            store.put_notices(noticed)
        assert everything(real) == everything(plain)

    same()
