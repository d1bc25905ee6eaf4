"""Values that a store keeps, drawn at random. Few names, so that they meet."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

from hypothesis import strategies as st

from tests.store.memory import MemoryStore
from wallbill.store.model import (
    Asked,
    Contact,
    Edition,
    Impressed,
    Installed,
    Key,
    Notice,
    Outcome,
    Person,
    Pressing,
    Report,
    Session,
    Why,
)

NOW = datetime(2026, 3, 14, 8, 0, 0, 123456, tzinfo=UTC)
NAMES = ("hall", "Küche", "porch-2", "the 4th 'floor'")

names = st.sampled_from(NAMES)
people = st.sampled_from(("ada", "Zoë"))
DIGESTS = ("ab" * 32, "cd" * 32, "0f" * 32, "77" * 32)
digests = st.sampled_from(DIGESTS)
texts = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=12)
zones = st.sampled_from([UTC, timezone(timedelta(hours=5, minutes=45)), timezone(timedelta(hours=-11))])
moments = st.builds(
    lambda days, micros, zone: (NOW + timedelta(days=days, microseconds=micros)).astimezone(zone),
    st.integers(-40, 40),
    st.integers(-2, 2),
    zones,
)
maybe_moments = st.none() | moments
numbers = st.none() | st.integers(-(2**63) + 1, 2**63 - 1)

installed = st.builds(Installed, names, names, moments)
keys = st.builds(Key, st.text("0123456789abcdef", min_size=2, max_size=3), names, moments, maybe_moments)
asked = st.builds(Asked, names, texts, moments, texts, moments)
impressed = st.builds(
    lambda digest, png, minor: Impressed(digest, "a-panel", 8, 4, digest[:2].encode() + png, minor),
    digests,
    st.binary(max_size=40),
    st.lists(st.tuples(*[st.integers(0, 2000)] * 4), max_size=2).map(tuple),
)
editions = st.builds(
    Edition, names, st.integers(1, 4), digests, moments, texts, st.sampled_from(Why), texts,
    st.lists(st.tuples(texts, texts), max_size=2).map(tuple), texts,
)  # fmt: skip
pressings = st.builds(
    Pressing, names, moments, st.sampled_from(Outcome), texts, st.integers(0, 10**6), texts,
    st.just('[{"rule": "x"}]'), st.lists(texts, max_size=2).map(tuple),
)  # fmt: skip
contacts = st.builds(Contact, names, moments, st.sampled_from([200, 304, 503]), texts, texts, moments)
reports = st.builds(
    Report, names, moments, st.none() | texts, numbers, numbers, numbers, numbers, numbers,
    st.none() | st.floats(allow_nan=False, allow_infinity=False), st.none() | texts, st.none() | texts,
    st.none() | texts,
)  # fmt: skip
notices = st.builds(
    Notice, st.sampled_from(["missed-wakes", "battery"]), names | st.just("forecast"), texts, texts, moments,
    maybe_moments, maybe_moments, maybe_moments,
)  # fmt: skip
persons = st.builds(Person, people, texts, added_at=moments)
sessions = st.builds(
    Session, st.sampled_from(["s1", "s2", "s3"]), people, texts, begun_at=moments, ends_at=moments
)


@st.composite
def filled(draw: st.DrawFn) -> MemoryStore:
    """A store in memory with something of everything in it."""
    store = MemoryStore()
    store.install(*(Installed(name, draw(names), draw(moments)) for name in NAMES))
    for key in draw(st.lists(keys, max_size=4, unique_by=lambda key: key.digest)):
        store.add_key(key)
    for wish in draw(st.lists(asked, max_size=3)):
        store.ask(wish)
    for impression, edition in draw(st.lists(st.tuples(impressed, editions), max_size=6)):
        number = store.last(edition.display) + 1
        store.put_up(replace(edition, number=number, digest=impression.digest), impression)
    store.note_pressing(*draw(st.lists(pressings, max_size=5)))
    store.note_contacts(draw(st.lists(contacts, max_size=3)), draw(st.lists(reports, max_size=5)))
    store.put_notices(draw(st.lists(notices, max_size=3)))
    for person in draw(st.lists(persons, max_size=2)):
        store.put_person(person)
    return store
