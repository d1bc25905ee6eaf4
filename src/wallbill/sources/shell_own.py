"""Calls a wall's own function in a process of its own, with limits of time and memory.

The process guards the wall against a function that hangs, crashes or eats memory; it is no guard against ill will,
since the function runs as the same user. See docs/decisions/0064-own-functions.md.
"""

import json
import os
import signal
import subprocess
import sys
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import wallbill
from wallbill.errors import Place, SourceError
from wallbill.sources.own import checked_reply, own_function, request_of
from wallbill.sources.spec import ParseContext

_CHILD = "wallbill.sources.shell_own_child"
_KEPT_NAMES = ("PATH", "HOME", "TMPDIR", "LANG", "LC_ALL")


@dataclass(frozen=True, slots=True)
class OwnLimits:
    """What an own function may take: seconds by the clock, and bytes of address space."""

    seconds: float = 10.0
    memory_bytes: int = 512 << 20


def call_own(folder: Path, context: ParseContext, *, limits: OwnLimits | None = None) -> bytes:
    """The reply of the function that ``context.spec`` names, for `wallbill.sources.own.parse`.

    ``folder``: the wall's; the function's process runs in it. Raises `SourceError` with the user's own file and line.
    """
    bounds = limits or OwnLimits()
    asked = {**request_of(context), "seconds": bounds.seconds, "memory_bytes": bounds.memory_bytes}
    try:
        request = json.dumps(asked, default=_told).encode()
    except (TypeError, ValueError) as fault:
        raise SourceError(
            f"its options cannot be handed over: {fault}",
            where=context.spec.where,
            mend="Use text, numbers and lists in options.",
        ) from None
    reply, status = _run(request, folder, context=context, seconds=bounds.seconds)
    if not reply:
        raise _ended(status, context)
    return checked_reply(reply, context.spec)


def _told(value: object) -> str:
    """Dates and times of a wall's options as ISO 8601 text; anything else raises."""
    if hasattr(value, "isoformat"):
        return str(value.isoformat())
    raise TypeError(f"{type(value).__name__} {value!r}")


def _run(request: bytes, folder: Path, *, context: ParseContext, seconds: float) -> tuple[bytes, int]:
    """The child's answer and its exit status; raises `SourceError` when the time is over."""
    with subprocess.Popen(  # noqa: S603 - our own interpreter and module, nothing from a shell
        [sys.executable, "-P", "-s", "-B", "-X", "utf8", "-m", _CHILD],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        cwd=folder,
        env=_environment(context.zone.key),
        start_new_session=True,
    ) as child:
        try:
            reply, _ = child.communicate(request, timeout=seconds)
        except subprocess.TimeoutExpired:
            _stop(child)
            function = own_function(context.spec)
            raise SourceError(
                f"it ran for more than {seconds:g} s and was stopped",
                where=Place(function.file, field=function.name),
                mend="Make it quicker; let it read what another program has prepared.",
            ) from None
        finally:
            _stop(child)
    return reply, child.returncode


def _stop(child: subprocess.Popen[bytes]) -> None:
    """Ends the child and whatever it has started."""
    with suppress(ProcessLookupError, PermissionError):
        os.killpg(child.pid, signal.SIGKILL)


def _environment(zone: str) -> dict[str, str]:
    """A short environment: no secrets of ours, the wall's zone, and where our package is found."""
    kept = {name: os.environ[name] for name in _KEPT_NAMES if name in os.environ}
    package = str(Path(wallbill.__file__).resolve().parents[1])
    return {**kept, "PYTHONPATH": package, "PYTHONHASHSEED": "0", "TZ": zone}


def _ended(status: int, context: ParseContext) -> SourceError:
    """The fault of a process that ended with no answer."""
    function = own_function(context.spec)
    try:
        how = f"by {signal.Signals(-status).name}" if status < 0 else f"with status {status}"
    except ValueError:
        how = f"with status {status}"
    return SourceError(
        f"its process ended {how} and gave no answer",
        where=Place(function.file, field=function.name),
        mend="See that it returns, does not end its process, and stays within its memory.",
    )
