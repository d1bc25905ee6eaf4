"""Exact drawing on whole pixels: a grid of ink codes, and the sketch that makes one.

Shapes are masks, made by the pure functions of `wallbill.blocks.drawing.shapes`; a `Sketch` lays them one over the
other in an ink, and `Sketch.grid` gives the frozen result. Codes are uint8: `NOTHING` lets the page show
through, `INK` is the drawing's own colour, `ACCENT` the second ink, `PAPER` a knock-out in the colour of the
ground, `MUTED` what should stand back. `wallbill.blocks.drawing.svg.to_svg` turns a grid into inline SVG.
"""

from dataclasses import dataclass
from types import MappingProxyType
from typing import Self

import numpy as np

from wallbill.blocks.drawing.cover import Cover, Soft
from wallbill.inks.impression import Codes, Mask, frozen_codes

NOTHING = 0
INK = 1
ACCENT = 2
PAPER = 3
MUTED = 4

LETTERS = MappingProxyType({".": NOTHING, "#": INK, "+": ACCENT, "-": PAPER, ":": MUTED})
"""How a grid is written in letters, one a pixel; a space counts as nothing too."""

Box = tuple[int, int, int, int]
"""Left, top, width and height in whole pixels."""

MOST_PX = 8192
"""No drawing is wider or higher: larger than any panel, small enough to be held in memory."""


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """A finished drawing. ``codes``: uint8, shape (height, width), read-only, each 0 to 4.

    Two grids are equal when their codes are. Raises ValueError for codes of another kind.
    """

    codes: Codes

    def __post_init__(self) -> None:
        if self.codes.ndim != 2 or self.codes.dtype != np.uint8:
            raise ValueError(f"codes are uint8 in two dimensions, got {self.codes.dtype} {self.codes.shape}")
        if self.codes.flags.writeable:
            raise ValueError("codes are read-only: make them with frozen_codes")
        if self.codes.size and int(self.codes.max()) > MUTED:
            raise ValueError(f"codes go from 0 to {MUTED}, got {int(self.codes.max())}")

    @property
    def width_px(self) -> int:
        """Pixels in a row."""
        return int(self.codes.shape[1])

    @property
    def height_px(self) -> int:
        """Rows."""
        return int(self.codes.shape[0])

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return self.width_px, self.height_px

    def mask(self, code: int) -> Mask:
        """True where the drawing has this code; bool, shape (height, width)."""
        return np.asarray(self.codes == code)

    def drawn(self) -> Mask:
        """True where anything is drawn, knock-outs included; bool, shape (height, width)."""
        return np.asarray(self.codes != NOTHING)

    def letters(self) -> str:
        """The drawing in letters, one line a row: the inverse of `from_letters`."""
        names = {code: letter for letter, code in LETTERS.items()}
        return "\n".join("".join(names[int(code)] for code in row) for row in self.codes)

    def enlarged(self, times: int) -> "Grid":
        """Every pixel as ``times`` by ``times`` pixels. Raises ValueError below 1."""
        if times < 1:
            raise ValueError(f"a drawing is enlarged by a whole number from 1, got {times}")
        return Grid(frozen_codes(np.repeat(np.repeat(self.codes, times, axis=0), times, axis=1)))

    def placed(self, size: tuple[int, int], *, at: tuple[int, int] | None = None) -> "Grid":
        """The drawing on a ground of ``size`` pixels, its left top corner ``at``, or in the middle.

        What falls outside is cut off. An odd pixel left over goes to the right and below.
        """
        width, height = size
        x, y = at if at is not None else ((width - self.width_px) // 2, (height - self.height_px) // 2)
        return Sketch(width, height).stamp(self, at=(x, y)).grid()

    def mirrored(self) -> "Grid":
        """Left and right exchanged."""
        return Grid(frozen_codes(self.codes[:, ::-1]))

    def turned(self, quarters: int) -> "Grid":
        """Turned clockwise by so many quarter turns."""
        return Grid(frozen_codes(np.rot90(self.codes, -quarters)))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Grid) and np.array_equal(self.codes, other.codes)

    def __hash__(self) -> int:
        return hash((self.size, self.codes.tobytes()))


def from_letters(text: str) -> Grid:
    """A grid from letters, one a pixel, one line a row; indentation and blank lines around it are ignored.

    Raises ValueError for an unknown letter (with its line and column) or lines of different length.
    """
    rows = [line.strip() for line in text.strip().splitlines()]
    if len({len(row) for row in rows}) > 1:
        raise ValueError(f"lines of a letter grid are equally long, got {[len(row) for row in rows]}")
    for number, row in enumerate(rows, start=1):
        for column, letter in enumerate(row, start=1):
            if letter not in LETTERS:
                raise ValueError(
                    f"letter {letter!r} in line {number}, column {column}: use {' '.join(LETTERS)}"
                )
    return Grid(frozen_codes(np.array([[LETTERS[letter] for letter in row] for row in rows], dtype=np.uint8)))


class Sketch:
    """A drawing under way: lay masks over one another, then take the frozen `grid`.

    Sizes are in pixels. Each method gives back the sketch, so that calls can be chained.
    Raises ValueError for a size below 1 or above `MOST_PX`.
    """

    def __init__(self, width_px: int, height_px: int, *, smooth: bool = False) -> None:
        if not (1 <= width_px <= MOST_PX and 1 <= height_px <= MOST_PX):
            raise ValueError(
                f"a drawing is 1 to {MOST_PX} pixels wide and high, got {width_px} x {height_px}"
            )
        self.size = (width_px, height_px)
        self._codes = np.zeros((height_px, width_px), dtype=np.uint8)
        self._cover = np.zeros((height_px, width_px), dtype=np.uint8) if smooth else None
        self._under: Mask | None = None

    @property
    def smooth(self) -> bool:
        """Whether shapes can be smoothed: `shade`."""
        return self._cover is not None

    def lay(self, mask: Mask, code: int = INK) -> Self:
        """Puts ``code`` wherever ``mask`` (bool, shape (height, width)) is true, over what was there."""
        if mask.shape != self._codes.shape:
            raise ValueError(f"the mask has shape {mask.shape}, the sketch {self._codes.shape}")
        np.copyto(self._codes, np.uint8(code), where=mask)
        if self._cover is not None:
            self._cover[mask] = 0
        return self

    def fill(self, box: Box, code: int = INK, *, every: tuple[int, int] = (1, 1)) -> Self:
        """Puts ``code`` on the pixels of a box (left, top, width, height); what lies outside is cut off.

        ``every``: only each so many pixels across and down, from the box's left top corner.
        """
        x, y, width, height = box
        across, down = every
        left, top = max(x, -(-max(0, -x) // across) * across + x), max(y, -(-max(0, -y) // down) * down + y)
        part = (slice(top, max(0, y + height), down), slice(left, max(0, x + width), across))
        self._codes[part] = code
        if self._cover is not None:
            self._cover[part] = 0
        return self

    def put(self, mask: Mask, code: int = INK, *, at: tuple[int, int]) -> Self:
        """As `lay`, of a smaller mask with its left top corner ``at`` (x, y); what falls outside is cut off."""
        x, y = at
        down, across = mask.shape
        left, top = max(0, -x), max(0, -y)
        right, bottom = min(across, self.size[0] - x), min(down, self.size[1] - y)
        if left < right and top < bottom:
            rows, columns = slice(y + top, y + bottom), slice(x + left, x + right)
            shown = mask[top:bottom, left:right]
            np.copyto(self._codes[rows, columns], np.uint8(code), where=shown)
            if self._cover is not None:
                self._cover[rows, columns][shown] = 0
        return self

    def shade(self, soft: Soft, *, fade: bool = False) -> Self:
        """Puts a smoothed shape in `INK` over what was there; ``fade``: takes that away under it instead.

        Raises ValueError for a sketch that is not smooth.
        """
        if self._cover is None:
            raise ValueError("this sketch has whole pixels only: make it with smooth=True")
        (x, y), (down, across) = soft.at, soft.cover.shape
        left, top = max(0, -x), max(0, -y)
        right, bottom = min(across, self.size[0] - x), min(down, self.size[1] - y)
        if left >= right or top >= bottom:
            return self
        part = (slice(y + top, y + bottom), slice(x + left, x + right))
        over, under = soft.cover[top:bottom, left:right], self._cover[part]
        both = np.nonzero((over > 0) & (under > 0))
        kept = (255 - over[both].astype(np.uint16)) * under[both] // 255
        if fade:
            self._codes[part][over > 127] = NOTHING
            under[both] = kept
        else:
            mixed = over[both] + kept
            np.maximum(under, over, out=under)
            under[both] = mixed
        return self

    def clear(self, box: Box, code: int) -> Self:
        """Takes away what has this ``code`` in a box (left, top, width, height)."""
        x, y, width, height = box
        part = self._codes[max(0, y) : max(0, y + height), max(0, x) : max(0, x + width)]
        part[part == code] = NOTHING
        return self

    def erase(self, mask: Mask) -> Self:
        """Takes away what was drawn under ``mask``, so that the page shows through."""
        return self.lay(mask, NOTHING)

    def stamp(self, grid: Grid, *, at: tuple[int, int] = (0, 0)) -> Self:
        """Lays another drawing with its left top corner ``at`` (x, y); where it has nothing, it changes nothing.

        What falls outside is cut off.
        """
        width, height = self.size
        x, y = at
        left, top = max(0, x), max(0, y)
        right, bottom = min(width, x + grid.width_px), min(height, y + grid.height_px)
        if left < right and top < bottom:
            part = grid.codes[top - y : bottom - y, left - x : right - x]
            under = self._codes[top:bottom, left:right]
            under[part != NOTHING] = part[part != NOTHING]
            if self._cover is not None:
                self._cover[top:bottom, left:right][part != NOTHING] = 0
        return self

    def drawn(self) -> Mask:
        """True where something is drawn so far; bool, shape (height, width)."""
        drawn = np.asarray(self._codes != NOTHING)
        return drawn if self._cover is None else drawn | (self._cover > 0)

    def solid(self) -> Mask:
        """As `drawn`, without what stands back; bool, shape (height, width)."""
        drawn = np.asarray(self._codes - np.uint8(INK) < np.uint8(MUTED - INK))  # nothing wraps round to 255
        return drawn if self._cover is None else drawn | (self._cover > 0)

    def begin_data(self) -> Self:
        """What is drawn from here on is data, which no label may hide; what is there already may be covered."""
        self._under = self.solid()
        return self

    def data(self) -> Mask | None:
        """True where data is drawn; bool, shape (height, width). None if it was never said where that begins."""
        return None if self._under is None else self.solid() & ~self._under

    def cover(self) -> Cover | None:
        """How much of each pixel smoothed shapes cover, over the `grid`: uint8, shape (height, width); None if not smooth."""
        return None if self._cover is None else self._cover.copy()

    def ground(self) -> Grid:
        """As `grid`, without what is smoothed."""
        return Grid(frozen_codes(self._codes))

    def grid(self) -> Grid:
        """The drawing as it stands, frozen; the sketch can be drawn on after that.

        What is smoothed has whole pixels in it, where half of the pixel is covered.
        """
        if self._cover is None:
            return self.ground()
        return Grid(frozen_codes(np.where(self._cover > 127, np.uint8(INK), self._codes)))
