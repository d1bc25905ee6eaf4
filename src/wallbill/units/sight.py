"""Angles of sight: how large a thing must be on a panel to be read from where its reader stands."""

import math
from dataclasses import dataclass

COMFORTABLE_ARCMIN = 16.0
"""Height of a capital that reads well: NUREG-0700 rev 2, 1.3.1-4, and ISO 9241-3 (as quoted) give it as the least for text."""

READABLE_ARCMIN = 10.0
"""Height of a capital that is just read from a sign: 25 to 30 feet an inch, a chart of a sign council of 1998."""

LEAST_ARCMIN = 5.0
"""Height of the smallest letter that an eye of 20/20 (6/6) tells from others: the definition of Snellen's chart."""

_CAPITAL_EM = 0.7
"""Height of a capital in a face's size: 0.66 to 0.73 in common text faces; common practice, no source."""


def height_mm(distance_m: float, arcmin: float) -> float:
    """Height that is seen under an angle from a distance: h = 2 d tan(a / 2)."""
    return 2000 * distance_m * math.tan(math.radians(arcmin / 60) / 2)


def angle_arcmin(distance_m: float, tall_mm: float) -> float:
    """The angle under which a height is seen: the inverse of `height_mm`."""
    return math.degrees(2 * math.atan(tall_mm / (2000 * distance_m))) * 60


@dataclass(frozen=True, slots=True)
class Sight:
    """A panel seen from its reader's place: distance from pixel to pixel, and from the panel to the eye."""

    pitch_mm: float
    read_from_m: float

    def pixels(self, arcmin: float) -> int:
        """The fewest whole pixels that are seen under at least this angle; at least 1."""
        return max(1, math.ceil(height_mm(self.read_from_m, arcmin) / self.pitch_mm - 1e-9))

    def type_px(self, arcmin: float) -> int:
        """The least size of type (its em) whose capitals are seen under at least this angle."""
        return max(1, math.ceil(height_mm(self.read_from_m, arcmin) / self.pitch_mm / _CAPITAL_EM - 1e-9))

    def capital_arcmin(self, size_px: float) -> float:
        """The angle under which the capitals of type of this size are seen."""
        return angle_arcmin(self.read_from_m, size_px * _CAPITAL_EM * self.pitch_mm)
