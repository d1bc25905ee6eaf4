"""Kerning on the pixel grid: the values of a GPOS table, moved in place.

Positioning values are plain 16-bit numbers in known places, so they are rewritten where they stand; taking the whole
table apart and packing it again takes fifty times as long.
"""

import struct
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from wallbill.faces.grid import Grid

SINGLE, PAIR, EXTENSION = 1, 2, 9
ATTACHING = frozenset({3, 4, 5, 6})
"""Lookup types of the GPOS table (OpenType): those with values, the wrapper, and those with anchors."""


@dataclass(slots=True)
class _Table:
    """The bytes under change, the places already moved (tables share parts), and the grid."""

    data: bytearray
    grid: Grid
    moved: set[int] = field(default_factory=set)

    def words(self, at: int, count: int) -> tuple[int, ...]:
        return struct.unpack_from(f">{count}H", self.data, at)

    def move(self, at: int, *, rows: int, kinds: list[bool], gap: int = 0) -> None:
        """Move ``rows`` records of values; ``kinds``: per 16-bit field whether it is a value, else it is cleared.

        ``gap``: bytes before the values of each record that stay as they are.
        """
        if at in self.moved or not rows or not kinds:
            return
        self.moved.add(at)
        width = gap // 2 + len(kinds)
        cells: NDArray[np.int16] = np.frombuffer(self.data, ">i2", rows * width, at).reshape(rows, width)
        values = cells[:, gap // 2 :]
        scaled = np.floor(values * (self.grid.size_px / self.grid.units) + 0.5) * self.grid.per_px
        values[:] = np.where(kinds, scaled, 0)


def moved_values(gpos: bytes, grid: Grid) -> tuple[bytes, frozenset[int]]:
    """A GPOS table with every adjustment a whole number of pixels, and the lookup types that it holds.

    Anchors stay as they are. Corrections for sizes of other rasterisers (device tables) are dropped.
    """
    table = _Table(bytearray(gpos), grid)
    kinds = set()
    for kind, at in _subtables(table):
        kinds.add(kind)
        if kind == SINGLE:
            _single(table, at)
        elif kind == PAIR:
            _pair(table, at)
    return bytes(table.data), frozenset(kinds)


def _subtables(table: _Table) -> Iterator[tuple[int, int]]:
    lookups = table.words(8, 1)[0]
    if not lookups:
        return
    for lookup in table.words(lookups + 2, table.words(lookups, 1)[0]):
        kind, _, count = table.words(lookups + lookup, 3)
        for offset in table.words(lookups + lookup + 6, count):
            at = lookups + lookup + offset
            if kind == EXTENSION:
                _, wrapped, high, low = table.words(at, 4)
                yield wrapped, at + (high << 16 | low)
            else:
                yield kind, at


def _fields(value_format: int) -> list[bool]:
    """Per field of a value record whether it is a value: bits 0 to 3 are, bits 4 to 7 point to device tables."""
    return [bit < 4 for bit in range(8) if value_format >> bit & 1]


def _single(table: _Table, at: int) -> None:
    form, _, value_format = table.words(at, 3)
    if form == 1:
        table.move(at + 6, rows=1, kinds=_fields(value_format))
    else:
        table.move(at + 8, rows=table.words(at + 6, 1)[0], kinds=_fields(value_format))


def _pair(table: _Table, at: int) -> None:
    form, _, first, second = table.words(at, 4)
    kinds = _fields(first) + _fields(second)
    if form == 1:
        for offset in table.words(at + 10, table.words(at + 8, 1)[0]):
            table.move(at + offset + 2, rows=table.words(at + offset, 1)[0], kinds=kinds, gap=2)
    else:
        classes = table.words(at + 12, 2)
        table.move(at + 16, rows=classes[0] * classes[1], kinds=kinds)
