"""Plates that come packed, in zlib's format: unpacked as they arrive, so that the radio is on for less time."""

import io

from twin_rules import TwinError

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any

STEP_BYTES = 256


class Parts(io.IOBase):
    """A stream over parts that come one after the other; an empty one is the end."""

    def __init__(self, body: "Callable[[], memoryview]") -> None:
        self._body = body
        self._part = memoryview(b"")

    def readinto(self, buffer: "Any") -> int:
        """Fills ``buffer`` as far as the part goes; gives how many bytes, 0 at the end."""
        if not len(self._part):
            self._part = self._body()
        size = min(len(buffer), len(self._part))
        buffer[:size] = self._part[:size]
        self._part = self._part[size:]
        return size


def unpack(body: "Callable[[], memoryview]", take: "Callable[[memoryview], None]", length_bytes: int) -> None:
    """Hands what ``body`` gives to ``take``, unpacked. Raises `TwinError` unless that is ``length_bytes`` long."""
    stream = unpacked(Parts(body))
    block = bytearray(STEP_BYTES)
    view = memoryview(block)
    left = length_bytes
    try:
        while True:
            size = stream.readinto(block)
            if not size:
                break
            left -= size
            if left < 0:
                break
            take(view[:size])
    except (EOFError, ValueError, OSError):
        raise TwinError("the plates are packed wrongly") from None
    if left:
        raise TwinError("the plates unpack to another length")


def unpacked(parts: Parts) -> "Any":
    """A stream of what ``parts`` hold: MicroPython's own, or for CPython one over zlib."""
    try:
        import deflate  # noqa: PLC0415  only one of the two is there
    except ImportError:
        return Inflated(parts)
    return deflate.DeflateIO(parts, deflate.ZLIB)


class Inflated:
    """What MicroPython's ``deflate`` does, for CPython."""

    def __init__(self, parts: Parts) -> None:
        import zlib  # noqa: PLC0415  only one of the two is there

        self._parts = parts
        self._engine = zlib.decompressobj()
        self._error = zlib.error

    def readinto(self, block: bytearray) -> int:
        """Fills ``block`` as far as it goes; gives how many bytes, 0 at the end."""
        step = bytearray(STEP_BYTES)
        data = b""
        while not data and not self._engine.eof:
            packed = self._engine.unconsumed_tail or bytes(step[: self._parts.readinto(step)])
            if not packed:
                raise EOFError
            try:
                data = self._engine.decompress(packed, len(block))
            except self._error:
                raise ValueError from None
        block[: len(data)] = data
        return len(data)
