"""People and their sessions, in a database."""

from collections.abc import Sequence

from sqlalchemy import Connection, delete, select

from wallbill.errors import StoreError
from wallbill.store.model import Person, Session
from wallbill.store.rows import columns, row, upsert, values
from wallbill.store.shell_database import Database
from wallbill.store.tables import people, sessions


class People:
    """`PersonRecords` in a database. All but the prolonging of sessions is written through."""

    _database: Database

    def people(self) -> Sequence[Person]:
        """Everybody, by name."""
        query = select(*columns(people, Person))
        found = self._database.read(lambda c: values(Person, c.execute(query).mappings()))
        return sorted(found, key=lambda each: each.name)

    def put_person(self, person: Person) -> None:
        """Adds a person, or gives them another password, which ends their sessions."""

        def work(connection: Connection) -> None:
            connection.execute(upsert(connection, people), row(person))
            connection.execute(delete(sessions).where(sessions.c.person == person.name))

        self._database.write(work)

    def drop_person(self, name: str) -> None:
        """Takes a person off, with their sessions."""
        self._database.write(lambda c: c.execute(delete(people).where(people.c.name == name)))

    def session(self, digest: str) -> Session | None:
        """The session of that digest, even if it is over."""
        query = select(*columns(sessions, Session)).where(sessions.c.digest == digest)
        found = self._database.read(lambda c: values(Session, c.execute(query).mappings()))
        return found[0] if found else None

    def put_session(self, session: Session) -> None:
        """Begins or prolongs a session. Raises `StoreError` where the person has gone."""

        def work(connection: Connection) -> None:
            there = select(people.c.name).where(people.c.name == session.person)
            if connection.execute(there).first() is None:
                raise StoreError(
                    f"there is nobody of the name {session.person!r}",
                    where=self._database.address.place,
                    mend="Add the person first.",
                )
            connection.execute(upsert(connection, sessions), row(session))

        self._database.write(work, lasting=False)

    def end_session(self, digest: str) -> None:
        """Ends a session."""
        self._database.write(lambda c: c.execute(delete(sessions).where(sessions.c.digest == digest)))
