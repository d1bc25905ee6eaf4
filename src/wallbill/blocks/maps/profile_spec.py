"""What a height profile is asked to be."""

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from enum import StrEnum

from wallbill.blocks.charts.spec import LEAST_LABEL_PX
from wallbill.blocks.drawing.ruler import EvenLabelled, Guess, Ruler
from wallbill.blocks.maps.looks import pattern_of
from wallbill.blocks.maps.spec import Measure, word_of
from wallbill.errors import SheetError

_LEAST_PX = (80, 40)
_LEAST_PLOT_PX = 16


class Heights(StrEnum):
    """The unit of heights."""

    METRES = "m"
    FEET = "ft"

    @property
    def metres(self) -> float:
        """Metres of one unit, exact. Source: NIST SP 811, appendix B."""
        return 1.0 if self is Heights.METRES else 0.3048


def worded_number(value: float, digits: int) -> str:
    """A number to so many places, with a true minus sign."""
    text = f"{abs(value):.{digits}f}"
    return f"\N{MINUS SIGN}{text}" if value < 0 and float(text) else text


@dataclass(frozen=True, slots=True)
class ProfileSpec(EvenLabelled):
    """How a height profile is to look. Lengths in pixels.

    ``scale``: the unit of the way; ``heights``: that of heights. ``area`` fills what lies under the line, ``steep_area``
    the parts that are steeper than ``steep_percent``, if it is above 0: tints or hatches by their names.
    ``climb``: print what was climbed and descended. ``names``: name the places on the way. ``title``: the text
    alternative; if it is "", one is made of the figures; None marks decoration. ``number``: words a number with so many places.
    Raises `SheetError` for a size that holds no profile, or an unknown word.
    """

    width_px: int
    height_px: int
    label_px: int = 14
    line_px: int = 2
    scale: Measure = Measure.KM
    heights: Heights = Heights.METRES
    area: str = "light"
    steep_area: str = "half"
    steep_percent: float = 0.0
    climb: bool = True
    names: bool = True
    title: str | None = ""
    ruler: Ruler = field(default_factory=Guess)
    number: Callable[[float, int], str] = worded_number

    def __post_init__(self) -> None:
        if self.width_px < _LEAST_PX[0] or self.height_px < _LEAST_PX[1]:
            raise SheetError(
                f"a height profile is at least {_LEAST_PX[0]} x {_LEAST_PX[1]} pixels, "
                f"got {self.width_px} x {self.height_px}",
                mend="Give it more room.",
            )
        least_px = 4 * self.line_height_px + _LEAST_PLOT_PX
        if self.label_px >= LEAST_LABEL_PX and self.height_px < least_px:
            raise SheetError(
                f"with labels of {self.label_px} pixels a height profile is at least {least_px} high, got {self.height_px}",
                mend="Give it more room, or smaller labels by label_px.",
            )
        if self.label_px < LEAST_LABEL_PX or not 1 <= self.line_px <= 8:
            raise SheetError(
                f"labels are at least {LEAST_LABEL_PX} pixels, lines 1 to 8, got {self.label_px} and {self.line_px}",
                mend="Write label_px=14 and line_px=2, or leave them out.",
            )
        if not 0 <= self.steep_percent < math.inf:
            raise SheetError(
                f"steep_percent is a slope of 0 or more, not {self.steep_percent:g}",
                mend="Write steep_percent=10, or leave it out.",
            )
        object.__setattr__(self, "scale", word_of(Measure, self.scale, "scale"))
        object.__setattr__(self, "heights", word_of(Heights, self.heights, "heights"))
        if self.scale is Measure.NONE:
            raise SheetError(
                "a height profile needs a unit of its way", mend='Write scale="km", "mi" or "nmi".'
            )
        pattern_of(self.area)
        pattern_of(self.steep_area)

    def told(self, value: float, unit: str, digits: int = 0) -> str:
        """A value with its unit behind."""
        return f"{self.number(value, digits)}\N{NO-BREAK SPACE}{unit}"
