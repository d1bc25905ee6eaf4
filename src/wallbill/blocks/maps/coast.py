"""The world's coastline and countries as arrays, and the format of the data file that holds them.

The file: the letters COAST2, the number of units in a degree (uint16), then packed by LZMA two lists of lines, the
closed rings of the land and the arcs of the countries' outlines, and the countries. A list is its length (uint32),
the number of points of each line (uint32 each), then for all points together the steps of longitude from point to
point, then those of latitude, each an int16 in units: all low bytes first, then all high bytes. Steps wrap round at
the ends of an int16. The countries are their number (uint16), and for each its ISO 3166-1 alpha-2 code (2 letters,
``--`` for land without one), the number of arcs that bound it (uint16) and the arcs' numbers (uint16 each).
All little endian. Rings are closed (the last point is the first) and filled by the even-odd rule. Longitudes run on
where a ring crosses 180 degrees, so they may lie beyond; the ring of Antarctica is closed along the pole.
"""

import lzma
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from wallbill.errors import PictureError, Place

Reals = NDArray[np.float64]
Whole = NDArray[np.int64]

_HEAD = b"COAST2"
_PIECE = 32  # points of a line that are kept or left out together
_LEVELS_DEG = (1 / 40, 1 / 20, 1 / 10, 1 / 5, 2 / 5)
_APART_DEG = 5.0
_LEAST_PART = 3


@dataclass(frozen=True, slots=True, eq=False)
class Lines:
    """Lines on the earth.

    ``places``: float64, shape (n, 2), longitude and latitude in degrees. ``starts``: int64, shape (lines + 1,),
    where each line begins in ``places``, and the end. ``boxes``: float64, shape (lines, 4): west, south, east, north.
    """

    places: Reals
    starts: Whole
    boxes: Reals


@dataclass(frozen=True, slots=True, eq=False)
class Pieces:
    """Lines cut into short pieces, so that what lies off a map can be left out quickly.

    ``lines``: what is cut. ``line``: int64, one a piece, the line's number. ``first`` and ``last``: its first and last
    point in the lines' places; a piece ends where the next of its line begins. ``boxes``: float64, shape (pieces, 4):
    west, south, east, north.
    """

    lines: Lines
    line: Whole
    first: Whole
    last: Whole
    boxes: Reals


@dataclass(frozen=True, slots=True, eq=False)
class Coast:
    """Rings of land, and the countries.

    ``levels``: the land by how far it is thinned, in degrees, finest (0) first. ``arcs``: outlines of countries, each
    once. ``bounds``: the numbers of the arcs that bound each country, by its code.
    """

    land: Lines
    levels: tuple[tuple[float, Pieces], ...]
    arcs: Lines
    bounds: Mapping[str, Whole]

    def level(self, step_deg: float) -> Pieces:
        """The land, thinned as far as steps of so many degrees allow."""
        return next(pieces for step, pieces in reversed(self.levels) if step <= step_deg or not step)

    @property
    def borders(self) -> Lines:
        """The arcs that two countries share."""
        return chosen(self.arcs, self._uses(self.bounds) > 1)

    @property
    def countries(self) -> frozenset[str]:
        """The codes of all countries."""
        return frozenset(self.bounds) - {"--"}

    def outline(self, codes: frozenset[str]) -> Lines:
        """The arcs that bound these countries together: those that an odd number of them has. For even-odd filling."""
        return chosen(self.arcs, self._uses(codes) % 2 == 1)

    def mainland(self, code: str) -> Lines:
        """The outline of a country without its far-off parts, such as departments overseas.

        Arcs within 5 degrees of each other belong together; a part counts if its arcs' boxes have a third of the area of
        the largest's, in square degrees.
        """
        arcs = self.outline(frozenset({code}))
        sizes = np.prod(arcs.boxes[:, 2:] - arcs.boxes[:, :2], axis=1)
        part = _grouped(arcs.boxes, apart_deg=_APART_DEG)
        areas = np.bincount(part, weights=sizes)
        return chosen(arcs, areas[part] * _LEAST_PART >= areas.max())

    def between(self, codes: frozenset[str]) -> Lines:
        """The borders of these countries with each other."""
        return chosen(self.arcs, self._uses(codes) > 1)

    def _uses(self, codes: Mapping[str, Whole] | frozenset[str]) -> Whole:
        """How many of the countries each arc bounds."""
        numbers = [self.bounds[code] for code in sorted(codes)] or [np.zeros(0, dtype=np.int64)]
        return np.bincount(np.concatenate(numbers), minlength=len(self.arcs.boxes)).astype(np.int64)


def _grouped(boxes: Reals, *, apart_deg: float) -> Whole:
    """A number for each box, the same for those with gaps of at most ``apart_deg`` between them, also across 180 degrees."""
    west, south, east, north = boxes.T
    middle, half = (west + east) / 2, (east - west) / 2
    across = np.abs((middle[:, None] - middle[None, :] + 180) % 360 - 180) - half[:, None] - half[None, :]
    up = np.maximum(south[:, None] - north[None, :], south[None, :] - north[:, None])
    near = np.maximum(across, up) <= apart_deg
    part = np.arange(len(boxes))
    for _ in range(len(boxes)):
        least = np.where(near, part[None, :], len(boxes)).min(axis=1)
        if np.array_equal(least, part):
            break
        part = least
    return part


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
        arcs, rest = _lines(rest, units)
        bounds = _bounds(rest, len(arcs.boxes))
    except (lzma.LZMAError, EOFError, ValueError, IndexError) as fault:
        mend = "Make it anew with make_coastline.py."
        raise PictureError(f"the coastline is damaged: {fault}", where=Place(name), mend=mend) from fault
    levels = [(0.0, cut(land)), *((step, cut(thinned(land, step))) for step in _LEVELS_DEG)]
    return Coast(land, tuple(levels), arcs, bounds)


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


def _bounds(body: bytes, arcs: int) -> Mapping[str, Whole]:
    """The arcs of each country. Raises ValueError for an arc that is not there."""
    number = int.from_bytes(body[:2], "little")
    at, found = 2, {}
    for _ in range(number):
        code = body[at : at + 2].decode("ascii")
        count = int.from_bytes(body[at + 2 : at + 4], "little")
        numbers = np.frombuffer(body, dtype="<u2", count=count, offset=at + 4).astype(np.int64)
        if numbers.max(initial=0) >= arcs:
            raise ValueError(f"{code} is bounded by arc {numbers.max()} of {arcs}")
        numbers.setflags(write=False)
        found[code] = numbers
        at += 4 + 2 * count
    return MappingProxyType(found)


def as_lines(places: Reals, counts: Whole) -> Lines:
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


def thinned(lines: Lines, step_deg: float) -> Lines:
    """The lines without points that lie in the same cell of ``step_deg`` as the point before; ends are kept.

    No point that is left out lies further from its line than a cell's diagonal. Lines within less than a cell's size
    are left out.
    """
    lines = chosen(lines, np.max(lines.boxes[:, 2:] - lines.boxes[:, :2], axis=1, initial=0) >= step_deg)
    cells = np.floor(lines.places / step_deg).astype(np.int32)
    keep = np.ones(len(cells), dtype=np.bool_)
    keep[1:] = np.any(cells[1:] != cells[:-1], axis=1)
    keep[lines.starts[:-1]] = keep[lines.starts[1:] - 1] = True
    before = np.concatenate([[0], np.cumsum(keep)])
    return as_lines(lines.places[keep], np.diff(before[lines.starts]))


def cut(lines: Lines) -> Pieces:
    """The lines in pieces of at most `_PIECE` steps from point to point."""
    steps = np.diff(lines.starts) - 1
    number = np.maximum(1, -(-steps // _PIECE))
    line = np.repeat(np.arange(len(steps)), number)
    inside = np.arange(len(line)) - np.repeat(np.cumsum(number) - number, number)
    first = lines.starts[line] + inside * _PIECE
    last = np.minimum(first + _PIECE, lines.starts[line + 1] - 1)
    if not len(line):
        return Pieces(lines, line, first, last, np.zeros((0, 4)))
    low = np.minimum(np.minimum.reduceat(lines.places, first, axis=0), lines.places[last])
    high = np.maximum(np.maximum.reduceat(lines.places, first, axis=0), lines.places[last])
    return Pieces(lines, line, first, last, np.concatenate([low, high], axis=1))
