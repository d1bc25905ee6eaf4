"""A map under way: ink codes for every panel, and beside them greys for a panel that shows greys.

On such a panel lines and discs have smoothed rims: what covers a part of a pixel mixes with what lies under it, in
linear light. Everything else of a map is whole pixels there too.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from wallbill.blocks.drawing.grid import INK, NOTHING, PAPER, Grid
from wallbill.blocks.drawing.light import coded, decoded, lights
from wallbill.blocks.drawing.markup import tint_rgb
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.patterns import Hatch, hatch
from wallbill.blocks.drawing.shapes import Box
from wallbill.blocks.maps.clip import Edges
from wallbill.blocks.maps.pen import Field, Part, edges_along, field_of, thin
from wallbill.inks.impression import Codes, Mask, frozen_codes

_FINE = 4095
_SOFT_PX = 0.5  # a pixel whose centre lies so far outside a rim has no more share in it


class Canvas:
    """A map of a size in pixels, drawn in the colours of a palette.

    ``busy`` is true where a line with its casing lies that a name should not cover, ``faint`` where one lies that a
    name may interrupt, such as a coast; bool, shape (height, width).
    """

    def __init__(self, size: tuple[int, int], palette: Palette) -> None:
        self.size = size
        self.busy: Mask = np.zeros((size[1], size[0]), dtype=np.bool_)
        self.faint: Mask = np.zeros((size[1], size[0]), dtype=np.bool_)
        self._codes = np.zeros((size[1], size[0]), dtype=np.uint8)
        self._light = lights(palette)
        self._greys: NDArray[np.float32] | None = None
        if palette.smooth:
            self._greys = np.full((size[1], size[0]), self._light[PAPER], dtype=np.float32)
        self._ground = self._greys
        self._palette = palette

    @property
    def smooth(self) -> bool:
        """Whether lines are smoothed."""
        return self._greys is not None

    @property
    def has_accent(self) -> bool:
        """Whether there is a second ink."""
        return self._palette.has_accent

    def ground(self) -> None:
        """What is drawn so far is the ground on a panel of greys, which `clear` brings back."""
        self._ground = None if self._greys is None else self._greys.copy()

    def lay(self, mask: Mask, code: int = INK) -> None:
        """Puts an ink wherever ``mask`` (bool, shape (height, width)) is true."""
        self.faint |= mask
        np.copyto(self._codes, np.uint8(code), where=mask)
        if self._greys is not None:
            np.copyto(self._greys, np.float32(self._light[code]), where=mask)

    def fill(self, box: Box, code: int = INK) -> None:
        """Puts an ink on the pixels of a box (left, top, width, height); what lies outside is cut off."""
        x, y, width, height = box
        part = (slice(max(0, y), max(0, y + height)), slice(max(0, x), max(0, x + width)))
        self._codes[part] = code
        if self._greys is not None:
            self._greys[part] = self._light[code]

    def tint(self, mask: Mask, pattern: Hatch, code: int = INK) -> None:
        """Lays a tint or hatch of an ink on an area; an even grey on a panel that shows greys."""
        np.copyto(self._codes, np.uint8(code), where=mask & hatch(self.size, pattern))
        if self._greys is not None:
            np.copyto(self._greys, np.float32(decoded(tint_rgb(self._palette, pattern)[0])), where=mask)

    def line(
        self,
        edges: Edges,
        *,
        line_px: float,
        code: int = INK,
        casing_px: float | None = None,
        within: Mask | None = None,
    ) -> None:
        """Draws edges ``line_px`` wide with round ends, on a casing of paper that is ``casing_px`` wider each side.

        A line with a casing, be it of no width, is one that names keep off. ``within``: where to draw, if not
        everywhere.
        """
        casing = casing_px or 0
        field = field_of(edges, self.size, reach_px=line_px / 2 + casing + _SOFT_PX)
        if within is not None:
            field.away_px[~within[field.rows, field.columns]] = np.inf
        if casing:
            self._put(field, line_px / 2 + casing, code=PAPER)
        kind = self.faint if casing_px is None else self.busy
        kind[field.rows, field.columns] |= field.away_px < line_px / 2 + casing
        self._put(field, line_px / 2, code=code)

    def hair(
        self,
        parts: Sequence[Part],
        *,
        code: int = INK,
        dash_px: tuple[int, int] | None = None,
        within: Mask | None = None,
    ) -> None:
        """Draws lines one pixel wide, dashed if asked, by the same rule as `line`."""
        if self.smooth:
            self.line(edges_along(parts, dash_px=dash_px), line_px=1, code=code, within=within)
            return
        mask = thin(parts, self.size, dash_px=dash_px)
        self.lay(mask if within is None else mask & within, code)

    def disc(self, at: tuple[float, float], *, across_px: float, code: int = INK) -> None:
        """A disc about a point (x, y)."""
        x, y = np.array([at[0]]), np.array([at[1]])
        self._put(
            field_of(Edges(x, y, x, y), self.size, reach_px=across_px / 2 + _SOFT_PX),
            across_px / 2,
            code=code,
        )

    def _put(self, field: Field, radius_px: float, *, code: int) -> None:
        part = (field.rows, field.columns)
        np.copyto(self._codes[part], np.uint8(code), where=field.away_px < radius_px)
        if self._greys is not None:
            share = np.clip(radius_px + _SOFT_PX - field.away_px, 0, 1)
            under = self._greys[part]
            under += (np.float32(self._light[code]) - under) * share

    def clear(self, box: Box) -> None:
        """Takes what was drawn in a box away again, but for lines with a casing; on greys, down to the ground.

        Type reads as well on an even light grey, and no box shows there.
        """
        x, y, width, height = box
        part = (slice(max(0, y), max(0, y + height)), slice(max(0, x), max(0, x + width)))
        gone = ~self.busy[part]
        self._codes[part][gone] = NOTHING
        if self._greys is not None and self._ground is not None:
            self._greys[part][gone] = self._ground[part][gone]

    def grid(self) -> Grid:
        """The map in ink codes, frozen."""
        return Grid(frozen_codes(self._codes))

    def greys(self) -> Codes | None:
        """For a panel that shows greys: 0 where the page shows through, else 1 (black) to 16 (white); frozen."""
        if self._greys is None:
            return None
        shown = np.asarray(_TABLE[(np.clip(self._greys, 0, 1) * _FINE + 0.5).astype(np.int16)])
        empty = (shown == _TABLE[round(self._light[PAPER] * _FINE)]) & (self._codes == NOTHING)
        return frozen_codes(np.where(empty, 0, shown + 1).astype(np.uint8))


_TABLE = coded(np.linspace(0, 1, _FINE + 1))
"""The step of sixteen (0 to 15) for each of 4096 linear lights."""
_TABLE.setflags(write=False)
