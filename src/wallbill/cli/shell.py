"""What the command line does to the process and the disk that it runs on."""

import os
import sys
import tempfile
from pathlib import Path


def hush_output() -> None:
    """Send what is left of standard output nowhere: its reader has gone, and saying so helps nobody."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())


def write_whole(path: Path, data: bytes) -> None:
    """Write a file whole or not at all: whoever reads it sees the old one or the new one."""
    descriptor, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(0o644)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
