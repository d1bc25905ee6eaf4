"""The part of an impression's plates that differs from plates that a device has."""

import zlib

import numpy as np
from numpy.typing import NDArray

from wallbill.inks.rectangles import BYTE_PX, Rectangle
from wallbill.server.model import Body

_WORTH = 0.9
"""A part of more than this share of the whole is not worth laying in."""


def kept_plates(body: Body) -> bytes:
    """Plates deflated, to be kept in memory for a while; line work takes a tenth of its room so."""
    return zlib.compress(body.data, 1)


def changed_part(before: bytes, after: Body) -> tuple[Rectangle, bytes] | None:
    """The smallest rectangle that holds every change, its sides between bytes of a plate, and its plates.

    ``before``: as `kept_plates` gave them. None where nothing changed, the size is another, or nearly all is new.
    """
    shape = len(after.inks), after.height_px, -(-after.width_px // BYTE_PX)
    old = _unpacked(before, len(after.data))
    if old is None or shape[0] * shape[1] * shape[2] != len(after.data):
        return None
    new = np.frombuffer(after.data, dtype=np.uint8).reshape(shape)
    changed = (new != old.reshape(shape)).any(axis=0)
    rows, columns = np.flatnonzero(changed.any(axis=1)), np.flatnonzero(changed.any(axis=0))
    if not rows.size:
        return None
    top, bottom = int(rows[0]), int(rows[-1]) + 1
    left, right = int(columns[0]), int(columns[-1]) + 1
    if (bottom - top) * (right - left) > _WORTH * changed.size:
        return None
    width_px = min(right * BYTE_PX, after.width_px) - left * BYTE_PX
    part = Rectangle(left * BYTE_PX, top, width_px, bottom - top)
    return part, new[:, top:bottom, left:right].tobytes()


def _unpacked(packed: bytes, length: int) -> NDArray[np.uint8] | None:
    """Plates as they were, or None if they have not ``length`` bytes."""
    data = zlib.decompress(packed)
    return np.frombuffer(data, dtype=np.uint8) if len(data) == length else None
