"""Runs the agent's file, and ends it as `kill -9` would just before its n-th step: a file opened for writing, a rename, a sync, a connection, a driver."""

import os
import runpy
import sys
from typing import Any

KILLED = 137


def main() -> None:
    """``killing.py STEP FILE WORD…``; a STEP of 0 lets it live, and tells how many steps there were."""
    last = int(sys.argv[1])
    sys.argv = sys.argv[2:]
    steps = [0]

    def step() -> None:
        steps[0] += 1
        if steps[0] == last:
            os._exit(KILLED)

    def watch(event: str, arguments: tuple[Any, ...]) -> None:
        if event == "open":
            mode, flags = arguments[1], arguments[2]
            if (isinstance(mode, str) and set(mode) & set("wa+x")) or flags & (os.O_WRONLY | os.O_RDWR):
                step()
        elif event in {"os.rename", "os.remove", "socket.connect", "subprocess.Popen"}:
            step()

    real = os.fsync

    def synced(fd: Any) -> None:
        step()
        real(fd)

    sys.addaudithook(watch)
    os.fsync = synced
    try:
        runpy.run_path(sys.argv[0], run_name="__main__")
    except SystemExit as end:
        sys.stderr.write(f"{steps[0]}\n")
        sys.stderr.flush()
        os._exit(int(end.code or 0))


if __name__ == "__main__":
    main()
