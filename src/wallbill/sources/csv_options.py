"""What a wall says about a table of readings: which columns, in which units, and how the file writes things.

Nothing is guessed from the file: a comma that is a decimal sign today and a delimiter tomorrow would be silently wrong
numbers on a wall. What is not said has the stated default, that of RFC 4180 and ISO 8601.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from zoneinfo import ZoneInfo

from wallbill.errors import Place, SourceError
from wallbill.sources.lengths import length_of_time
from wallbill.sources.saying import Saying
from wallbill.sources.spec import SourceSpec
from wallbill.units.quantity import UNITS

GAPS = ("", "-", "--", "na", "n/a", "nan", "none", "null", "unknown", "unavailable")
"""Cells that are gaps, whatever their case."""

TIME_WORDS = ("iso", "unix", "unix-ms")
"""Time formats by name; any other is a pattern of ``strptime`` such as ``%d.%m.%Y %H:%M``."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column to read: what the series is called, the column's heading (or number from 1), and its unit."""

    name: str
    column: str
    unit: str


@dataclass(frozen=True, slots=True)
class TableShape:
    """How a table is written. ``zone``: of times that name none. ``gap_after``: readings further apart have a gap."""

    columns: tuple[Column, ...]
    time: str = "time"
    time_format: str = "iso"
    zone: ZoneInfo | None = None
    encoding: str = "utf-8"
    delimiter: str = ","
    decimal: str = "."
    header: bool = True
    skip_lines: int = 0
    gap_after: timedelta | None = None


def table_shape(spec: SourceSpec) -> TableShape:
    """The options of a source as the shape of its table; raises `SourceError` that names the option."""
    options = spec.options
    say = Saying(options, spec.where)
    delimiter = {"tab": "\t"}.get(say.text("delimiter", ","), say.text("delimiter", ","))
    shape = TableShape(
        columns=_columns(options.get("columns"), spec.where),
        time=say.text("time", "time"),
        time_format=say.text("time_format", "iso"),
        zone=say.zone("time_zone"),
        encoding=say.encoding("encoding"),
        delimiter=delimiter,
        decimal=say.text("decimal", "."),
        header=say.truth("header", default=True),
        skip_lines=say.whole("skip_lines"),
        gap_after=None
        if "gap_after" not in options
        else length_of_time(options["gap_after"], say.at("gap_after")),
    )
    if len(shape.delimiter) != 1:
        raise SourceError(
            f"{shape.delimiter!r} is no delimiter",
            where=say.at("delimiter"),
            mend='Give one character, such as ";", or "tab".',
        )
    if shape.decimal not in {".", ","} or shape.decimal == shape.delimiter:
        raise SourceError(
            f"the decimal sign is {shape.decimal!r} and the delimiter {shape.delimiter!r}",
            where=say.at("decimal"),
            mend='Use decimal = "." or ",", and a delimiter that is another sign.',
        )
    return shape


def _columns(value: object, where: Place) -> tuple[Column, ...]:
    at = Place(where.file, where.line, "columns")
    if not isinstance(value, Mapping) or not value:
        raise SourceError(
            "it does not say which columns to read",
            where=at,
            mend='Give columns = { air = { column = "temperature", unit = "°C" } }.',
        )
    return tuple(_column(str(name), said, at) for name, said in value.items())


def _column(name: str, said: object, at: Place) -> Column:
    here = Place(at.file, at.line, f"columns.{name}")
    parts = said if isinstance(said, Mapping) else {}
    unit, column = parts.get("unit"), parts.get("column", name)
    unknown = set(parts) - {"unit", "column"}
    if unknown or not isinstance(unit, str):
        raise SourceError(
            f"unknown key {min(unknown)!r}" if unknown else "it names no unit",
            where=here,
            mend=f'Write {name} = {{ column = "heading", unit = "°C" }}.',
        )
    if unit not in UNITS:
        raise SourceError(f"unknown unit {unit!r}", where=here, mend=f"Use one of {', '.join(UNITS)}.")
    return Column(name, str(column), unit)
