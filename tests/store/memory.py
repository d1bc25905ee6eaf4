"""A store in plain dictionaries: what the real ones must do, without a database to get in the way."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from wallbill.errors import StoreError
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
)


class MemoryStore:
    """The contract of `wallbill.store.ports.Store`, as plainly as it can be written."""

    def __init__(self) -> None:
        self._displays: dict[str, Installed] = {}
        self._keys: dict[str, Key] = {}
        self._asked: dict[str, Asked] = {}
        self._impressions: dict[str, Impressed] = {}
        self._editions: list[Edition] = []
        self._marks: dict[str, int] = {}
        self._mark = 0
        self._pressings: list[Pressing] = []
        self._looked: dict[str, tuple[datetime, Outcome]] = {}
        self._contacts: dict[str, Contact] = {}
        self._reports: list[Report] = []
        self._notices: dict[tuple[str, str, datetime], Notice] = {}
        self._people: dict[str, Person] = {}
        self._sessions: dict[str, Session] = {}

    def installed(self) -> Sequence[Installed]:
        return [self._displays[name] for name in sorted(self._displays)]

    def install(self, *displays: Installed) -> None:
        for each in displays:
            known = self._displays.get(each.name)
            self._displays[each.name] = replace(known, like=each.like) if known else each

    def uninstall(self, name: str) -> None:
        for table in (self._displays, self._asked, self._marks, self._looked, self._contacts):
            table.pop(name, None)
        self._keys = {digest: key for digest, key in self._keys.items() if key.display != name}
        self._editions = [each for each in self._editions if each.display != name]
        self._pressings = [each for each in self._pressings if each.display != name]
        self._reports = [each for each in self._reports if each.display != name]
        self._notices = {known: each for known, each in self._notices.items() if each.subject != name}

    def keys(self) -> Sequence[Key]:
        return sorted(self._keys.values(), key=lambda key: key.digest)

    def add_key(self, key: Key, *, others_end_at: datetime | None = None) -> None:
        if key.display not in self._displays or key.digest in self._keys:
            raise StoreError("no")
        if others_end_at is not None:
            self.end_keys(key.display, others_end_at)
        self._keys[key.digest] = key

    def end_keys(self, display: str, at: datetime) -> None:
        for key in self._keys.values():
            if key.display == display and (key.ends_at is None or key.ends_at > at):
                self._keys[key.digest] = replace(key, ends_at=at)

    def asked(self) -> Sequence[Asked]:
        return [self._asked[name] for name in sorted(self._asked)]

    def ask(self, asked: Asked) -> None:
        if asked.display not in self._displays:
            raise StoreError("no")
        self._asked[asked.display] = asked

    def unask(self, display: str) -> None:
        self._asked.pop(display, None)

    def last(self, display: str) -> int:
        """The number of the edition that is up, 0 if none."""
        return max((each.number for each in self._editions if each.display == display), default=0)

    def _up(self) -> list[Edition]:
        return [each for each in self._editions if each.number == self.last(each.display)]

    def editions_up(self, *, after: int = 0) -> tuple[int, Sequence[Edition]]:
        found = sorted(
            (each for each in self._up() if self._marks[each.display] > after),
            key=lambda each: self._marks[each.display],
        )
        return max((self._marks[each.display] for each in found), default=after), tuple(found)

    def history(self, display: str, *, most: int = 100) -> Sequence[Edition]:
        found = [each for each in self._editions if each.display == display]
        return sorted(found, key=lambda each: -each.number)[:most]

    def impression(self, digest: str) -> Impressed | None:
        return self._impressions.get(digest)

    def put_up(self, edition: Edition, impression: Impressed | None = None) -> bool:
        if edition.display not in self._displays or self.last(edition.display) != edition.number - 1:
            return False
        if impression is None and edition.digest not in self._impressions:
            raise StoreError("no")
        if impression is not None:
            self._impressions.setdefault(edition.digest, impression)
        self._mark += 1
        self._marks[edition.display] = self._mark
        self._editions.append(edition)
        return True

    def note_pressing(self, *pressings: Pressing) -> None:
        for each in pressings:
            if each.display in self._displays:
                self._pressings.append(each)
                if each.display not in self._looked or each.looked_at >= self._looked[each.display][0]:
                    self._looked[each.display] = (each.looked_at, each.outcome)

    def pressings(self, *, display: str | None = None, most: int = 100) -> Sequence[Pressing]:
        return [each for each in reversed(self._pressings) if display in {None, each.display}][:most]

    def looked(self) -> dict[str, tuple[datetime, Outcome]]:
        return dict(self._looked)

    def note_contacts(self, contacts: Iterable[Contact], reports: Iterable[Report] = ()) -> None:
        self._contacts |= {each.display: each for each in contacts if each.display in self._displays}
        self._reports += [each for each in reports if each.display in self._displays]

    def contacts(self) -> Sequence[Contact]:
        return [self._contacts[name] for name in sorted(self._contacts)]

    def reports(self, display: str, *, since: datetime | None = None, most: int = 1000) -> Sequence[Report]:
        found = [
            each for each in self._reports
            if each.display == display and (since is None or each.at >= since)
        ]  # fmt: skip
        newest_first = list(reversed(found))
        return sorted(newest_first, key=lambda each: each.at, reverse=True)[:most]

    def notices(self, *, ended: bool = False) -> Sequence[Notice]:
        found = [each for each in self._notices.values() if ended or each.ended_at is None]
        return sorted(found, key=lambda each: (each.since, each.kind, each.subject))

    def put_notices(self, notices: Iterable[Notice]) -> None:
        self._notices |= {(each.kind, each.subject, each.since): each for each in notices}

    def people(self) -> Sequence[Person]:
        return [self._people[name] for name in sorted(self._people)]

    def put_person(self, person: Person) -> None:
        self._people[person.name] = person
        self._end_sessions(person.name)

    def drop_person(self, name: str) -> None:
        self._people.pop(name, None)
        self._end_sessions(name)

    def _end_sessions(self, name: str) -> None:
        self._sessions = {digest: each for digest, each in self._sessions.items() if each.person != name}

    def session(self, digest: str) -> Session | None:
        return self._sessions.get(digest)

    def put_session(self, session: Session) -> None:
        if session.person not in self._people:
            raise StoreError("no")
        self._sessions[session.digest] = session

    def end_session(self, digest: str) -> None:
        self._sessions.pop(digest, None)

    def tidy(self, now: datetime, *, keep_s: float, wanted: Collection[str] = ()) -> int:
        before = now - timedelta(seconds=keep_s)
        size = self._size()
        up = self._up()
        self._editions = [each for each in self._editions if each in up or each.at >= before]
        self._pressings = [each for each in self._pressings if each.looked_at >= before]
        self._reports = [each for each in self._reports if each.at >= before]
        self._notices = {
            known: each for known, each in self._notices.items()
            if each.ended_at is None or each.ended_at >= before
        }  # fmt: skip
        self._sessions = {digest: each for digest, each in self._sessions.items() if each.ends_at >= before}
        needed = {each.digest for each in self._editions} | set(wanted)
        self._impressions = {digest: each for digest, each in self._impressions.items() if digest in needed}
        return size - self._size()

    def _size(self) -> int:
        listed = len(self._editions) + len(self._pressings) + len(self._reports)
        return listed + len(self._notices) + len(self._sessions) + len(self._impressions)

    def check(self) -> None:
        pass

    def close(self) -> None:
        pass
