"""The engine's own process: reads requests from standard input, paints into shared memory.

Started as ``python -m wallbill.press.shell_worker FD`` where FD is the shared memory. It imports as little as
it can, so that it starts fast and stays small. A request is one line of JSON, followed by the bytes of a new
font where it says so; an answer is one line of JSON. The parent ends the process when a page takes too long;
an alarm ends it as well should the parent be gone.
"""

import json
import os
import resource
import signal
import sys
from typing import Any, BinaryIO

import blitz_py

Request = dict[str, Any]


class _Bench:
    """What the worker keeps: fonts by number, and the one page that lies in the engine."""

    def __init__(self, memory: int, source: BinaryIO) -> None:
        self._memory = memory
        self._source = source
        self._fonts: dict[int, bytes] = {}
        self._page: blitz_py.Template | None = None

    def answer(self, request: Request) -> Request:
        """Does one request; raises what the engine raises."""
        match request["do"]:
            case "font":
                self._fonts[request["number"]] = self._source.read(request["bytes"])
                return {}
            case "lay":
                self._page = blitz_py.Template(
                    request["html"],
                    width=request["width_px"],
                    height=request["height_px"],
                    fonts=[self._fonts[number] for number in request["fonts"]],
                )
                return {"boxes": self._page.boxes()}
            case "restyle":
                page = self._laid()
                for name, prop, value in request["changes"]:
                    page.set_style(name, prop, value)
                return {}
            case "boxes":
                return {"boxes": self._laid().boxes()}
            case "paint":
                return self._paint()
            case "drop":
                self._page = None
                return {}
        raise ValueError(f"unknown request {request['do']!r}")

    def _laid(self) -> blitz_py.Template:
        if self._page is None:
            raise ValueError("no page is laid")
        return self._page

    def _paint(self) -> Request:
        width_px, height_px, rgba = self._laid().render_rgba()
        view = memoryview(rgba)
        while view:
            view = view[os.pwrite(self._memory, view, len(rgba) - len(view)) :]
        return {"width_px": width_px, "height_px": height_px}


def _limit(memory_mb: int) -> None:
    """Bounds the address space; core files would only fill the disk."""
    ceiling = memory_mb * 2**20
    resource.setrlimit(resource.RLIMIT_AS, (ceiling, ceiling))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def serve(memory: int, memory_mb: int, page_s: float) -> None:
    """Answers requests until standard input ends. A panic in the engine is answered, then ends the process."""
    _limit(memory_mb)
    source, out = sys.stdin.buffer, os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # what the engine says is no answer
    bench = _Bench(memory, source)
    out.write(b"{}\n")
    out.flush()
    while line := source.readline():
        signal.setitimer(signal.ITIMER_REAL, page_s)  # unhandled: the alarm ends the process
        broken = False
        try:
            answer = bench.answer(json.loads(line))
        except BaseException as fault:  # noqa: BLE001 - a Rust panic arrives as a BaseException
            answer = {"fault": f"{type(fault).__name__}: {fault}"}
            broken = True
        signal.setitimer(signal.ITIMER_REAL, 0)
        out.write(json.dumps(answer, separators=(",", ":")).encode() + b"\n")
        out.flush()
        if broken:
            break  # what a panic leaves behind is not to be trusted


if __name__ == "__main__":
    serve(int(sys.argv[1]), int(sys.argv[2]), float(sys.argv[3]))
