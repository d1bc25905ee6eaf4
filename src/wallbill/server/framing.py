"""How a parent and its child speak: a head of JSON and some blobs, each with its length before it."""

import json
import struct
from collections.abc import Mapping, Sequence
from typing import Any

_LENGTH = struct.Struct(">I")
LENGTH_BYTES = _LENGTH.size


def frame(head: Mapping[str, Any], blobs: Sequence[bytes] = ()) -> bytes:
    """A message: the length of the head, the head, the blobs. The head tells the lengths of the blobs as ``blobs``."""
    told = json.dumps({**head, "blobs": [len(blob) for blob in blobs]}, separators=(",", ":")).encode()
    return b"".join((_LENGTH.pack(len(told)), told, *blobs))


def length(data: bytes) -> int:
    """The length of a head, from the four bytes before it."""
    found: int = _LENGTH.unpack(data)[0]
    return found


def head_of(data: bytes) -> tuple[dict[str, Any], tuple[int, ...]]:
    """A head, and the lengths of the blobs that follow. Raises `ValueError` for what is none."""
    head = json.loads(data)
    if not isinstance(head, dict):
        raise ValueError("a head is an object")  # noqa: TRY004  json.loads raises ValueError as well
    blobs = head.pop("blobs", [])
    if not isinstance(blobs, list) or not all(isinstance(size, int) and size >= 0 for size in blobs):
        raise ValueError("a head tells the lengths of its blobs")
    return head, tuple(blobs)
