"""The first edition of the tables."""

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql, sqlite

revision = "0001"
down_revision = None

_TEXT = sa.Text()
_WHOLE = sa.BigInteger().with_variant(sqlite.INTEGER(), "sqlite")
_REAL: sa.types.TypeEngine[float] = sa.Double().with_variant(sqlite.REAL(), "sqlite")
_MOMENT = sa.BigInteger().with_variant(sqlite.INTEGER(), "sqlite").with_variant(
    postgresql.TIMESTAMP(timezone=True), "postgresql"
)  # fmt: skip
_BLOB = sa.LargeBinary()


def _table(name: str, *parts: sa.schema.SchemaItem) -> None:
    op.create_table(name, *parts, sqlite_strict=True)


def _text(name: str, *, null: bool = False) -> sa.Column[str]:
    return sa.Column(name, _TEXT, nullable=null)


def _whole(name: str, *, null: bool = False) -> sa.Column[int]:
    return sa.Column(name, _WHOLE, nullable=null)


def _moment(name: str, *, null: bool = False) -> sa.Column[int]:
    return sa.Column(name, _MOMENT, nullable=null)


def _blob(name: str) -> sa.Column[bytes]:
    return sa.Column(name, _BLOB, nullable=False)


def _key(table: str, *columns: str) -> sa.PrimaryKeyConstraint:
    return sa.PrimaryKeyConstraint(*columns, name=f"{table}_pk")


def _of_display(table: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        ["display"], ["displays.name"], name=f"{table}_display_fk", ondelete="CASCADE"
    )


def _index(table: str, *columns: str) -> None:
    op.create_index(f"{table}_{'_'.join(columns)}", table, list(columns))


def upgrade() -> None:
    """From nothing to the first edition."""
    _displays()
    _editions()
    _pressings()
    _contacts()
    _people()
    _facts()
    counters = sa.table("counters", sa.column("name"), sa.column("last"))
    op.execute(sa.insert(counters).values(name="mark", last=0))


def _displays() -> None:
    _table(
        "displays", _text("name"), _text("like"), _moment("added_at"), _whole("number"), _whole("mark"),
        _key("displays", "name"),
    )  # fmt: skip
    _index("displays", "mark")
    _table("counters", _text("name"), _whole("last"), _key("counters", "name"))
    _table(
        "keys", _text("digest"), _text("display"), _moment("begun_at"), _moment("ends_at", null=True),
        _key("keys", "digest"), _of_display("keys"),
    )  # fmt: skip
    _index("keys", "display")
    _table(
        "asked", _text("display"), _text("sheet"), _moment("until"), _text("by"), _moment("at"),
        _key("asked", "display"), _of_display("asked"),
    )  # fmt: skip


def _editions() -> None:
    _table(
        "impressions", _text("digest"), _text("panel"), _whole("width_px"), _whole("height_px"),
        _blob("png"), _text("minor"),
        _key("impressions", "digest"),
    )  # fmt: skip
    _table(
        "editions", _text("display"), _whole("number"), _text("digest"), _moment("at"), _text("sheet"),
        _text("why"), _text("told"), _text("dated"), _text("wall"),
        _key("editions", "display", "number"), _of_display("editions"),
        sa.ForeignKeyConstraint(["digest"], ["impressions.digest"], name="editions_digest_fk"),
    )  # fmt: skip
    _index("editions", "digest")
    _index("editions", "at")


def _pressings() -> None:
    _table(
        "pressings", sa.Column("id", _WHOLE, sa.Identity(), nullable=False), _text("display"),
        _moment("looked_at"), _text("outcome"), _text("sheet"), _whole("took_ms"), _text("told"),
        _text("findings"), _text("stale"),
        _key("pressings", "id"), _of_display("pressings"),
    )  # fmt: skip
    _index("pressings", "looked_at")
    _index("pressings", "display", "id")
    _table(
        "looked", _text("display"), _moment("looked_at"), _text("outcome"),
        _key("looked", "display"), _of_display("looked"),
    )  # fmt: skip


def _contacts() -> None:
    _table(
        "contacts", _text("display"), _moment("at"), _whole("status"), _text("tag"), _text("shown"),
        _moment("due_at"),
        _key("contacts", "display"), _of_display("contacts"),
    )  # fmt: skip
    numbers = ("refresh_ms", "join_ms", "transfer_ms", "battery_mv", "signal_dbm")
    _table(
        "reports", sa.Column("id", _WHOLE, sa.Identity(), nullable=False), _text("display"), _moment("at"),
        _text("shown", null=True), *(_whole(name, null=True) for name in numbers),
        sa.Column("temperature_c", _REAL), _text("woken_by", null=True), _text("agent", null=True),
        _text("error", null=True),
        _key("reports", "id"), _of_display("reports"),
    )  # fmt: skip
    _index("reports", "at")
    _index("reports", "display", "at", "id")
    _table(
        "notices", _text("kind"), _text("subject"), _moment("since"), _text("what"), _text("mend"),
        *(_moment(name, null=True) for name in ("sent_at", "ended_at", "better_since")),
        _key("notices", "kind", "subject", "since"),
    )  # fmt: skip
    _index("notices", "ended_at")


def _people() -> None:
    _table("people", _text("name"), _text("password"), _moment("added_at"), _key("people", "name"))
    _table(
        "sessions", _text("digest"), _text("person"), _text("csrf"), _moment("begun_at"), _moment("ends_at"),
        _key("sessions", "digest"),
        sa.ForeignKeyConstraint(["person"], ["people.name"], name="sessions_person_fk", ondelete="CASCADE"),
    )  # fmt: skip
    _index("sessions", "person")
    _index("sessions", "ends_at")


def _facts() -> None:
    _table(
        "facts_kept", *(_text(name) for name in ("source", "part", "identity", "asked")), _blob("body"),
        _text("headers"), _moment("fetched_at"), _moment("due_at"),
        _key("facts_kept", "source", "part"),
    )  # fmt: skip
    _table(
        "facts_failures", _text("source"), _text("identity"), _whole("count"), _moment("due_at"),
        _text("what"), _text("mend"),
        _key("facts_failures", "source"),
    )  # fmt: skip
