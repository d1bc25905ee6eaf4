"""When displays called, what they said, and what somebody should know, in a database."""

from collections.abc import Iterable, Sequence
from datetime import datetime

from sqlalchemy import Connection, select

from wallbill.store.model import Contact, Notice, Report
from wallbill.store.rows import columns, insert, rows, upsert, values, write
from wallbill.store.shell_database import Database
from wallbill.store.shell_known import known_displays
from wallbill.store.tables import contacts, notices, reports


class Contacts:
    """`ContactRecords` in a database. A power cut may take the last half minute of contacts and reports."""

    _database: Database

    def note_contacts(self, contacts_: Iterable[Contact], reports_: Iterable[Report] = ()) -> None:
        """Records contacts (the last of a display replaces the one before) and reports in one transaction.

        Of displays that have gone nothing is recorded.
        """
        last = {each.display: each for each in contacts_}
        told = list(reports_)
        if not last and not told:
            return

        def work(connection: Connection) -> None:
            known = known_displays(connection, last.keys() | {each.display for each in told})
            # In one order, so that two servers never wait for each other in a ring.
            called = [last[name] for name in sorted(known & last.keys())]
            said = [each for each in told if each.display in known]
            if called:
                write(connection, upsert(connection, contacts), rows(called))
            if said:
                write(connection, insert(connection, reports), rows(said))

        self._database.write(work, lasting=False)

    def contacts(self) -> Sequence[Contact]:
        """The last contact of each display."""
        query = select(*columns(contacts, Contact))
        found = self._database.read(lambda c: values(Contact, c.execute(query).mappings()))
        return sorted(found, key=lambda each: each.display)

    def reports(self, display: str, *, since: datetime | None = None, most: int = 1000) -> Sequence[Report]:
        """The reports of a display, newest first; ``since`` and later."""
        query = (
            select(*columns(reports, Report))
            .where(reports.c.display == display)
            .order_by(reports.c.at.desc(), reports.c.id.desc())
            .limit(most)
        )
        if since is not None:
            query = query.where(reports.c.at >= since)
        return self._database.read(lambda c: values(Report, c.execute(query).mappings()))

    def notices(self, *, ended: bool = False) -> Sequence[Notice]:
        """What somebody should know, oldest first; with ``ended`` what is over as well."""
        query = select(*columns(notices, Notice))
        if not ended:
            query = query.where(notices.c.ended_at.is_(None))
        found = self._database.read(lambda c: values(Notice, c.execute(query).mappings()))
        return sorted(found, key=lambda each: (each.since, each.kind, each.subject))

    def put_notices(self, notices_: Iterable[Notice]) -> None:
        """Writes notices; one of the same kind, subject and ``since`` is replaced."""
        given = {(each.kind, each.subject, each.since): each for each in notices_}
        if given:
            ordered = [given[name] for name in sorted(given)]
            self._database.write(lambda c: write(c, upsert(c, notices), rows(ordered)))
