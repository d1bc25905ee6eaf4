"""Brings a picture from an open answer to where it waits, in blocks, and holds it against its digest."""

import hashlib

from shell_flash import base64_of
from twin_rules import TwinError, whole

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any

    from shell_wire import Wire
    from twin_kinds import Picture


class Fetch:
    """One fetching. ``length_bytes``: what the plates must have, unpacked."""

    def __init__(self, wire: "Wire", picture: "Picture", length_bytes: int, *, packed: bool) -> None:
        self._wire = wire
        self._picture = picture
        self._length_bytes = length_bytes
        self._packed = packed
        self._told = whole(wire.fields.get("content-length"))
        if self._told is None and not packed:
            self._told = length_bytes
        self._size_bytes = 0
        self._sha: Any = hashlib.sha256()

    def run(self, digest: str) -> str:
        """Fetches; gives the SHA-256 (base64) of the picture as it lies there now, unpacked.

        Raises `TwinError`, and leaves nothing, unless all came and the SHA-256 of what came is ``digest``.
        """
        kept: Any = hashlib.sha256() if self._packed else self._sha
        try:
            self._picture.begin()
            take: Callable[[memoryview], Any] = self._picture.take
            if self._packed:
                from shell_packed import unpack  # noqa: PLC0415  only who needs it has the memory for it

                def take_unpacked(block: memoryview) -> None:
                    kept.update(block)
                    self._picture.take(block)

                unpack(self._part, take_unpacked, self._length_bytes)
                take = len  # what follows the end of the packed plates is read for the digest alone
            part = self._part()
            while part:
                take(part)
                part = self._part()
            if self._told is not None and self._size_bytes != self._told:
                raise TwinError(f"cut at {self._size_bytes} of {self._told} bytes")
            if base64_of(self._sha.digest()) != digest:
                raise TwinError("wrong digest")
            self._picture.keep()
            return base64_of(kept.digest()) if self._packed else digest
        except BaseException:
            self._picture.drop()
            raise

    def _part(self) -> memoryview:
        """The next part of the body, none at its end."""
        part = self._wire.body()
        self._sha.update(part)
        self._size_bytes += len(part)
        if self._told is not None and self._size_bytes > self._told:
            raise TwinError("longer than it says")
        return part
