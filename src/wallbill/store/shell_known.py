"""Which displays are there, for records that may come in late, when one has just gone."""

from collections.abc import Collection

from sqlalchemy import Connection, select

from wallbill.store.tables import displays

_FEW = 100


def known_displays(connection: Connection, wanted: Collection[str]) -> frozenset[str]:
    """Those of ``wanted`` that are installed, in the connection's transaction; it may give others as well."""
    query = select(displays.c.name)
    if len(wanted) <= _FEW:
        query = query.where(displays.c.name.in_(wanted))
    return frozenset(connection.execute(query).scalars())
