"""A button's line: a GPIO line by gpiod 2 (an extra), or the kernel's own input events, which need nothing."""

from __future__ import annotations

import fcntl
import importlib
import os
import struct
import time
from collections.abc import Sequence
from contextlib import suppress
from typing import Any, Protocol

from wallbill.agent.device.button import Edge
from wallbill.agent.device.settings import Button

_INPUT = "@llHHi"  # struct input_event: seconds, microseconds, type, code, value (linux/input.h, from memory)
_SET_CLOCK = 0x400445A0  # EVIOCSCLOCKID (linux/input.h)
_KEY = 1
_DEBOUNCE_MS = 20


class Line(Protocol):
    """A line that can be waited for."""

    def fileno(self) -> int:
        """What `select` waits for."""
        ...

    def edges(self) -> Sequence[Edge]:
        """The changes that have come. Raises `OSError` where the line is gone."""
        ...

    def close(self) -> None:
        """Lets go of it."""
        ...


def open_line(button: Button) -> Line:
    """The line of a button. Raises `OSError` where it cannot be had."""
    if button.input:
        return InputLine(button.input)
    try:
        gpiod = importlib.import_module("gpiod")  # an extra
    except ImportError as error:
        raise OSError("the button needs gpiod 2 (pip install gpiod), or an input device") from error
    if not hasattr(gpiod, "request_lines"):
        raise OSError("the button needs gpiod 2; here is an older one")
    return GpioLine(button, gpiod)


class InputLine:
    """A button that the kernel reports as key events, such as of ``gpio-keys``; it debounces them itself."""

    def __init__(self, path: str) -> None:
        self._handle = os.open(path, os.O_RDONLY | os.O_NONBLOCK)
        with suppress(OSError):  # a clock that is set meanwhile would make presses long or short
            fcntl.ioctl(self._handle, _SET_CLOCK, struct.pack("@i", time.CLOCK_MONOTONIC))
        self._rest = b""

    def fileno(self) -> int:
        """What `select` waits for."""
        return self._handle

    def edges(self) -> Sequence[Edge]:
        """The presses and releases of any key; its own repeats are no changes."""
        size = struct.calcsize(_INPUT)
        try:
            data = os.read(self._handle, 64 * size)
        except BlockingIOError:
            return ()
        if not data:
            raise OSError("the input device is gone")
        self._rest += data
        whole, self._rest = (
            self._rest[: len(self._rest) // size * size],
            self._rest[len(self._rest) // size * size :],
        )
        return [
            Edge(value == 1, seconds + micros / 1e6)
            for seconds, micros, kind, _, value in struct.iter_unpack(_INPUT, whole)
            if kind == _KEY and value in (0, 1)
        ]

    def close(self) -> None:
        """Lets go of it."""
        os.close(self._handle)


class GpioLine:
    """A GPIO line, debounced by the kernel. ``gpiod``: the module, version 2."""

    def __init__(self, button: Button, gpiod: Any) -> None:
        from datetime import timedelta  # noqa: PLC0415  only gpiod wants one

        bias = {
            "pull-up": gpiod.line.Bias.PULL_UP,
            "pull-down": gpiod.line.Bias.PULL_DOWN,
            "none": gpiod.line.Bias.AS_IS,
        }[button.bias]
        wanted = gpiod.LineSettings(
            direction=gpiod.line.Direction.INPUT,
            edge_detection=gpiod.line.Edge.BOTH,
            bias=bias,
            active_low=button.active_low,
            debounce_period=timedelta(milliseconds=_DEBOUNCE_MS),
        )
        line = int(button.line) if button.line.isdigit() else button.line
        self._request = gpiod.request_lines(button.chip, consumer="wallbill", config={line: wanted})
        self._rising = gpiod.EdgeEvent.Type.RISING_EDGE

    def fileno(self) -> int:
        """What `select` waits for."""
        return int(self._request.fd)

    def edges(self) -> Sequence[Edge]:
        """The changes; rising is pressed, whichever way the line is wired."""
        return [
            Edge(event.event_type == self._rising, event.timestamp_ns / 1e9)
            for event in self._request.read_edge_events()
        ]

    def close(self) -> None:
        """Lets go of it."""
        self._request.release()
