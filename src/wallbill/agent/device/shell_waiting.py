"""Sleep that a button or a signal can end. In sleep nothing runs: the kernel wakes the process."""

from __future__ import annotations

import select
import signal
import socket
from contextlib import suppress
from typing import Any

from wallbill.agent.device import shell_machine
from wallbill.agent.device.button import Presses, after
from wallbill.agent.device.settings import Button
from wallbill.agent.device.shell_line import Line

_NAP_S = 3600.0  # at the latest the clock is read again: a machine that was suspended is behind


class Waiting:
    """Waits between wakes. SIGTERM and SIGINT end it, SIGUSR1 stands for a short press."""

    def __init__(self, line: Line | None, button: Button | None) -> None:
        self._line = line
        self._button = button
        self._presses = Presses()
        self._heard, self._bell = socket.socketpair()
        for end in (self._heard, self._bell):
            end.setblocking(False)
        signal.set_wakeup_fd(self._bell.fileno(), warn_on_full_buffer=False)
        for number in (signal.SIGTERM, signal.SIGINT, signal.SIGUSR1):
            signal.signal(number, _noted)

    def until(self, up_s: float) -> str:
        """Waits until ``up_s`` on the clock since the start; gives what ended it: timer, refresh, next or end."""
        while True:
            left_s = up_s - shell_machine.up_s()
            places: list[Any] = [self._heard, *([self._line] if self._line else [])]
            ready = select.select(places, [], [], max(0.0, min(left_s, _NAP_S)))[0]
            asked = self._signalled() if self._heard in ready else ""
            if not asked and self._line in ready:
                asked = self._pressed()
            if asked:
                return asked
            if left_s <= 0:
                return "timer"

    def _signalled(self) -> str:
        with suppress(BlockingIOError):
            numbers = self._heard.recv(64)
            return "refresh" if set(numbers) == {signal.SIGUSR1} else "end"
        return ""

    def _pressed(self) -> str:
        """What the button asks for. A line that has gone is waited for no more."""
        if self._line is None or self._button is None:
            return ""
        asked = ""
        try:
            for edge in self._line.edges():
                self._presses, meant = after(self._presses, edge, long_s=self._button.long_s)
                asked = meant or asked
        except OSError:
            self._line.close()
            self._line = None
        return asked


def _noted(_number: int, _frame: object) -> None:
    """A signal is only noted, so that a refresh under way comes to its end."""
