"""The digest of a wall's files: the same on every machine that has the same files, and cheap to ask again and again."""

import hashlib
import os
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from stat import S_ISREG

_TOP = "wall.toml"
_FOLDERS = ("faces", "facts", "panels", "pictures", "sheets")
_ONLY = (("facts", ".py"),)
_SETTLED_NS = 2_000_000_000
"""A file that was written this short a while ago may be written again with no other mark: FAT keeps two seconds."""


@dataclass(frozen=True, slots=True)
class _Seen:
    """What was read of a file, and the marks that it had: as long as they stay the file is not read again."""

    marks: tuple[int, ...]
    digest: bytes
    settled: bool


class WallWatch:
    """The files of a wall that what it shows depends on, each read again only when it has changed.

    These are ``wall.toml`` and all that lies in ``sheets/``, ``pictures/``, ``panels/`` and ``faces/``, and the Python
    files of ``facts/``; not the secrets, nor what sources read. Hidden files and editors' copies (``name~``) do not count.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._seen: dict[str, _Seen] = {}

    def digest(self) -> str:
        """SHA-256 in hex over the names and contents, as they are now.

        A file that goes away, is replaced or is being written while it is read does no harm: what it has become is
        seen the next time.
        """
        seen = {}
        total = hashlib.sha256()
        for name, path in _files(self._folder):
            found = _look(path, self._seen.get(name))
            if found is None:
                continue
            seen[name] = found
            spelt = os.fsencode(name)
            total.update(len(spelt).to_bytes(4) + spelt + found.digest)
        self._seen = seen
        return total.hexdigest()


def wall_digest(folder: Path) -> str:
    """The digest of a wall's files, all of them read; see `WallWatch`."""
    return WallWatch(folder).digest()


def _files(folder: Path) -> Iterator[tuple[str, Path]]:
    """The files by their names below the wall's folder, with slashes, in an order that is the same everywhere."""
    found = {_TOP: folder / _TOP}
    for top in _FOLDERS:
        ending = dict(_ONLY).get(top, "")
        for at, folders, names in os.walk(folder / top):
            folders[:] = [name for name in folders if _counts(name) and name != "__pycache__"]
            for name in names:
                if _counts(name) and name.endswith(ending):
                    path = Path(at, name)
                    found[path.relative_to(folder).as_posix()] = path
    return iter(sorted(found.items(), key=lambda item: os.fsencode(item[0])))


def _counts(name: str) -> bool:
    return not name.startswith(".") and not name.endswith("~")


def _look(path: Path, before: _Seen | None) -> _Seen | None:
    """What a file holds, read only where its marks are others than before; None where there is no file (any more)."""
    try:
        first = path.stat()
        if not S_ISREG(first.st_mode):
            return None
        if before is not None and before.settled and _marks(first) == before.marks:
            return before
        begun_ns = time.time_ns()
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").digest()
            marks = _marks(os.fstat(file.fileno()))
    except FileNotFoundError:
        return None
    except OSError:  # there, but not to be read: that it is there counts
        return _Seen((), b"\0" * 32, settled=False)
    return _Seen(marks, digest, settled=marks == _marks(first) and first.st_ctime_ns < begun_ns - _SETTLED_NS)


def _marks(status: os.stat_result) -> tuple[int, ...]:
    return (
        status.st_dev,
        status.st_ino,
        status.st_size,
        status.st_mtime_ns,
        status.st_ctime_ns,
    )
