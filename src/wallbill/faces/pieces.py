"""Pieces of ink: which pixels hang together, counted and labelled row by row."""

import re
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from wallbill.faces.tracing import euler_numbers

_RUN = re.compile(rb"\x01+")


@dataclass(frozen=True, slots=True)
class Shape:
    """How many pieces of ink there are (joined over corners), and how many holes in them."""

    pieces: int
    holes: int

    def __str__(self) -> str:
        pieces = f"{self.pieces} piece{'' if self.pieces == 1 else 's'}"
        return f"{pieces}, {self.holes} hole{'' if self.holes == 1 else 's'}"

    def off(self, other: "Shape") -> int:
        """How far two shapes are apart."""
        return abs(self.pieces - other.pieces) + abs(self.holes - other.holes)


@dataclass(frozen=True, slots=True, eq=False)
class Sketch:
    """A glyph as designed: its shape, and which piece each pixel belongs to (0 is paper, pieces count from 1)."""

    shape: Shape
    labels: NDArray[np.int_] = field(repr=False)


def shape_of(ink: NDArray[np.bool_]) -> Shape:
    """The shape of a grid of booleans."""
    if not ink.size:
        return Shape(0, 0)
    pieces = count_pieces(ink)
    return Shape(pieces, pieces - int(euler_numbers([ink])[0]))


def sketch_of(ink: NDArray[np.bool_], *, euler: int) -> Sketch:
    """The pieces of a large rendering, cropped to its ink, and its shape with the Euler number known for it."""
    rows, columns = np.nonzero(ink.any(1))[0], np.nonzero(ink.any(0))[0]
    if not len(rows):
        return Sketch(Shape(0, 0), np.zeros((0, 0), np.int_))
    cropped = ink[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    labels = labelled(cropped)
    pieces = int(labels.max())
    return Sketch(Shape(pieces, pieces - euler), labels)


def count_pieces(ink: NDArray[np.bool_]) -> int:
    """How many pieces of ink a grid has, pixels that touch at a corner joined."""
    return len(set(_united(ink)[1]))


def labelled(ink: NDArray[np.bool_]) -> NDArray[np.int_]:
    """The piece of each pixel, from 1; 0 is paper."""
    runs, roots = _united(ink)
    numbers: dict[int, int] = {}
    labels = np.zeros(ink.shape, np.int_)
    for (row, start, end), root in zip(runs, roots, strict=True):
        labels[row, start:end] = numbers.setdefault(root, len(numbers) + 1)
    return labels


def _united(ink: NDArray[np.bool_]) -> tuple[list[tuple[int, int, int]], list[int]]:
    """The runs of ink as (row, start, end), and for each the first run of its piece.

    Runs of neighbouring rows that touch, corners too, are united.
    """
    parents: list[int] = []

    def root(run: int) -> int:
        while parents[run] != run:
            parents[run] = parents[parents[run]]
            run = parents[run]
        return run

    runs: list[tuple[int, int, int]] = []
    above: list[int] = []
    cells, wide = ink.tobytes(), ink.shape[1]
    for row in range(ink.shape[0]):
        here = []
        for found in _RUN.finditer(cells[row * wide : (row + 1) * wide]):
            start, end = found.span()
            run = len(parents)
            parents.append(run)
            runs.append((row, start, end))
            here.append(run)
            for other in above:
                if runs[other][1] <= end and start <= runs[other][2]:
                    parents[root(other)] = root(run)
        above = here
    return runs, [root(run) for run in range(len(parents))]


def carried_labels(sketch: Sketch, ink: NDArray[np.bool_]) -> NDArray[np.int_]:
    """For each pixel of a small grid the piece of the design that it belongs to, the nearest one for paper.

    The two are laid over each other by the boxes of their ink.
    """
    rows, columns = np.nonzero(ink.any(1))[0], np.nonzero(ink.any(0))[0]
    high, wide = sketch.labels.shape
    down = (np.arange(ink.shape[0]) - rows[0] + 0.5) * high / (rows[-1] - rows[0] + 1)
    across = (np.arange(ink.shape[1]) - columns[0] + 0.5) * wide / (columns[-1] - columns[0] + 1)
    inked = np.argwhere(sketch.labels)[:: max(1, sketch.labels.size // 1500)]
    squares = (down[:, None, None] - inked[:, 0]) ** 2 + (across[None, :, None] - inked[:, 1]) ** 2
    nearest = inked[squares.argmin(2)]
    owners: NDArray[np.int_] = sketch.labels[nearest[..., 0], nearest[..., 1]]
    return owners
