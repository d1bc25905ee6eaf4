"""What the command line does to the process and the disk that it runs on."""

import errno
import os
import signal
import sys
import tempfile
from contextlib import suppress
from pathlib import Path
from types import FrameType
from typing import NoReturn


class EndedError(BaseException):
    """The system asked the process to end (SIGTERM): a way out that lets everything be put away on the way."""


def end_in_order() -> None:
    """From now on SIGTERM raises `EndedError`, once, in the main thread."""

    def end(_number: int, _frame: FrameType | None) -> None:
        signal.signal(signal.SIGTERM, signal.SIG_IGN)
        raise EndedError

    signal.signal(signal.SIGTERM, end)


def leave(status: int) -> NoReturn:
    """End the process now. Threads that still wait for a machine that does not answer are not waited for."""
    for stream in (sys.stdout, sys.stderr):
        with suppress(OSError, ValueError):
            stream.flush()
    os._exit(status)


def hush_output() -> None:
    """Send what is left of standard output nowhere: its reader has gone, and saying so helps nobody."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())


def make_folder(folder: Path) -> None:
    """Make a folder to write into, and see that it can be written to. Raises `OSError` naming it where it cannot."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except FileExistsError as error:
        raise NotADirectoryError(errno.ENOTDIR, "there is a file of this name", str(folder)) from error
    try:
        with tempfile.TemporaryFile(dir=folder):
            pass
    except OSError as error:
        raise OSError(error.errno, error.strerror, str(folder)) from error


def write_whole(path: Path, data: bytes, *, mode: int = 0o644) -> None:
    """Write a file whole or not at all: whoever reads it sees the old one or the new one, with the rights of ``mode``.

    Raises `OSError` that names ``path``, whatever it was that failed on the way.
    """
    try:
        _write_beside(path, data, mode)
    except OSError as error:
        raise OSError(error.errno, error.strerror, str(path)) from error


def _write_beside(path: Path, data: bytes, mode: int) -> None:
    descriptor, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(mode)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
