"""A press of its own: a process that fills in sheets, presses and separates them, one pull after the other.

Started by `wallbill.server.shell_puller`. It knows no secrets and opens no connection: what is kept of the facts comes in
with the orders. A sheet that never ends, or wants more memory than there is, takes this process along and nothing else.
"""

import faulthandler
import fcntl
import json
import os
import resource
import select
import signal
import sys
import time
from collections.abc import Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from types import FrameType
from typing import Any, BinaryIO

from jinja2 import Template

from wallbill.errors import Place, SheetError, WallbillError
from wallbill.facts.supply import Supplied, Supply
from wallbill.findings import plain_finding
from wallbill.inks.encoding import encode_png
from wallbill.inks.scanning import scanned, scanned_part
from wallbill.panels.model import Tone
from wallbill.server.framing import LENGTH_BYTES, frame, head_of, length
from wallbill.server.model import Pull, Pulled
from wallbill.server.packing import Print, Snapshot, packed_print, pull_of, snapshot_of
from wallbill.server.shell_copy import differs
from wallbill.server.standing import packed_standing, standing_of
from wallbill.sheets.making import Job, Made, Materials, Tools, make
from wallbill.sheets.needs import sources_needed
from wallbill.sheets.shell import load_materials, open_tools
from wallbill.sheets.shell_facts import kept_supply
from wallbill.sources.shell import RECKONED
from wallbill.store.model import Impressed
from wallbill.wall.model import Display, Wall
from wallbill.wall.shell import WallWatch, load_wall

_GRACE_S = 10.0
_ONCE_MORE_S = 1.0
_NOTED_AT = 0.9
"""When a pull that takes too long notes where it stands, as a part of the time that it has."""


class _OverworkedError(BaseException):
    """The time for one pull is used up. No `Exception`, so that no sheet and no library takes it for its own."""


@dataclass(frozen=True, slots=True)
class _Loaded:
    """The wall as it was read, by the digest of its files."""

    wall: Wall
    materials: Materials
    digest: str


class _Press:
    """What the child keeps warm: the wall, the tools, the facts of the round."""

    def __init__(self, folder: Path, cache: Path | None, engine: str) -> None:
        self._folder = folder
        self._cache = cache
        self._engine = engine
        self._loaded: _Loaded | None = None
        self._tools: Tools | None = None
        self._opened: AbstractContextManager[Tools] | None = None
        self._watch = WallWatch(folder)
        self._facts = Snapshot("")
        self._supplied: dict[tuple[datetime, str], Supplied] = {}

    def warm(self) -> None:
        """Loads the wall and opens the tools before the first order; what is wrong is told with the order."""
        try:
            self._load()
        except (WallbillError, OSError):
            return

    def take_facts(self, snapshot: Snapshot) -> None:
        """Takes what is kept of the facts of a round."""
        self._facts = snapshot
        self._supplied.clear()

    def pull(self, order: Pull, *, like: str, standing: bytes) -> Print:
        """Pulls one impression; raises `WallbillError`."""
        began_s = time.monotonic()
        loaded = self._wall(order.wall)
        wall = loaded.wall
        display = replace(wall.display(like), name=order.displays[0])
        now = order.at.astimezone(wall.time_zone)
        needed = _needed(display, order, loaded)
        job = Job(
            wall=wall,
            display=display,
            supply=self._supply(wall, now, needed),
            materials=loaded.materials,
            now=now,
            standing=standing_of(standing, display) if standing else None,
            sheet=order.sheet,
        )
        assert self._tools is not None
        made = make(job, self._tools)
        keep = packed_standing(made, display) if display.panel.tone is Tone.INKS else b""
        return Print(_pulled(made, job, took_ms=round((time.monotonic() - began_s) * 1000)), keep)

    def _wall(self, digest: str) -> _Loaded:
        """The wall whose files have this digest; read anew where the one at hand is another."""
        if self._loaded is None or self._loaded.digest != digest:
            self._load()
        if self._loaded is None or self._loaded.digest != digest:
            raise differs(self._folder)
        return self._loaded

    def _load(self) -> None:
        """Reads the wall; one that somebody writes to meanwhile is not taken."""
        digest = self._watch.digest()
        wall = load_wall(self._folder)
        materials = load_materials(wall)
        self._loaded = None
        self.close()  # its own faces may have changed
        self._opened = open_tools(wall, cache=self._cache, engine_name=self._engine)
        self._tools = self._opened.__enter__()
        if self._watch.digest() == digest:
            self._loaded = _Loaded(wall, materials, digest)
            self._supplied.clear()

    def _supply(self, wall: Wall, now: datetime, needed: frozenset[str]) -> Supply:
        """The facts of sources at a moment, each read once for all pulls of a round."""
        missing = {name for name in needed if (now, name) not in self._supplied}
        if missing:
            found = kept_supply(wall, now, sources=self._facts.sources, only=missing)
            self._supplied.update({(now, name): given for name, given in found.sources.items()})
        return Supply({name: self._supplied[now, name] for name in wall.sources if name in needed})

    def close(self) -> None:
        """Ends the engine."""
        opened, self._opened = self._opened, None
        if opened is not None:
            opened.__exit__(None, None, None)


def _needed(display: Display, order: Pull, loaded: _Loaded) -> frozenset[str]:
    """The sources that any sheet of the display can ask for."""
    sheets = [*display.sheets(), *([order.sheet] if order.sheet else [])]
    conditions = [interrupt.when for interrupt in display.interrupts]
    return sources_needed(sheets, conditions, texts=loaded.materials.texts, known=loaded.wall.sources)


def _pulled(made: Made, job: Job, *, took_ms: int) -> Pulled:
    display = job.display
    ready = scanned(made.impression, display.turned)
    impression = Impressed(
        digest=ready.digest,
        panel=display.panel.name,
        width_px=ready.width_px,
        height_px=ready.height_px,
        png=encode_png(ready),
        minor=tuple(scanned_part(part, display.page_px, display.turned) for part in made.minor),
    )
    dated = tuple(
        (name, age.dated.astimezone(job.wall.time_zone).isoformat())
        for name, age in made.ages.items()
        if age.dated is not None and job.wall.sources[name].kind not in RECKONED
    )
    return Pulled(
        sheet=made.sheet,
        by=made.by,
        impression=impression,
        dated=dated,
        stale=made.stale,
        findings=json.dumps([plain_finding(finding) for finding in made.findings], ensure_ascii=False),
        took_ms=took_ms,
    )


@dataclass(frozen=True, slots=True)
class _Bounds:
    """What one pull may take: seconds of work, seconds by the clock."""

    work_s: float
    pull_s: float


class _Bench:
    """Reads messages, answers them, and watches over the time that each takes."""

    def __init__(
        self, press: _Press, bounds: _Bounds, *, streams: tuple[BinaryIO, BinaryIO], notes: int
    ) -> None:
        self._press = press
        self._bounds = bounds
        self._notes = notes
        self._in, self._out = streams

    def serve(self) -> None:
        """Answers orders until the parent closes the pipe, or something broke that cannot be trusted any more."""
        self._say({"up": True})
        while (message := self._hear()) is not None:
            head, blobs = message
            if head["do"] == "facts":
                self._press.take_facts(snapshot_of(head["facts"], blobs))
                continue
            if not self._answer(head, blobs):
                break

    def _answer(self, head: Mapping[str, Any], blobs: Sequence[bytes]) -> bool:
        """Pulls one impression; false where this process is to be replaced."""
        order, whole = pull_of(head["order"]), True
        self._arm()
        try:
            made = self._press.pull(order, like=head["like"], standing=blobs[0] if blobs else b"")
        except BaseException as fault:  # noqa: BLE001  whatever went wrong is told; the other displays go on
            self._disarm()
            made, whole = self._failed(order, fault), isinstance(fault, WallbillError | OSError)
        self._disarm()
        told, data = packed_print(made)
        self._say({"print": told, "whole": whole}, data)
        signal.setitimer(signal.ITIMER_REAL, 0)
        return whole

    def _arm(self) -> None:
        """Bounds the work of a pull, and has it noted where it stands just before the parent ends it."""
        signal.setitimer(signal.ITIMER_PROF, self._bounds.work_s, _ONCE_MORE_S)
        signal.setitimer(
            signal.ITIMER_REAL, self._bounds.pull_s + _GRACE_S
        )  # ends a child whose parent is gone
        faulthandler.dump_traceback_later(self._bounds.pull_s * _NOTED_AT, file=self._notes)

    def _disarm(self) -> None:
        signal.setitimer(signal.ITIMER_PROF, 0)
        faulthandler.cancel_dump_traceback_later()

    def _failed(self, order: Pull, fault: BaseException) -> Print:
        if isinstance(fault, _OverworkedError):
            told = str(_slow(order, fault, self._bounds.work_s))
        elif isinstance(fault, MemoryError):
            told = str(_greedy(order, fault))
        elif isinstance(fault, WallbillError | OSError):
            told = str(fault)
        else:
            told = f"a fault of Wallbill's own: {type(fault).__name__}: {fault}"
        by = "asked" if order.sheet else "timetable"
        return Print(Pulled(sheet=order.sheet, by=by, impression=None, fault=told))

    def _say(self, head: Mapping[str, Any], blobs: Sequence[bytes] = ()) -> None:
        self._out.write(frame(head, blobs))
        self._out.flush()

    def _hear(self) -> tuple[dict[str, Any], list[bytes]] | None:
        told = self._in.read(LENGTH_BYTES)
        if len(told) < LENGTH_BYTES:
            return None
        head, sizes = head_of(self._in.read(length(told)))
        return head, [self._in.read(size) for size in sizes]


def _slow(order: Pull, fault: BaseException, work_s: float) -> SheetError:
    """What is told of a sheet that worked too long, with the line that it was at."""
    return SheetError(
        f"the sheet was not done after {work_s:g} s of work and was given up",
        where=_where(fault) or Place(order.displays[0]),
        mend="Look for a loop over too many things, or a picture far larger than the page.",
    )


def _greedy(order: Pull, fault: BaseException) -> SheetError:
    return SheetError(
        "the sheet wants more memory than a press may have",
        where=_where(fault) or Place(order.displays[0]),
        mend="Look for a text or a list that grows without end, or a picture far larger than the page.",
    )


def _where(fault: BaseException) -> Place | None:
    """File and line of the innermost frame of a sheet; a sheet runs as code whose lines are others than its own."""
    found, at = None, fault.__traceback__
    while at is not None:
        template = at.tb_frame.f_globals.get("__jinja_template__")
        if isinstance(template, Template):
            line = template.get_corresponding_lineno(at.tb_lineno)
            found = Place(f"sheets/{template.name or ''}", line)
        at = at.tb_next
    return found


def _overworked(_number: int, _frame: FrameType | None) -> None:
    raise _OverworkedError


def _die_with_parent(lifeline: int) -> None:
    """Has the kernel end this process and those that it started when the pipe from the parent ends.

    SIGIO comes then, to the whole group, and nobody handles it: it ends even who is stuck in one long step of the interpreter.
    """
    fcntl.fcntl(lifeline, fcntl.F_SETOWN, -os.getpgrp())
    fcntl.fcntl(lifeline, fcntl.F_SETFL, fcntl.fcntl(lifeline, fcntl.F_GETFL) | os.O_ASYNC)
    if select.select([lifeline], [], [], 0)[0]:  # it had ended before we asked
        sys.exit(1)


def main(told: str) -> None:
    """Runs the child. ``told``: its settings as JSON, see `wallbill.server.shell_puller`."""
    settings = json.loads(told)
    _die_with_parent(settings["lifeline"])
    _, most = resource.getrlimit(resource.RLIMIT_AS)  # the engine, a child of ours, sets a ceiling of its own
    resource.setrlimit(resource.RLIMIT_AS, (settings["memory_mb"] << 20, most))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    signal.signal(signal.SIGPROF, _overworked)
    faulthandler.enable(file=settings["notes"])
    streams = sys.stdin.buffer, os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # what a library prints is no answer
    cache = Path(settings["cache"]) if settings["cache"] else None
    press = _Press(Path(settings["folder"]), cache, settings["engine"])
    press.warm()
    try:
        bounds = _Bounds(settings["work_s"], settings["pull_s"])
        _Bench(press, bounds, streams=streams, notes=settings["notes"]).serve()
    finally:
        press.close()


if __name__ == "__main__":
    main(sys.argv[1])
