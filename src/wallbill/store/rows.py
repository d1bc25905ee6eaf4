"""Values of `model.py` as rows of `tables.py` and back. Columns and fields have the same names."""

from collections.abc import Iterable, Mapping
from dataclasses import fields
from operator import attrgetter
from typing import Any, TypeVar

from sqlalchemy import Column, Connection, Table, bindparam, func, select
from sqlalchemy.dialects import postgresql, sqlite

V = TypeVar("V")

Insert = sqlite.Insert | postgresql.Insert

_MANY = 20


def names(model: type) -> tuple[str, ...]:
    """The fields of a dataclass, in order."""
    return tuple(field.name for field in fields(model))


def columns(table: Table, model: type) -> list[Column[Any]]:
    """The columns of a table that a dataclass has fields for, in their order."""
    return [table.c[name] for name in names(model)]


def row(value: Any) -> dict[str, Any]:
    """One value as a row."""
    return {name: getattr(value, name) for name in names(type(value))}


def rows(values: Iterable[Any]) -> list[dict[str, Any]]:
    """Values of one dataclass as rows."""
    listed = list(values)
    if not listed:
        return []
    known = names(type(listed[0]))
    get = attrgetter(*known)
    return [dict(zip(known, get(value), strict=True)) for value in listed]


def values(model: type[V], found: Iterable[Mapping[Any, Any]]) -> tuple[V, ...]:
    """Rows as values of a dataclass."""
    return tuple(model(**one) for one in found)


def insert(connection: Connection, table: Table) -> Insert:
    """An INSERT that knows ON CONFLICT, of the connection's own kind."""
    return postgresql.insert(table) if connection.dialect.name == "postgresql" else sqlite.insert(table)


def write(connection: Connection, made: Insert, given: list[dict[str, Any]]) -> None:
    """Writes rows that all have the same columns. Many go to PostgreSQL as one array a column, which is the swiftest."""
    if connection.dialect.name == "sqlite" or len(given) < _MANY:
        connection.execute(made, given)
        return
    table = made.table
    heads = list(given[0])
    arrays = [
        func.unnest(bindparam(name, type_=postgresql.ARRAY(table.c[name].type, dimensions=1)))
        for name in heads
    ]
    connection.execute(
        made.from_select(heads, select(*arrays)), {name: [one[name] for one in given] for name in heads}
    )


def upsert(connection: Connection, table: Table, *unchanged: str) -> Insert:
    """An INSERT that writes over the row of the same primary key, but for its columns ``unchanged``."""
    made = insert(connection, table)
    key = [column.name for column in table.primary_key]
    given = {c.name: made.excluded[c.name] for c in table.c if c.name not in (*key, *unchanged)}
    return made.on_conflict_do_update(index_elements=key, set_=given)
