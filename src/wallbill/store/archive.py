"""The form of a backup: a zip archive with one member of JSON lines a table, and a manifest that says what they are.

The manifest names each column with its kind, so that an archive can be read without the program that wrote it. A line
is a JSON array with one value a column: texts, numbers and null as they are, moments in ISO 8601 (UTC), bytes in Base64.
"""

import base64
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from types import MappingProxyType
from typing import Any

from pydantic import BaseModel, ConfigDict, ValidationError
from sqlalchemy import Table, types

from wallbill.store.columns import Blob, Moment, Real, Whole, Words
from wallbill.store.tables import METADATA

MANIFEST = "manifest.json"
WHAT = "wallbill store"
FORM = 1
"""Of the archive itself; that of the tables is their edition."""

LEFT_OUT = frozenset({"sessions"})
"""Tables that no archive holds: whoever restores one logs in anew."""

FACTS = frozenset({"facts_kept", "facts_failures"})
"""Tables that an SQLite store has in a file of its own."""

KINDS: Mapping[str, type[types.TypeDecorator[Any]]] = MappingProxyType(
    {"text": Words, "whole": Whole, "real": Real, "moment": Moment, "bytes": Blob}
)
"""The type of column for each kind of value."""


class Unfit(ValueError):  # noqa: N818  it is told with its place by who reads the archive
    """What an archive says is not to be understood; the text says why."""


@dataclass(frozen=True, slots=True)
class Member:
    """One table of an archive. ``columns``: each with its kind. ``sha256``: of the member unpacked, hexadecimal."""

    table: str
    columns: tuple[tuple[str, str], ...]
    rows: int
    sha256: str

    @property
    def file(self) -> str:
        """Its name in the archive."""
        return f"{self.table}.jsonl"


@dataclass(frozen=True, slots=True)
class Manifest:
    """What an archive holds, in the order in which it can be restored. ``edition``: of the tables."""

    edition: str
    made_at: datetime
    members: tuple[Member, ...]

    @property
    def counts(self) -> dict[str, int]:
        """How many rows each table has."""
        return {member.table: member.rows for member in self.members}


def archived() -> tuple[Table, ...]:
    """The tables of this edition that go into an archive, each after those that its rows refer to."""
    return tuple(table for table in METADATA.sorted_tables if table.name not in LEFT_OUT)


def kinds_of(table: Table) -> tuple[tuple[str, str], ...]:
    """The columns of a table, each with its kind; lists and words are texts."""
    known: dict[type, str] = {made: kind for kind, made in KINDS.items()}
    return tuple((column.name, known.get(type(column.type), "text")) for column in table.columns)


def rows_at_once(columns: Iterable[tuple[str, str]]) -> int:
    """How many rows of a table are in memory at a time: few where there may be pictures."""
    return 20 if any(kind == "bytes" for _, kind in columns) else 500


def encoded(row: Sequence[Any]) -> bytes:
    """A row as a line, with its end."""
    return (
        json.dumps([_plain(value) for value in row], ensure_ascii=False, separators=(",", ":")).encode()
        + b"\n"
    )


def _plain(value: Any) -> Any:
    match value:
        case datetime():
            return value.astimezone(UTC).isoformat()
        case bytes():
            return base64.b64encode(value).decode("ascii")
    return value


def decoded(line: bytes, columns: Sequence[tuple[str, str]]) -> dict[str, Any]:
    """A line as a row. Raises `Unfit`."""
    try:
        row = json.loads(line)
    except (ValueError, RecursionError):
        raise Unfit("no JSON") from None
    if not isinstance(row, list) or len(row) != len(columns):
        raise Unfit(f"not a list of {len(columns)} values")
    return {name: _value(value, name, kind) for value, (name, kind) in zip(row, columns, strict=True)}


def _value(value: Any, name: str, kind: str) -> Any:
    if value is None:
        return None
    fits: Any = {"whole": int, "real": int | float}.get(kind, str)
    if not isinstance(value, fits) or isinstance(value, bool):
        raise Unfit(f"{name} is no {kind}")
    try:
        if kind == "moment":
            return _moment(value)
        return base64.b64decode(value, validate=True) if kind == "bytes" else value
    except (ValueError, OverflowError):
        raise Unfit(f"{name} is no {kind}") from None


def _moment(text: str) -> datetime:
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is None:
        raise ValueError("it names no zone")
    return moment.astimezone(UTC)


def written(manifest: Manifest) -> bytes:
    """A manifest as JSON."""
    told = {
        "what": WHAT,
        "form": FORM,
        "edition": manifest.edition,
        "made_at": manifest.made_at.astimezone(UTC).isoformat(),
        "members": [{**asdict(member), "columns": dict(member.columns)} for member in manifest.members],
    }
    return json.dumps(told, indent=2, ensure_ascii=False).encode()


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class _Member(_Strict):
    table: str
    columns: dict[str, str]
    rows: int
    sha256: str


class _Manifest(_Strict):
    what: str
    form: int
    edition: str
    made_at: str
    members: list[_Member]


def read_manifest(data: bytes) -> Manifest:
    """A manifest that was written. Raises `Unfit`: it is none, or of a later form."""
    try:
        told = json.loads(data)
    except (ValueError, RecursionError):
        raise Unfit("its manifest is no JSON") from None
    if not isinstance(told, dict) or told.get("what") != WHAT:
        raise Unfit("it is no backup of a store")
    if told.get("form") != FORM:
        raise Unfit(f"it has the form {told.get('form')!r}, and this Wallbill reads form {FORM}")
    try:
        read = _Manifest.model_validate(told)
        made_at = datetime.fromisoformat(read.made_at)
    except (ValidationError, ValueError):
        raise Unfit("its manifest lacks what it should say") from None
    for member in read.members:
        if not member.table.isidentifier() or not set(member.columns.values()) <= KINDS.keys():
            raise Unfit(f"its manifest tells of a table {member.table[:40]!r} that none can be")
    if len({member.table for member in read.members}) != len(read.members):
        raise Unfit("its manifest tells of a table twice")
    return Manifest(read.edition, made_at, _members(read.members))


def _members(told: Iterable[_Member]) -> tuple[Member, ...]:
    return tuple(Member(m.table, tuple(m.columns.items()), m.rows, m.sha256) for m in told)
