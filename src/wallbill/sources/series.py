"""Tables of readings (CSV, RFC 4180) made into series, one a column.

A row whose time cannot be read is left out, a cell that is no number is a gap, each with a finding; when more than one
row in fifty is bad, the table is not what the wall thinks it is, and the first bad row is the error.
"""

import csv
from collections.abc import Iterator
from math import isfinite
from typing import Protocol
from zoneinfo import ZoneInfo

from wallbill.errors import Place, SourceError
from wallbill.facts.series import Series
from wallbill.sources.csv_options import GAPS, TableShape, table_shape
from wallbill.sources.moments import Moments
from wallbill.sources.rows import Fault, Measure, Row, series_of
from wallbill.sources.spec import ParseContext


def parse(data: bytes, context: ParseContext) -> Series | tuple[Series, ...]:
    """A table as series in the order of the option ``columns``; a tuple if there are several.

    Rows are put in order of time; of two rows of one instant the later one in the file holds, gaps in it filled from
    the earlier. Raises `SourceError` with the line for a table that cannot be read, or where the rows are mostly bad.
    """
    shape = table_shape(context.spec)
    file = str(context.spec.options.get("file") or context.spec.name)
    rows, faults = _Table(shape, file, shape.zone or context.zone).read(data)
    measures = [Measure(column.name, column.unit) for column in shape.columns]
    return series_of(rows, measures, context, faults=faults, gap_after=shape.gap_after)


class _Reader(Protocol):
    """The reader of the csv module."""

    @property
    def line_num(self) -> int: ...

    def __next__(self) -> list[str]: ...


class _Table:
    """One table being read."""

    def __init__(self, shape: TableShape, file: str, zone: ZoneInfo) -> None:
        self._shape = shape
        self._file = file
        self._moments = Moments(shape.time_format, zone)
        self._faults: list[Fault] = []

    def read(self, data: bytes) -> tuple[tuple[Row, ...], tuple[Fault, ...]]:
        """Rows as they stand, and what was wrong."""
        lines = self._decoded(data).splitlines(keepends=True)[self._shape.skip_lines :]
        reader = csv.reader(lines, delimiter=self._shape.delimiter, strict=True)
        cells = self._cells(reader)
        heading = next(cells, None) if self._shape.header else (self._shape.skip_lines + 1, [])
        if heading is None:
            raise SourceError(
                "the table is empty", where=Place(self._file), mend="Check what writes the file."
            )
        places = self._places(*heading)
        rows = [read for line, row in cells if (read := self._row(line, row, places))]
        return tuple(rows), tuple(self._faults)

    def _decoded(self, data: bytes) -> str:
        try:
            text = data.decode(self._shape.encoding)
        except UnicodeDecodeError as fault:
            raise SourceError(
                f"the table is not written in {self._shape.encoding}: byte {data[fault.start]:#04x}",
                where=Place(self._file, data[: fault.start].count(b"\n") + 1, "encoding"),
                mend='Say how it is written, such as encoding = "cp1252".',
            ) from None
        return text.removeprefix("\ufeff").replace("\0", "")

    def _cells(self, reader: "_Reader") -> Iterator[tuple[int, list[str]]]:
        """Rows with the line that each ends on; empty lines are passed over."""
        while True:
            try:
                row = next(reader)
            except StopIteration:
                return
            except csv.Error as fault:
                self._fault(
                    self._line(reader), f"the row cannot be read: {fault}", "Mend the quotes of the row."
                )
                continue
            if any(cell.strip() for cell in row):
                yield self._line(reader), row

    def _line(self, reader: "_Reader") -> int:
        return int(reader.line_num) + self._shape.skip_lines

    def _places(self, line: int, heading: list[str]) -> tuple[int, tuple[int, ...]]:
        """The places of the time and of each value in a row."""
        names = [name.strip() for name in heading]
        time_place = self._place(self._shape.time, names, line)
        return time_place, tuple(self._place(column.column, names, line) for column in self._shape.columns)

    def _place(self, column: str, names: list[str], line: int) -> int:
        if self._shape.header and column in names:
            return names.index(column)
        if not self._shape.header and column.isdigit() and int(column) > 0:
            return int(column) - 1
        if self._shape.header:
            what, mend = f"there is no column {column!r}", f"Use one of {', '.join(map(repr, names[:20]))}."
        else:
            what = f"column {column!r} is no number, and the table has no heading"
            mend = "Number the columns from 1, or set header = true."
        raise SourceError(what, where=Place(self._file, line), mend=mend)

    def _row(self, line: int, cells: list[str], places: tuple[int, tuple[int, ...]]) -> Row | None:
        time_place, value_places = places
        if len(cells) <= max(time_place, *value_places):
            most = max(time_place, *value_places) + 1
            self._fault(
                line, f"the row has {len(cells)} cells, not {most}", "Look at how the row was written."
            )
            return None
        try:
            at = self._moments.read(cells[time_place].strip())
        except ValueError:
            self._fault(
                line,
                f"{cells[time_place][:40]!r} is no time of the format {self._shape.time_format!r}",
                'Say how times are written, such as time_format = "%d.%m.%Y %H:%M".',
            )
            return None
        return Row(at, tuple(self._value(line, cells[place].strip()) for place in value_places))

    def _value(self, line: int, cell: str) -> float | None:
        if cell.lower() in GAPS:
            return None
        value = _number(cell, self._shape.decimal)
        if value is None:
            mend = f'Numbers here have the decimal sign "{self._shape.decimal}"; set decimal if not.'
            self._fault(line, f"{cell[:40]!r} is no number", mend)
        return value if value is not None and isfinite(value) else None

    def _fault(self, line: int, what: str, mend: str) -> None:
        self._faults.append(Fault(line, Place(self._file, line), what, mend))


def _number(cell: str, decimal: str) -> float | None:
    """A number with one decimal sign and no separators of thousands, None for anything else."""
    if ("," if decimal == "." else ".") in cell or "_" in cell:
        return None
    try:
        return float(cell.replace(decimal, "."))
    except ValueError:
        return None
