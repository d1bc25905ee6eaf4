"""Asks the library for a chart's layout, in a process of its own with limits of time and memory.

A spec is a program: it may ask for a billion rows, or for an expression that never ends. The process is ended when
its time is over, and its memory has a ceiling. See docs/decisions/0135-grammar-of-graphics.md.
"""

import json
import os
import signal
import subprocess
import sys
from contextlib import suppress
from dataclasses import dataclass
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

import wallbill
from wallbill.blocks.grammar.spec import Engrave, Request
from wallbill.errors import SheetError

_CHILD = "wallbill.blocks.grammar.shell_child"
_LIBRARY = "vl_convert"
_KEPT_NAMES = ("PATH", "TMPDIR")
_MOST_ANSWER = 32 << 20
_KEPT_CHARTS = 16


@dataclass(frozen=True, slots=True)
class Limits:
    """What the layout of one chart may take: seconds by the clock, and bytes of memory."""

    seconds: float = 15.0
    memory_bytes: int = 1 << 30


def engraver(limits: Limits | None = None) -> Engrave:
    """What lays charts out; the last few are kept, since the same request has the same answer.

    Nothing is loaded or started before the first chart is asked for.
    """
    bounds = limits or Limits()
    return lru_cache(maxsize=_KEPT_CHARTS)(lambda request: engrave(request, bounds))


def engrave(request: Request, limits: Limits) -> str:
    """The SVG of one chart. Raises `SheetError` where the library is missing, refuses, or runs out of its limits."""
    if find_spec(_LIBRARY) is None:
        raise SheetError(
            "vega_lite needs the library vl-convert-python, which is not installed",
            mend='Install it: pip install "wallbill[vega]".',
        )
    asked = {
        "spec": request.spec,
        "language": request.language,
        "seconds": limits.seconds,
        "memory_bytes": limits.memory_bytes,
    }
    reply, status = _run(json.dumps(asked).encode(), zone=request.zone, seconds=limits.seconds)
    if not reply or len(reply) > _MOST_ANSWER:
        raise _ended(status, limits, size=len(reply))
    answer = json.loads(reply)
    if "fault" in answer:
        raise SheetError(
            f"the spec cannot be laid out: {answer['fault']}",
            mend="Try the spec in any editor for Vega-Lite; its reference lists every name.",
        )
    return str(answer["svg"])


def _run(asked: bytes, *, zone: str, seconds: float) -> tuple[bytes, int]:
    """The child's answer and its exit status; raises `SheetError` when the time is over."""
    with subprocess.Popen(  # noqa: S603 - our own interpreter and module, nothing from a shell
        [sys.executable, "-P", "-s", "-B", "-X", "utf8", "-m", _CHILD],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env=_environment(zone),
        start_new_session=True,
    ) as child:
        try:
            reply, _ = child.communicate(asked, timeout=seconds)
        except subprocess.TimeoutExpired:
            raise SheetError(
                f"the chart was not laid out within {seconds:g} s and was given up",
                mend="Hand it fewer rows, or simplify its transforms.",
            ) from None
        finally:
            with suppress(ProcessLookupError, PermissionError):
                os.killpg(child.pid, signal.SIGKILL)
    return reply, child.returncode


def _environment(zone: str) -> dict[str, str]:
    """A short environment: no secrets of ours, the wall's zone, and where our package is found."""
    kept = {name: os.environ[name] for name in _KEPT_NAMES if name in os.environ}
    package = str(Path(wallbill.__file__).resolve().parents[1])
    return {**kept, "PYTHONPATH": package, "PYTHONHASHSEED": "0", "TZ": zone}


def _ended(status: int, limits: Limits, *, size: int) -> SheetError:
    """The fault of a layout that gave no answer, or far too large a one."""
    if size:
        what = f"the chart's layout is {size >> 20} MiB, the most is {_MOST_ANSWER >> 20}"
    else:
        what = f"the chart's layout broke off (status {status}), most likely for want of memory ({limits.memory_bytes >> 20} MiB)"
    return SheetError(what, mend="Hand it fewer rows, or let a transform aggregate them.")
