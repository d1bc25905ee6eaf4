"""Pulling impressions in processes of their own, which are kept warm, bounded in time and memory, and replaced.

A sheet is a program of the user's: it may loop for ever, eat memory, or bring an engine down. It then takes its own press
along, and nothing else: the fault is told in words, what is up stays up, and the next pull finds another press.
"""

import json
import os
import queue
import re
import select
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import wallbill
from wallbill.errors import Place, SheetError
from wallbill.server.framing import LENGTH_BYTES, frame, head_of, length
from wallbill.server.model import Pull, Pulled
from wallbill.server.packing import Print, Snapshot, packed_snapshot, plain_pull, print_of

_CHILD = "wallbill.server.shell_pull_child"
_KEPT_NAMES = ("PATH", "HOME", "TMPDIR", "LANG", "LC_ALL")
_READ_BYTES = 1 << 18
_MOST_HEAD = 4 << 20
_MOST_NOTES = 1 << 18
_SHEET = re.compile(r'File "([^"/][^"]*\.(?:html|svg))", line \d+')


@dataclass(frozen=True, slots=True)
class PullLimits:
    """What a pull may cost.

    ``pull_s``: seconds by the clock. ``work_s``: seconds of processor time. ``memory_mb``: address space of the process, MiB;
    the engine has a process and a limit of its own. ``pulls``: after so many the process is replaced, so that nothing
    piles up over the years. ``start_s``: seconds to come up. ``answer_mb``: the largest picture, MiB.
    """

    pull_s: float = 60.0
    work_s: float = 45.0
    memory_mb: int = 1536
    pulls: int = 2000
    start_s: float = 60.0
    answer_mb: int = 64


@dataclass(frozen=True, slots=True)
class Given:
    """What a pull is made from, beside the wall. ``like``: the display of wall.toml whose settings it has.

    ``facts``: what is kept of them. ``standing``: the page that the last impression was made from, b"" if unknown.
    """

    like: str
    facts: Snapshot
    standing: bytes = field(default=b"", repr=False)


class _BrokenError(Exception):
    """The child failed or did not answer; ``late`` when its time ran out."""

    def __init__(self, why: str, *, late: bool = False) -> None:
        super().__init__(why)
        self.late = late


class _Child:
    """One process that pulls, the pipes to it, and what it is known to have."""

    def __init__(self, settings: Mapping[str, Any], limits: PullLimits) -> None:
        self.pulls = 0
        self.facts = ""
        self._limits = limits
        self._buffer = bytearray()
        self._is_up = False
        self._notes = tempfile.TemporaryFile()  # noqa: SIM115  lives as long as the child
        reads, self._lifeline = os.pipe()
        told = {**settings, "lifeline": reads, "notes": self._notes.fileno()}
        try:
            self._process = subprocess.Popen(  # noqa: S603 - our own interpreter and module, nothing from a shell
                [sys.executable, "-P", "-X", "utf8", "-m", _CHILD, json.dumps(told)],
                stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=self._notes, bufsize=0,
                pass_fds=(reads, self._notes.fileno()), env=_environment(), start_new_session=True,
            )  # fmt: skip
        finally:
            os.close(reads)

    @property
    def pid(self) -> int:
        """The process's number."""
        return self._process.pid

    def wait(self) -> None:
        """Until the process is up; raises `_BrokenError` where it does not come up in time."""
        if not self._is_up:
            self._hear(self._limits.start_s)
            self._is_up = True

    def tell(self, head: Mapping[str, Any], *blobs: bytes) -> None:
        """Sends a message; raises `_BrokenError` where nobody is there to read it."""
        assert self._process.stdin is not None
        view = memoryview(frame(head, blobs))
        try:
            while view:
                view = view[self._process.stdin.write(view) or 0 :]
        except BrokenPipeError:
            raise _BrokenError(self._last_words()) from None

    def hear(self) -> tuple[dict[str, Any], list[bytes]]:
        """The answer to an order; raises `_BrokenError`."""
        return self._hear(self._limits.pull_s)

    def _hear(self, limit_s: float) -> tuple[dict[str, Any], list[bytes]]:
        until_s = time.monotonic() + limit_s
        size = length(self._take(LENGTH_BYTES, until_s))
        if size > _MOST_HEAD:
            raise _BrokenError("its answer is too large")
        head, sizes = head_of(self._take(size, until_s))
        if sum(sizes) > self._limits.answer_mb << 20:
            raise _BrokenError(f"its answer is larger than {self._limits.answer_mb} MiB")
        return head, [self._take(each, until_s) for each in sizes]

    def _take(self, size: int, until_s: float) -> bytes:
        """So many bytes from the child, before a moment of the monotonic clock."""
        assert self._process.stdout is not None
        out = self._process.stdout.fileno()
        while len(self._buffer) < size:
            left_s = until_s - time.monotonic()
            if left_s <= 0 or not select.select([out], [], [], left_s)[0]:
                raise _BrokenError("no answer in time", late=True)
            piece = os.read(out, _READ_BYTES)
            if not piece:
                raise _BrokenError(self._last_words())
            self._buffer += piece
        taken = bytes(self._buffer[:size])
        del self._buffer[:size]
        return taken

    def _last_words(self) -> str:
        """Why the process ended."""
        try:
            code = self._process.wait(1.0)
        except subprocess.TimeoutExpired:
            return "it closed its pipe"
        if code >= 0:
            said = self._noted().strip().rsplit("\n", 1)[-1]
            return f"its press ended with status {code}{f' ({said})' if said else ''}"
        return f"its press was ended by signal {-code} ({signal.Signals(-code).name})"

    def _noted(self) -> str:
        """What the process wrote to its standard error, and where it stood when it was given up or crashed."""
        size = os.fstat(self._notes.fileno()).st_size
        data = os.pread(self._notes.fileno(), _MOST_NOTES, max(0, size - _MOST_NOTES))
        return data.decode("utf-8", "replace")

    def stood_at(self) -> Place | None:
        """The sheet that the process noted last, if it did. The lines of its notes are those of the sheet's code, not its own."""
        noted = self._noted()
        last = max(noted.rfind(word) for word in ("Timeout (", "Fatal Python error"))
        found = _SHEET.search(noted, max(last, 0)) if last >= 0 else None
        return Place(f"sheets/{found[1]}") if found else None

    def end(self) -> None:
        """Ends the process and all that it started; may be called twice."""
        with suppress(ProcessLookupError, PermissionError):
            os.killpg(self._process.pid, signal.SIGKILL)
        self._process.wait()
        for stream in (self._process.stdin, self._process.stdout, self._notes):
            if stream is not None:
                with suppress(OSError):
                    stream.close()
        if self._lifeline >= 0:
            os.close(self._lifeline)
            self._lifeline = -1


def _environment() -> dict[str, str]:
    """A short environment: no secrets of ours, and where our package is found."""
    kept = {name: os.environ[name] for name in _KEPT_NAMES if name in os.environ}
    paths = [str(Path(wallbill.__file__).resolve().parents[1]), *filter(None, [os.environ.get("PYTHONPATH")])]
    return {**kept, "PYTHONPATH": os.pathsep.join(paths), "PYTHONHASHSEED": "0"}


class Puller:
    """Some presses of a wall in ``folder``, each a process. May be used from several threads.

    ``cache``: where fitted faces are kept from run to run, None: in memory only. ``presses``: how many processes; a pull
    that finds them all at work waits.
    """

    def __init__(
        self, folder: Path, *, cache: Path | None, presses: int = 1, limits: PullLimits | None = None
    ) -> None:
        self.presses = presses
        self.limits = limits or PullLimits()
        self._settings = {
            "folder": str(folder.resolve()),
            "cache": None if cache is None else str(cache),
            "engine": "blitz",
            "memory_mb": self.limits.memory_mb,
            "work_s": self.limits.work_s,
            "pull_s": self.limits.pull_s,
        }
        self._lock = threading.Lock()
        self._children: set[_Child] = set()
        self._closed = False
        self._free: queue.LifoQueue[_Child | None] = queue.LifoQueue()
        for _ in range(presses):
            self._free.put(None)  # a press that is still to be started

    def warm(self) -> None:
        """Starts every press without waiting until it is up."""
        idle = []
        with suppress(queue.Empty):
            while True:
                idle.append(self._free.get_nowait())
        for child in idle:
            self._free.put(child or self._started())

    def pids(self) -> tuple[int, ...]:
        """The numbers of the processes that are there now."""
        with self._lock:
            return tuple(child.pid for child in self._children)

    def pull(self, order: Pull, given: Given) -> Print:
        """Pulls one impression; blocks. Never raises for the sheet's sake: what went wrong is the print's fault."""
        child = self._free.get()
        fit = False
        try:
            child = child or self._started()
            made, whole = self._pulled(child, order, given)
            fit = whole and child.pulls < self.limits.pulls
        except (_BrokenError, OSError) as fault:
            told = str(self._refusal(order, fault, child))
            by = "asked" if order.sheet else "timetable"
            made = Print(Pulled(sheet=order.sheet, by=by, impression=None, fault=told))
        finally:
            if child is not None and not fit:
                self._ended(child)
            self._free.put(child if fit else None)
        return made

    def _pulled(self, child: _Child, order: Pull, given: Given) -> tuple[Print, bool]:
        """What the child gives for an order, and whether it may go on."""
        child.wait()
        if child.facts != given.facts.name:
            facts, bodies = packed_snapshot(given.facts)
            child.tell({"do": "facts", "facts": facts}, *bodies)
            child.facts = given.facts.name
        child.pulls += 1
        blobs = (given.standing,) if given.standing else ()
        child.tell({"do": "pull", "order": plain_pull(order), "like": given.like}, *blobs)
        head, data = child.hear()
        try:
            return print_of(head["print"], data), bool(head["whole"])
        except (ValueError, KeyError, TypeError, IndexError) as fault:
            raise _BrokenError(f"its answer cannot be read ({type(fault).__name__})") from None

    def _refusal(self, order: Pull, fault: Exception, child: _Child | None) -> SheetError:
        """What the person is told of a pull that brought its press down."""
        where = child.stood_at() if child else None
        where = where or Place(
            f"sheets/{order.sheet}.html" if order.sheet else f"display {order.displays[0]}"
        )
        if isinstance(fault, _BrokenError) and fault.late:
            return SheetError(
                f"the sheet was not pressed within {self.limits.pull_s:g} s and was given up",
                where=where,
                mend="Look for a loop over too many things, or a picture far larger than the page.",
            )
        return SheetError(
            f"the sheet could not be pressed: {fault}",
            where=where,
            mend="Try it by hand: wallbill press DIR DISPLAY --out DIR; see that the machine has memory to spare.",
        )

    def _started(self) -> _Child:
        with self._lock:
            if self._closed:
                raise RuntimeError("the presses are closed")
            child = _Child(self._settings, self.limits)
            self._children.add(child)
            return child

    def _ended(self, child: _Child) -> None:
        child.end()
        with self._lock:
            self._children.discard(child)

    def close(self) -> None:
        """Ends every press, what it is doing included; may be called twice."""
        with self._lock:
            self._closed = True
            children, self._children = self._children, set()
        for child in children:
            child.end()
