"""The default engine: a light CSS engine in a worker process that is kept warm, with limits of time and memory."""

import json
import mmap
import os
import select
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO, Any

import numpy as np

from wallbill.errors import Place, PressError
from wallbill.press.model import Box, Laid, Limits, Page, Restyle, Rgba
from wallbill.press.single import Single

_READ_BYTES = 1 << 16
_NO_SYSTEM_FONTS = "<fontconfig></fontconfig>"  # the same page must give the same pixels on every machine


class _Worker:
    """One process of the engine, the pipes to it and the memory that is shared with it."""

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        self.fonts: dict[bytes, int] = {}
        self.pages = 1
        self._buffer = bytearray()
        self._shared: IO[bytes] = tempfile.TemporaryFile(dir=_memory_folder())  # noqa: SIM115 - lives as long as the worker
        fd = self._shared.fileno()
        self._folder = tempfile.TemporaryDirectory(prefix="wallbill-press-")
        settings = Path(self._folder.name) / "fonts.conf"
        settings.write_text(_NO_SYSTEM_FONTS, encoding="utf-8")
        self._process = subprocess.Popen(  # noqa: S603 - our own module
            [sys.executable, "-m", "wallbill.press.shell_worker",
             str(fd), str(limits.memory_mb), str(limits.page_s + 1)],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, pass_fds=(fd,), bufsize=0,
            env={**os.environ, "FONTCONFIG_FILE": str(settings), "RUST_BACKTRACE": "0"},
        )  # fmt: skip
        self._is_up = False

    def wait(self) -> None:
        """Until the process is up; raises `_EngineFaultError` where it does not come up in time."""
        if not self._is_up:
            try:
                self._read(self.limits.start_s)
            except _EngineFaultError:
                self.end()
                raise
            self._is_up = True

    @property
    def pid(self) -> int:
        """The process's number."""
        return self._process.pid

    def ask(self, *, blob: bytes = b"", **request: Any) -> dict[str, Any]:
        """Sends one request and waits for its answer; raises `_EngineFaultError` with the reason when there is none."""
        line = json.dumps(request, separators=(",", ":")).encode() + b"\n"
        try:
            self._write(line + blob)
        except BrokenPipeError:
            raise _EngineFaultError(self._last_words()) from None
        answer = self._read(self.limits.page_s)
        if "fault" in answer:
            raise _EngineFaultError(str(answer["fault"]))
        return answer

    def font(self, data: bytes) -> int:
        """The number by which the worker knows a font; sends the font the first time."""
        number = self.fonts.get(data)
        if number is None:
            number = self.fonts[data] = len(self.fonts)
            self.ask(do="font", number=number, bytes=len(data), blob=data)
        return number

    def pixels(self, width_px: int, height_px: int) -> Rgba:
        """A copy of what the worker painted last."""
        with mmap.mmap(self._shared.fileno(), width_px * height_px * 4, access=mmap.ACCESS_READ) as shared:
            return np.frombuffer(bytes(shared), dtype=np.uint8).reshape(height_px, width_px, 4)

    def end(self) -> None:
        """Ends the process, whatever it is doing."""
        with suppress(ProcessLookupError):
            self._process.kill()
        self._process.wait()
        for stream in (self._process.stdin, self._process.stdout, self._shared):
            if stream is not None:
                with suppress(OSError):
                    stream.close()
        self._folder.cleanup()

    def _write(self, data: bytes) -> None:
        assert self._process.stdin is not None
        view = memoryview(data)
        while view:
            view = view[self._process.stdin.write(view) or 0 :]

    def _read(self, limit_s: float) -> dict[str, Any]:
        """One line of JSON from the worker, within ``limit_s`` seconds."""
        assert self._process.stdout is not None
        out, until_s = self._process.stdout.fileno(), time.monotonic() + limit_s
        while (end := self._buffer.find(b"\n")) < 0:
            left_s = until_s - time.monotonic()
            if left_s <= 0 or not select.select([out], [], [], left_s)[0]:
                raise _EngineFaultError(f"no answer within {limit_s:g} s", late=True)
            piece = os.read(out, _READ_BYTES)
            if not piece:
                raise _EngineFaultError(self._last_words())
            self._buffer += piece
        line = bytes(self._buffer[:end])
        del self._buffer[: end + 1]
        answer: dict[str, Any] = json.loads(line)
        return answer

    def _last_words(self) -> str:
        """Why the process ended, in plain words."""
        code = self._process.wait()
        if code >= 0:
            return f"the engine ended with status {code}"
        return f"the engine was ended by signal {-code} ({signal.Signals(-code).name})"


class _EngineFaultError(Exception):
    """The worker failed or did not answer; ``late`` when the time ran out."""

    def __init__(self, why: str, *, late: bool = False) -> None:
        super().__init__(why)
        self.late = late


def _memory_folder() -> str | None:
    """Where shared memory lies on Linux; elsewhere the folder for temporary files serves."""
    return "/dev/shm" if Path("/dev/shm").is_dir() else None  # noqa: S108 - an unnamed file


def _boxes(answer: Mapping[str, Any]) -> dict[str, Box]:
    return {name: Box(*rect) for name, rect in answer["boxes"].items()}


class _LaidPage:
    """Keeps `Laid`; asks its engine, which turns faults into `PressError` and ends the worker."""

    def __init__(self, engine: "BlitzEngine", page: Page) -> None:
        self._engine = engine
        self._page = page
        self._known = self._lay()
        self._fresh = True

    def _lay(self) -> dict[str, Box]:
        page = self._page
        numbers = [self._engine.font(data, page) for data in page.fonts]
        return _boxes(
            self._engine.ask(
                page,
                do="lay",
                html=page.html,
                width_px=page.width_px,
                height_px=page.height_px,
                fonts=numbers,
            )
        )

    def boxes(self) -> Mapping[str, Box]:
        if not self._fresh:
            self._known = _boxes(self._engine.ask(self._page, do="boxes"))
            self._fresh = True
        return self._known

    def restyle(self, changes: Sequence[Restyle]) -> None:
        known = [change for change in changes if change[0] in self._known]
        if known:
            self._fresh = False
            self._engine.ask(self._page, do="restyle", changes=known)

    def paint(self) -> Rgba:
        return self._engine.pixels(self._engine.ask(self._page, do="paint"))


class BlitzEngine(Single):
    """Keeps `Engine` with ``blitz-py`` in a worker process. May be used from several threads: one page at a time."""

    name = "blitz"

    def __init__(self, *, limits: Limits) -> None:
        self._limits = limits
        self._lock = threading.RLock()
        self._worker: _Worker | None = None

    @property
    def pid(self) -> int | None:
        """The worker's process number, None while there is none."""
        return self._worker.pid if self._worker else None

    @contextmanager
    def lay(self, page: Page) -> Iterator[Laid]:
        """The page parsed and laid out, until the context is left. Raises `PressError`."""
        with self._lock:
            self._renew()
            yield _LaidPage(self, page)

    def close(self) -> None:
        """Ends the worker; may be called twice. The engine may be used again and then starts a new one."""
        with self._lock:
            if self._worker:
                self._worker.end()
                self._worker = None

    def ask(self, page: Page, **request: Any) -> dict[str, Any]:
        """One request to the worker on behalf of a page; a fault ends the worker and becomes a `PressError`."""
        worker = self._up(page)
        try:
            return worker.ask(**request)
        except _EngineFaultError as fault:
            self.close()
            raise _refusal(page, fault, self._limits) from None

    def font(self, data: bytes, page: Page) -> int:
        """The worker's number for a font."""
        worker = self._up(page)
        try:
            return worker.font(data)
        except _EngineFaultError as fault:
            self.close()
            raise _refusal(page, fault, self._limits) from None

    def pixels(self, answer: Mapping[str, Any]) -> Rgba:
        """The pixels that a paint's answer tells of."""
        assert self._worker is not None
        return self._worker.pixels(answer["width_px"], answer["height_px"])

    def begin(self) -> None:
        """Starts the process without waiting for it, so that it comes up while the page is still being made."""
        with self._lock:
            self._worker = self._worker or _Worker(self._limits)

    def _up(self, page: Page) -> _Worker:
        """The worker, once it is up."""
        worker = self._worker = self._worker or _Worker(self._limits)
        try:
            worker.wait()
        except _EngineFaultError as fault:
            self._worker = None
            raise PressError(
                f"the engine does not start: {fault}", where=Place(page.name),
                mend="look whether blitz-py is installed for this Python and there is memory for one more process",
            ) from None  # fmt: skip
        return worker

    def _renew(self) -> None:
        """Replaces the worker after its share of pages."""
        if self._worker:
            if self._worker.pages >= self._limits.pages:
                self.close()
            else:
                self._worker.pages += 1


def _refusal(page: Page, fault: _EngineFaultError, limits: Limits) -> PressError:
    """What the person is told."""
    size = f"{page.width_px} x {page.height_px} px"
    if fault.late:
        return PressError(
            f"the page ({size}) is not done within {limits.page_s:g} s", where=Place(page.name),
            mend="take out floats beside wrapping text (use flex or grid), or make the page simpler",
        )  # fmt: skip
    return PressError(
        f"the engine failed on the page ({size}): {fault}", where=Place(page.name),
        mend="nest elements less deep, keep grids and pictures within the page's size, or try the Chromium engine",
    )  # fmt: skip
