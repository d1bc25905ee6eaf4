"""What other rooms may ask of a store, as protocols. Methods block; all may raise `StoreError`."""

from collections.abc import Collection, Iterable, Sequence
from datetime import datetime
from typing import Protocol

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


class DisplayRecords(Protocol):
    """Displays, their keys, and what was asked for them by hand."""

    def installed(self) -> Sequence[Installed]:
        """Every display, by name."""
        ...

    def install(self, *displays: Installed) -> None:
        """Adds displays; those that are known already stay as they are, but for ``like``."""
        ...

    def uninstall(self, name: str) -> None:
        """Forgets a display with its keys, editions, contacts, reports and notices."""
        ...

    def keys(self) -> Sequence[Key]:
        """Every key, those that have ended included."""
        ...

    def add_key(self, key: Key, *, others_end_at: datetime | None = None) -> None:
        """Adds a key in one transaction with the end of the display's other keys, where they are to end."""
        ...

    def end_keys(self, display: str, at: datetime) -> None:
        """Lets every key of a display end at a moment, unless it ends sooner."""
        ...

    def asked(self) -> Sequence[Asked]:
        """What was asked for by hand, at most one for a display; those that are over included."""
        ...

    def ask(self, asked: Asked) -> None:
        """Asks for a sheet in place of what was asked for before."""
        ...

    def unask(self, display: str) -> None:
        """Back to the timetable."""
        ...


class EditionRecords(Protocol):
    """Impressions, the editions of displays, and how pressing went."""

    def editions_up(self, *, after: int = 0) -> tuple[int, Sequence[Edition]]:
        """The last edition of each display that got one since ``after``, and the mark to ask after next time.

        The mark grows with every edition of any display; 0 asks for all.
        """
        ...

    def history(self, display: str, *, most: int = 100) -> Sequence[Edition]:
        """The last editions of a display, newest first."""
        ...

    def impression(self, digest: str) -> Impressed | None:
        """The impression of that digest."""
        ...

    def put_up(self, edition: Edition, impression: Impressed | None = None) -> bool:
        """Puts an edition up, with its impression if that is new; all or nothing.

        False, and nothing is written, where the display's last edition is not number ``edition.number - 1``: another
        worker was quicker, or the display has gone. The impression must be given or be kept already.
        """
        ...

    def note_pressing(self, *pressings: Pressing) -> None:
        """Records how pressings went; of displays that have gone nothing."""
        ...

    def pressings(self, *, display: str | None = None, most: int = 100) -> Sequence[Pressing]:
        """The last pressings, newest first."""
        ...

    def looked(self) -> dict[str, tuple[datetime, Outcome]]:
        """For each display, the last moment that it was pressed for, and what came of it."""
        ...


class ContactRecords(Protocol):
    """When displays called, what they said, and what somebody should know."""

    def note_contacts(self, contacts: Iterable[Contact], reports: Iterable[Report] = ()) -> None:
        """Records contacts (the last of a display replaces the one before) and reports in one transaction.

        Of displays that have gone nothing is recorded.
        """
        ...

    def contacts(self) -> Sequence[Contact]:
        """The last contact of each display."""
        ...

    def reports(self, display: str, *, since: datetime | None = None, most: int = 1000) -> Sequence[Report]:
        """The reports of a display, newest first."""
        ...

    def notices(self, *, ended: bool = False) -> Sequence[Notice]:
        """What somebody should know, oldest first; with ``ended`` what is over as well."""
        ...

    def put_notices(self, notices: Iterable[Notice]) -> None:
        """Writes notices; one of the same kind, subject and ``since`` is replaced."""
        ...


class PersonRecords(Protocol):
    """People and their sessions."""

    def people(self) -> Sequence[Person]:
        """Everybody, by name."""
        ...

    def put_person(self, person: Person) -> None:
        """Adds a person, or gives them another password, which ends their sessions."""
        ...

    def drop_person(self, name: str) -> None:
        """Takes a person off, with their sessions."""
        ...

    def session(self, digest: str) -> Session | None:
        """The session of that digest, even if it is over."""
        ...

    def put_session(self, session: Session) -> None:
        """Begins or prolongs a session."""
        ...

    def end_session(self, digest: str) -> None:
        """Ends a session."""
        ...


class Store(DisplayRecords, EditionRecords, ContactRecords, PersonRecords, Protocol):
    """All of a store. May be used from several threads; several processes may have it open."""

    def tidy(self, now: datetime, *, keep_s: float, wanted: Collection[str] = ()) -> int:
        """Drops what is old: editions, pressings, reports, ended notices and sessions older than ``keep_s``.

        With them go impressions that no edition left refers to (nor is in ``wanted``). What is up stays for ever.
        Gives the count of rows.
        """
        ...

    def check(self) -> None:
        """Asks the database something small; raises `StoreError` if it does not answer."""
        ...

    def close(self) -> None:
        """Closes every connection."""
        ...
