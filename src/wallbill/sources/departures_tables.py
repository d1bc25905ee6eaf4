"""The tables of a GTFS feed, streamed row by row, so that a feed of any length takes little memory.

GTFS Schedule Reference: tables are CSV (RFC 4180) in UTF-8, with a byte order mark or without, first row the names.
"""

import csv
import io
import zipfile
from collections.abc import Callable, Iterator
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

    def has(self, name: str) -> bool:
        """Whether there is such a table."""
        stream = self._stream(name)
        if stream is None:
            return False
        stream.close()
        return True

    def rows(self, name: str, *columns: str) -> Iterator[tuple[str, ...]]:
        """The columns of a table, row by row, "" for a column that it does not have; no rows where it is missing.

        Raises `SourceError` with table and line for what cannot be read.
        """
        stream = self._stream(name)
        if stream is None:
            return
        where = Place(f"{self.file}/{name}")
        with stream:
            lines = _lines(stream, where)
            reader = csv.reader(lines)
            try:
                header = [heading.strip() for heading in next(reader, [])]
                places = [header.index(column) if column in header else None for column in columns]
                for row in reader:
                    length = len(row)
                    if length > 1 or (length and row[0]):
                        yield tuple(
                            row[place].strip() if place is not None and place < length else ""
                            for place in places
                        )
            except csv.Error as fault:
                raise _broken(Place(where.file, reader.line_num), str(fault)) from None

    def _stream(self, name: str) -> IO[bytes] | None:
        try:
            return self.streams(name)
        except (zipfile.BadZipFile, NotImplementedError, RuntimeError, OSError, ValueError) as fault:
            raise _broken(Place(f"{self.file}/{name}"), str(fault)) from None


def _lines(stream: IO[bytes], where: Place) -> Iterator[str]:
    """Lines of bounded length, of which there are not too many."""
    text = io.TextIOWrapper(stream, encoding="utf-8-sig", errors="replace", newline="")
    total = 0
    while line := _line(text, where):
        total += len(line)
        if len(line) == _LINE or total > _MOST_CHARACTERS:
            raise SourceError(
                "the table is too long" if total > _MOST_CHARACTERS else "a line of the table is too long",
                where=where,
                mend="Look at the feed; take one of a smaller area, if there is one.",
            )
        yield line


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
