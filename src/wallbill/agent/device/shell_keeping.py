"""The folder of state: what is remembered, the last good picture, the lock. Written whole or not at all."""

from __future__ import annotations

import fcntl
import hashlib
import os
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from wallbill.agent.device.memory import Memory, remembered, written

_MEMORY = "state.json"
_PART = "picture.part"
_PREFIX = "picture-"


class BusyError(Exception):
    """Another copy of the agent holds the folder."""


def write_whole(path: Path, data: bytes) -> None:
    """Writes a file so that whoever reads it, even after a power cut, finds the old one or the new one. Raises `OSError`."""
    beside = path.with_name(f".{path.name}.part")
    with beside.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    _put(beside, path)


def _put(beside: Path, path: Path) -> None:
    os.replace(beside, path)  # noqa: PTH105  one system call with nothing around it
    folder = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)


class Keep:
    """The folder, held against every other copy until this one ends. Raises `BusyError`, or `OSError`."""

    def __init__(self, folder: Path) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self.folder = folder
        self._lock = (folder / "lock").open("a")
        try:
            fcntl.flock(self._lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            self._lock.close()
            raise BusyError(str(folder)) from None

    def close(self) -> None:
        """Lets go of the folder."""
        self._lock.close()

    def memory(self) -> Memory:
        """What is remembered; nothing where that cannot be read."""
        try:
            return remembered((self.folder / _MEMORY).read_bytes())
        except OSError:
            return Memory()

    def remember(self, memory: Memory) -> None:
        """Writes the memory down. Raises `OSError`."""
        write_whole(self.folder / _MEMORY, written(memory))

    def picture(self, digest: str, form: str) -> bytes | None:
        """The picture of that SHA-256 in hex, None where it is not here or no longer what it was."""
        try:
            data = self._path(digest, form).read_bytes()
        except OSError:
            return None
        return data if hashlib.sha256(data).hexdigest() == digest else None

    def fetching(self) -> Fetching:
        """A picture on its way in."""
        return Fetching(self.folder / _PART, self._path)

    def tidy(self, digest: str) -> None:
        """Drops every picture but the one of that digest."""
        for path in self.folder.glob(f"{_PREFIX}*"):
            if not path.name.startswith(f"{_PREFIX}{digest}."):
                with suppress(OSError):
                    path.unlink()

    def _path(self, digest: str, form: str) -> Path:
        return self.folder / f"{_PREFIX}{digest}.{form}"


class Fetching:
    """A picture on its way in: written beside, kept only after it was found good."""

    def __init__(self, part: Path, place: Callable[[str, str], Path]) -> None:
        self._part = part
        self._place = place
        self._file = part.open("wb")
        self._sum = hashlib.sha256()

    def write(self, data: bytes) -> None:
        """Takes the next piece. Raises `OSError`."""
        self._file.write(data)
        self._sum.update(data)

    @property
    def digest(self) -> bytes:
        """SHA-256 of what has come so far."""
        return self._sum.digest()

    def data(self) -> bytes:
        """All that has come."""
        self._file.flush()
        return self._part.read_bytes()

    def keep(self, form: str) -> str:
        """Keeps it under its SHA-256 in hex, which is given back. Raises `OSError`."""
        self._file.flush()
        os.fsync(self._file.fileno())
        digest = self._sum.hexdigest()
        _put(self._part, self._place(digest, form))
        return digest

    def close(self) -> None:
        """Ends it, kept or not."""
        self._file.close()
