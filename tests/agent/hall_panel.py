"""A driver as somebody would write it for a new panel: the one of docs/how-to/connect-a-panel.md, for the emulated controller."""

import os
import socket
import time
from typing import Any


def show(picture: Any, info: dict[str, Any]) -> None:
    """Show a picture; come back when the glass has it."""
    with socket.socket(socket.AF_UNIX) as wire:
        wire.connect(os.environ["EMULATED_PANEL"])
        wire.sendall(b"RO")
        wait_while_busy(wire)
        for letter, plane in ((b"0", picture.planes[0]), (b"1", picture.planes[1])):
            wire.sendall(letter + len(plane).to_bytes(4, "big") + plane)
        wire.sendall(b"D")
        wait_while_busy(wire)
        wire.sendall(b"S")


def wait_while_busy(wire: socket.socket) -> None:
    """Wait for the busy line to fall."""
    while True:
        wire.sendall(b"B")
        if wire.recv(1) == b"0":
            return
        time.sleep(0.01)
