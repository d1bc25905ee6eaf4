"""Telling the service manager how the server fares: one datagram a message, as sd_notify(3) describes it."""

import os
import socket
from collections.abc import Mapping


def notify(state: str, *, environment: Mapping[str, str] | None = None) -> bool:
    r"""Sends a state such as ``READY=1``, ``WATCHDOG=1`` or ``STATUS=text`` to $NOTIFY_SOCKET; several by ``\n``.

    False where there is no such socket, or nobody listens: a server that runs by hand goes on all the same.
    """
    values = os.environ if environment is None else environment
    address = values.get("NOTIFY_SOCKET", "")
    if address[:1] not in {"/", "@"} or len(address) < 2:
        return False
    try:
        with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM | socket.SOCK_CLOEXEC) as channel:
            # A manager that does not read must not hold us up.
            channel.setblocking(False)
            channel.sendto(state.encode(), "\0" + address[1:] if address[0] == "@" else address)
    except OSError:
        return False
    return True


def watchdog_s(*, environment: Mapping[str, str] | None = None, process: int | None = None) -> float | None:
    """How often the service manager wants to hear ``WATCHDOG=1`` at least, seconds; None where it does not.

    To be sent at half of it (sd_watchdog_enabled(3)). ``process``: this process's number, None: asked of the system.
    """
    values = os.environ if environment is None else environment
    asked = values.get("WATCHDOG_PID", "")
    here = os.getpid() if process is None else process
    if asked and asked != str(here):
        return None
    told = values.get("WATCHDOG_USEC", "")
    if not (told.isascii() and told.isdigit()) or int(told) == 0:
        return None
    return int(told) / 1_000_000
