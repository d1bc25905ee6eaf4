"""A process that behaves like a panel's controller: frame memory, a busy line, polarity of each plane, a refresh that takes its time.

Spoken to over a Unix socket, one letter a command, as a driver would over SPI: ``R`` reset; ``0`` and ``1``, with four bytes of
length and data, write a plane; ``O`` power on; ``D`` refresh; ``B`` asks the busy line (answered ``1`` while it works); ``S`` deep sleep.
Data while it is busy, or without power, spoils the picture, as it does on real glass. What is on the glass is written to a file, a byte a pixel.
"""

import json
import socket
import sys
import threading
import time
from pathlib import Path

STUCK = 1e9


class Controller:
    """The controller. ``settings``: width_px, height_px, refresh_s, and ``glass``, the file."""

    def __init__(self, settings: dict[str, object]) -> None:
        self.width_px = int(str(settings["width_px"]))
        self.height_px = int(str(settings["height_px"]))
        self.refresh_s = float(str(settings["refresh_s"]))
        self.glass = Path(str(settings["glass"]))
        self.memory: dict[bytes, bytes] = {}
        self.is_on = False
        self.is_spoilt = False
        self.busy_until_s = 0.0

    def is_busy(self) -> bool:
        """Whether the busy line is high."""
        return time.monotonic() < self.busy_until_s

    def command(self, letter: bytes, stream: "socket.SocketIO") -> bytes:
        """Does what a letter says; gives what is answered."""
        if letter in (b"0", b"1"):
            length = int.from_bytes(_exactly(stream, 4), "big")
            data = _exactly(stream, length)
            self.is_spoilt |= self.is_busy() or not self.is_on
            self.memory[letter] = data
        elif letter == b"R":
            self.memory, self.is_on, self.is_spoilt, self.busy_until_s = {}, False, False, 0.0
        elif letter == b"O":
            self.is_on = True
            self.busy_until_s = time.monotonic() + 0.02
        elif letter == b"D":
            self.busy_until_s = time.monotonic() + self.refresh_s
            if self.refresh_s < STUCK:
                self.glass.write_bytes(b"?" if self.is_spoilt or not self.is_on else self.pixels())
        elif letter == b"B":
            return b"1" if self.is_busy() else b"0"
        elif letter == b"S":
            self.is_on = False
        return b""

    def pixels(self) -> bytes:
        """What the glass shows: 0 black, 1 white, 2 red. In plane 0 a one is white; in plane 1 a one is red, and goes first."""
        stride = -(-self.width_px // 8)
        if (
            any(len(plane) != stride * self.height_px for plane in self.memory.values())
            or len(self.memory) != 2
        ):
            return b"!"
        found = bytearray()
        for y in range(self.height_px):
            for x in range(self.width_px):
                at, bit = y * stride + x // 8, 0x80 >> x % 8
                found.append(2 if self.memory[b"1"][at] & bit else 1 if self.memory[b"0"][at] & bit else 0)
        return bytes(found)


def _exactly(stream: "socket.SocketIO", length: int) -> bytes:
    data = b""
    while len(data) < length:
        data += stream.read(length - len(data)) or b""
    return data


def serve(path: str, settings: dict[str, object]) -> None:
    """Listens on a Unix socket, until standard input ends."""
    controller = Controller(settings)
    listener = socket.socket(socket.AF_UNIX)
    listener.bind(path)
    listener.listen()
    sys.stdout.write("ready\n")
    sys.stdout.flush()

    def listen() -> None:
        while True:
            raw, _ = listener.accept()
            with raw, raw.makefile("rb", buffering=0) as stream:
                while letter := stream.read(1):
                    answer = controller.command(letter, stream)
                    if answer:
                        raw.sendall(answer)

    threading.Thread(target=listen, daemon=True).start()
    sys.stdin.read()


if __name__ == "__main__":
    serve(sys.argv[1], json.loads(sys.argv[2]))
