"""Impressions, the editions of displays, and how pressing went, in a database."""

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import Connection, and_, select, update

from wallbill.errors import StoreError
from wallbill.store.model import Edition, Impressed, Outcome, Pressing
from wallbill.store.rows import columns, insert, row, rows, values, write
from wallbill.store.shell_database import Database
from wallbill.store.shell_known import known_displays
from wallbill.store.tables import counters, displays, editions, impressions, looked, pressings

_NEXT_MARK = (
    update(counters)
    .where(counters.c.name == "mark")
    .values(last=counters.c.last + 1)
    .returning(counters.c.last)
)
_UP = (
    select(*columns(editions, Edition), displays.c.mark)
    .select_from(
        displays.join(
            editions, and_(editions.c.display == displays.c.name, editions.c.number == displays.c.number)
        )
    )
    .order_by(displays.c.mark)
)


class Editions:
    """`EditionRecords` in a database. Editions are written through; how pressing went may lose its last half minute."""

    _database: Database

    def editions_up(self, *, after: int = 0) -> tuple[int, Sequence[Edition]]:
        """The last edition of each display that got one since ``after``, and the mark to ask after next time."""
        query = _UP.where(displays.c.mark > after)
        found = self._database.read(lambda c: [dict(one) for one in c.execute(query).mappings()])
        marks = [one.pop("mark") for one in found]
        return max(marks, default=after), values(Edition, found)

    def history(self, display: str, *, most: int = 100) -> Sequence[Edition]:
        """The last editions of a display, newest first."""
        query = (
            select(*columns(editions, Edition))
            .where(editions.c.display == display)
            .order_by(editions.c.number.desc())
            .limit(most)
        )
        return self._database.read(lambda c: values(Edition, c.execute(query).mappings()))

    def impression(self, digest: str) -> Impressed | None:
        """The impression of that digest."""
        query = select(*columns(impressions, Impressed)).where(impressions.c.digest == digest)
        found = self._database.read(lambda c: values(Impressed, c.execute(query).mappings()))
        return found[0] if found else None

    def put_up(self, edition: Edition, impression: Impressed | None = None) -> bool:
        """Puts an edition up, with its impression if that is new; all or nothing.

        False, and nothing is written, where the display's last edition is not number ``edition.number - 1``, or the
        display has gone. Raises `StoreError` where the impression is neither given nor kept.
        """
        if impression is not None and impression.digest != edition.digest:
            raise ValueError("the impression is not the edition's")
        if edition.number < 1:
            raise ValueError(f"editions are numbered from 1, not {edition.number}")

        def work(connection: Connection) -> bool:
            last = and_(displays.c.name == edition.display, displays.c.number == edition.number - 1)
            if connection.execute(update(displays).where(last).values(number=edition.number)).rowcount != 1:
                return False
            # The counter is held to the end: marks become visible in their order, so that none is ever passed over.
            mark = connection.execute(_NEXT_MARK).scalar_one()
            connection.execute(update(displays).where(displays.c.name == edition.display).values(mark=mark))
            self._keep(connection, edition.digest, impression)
            connection.execute(insert(connection, editions), row(edition))
            return True

        return self._database.write(work)

    def _keep(self, connection: Connection, digest: str, impression: Impressed | None) -> None:
        if impression is not None:
            connection.execute(insert(connection, impressions).on_conflict_do_nothing(), row(impression))
        elif (
            connection.execute(select(impressions.c.digest).where(impressions.c.digest == digest)).first()
            is None
        ):
            raise StoreError(
                f"the impression {digest[:16]} is not kept here",
                where=self._database.address.place,
                mend="Press it anew and hand it over with its edition.",
            )

    def note_pressing(self, *pressings_: Pressing) -> None:
        """Records how pressings went; of displays that have gone nothing is recorded."""
        if not pressings_:
            return

        def work(connection: Connection) -> None:
            known = known_displays(connection, {each.display for each in pressings_})
            given = [each for each in pressings_ if each.display in known]
            if not given:
                return
            write(connection, insert(connection, pressings), rows(given))
            last: dict[str, Pressing] = {}
            for each in given:
                if each.display not in last or each.looked_at >= last[each.display].looked_at:
                    last[each.display] = each
            made = insert(connection, looked)
            write(
                connection,
                made.on_conflict_do_update(
                    index_elements=["display"],
                    set_={"looked_at": made.excluded.looked_at, "outcome": made.excluded.outcome},
                    where=made.excluded.looked_at >= looked.c.looked_at,
                ),
                [
                    {"display": name, "looked_at": last[name].looked_at, "outcome": last[name].outcome}
                    for name in sorted(last)
                ],
            )

        self._database.write(work, lasting=False)

    def pressings(self, *, display: str | None = None, most: int = 100) -> Sequence[Pressing]:
        """The last pressings, newest first."""
        query = select(*columns(pressings, Pressing)).order_by(pressings.c.id.desc()).limit(most)
        if display is not None:
            query = query.where(pressings.c.display == display)
        return self._database.read(lambda c: values(Pressing, c.execute(query).mappings()))

    def looked(self) -> dict[str, tuple[datetime, Outcome]]:
        """For each display, the last moment that it was pressed for, and what came of it."""
        query = select(looked.c.display, looked.c.looked_at, looked.c.outcome)
        found = self._database.read(lambda c: c.execute(query).all())
        return {display: (looked_at, Outcome(outcome)) for display, looked_at, outcome in found}
