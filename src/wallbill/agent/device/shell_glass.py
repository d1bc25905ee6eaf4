"""The panel's adapters: a picture is put into a file, given to a command, to a function, to a framebuffer, or to a window."""

from __future__ import annotations

import json
import os
import select
import signal
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from wallbill.agent.device.choosing import Refresh
from wallbill.agent.device.packing import Packing, Plane, header, pack
from wallbill.agent.device.pictures import bmp_of, png_of
from wallbill.agent.device.plates import Picture, turned_part
from wallbill.agent.device.settings import Settings
from wallbill.agent.device.shell_keeping import write_whole

if TYPE_CHECKING:
    import subprocess

_LOG = "driver.log"
_TOLD_BYTES = 300
_PLACE = "{picture}"


class GlassError(Exception):
    """The panel could not be made to show a picture; told in a few words."""


class Job(NamedTuple):
    """A picture to be shown, in the panel's scan order. ``tag``: its entity tag, "" for one of the agent's own."""

    picture: Picture
    refresh: Refresh
    tag: str = ""


class Glass:
    """The panel as the settings tell it. ``folder``: of state; relative paths begin there. ``own``: what starts this agent."""

    def __init__(self, settings: Settings, folder: Path, own: tuple[str, ...]) -> None:
        self._settings = settings
        self._glass = settings.glass
        self._folder = folder
        self._own = own
        self._open: subprocess.Popen[bytes] | None = None

    def show(self, job: Job) -> None:
        """Shows a picture, and comes back when the panel has it. Raises `GlassError`."""
        adapter = self._glass.adapter
        try:
            if adapter == "file":
                write_whole(self._path(self._glass.path), self._file(job, self._glass.form))
            elif adapter == "framebuffer":
                from wallbill.agent.device.shell_framebuffer import paint  # noqa: PLC0415  one adapter is used, all would cost

                paint(self._path(self._glass.path), job.picture, self._settings.panel.colours)
            elif adapter == "module":
                self._drive((*self._own, "drive", self._glass.show), self._stream(job))
            elif adapter == "window":
                self._window(job)
            else:
                self._command(job)
        except OSError as error:
            raise GlassError(f"{adapter}: {error.strerror or error}") from error

    def _path(self, path: str) -> Path:
        return self._folder / path

    def _file(self, job: Job, form: str) -> bytes:
        """The picture as a file."""
        if form == "png":
            return png_of(job.picture, self._settings.panel.colours)
        if form == "bmp":
            return bmp_of(job.picture, self._settings.panel.colours)
        if form == "plates":
            return b"".join(job.picture.plates)
        return self._stream(job)

    def _command(self, job: Job) -> None:
        """A command that names ``{picture}`` finds the picture in a file; every other is fed the planes."""
        argv = self._glass.argv
        if not any(_PLACE in word for word in argv):
            self._drive(argv, self._stream(job))
            return
        path = self._folder / f"glass.{self._glass.form}"
        write_whole(path, self._file(job, self._glass.form))
        self._drive(tuple(word.replace(_PLACE, str(path)) for word in argv), b"")

    def _stream(self, job: Job) -> bytes:
        """One line of JSON, then the planes back to back."""
        panel = self._settings.panel
        packing = self._packing()
        packed = pack(job.picture, packing, panel.ink_names)
        more: Mapping[str, object] = {
            "mode": job.refresh.mode,
            "part": self._part(job),
            "display": self._settings.display,
            "panel": panel.name,
            "inks": {ink.name: "#{:02x}{:02x}{:02x}".format(*ink.css) for ink in panel.inks},
            "tag": job.tag,
        }
        line = json.dumps(header(packed, **more)).encode("ascii") + b"\n"
        return line + b"".join(packed.planes)

    def _packing(self) -> Packing:
        """How the planes lie; a window is given one for each ink, whatever the panel wants."""
        if self._glass.adapter != "window":
            return self._settings.packing
        return Packing(planes=tuple(Plane(ink, (ink,)) for ink in self._settings.panel.ink_names))

    def _part(self, job: Job) -> object:
        """The part that changed, in the memory's own order of pixels."""
        part = job.refresh.part
        if part is None:
            return None
        packing = self._packing()
        return turned_part(part, job.picture, packing.rotation_deg, mirror=packing.mirror)

    def _window(self, job: Job) -> None:
        """Gives the picture to the window, opened now if it is not open."""
        import subprocess  # noqa: PLC0415  as for a driver

        window = self._open
        if window is None or window.poll() is not None:
            window = subprocess.Popen(  # noqa: S603  our own program
                (*self._own, "window"), stdin=subprocess.PIPE, stdout=subprocess.PIPE
            )
            self._open = window
        if window.stdin is None or window.stdout is None:
            raise GlassError("the window has no pipes")
        window.stdin.write(self._stream(job))
        window.stdin.flush()
        ready = select.select([window.stdout], [], [], self._glass.timeout_s)[0]
        if not ready or window.stdout.readline() != b"shown\n":
            raise GlassError("no window can be opened: is there a screen, and is Tk installed?")

    def _drive(self, argv: tuple[str, ...], data: bytes) -> None:
        """Runs a driver, fed with ``data``, and ends it with all it started if it takes too long."""
        import subprocess  # noqa: PLC0415  a file or a framebuffer needs none, and memory is dear

        log = self._folder / _LOG
        with log.open("wb") as output:
            process = subprocess.Popen(  # noqa: S603  the driver stands in the owner's settings
                argv, stdin=subprocess.PIPE, stdout=output, stderr=output, start_new_session=True
            )
            try:
                process.communicate(data, timeout=self._glass.timeout_s)
            except subprocess.TimeoutExpired:
                raise GlassError(f"the driver took longer than {self._glass.timeout_s:g} s") from None
            finally:
                if process.poll() is None:
                    os.killpg(process.pid, signal.SIGKILL)
                    process.wait()
        if process.returncode:
            told = log.read_bytes()[-_TOLD_BYTES:].decode("utf-8", "replace").strip().splitlines()
            last = f": {told[-1]}" if told else ""
            raise GlassError(f"the driver ended with status {process.returncode}{last}")
