"""What the guide's driver calls for pins and bytes: here a Unix socket to the emulated controller."""

import os
import socket

_WIRE = socket.socket(socket.AF_UNIX)
_WIRE.connect(os.environ["EMULATED_PANEL"])


def command(letter: bytes) -> None:
    """Sends a command."""
    _WIRE.sendall(letter)


def data(plane: bytes) -> None:
    """Sends a plane."""
    _WIRE.sendall(len(plane).to_bytes(4, "big") + plane)


def is_busy() -> bool:
    """Reads the busy line."""
    _WIRE.sendall(b"B")
    return _WIRE.recv(1) == b"1"
