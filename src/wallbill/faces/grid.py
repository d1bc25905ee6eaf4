"""From design units to the pixel grid."""

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Grid:
    """From design units to the pixel grid: ``size_px`` per em of ``units`` before, ``per_px`` units a pixel after."""

    size_px: int
    units: int
    per_px: int

    def whole(self, value: float) -> int:
        """A design length as whole pixels, in new units."""
        return math.floor(value * self.size_px / self.units + 0.5) * self.per_px


def units_per_px(size_px: int) -> int:
    """Font units a pixel: one, or as many as make 16 units per em, the least that OpenType allows (head table)."""
    return -(-16 // size_px) if size_px < 16 else 1
