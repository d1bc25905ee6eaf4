"""Reads a timetable that lies in the wall folder, a ZIP archive or a folder of tables of any size."""

from pathlib import Path
from typing import IO

from wallbill.errors import SourceError
from wallbill.sources.departures import mark_of, packed, wanted_of, with_news
from wallbill.sources.departures_drawing import drawn_out
from wallbill.sources.departures_tables import Tables, zip_tables
from wallbill.sources.fetching import digest_of
from wallbill.sources.spec import SourceSpec

_NEWS_BYTES = 8 << 20


def read_timetable_here(folder: Path, spec: SourceSpec, before: bytes | None, *, news: bool) -> bytes:
    """The payload of the timetable that ``spec`` names, for `wallbill.sources.departures.parse`.

    ``folder``: the wall's. ``before``: what this gave last time, which is given again if nothing has changed, as the
    tables may be long. ``news``: whether the vehicles' news are a file too, and read along. Raises `SourceError`.
    """
    wanted = wanted_of(spec)
    path = _inside(folder, str(spec.options["file"]), spec)
    mark = digest_of(*_state(path, spec), *wanted.stops, "\0", *wanted.routes)[:32]
    if before is not None and mark_of(before) == mark:
        payload = with_news(before, b"")
    else:
        payload = packed(_drawn(path, spec), mark=mark)
    if not news:
        return payload
    told = _inside(folder, str(spec.options["realtime"]), spec)
    try:
        with told.open("rb") as file:
            return with_news(payload, file.read(_NEWS_BYTES))
    except OSError as fault:
        raise _unreadable(told.name, fault, spec) from None


def _drawn(path: Path, spec: SourceSpec) -> bytes:
    name = str(spec.options["file"])
    wanted = wanted_of(spec)
    if path.is_dir():
        return drawn_out(Tables(lambda table: _table(path, table), name), wanted)
    try:
        with path.open("rb") as file:
            return drawn_out(zip_tables(file, name), wanted)
    except OSError as fault:
        raise _unreadable(name, fault, spec) from None


def _table(folder: Path, name: str) -> IO[bytes] | None:
    path = folder / name
    return path.open("rb") if path.is_file() else None


def _state(path: Path, spec: SourceSpec) -> list[str]:
    """What changes when the timetable does: size and date of its files."""
    try:
        files = sorted(path.glob("*.txt")) if path.is_dir() else [path]
        return [f"{file.name} {file.stat().st_size} {file.stat().st_mtime_ns}" for file in files]
    except OSError as fault:
        raise _unreadable(str(spec.options["file"]), fault, spec) from None


def _inside(folder: Path, name: str, spec: SourceSpec) -> Path:
    """A path inside the wall folder; raises `SourceError` for one outside."""
    try:
        path = (folder / name).resolve()
        inside = path.is_relative_to(folder.resolve())
    except (OSError, ValueError):
        raise SourceError(
            f"{name!r} cannot be read: no such name",
            where=spec.where,
            mend="Check the name; it is counted from the wall folder.",
        ) from None
    if not inside:
        raise SourceError(
            f"{name!r} lies outside the wall folder",
            where=spec.where,
            mend="Move or copy it into the wall folder.",
        )
    return path


def _unreadable(name: str, fault: OSError, spec: SourceSpec) -> SourceError:
    return SourceError(
        f"{name!r} cannot be read: {(fault.strerror or 'no such name').lower()}",
        where=spec.where,
        mend="Check the name; it is counted from the wall folder.",
    )
