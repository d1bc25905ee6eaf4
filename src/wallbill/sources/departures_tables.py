"""The tables of a GTFS feed, streamed row by row, so that a feed of any length takes little memory.

GTFS Schedule Reference: tables are CSV (RFC 4180) in UTF-8, with a byte order mark or without, first row the names.
"""

import csv
import io
import zipfile
from collections.abc import Callable, Generator, Iterator
from contextlib import closing
from dataclasses import dataclass
from typing import IO

from wallbill.errors import Place, SourceError

_LINE = 65_536
_MOST_CHARACTERS = 1 << 30

Streams = Callable[[str], IO[bytes] | None]
"""Gives a table's bytes by its name, such as ``stops.txt``; None where the feed has no such table."""


@dataclass(frozen=True, slots=True)
class Tables:
    """A feed's tables. ``file``: what it is called in errors."""

    streams: Streams
    file: str

    def heading(self, name: str) -> tuple[str, ...] | None:
        """The names of a table's columns, None where there is no such table."""
        stream = self._stream(name)
        if stream is None:
            return None
        with closing(_lines(stream, Place(f"{self.file}/{name}"))) as lines:
            first = next(lines, "")
        return tuple(cell.strip() for cell in next(csv.reader([first]), []))

    def rows(
        self, name: str, *columns: str, keep: Callable[[str], bool] | None = None
    ) -> Iterator[tuple[str, ...]]:
        """The columns of a table, row by row, "" for a column that it does not have; no rows where it is missing.

        ``keep``: which lines are worth being taken apart, by their text; others are skipped, which is quick. Raises
        `SourceError` with table and line for what cannot be read.
        """
        stream = self._stream(name)
        if stream is None:
            return
        where = Place(f"{self.file}/{name}")
        with closing(_lines(stream, where)) as lines:
            reader = csv.reader(lines if keep is None else _kept(lines, keep))
            try:
                yield from _columns(reader, columns)
            except csv.Error as fault:
                raise _broken(Place(where.file, reader.line_num), str(fault)) from None

    def _stream(self, name: str) -> IO[bytes] | None:
        try:
            return self.streams(name)
        except (zipfile.BadZipFile, NotImplementedError, RuntimeError, OSError, ValueError) as fault:
            raise _broken(Place(f"{self.file}/{name}"), str(fault)) from None


def _lines(stream: IO[bytes], where: Place) -> Generator[str, None, None]:
    """Lines of bounded length, of which there are not too many."""
    total = 0
    with io.TextIOWrapper(stream, encoding="utf-8-sig", errors="replace", newline="") as text:
        while line := _line(text, where):
            total += len(line)
            if len(line) == _LINE or total > _MOST_CHARACTERS:
                raise SourceError(
                    "the table is too long"
                    if total > _MOST_CHARACTERS
                    else "a line of the table is too long",
                    where=where,
                    mend="Look at the feed; take one of a smaller area, if there is one.",
                )
            yield line


def _columns(reader: Iterator[list[str]], columns: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """Some columns of each row that is not empty."""
    header = [heading.strip() for heading in next(reader, [])]
    places = [header.index(column) if column in header else None for column in columns]
    for row in reader:
        length = len(row)
        if length > 1 or (length and row[0]):
            yield tuple(
                row[place].strip() if place is not None and place < length else "" for place in places
            )


def _kept(lines: Iterator[str], keep: Callable[[str], bool]) -> Iterator[str]:
    """The first line, those to keep, and whatever belongs to a quoted cell that goes over several lines."""
    yield next(lines, "")
    quoted = False
    for line in lines:
        marks = line.count('"')
        if quoted or marks or keep(line):
            yield line
        quoted ^= marks % 2 == 1


def _line(text: io.TextIOWrapper, where: Place) -> str:
    try:
        return text.readline(_LINE)
    except Exception as fault:  # noqa: BLE001  unpackers raise what the file's author made them raise
        raise _broken(where, str(fault) or type(fault).__name__) from None


def _broken(where: Place, why: str) -> SourceError:
    return SourceError(
        f"the table cannot be read: {why[:100]}",
        where=where,
        mend="Fetch the feed again; if it stays so, tell who publishes it.",
    )


def zip_tables(file: IO[bytes], name: str) -> Tables:
    """The tables of a feed in a ZIP archive, also where they lie in a folder inside it; ``name``: for errors."""
    try:
        archive = zipfile.ZipFile(file)
        members = {member.filename.rpartition("/")[2]: member for member in archive.infolist()}
    except Exception as fault:  # noqa: BLE001  as above
        raise SourceError(
            f"the timetable is no ZIP archive that can be read: {str(fault)[:100]}",
            where=Place(name),
            mend="Give the address of the GTFS feed itself; fetch it again, if it was cut.",
        ) from None

    def streams(table: str) -> IO[bytes] | None:
        member = members.get(table)
        return None if member is None else archive.open(member)

    return Tables(streams, name)
