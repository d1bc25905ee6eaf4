"""Both databases do what a store in plain dictionaries does, whatever is asked of them in whatever order."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, rule, run_state_machine_as_test

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

    @rule(given=st.lists(values.installed, max_size=3))
    def install(self, given: list[Installed]) -> None:
        self.both(lambda store: store.install(*given))

    @rule(name=values.names)
    def uninstall(self, name: str) -> None:
        self.both(lambda store: store.uninstall(name))

    @rule(key=values.keys, ends=values.maybe_moments)
    def add_key(self, key: Key, ends: Any) -> None:
        self.both(lambda store: store.add_key(key, others_end_at=ends))

    @rule(name=values.names, at=values.moments)
    def end_keys(self, name: str, at: Any) -> None:
        self.both(lambda store: store.end_keys(name, at))

    @rule(asked=values.asked)
    def ask(self, asked: Asked) -> None:
        self.both(lambda store: store.ask(asked))

    @rule(name=values.names)
    def unask(self, name: str) -> None:
        self.both(lambda store: store.unask(name))

    @rule(edition=values.editions, impression=values.impressed, given=st.booleans(), right=st.booleans())
    def put_up(self, edition: Edition, impression: Impressed, *, given: bool, right: bool) -> None:
        number = self.plain.last(edition.display) + 1 if right else edition.number
        edition = replace(edition, number=number, digest=impression.digest)
        self.both(lambda store: store.put_up(edition, impression if given else None))

    @rule()
    def what_is_new(self) -> None:
        mark = self.mark
        self.both(lambda store: store.editions_up(after=mark))
        self.mark = self.plain.editions_up(after=mark)[0]

    @rule(name=values.names, most=st.integers(0, 3))
    def history(self, name: str, most: int) -> None:
        self.both(lambda store: store.history(name, most=most))

    @rule(digest=values.digests)
    def impression(self, digest: str) -> None:
        self.both(lambda store: store.impression(digest))

    @rule(given=st.lists(values.pressings, max_size=3))
    def note_pressing(self, given: list[Pressing]) -> None:
        self.both(lambda store: store.note_pressing(*given))

    @rule(name=st.none() | values.names, most=st.integers(0, 4))
    def pressings(self, name: str | None, most: int) -> None:
        self.both(lambda store: store.pressings(display=name, most=most))

    @rule(called=st.lists(values.contacts, max_size=3), told=st.lists(values.reports, max_size=3))
    def note_contacts(self, called: list[Contact], told: list[Report]) -> None:
        self.both(lambda store: store.note_contacts(called, told))

    @rule(name=values.names, since=values.maybe_moments, most=st.integers(0, 4))
    def reports(self, name: str, since: Any, most: int) -> None:
        self.both(lambda store: store.reports(name, since=since, most=most))

    @rule(given=st.lists(values.notices, max_size=3))
    def put_notices(self, given: list[Notice]) -> None:
        self.both(lambda store: store.put_notices(given))

    @rule()
    def notices(self) -> None:
        self.both(lambda store: store.notices())

    @rule(person=values.persons)
    def put_person(self, person: Person) -> None:
        self.both(lambda store: store.put_person(person))

    @rule(name=values.people)
    def drop_person(self, name: str) -> None:
        self.both(lambda store: store.drop_person(name))

    @rule(session=values.sessions)
    def put_session(self, session: Session) -> None:
        self.both(lambda store: store.put_session(session))

    @rule(digest=st.sampled_from(["s1", "s2", "s3"]), end=st.booleans())
    def session(self, digest: str, *, end: bool) -> None:
        if end:
            self.both(lambda store: store.end_session(digest))
        self.both(lambda store: store.session(digest))

    @rule(days=st.integers(-50, 50), keep_days=st.integers(0, 20), wanted=st.sets(values.digests, max_size=2))
    def tidy(self, days: int, keep_days: int, wanted: set[str]) -> None:
        now = values.NOW + timedelta(days=days)
        self.both(lambda store: store.tidy(now, keep_s=keep_days * 86400.0, wanted=wanted))

    @rule(digest=values.digests)
    def check(self, digest: str) -> None:
        self.both(lambda store: store.check())

    def teardown(self) -> None:
        assert everything(self.real) == everything(self.plain)


def test_a_database_does_what_a_dictionary_does(house: House) -> None:
    store = house.open()
    run_state_machine_as_test(
        type("TwinsOf", (Twins,), {"store": store}),
        settings=settings(
            max_examples=40, stateful_step_count=40, suppress_health_check=[HealthCheck.too_slow]
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
