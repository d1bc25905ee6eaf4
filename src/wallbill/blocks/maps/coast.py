"""The world's coastline and borders as arrays, and the format of the data file that holds them.

The file: the letters COAST1, the number of units in a degree (uint16), then packed by LZMA two lists of lines, the
closed rings of the land and the borders. A list is its length (uint32), the number of points of each line (uint32
each), then for all points together the steps of longitude from point to point, then those of latitude, each an int16
in units: all low bytes first, then all high bytes. Steps wrap round at the ends of an int16. All little endian.
Rings are closed (the last point is the first) and filled by the even-odd rule. Longitudes run on where a ring crosses
180 degrees, so they may lie beyond; the ring of Antarctica is closed along the pole.
"""

import lzma
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wallbill.errors import PictureError, Place

_HEAD = b"COAST1"


@dataclass(frozen=True, slots=True, eq=False)
class Lines:
    """Lines on the earth.

    ``places``: float64, shape (n, 2), longitude and latitude in degrees. ``starts``: int64, shape (lines + 1,),
    where each line begins in ``places``, and the end. ``boxes``: float64, shape (lines, 4): west, south, east, north.
    """

    places: NDArray[np.float64]
    starts: NDArray[np.int64]
    boxes: NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Coast:
    """Rings of land, and borders between countries."""

    land: Lines
    borders: Lines


def parse_coast(data: bytes, *, name: str = "coast.bin") -> Coast:
    """The coast in a data file. Raises `PictureError` for data of another kind or cut short."""
    if not data.startswith(_HEAD) or len(data) < len(_HEAD) + 3:
        raise PictureError(
            "no coastline in this file", where=Place(name), mend="Make it with make_coastline.py."
        )
    units = int.from_bytes(data[len(_HEAD) : len(_HEAD) + 2], "little")
    try:
        body = lzma.decompress(data[len(_HEAD) + 2 :])
        land, rest = _lines(body, units)
        borders, _ = _lines(rest, units)
    except (lzma.LZMAError, EOFError, ValueError, IndexError) as fault:
        mend = "Make it anew with make_coastline.py."
        raise PictureError(f"the coastline is damaged: {fault}", where=Place(name), mend=mend) from fault
    return Coast(land, borders)


def _lines(body: bytes, units: int) -> tuple[Lines, bytes]:
    """The first list of lines, and the bytes after it."""
    number = int.from_bytes(body[:4], "little")
    counts = np.frombuffer(body, dtype="<u4", count=number, offset=4).astype(np.int64)
    total = int(counts.sum())
    begin = 4 + 4 * number
    planes = np.frombuffer(body, dtype=np.uint8, count=4 * total, offset=begin).astype(np.uint16)
    steps = (planes[: 2 * total] | (planes[2 * total :] << 8)).view(np.int16).reshape(2, total)
    places = np.cumsum(steps, axis=1, dtype=np.int16).T / units
    return as_lines(places, counts), body[begin + 4 * total :]


def as_lines(places: NDArray[np.float64], counts: NDArray[np.int64]) -> Lines:
    """Lines from their places (n, 2) one after the other, and the number of places in each, all above zero."""
    starts = np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
    low = np.minimum.reduceat(places, starts[:-1], axis=0) if len(counts) else np.zeros((0, 2))
    high = np.maximum.reduceat(places, starts[:-1], axis=0) if len(counts) else np.zeros((0, 2))
    found = Lines(np.ascontiguousarray(places, dtype=np.float64), starts, np.concatenate([low, high], axis=1))
    for array in (found.places, found.starts, found.boxes):
        array.setflags(write=False)
    return found


def chosen(lines: Lines, which: NDArray[np.bool_]) -> Lines:
    """Those lines for which ``which`` (bool, one a line) is true."""
    counts = np.diff(lines.starts)
    points = np.repeat(which, counts)
    return as_lines(lines.places[points], counts[which])
