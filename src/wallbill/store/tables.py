"""The tables of a store, the same on SQLite and PostgreSQL. Made and changed by `migrations/` alone.

Columns have the names of the fields in `model.py`. What a display has goes with it when it is forgotten.
"""

from typing import Any

from sqlalchemy import Column, ForeignKey, Identity, Index, MetaData, PrimaryKeyConstraint, Table
from sqlalchemy.schema import SchemaItem

from wallbill.store.columns import Blob, Listed, Moment, Real, Whole, Word, Words
from wallbill.store.model import Outcome, Why

EDITIONS = ("0001",)
"""Every edition that the tables have had, oldest first; the last is the one that `METADATA` shows."""

EDITION_TABLE = "store_edition"
"""Where a store says of which edition it is."""

METADATA = MetaData(
    naming_convention={
        "pk": "%(table_name)s_pk",
        "fk": "%(table_name)s_%(column_0_name)s_fk",
        "ix": "%(table_name)s_%(column_0_N_name)s",
    }
)


def _table(name: str, *parts: SchemaItem) -> Table:
    return Table(name, METADATA, *parts, sqlite_strict=True)


def _of_display(**how: Any) -> Column[Any]:
    return Column(
        "display", Words, ForeignKey("displays.name", ondelete="CASCADE"), **{"nullable": False, **how}
    )


def _needed(name: str, kind: Any) -> Column[Any]:
    return Column(name, kind, nullable=False)


def _number() -> Column[Any]:
    return Column("id", Whole, Identity(), primary_key=True)


displays = _table(
    "displays",
    Column("name", Words, primary_key=True),
    _needed("like", Words),
    _needed("added_at", Moment),
    _needed("number", Whole),  # of the edition that is up, 0: none yet
    _needed("mark", Whole),  # when it got that, counted over all displays
    Index(None, "mark"),
)

counters = _table(
    "counters",
    Column("name", Words, primary_key=True),
    _needed("last", Whole),
)

keys = _table(
    "keys",
    Column("digest", Words, primary_key=True),
    _of_display(index=True),
    _needed("begun_at", Moment),
    Column("ends_at", Moment),
)

asked = _table(
    "asked",
    _of_display(primary_key=True),
    _needed("sheet", Words),
    _needed("until", Moment),
    _needed("by", Words),
    _needed("at", Moment),
)

impressions = _table(
    "impressions",
    Column("digest", Words, primary_key=True),
    _needed("panel", Words),
    _needed("width_px", Whole),
    _needed("height_px", Whole),
    _needed("png", Blob),
    _needed("minor", Listed),
)

editions = _table(
    "editions",
    _of_display(),
    _needed("number", Whole),
    Column("digest", Words, ForeignKey("impressions.digest"), nullable=False, index=True),
    Column("at", Moment, nullable=False, index=True),
    _needed("sheet", Words),
    _needed("why", Word(Why)),
    _needed("told", Words),
    _needed("dated", Listed),
    _needed("wall", Words),
    PrimaryKeyConstraint("display", "number"),
)

pressings = _table(
    "pressings",
    _number(),
    _of_display(),
    Column("looked_at", Moment, nullable=False, index=True),
    _needed("outcome", Word(Outcome)),
    _needed("sheet", Words),
    _needed("took_ms", Whole),
    _needed("told", Words),
    _needed("findings", Words),
    _needed("stale", Listed),
    Index(None, "display", "id"),
)

looked = _table(
    "looked",
    _of_display(primary_key=True),
    _needed("looked_at", Moment),
    _needed("outcome", Word(Outcome)),
)

contacts = _table(
    "contacts",
    _of_display(primary_key=True),
    _needed("at", Moment),
    _needed("status", Whole),
    _needed("tag", Words),
    _needed("shown", Words),
    _needed("due_at", Moment),
)

reports = _table(
    "reports",
    _number(),
    _of_display(),
    Column("at", Moment, nullable=False, index=True),
    Column("shown", Words),
    Column("refresh_ms", Whole),
    Column("join_ms", Whole),
    Column("transfer_ms", Whole),
    Column("battery_mv", Whole),
    Column("signal_dbm", Whole),
    Column("temperature_c", Real),
    Column("woken_by", Words),
    Column("agent", Words),
    Column("error", Words),
    Index(None, "display", "at", "id"),
)

notices = _table(
    "notices",
    _needed("kind", Words),
    _needed("subject", Words),
    _needed("since", Moment),
    _needed("what", Words),
    _needed("mend", Words),
    Column("sent_at", Moment),
    Column("ended_at", Moment, index=True),
    Column("better_since", Moment),
    PrimaryKeyConstraint("kind", "subject", "since"),
)

people = _table(
    "people",
    Column("name", Words, primary_key=True),
    _needed("password", Words),
    _needed("added_at", Moment),
)

sessions = _table(
    "sessions",
    Column("digest", Words, primary_key=True),
    Column("person", Words, ForeignKey("people.name", ondelete="CASCADE"), nullable=False, index=True),
    _needed("csrf", Words),
    _needed("begun_at", Moment),
    Column("ends_at", Moment, nullable=False, index=True),
)

facts_kept = _table(
    "facts_kept",
    _needed("source", Words),
    _needed("part", Words),
    _needed("identity", Words),
    _needed("asked", Words),
    _needed("body", Blob),
    _needed("headers", Words),
    _needed("fetched_at", Moment),
    _needed("due_at", Moment),
    PrimaryKeyConstraint("source", "part"),
)

facts_failures = _table(
    "facts_failures",
    Column("source", Words, primary_key=True),
    _needed("identity", Words),
    _needed("count", Whole),
    _needed("due_at", Moment),
    _needed("what", Words),
    _needed("mend", Words),
)
