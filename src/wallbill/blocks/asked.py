"""Checks of what a sheet asks a block for, told as faults of the sheet."""

import math

from wallbill.blocks.drawing.grid import MOST_PX
from wallbill.errors import SheetError
from wallbill.places.words import shown


def check_size(size_px: int, *, least_px: int, what: str) -> None:
    """Raises `SheetError` for a size below ``least_px`` or above what any drawing may have.

    ``what`` is drawn, with its article: "an icon".
    """
    if size_px < least_px:
        raise SheetError(
            f"{what} is at least {least_px} pixels wide, got {size_px}",
            mend=f"Write size_px={least_px} or more, or leave it out where the page is that small.",
        )
    if size_px > MOST_PX:
        raise SheetError(
            f"{what} is at most {MOST_PX} pixels wide, got {size_px}",
            mend=f"Write size_px={MOST_PX} or less.",
        )


def check_phase(phase: object) -> None:
    """Raises `SheetError` for a phase of the moon outside 0 to 1, or no number at all."""
    if not isinstance(phase, int | float) or not 0 <= phase <= 1:
        raise SheetError(
            f"the moon's phase goes from 0 to 1, got {shown(phase)}",
            mend="Hand it moon_phase of a source of kind sky: 0 is new, 0.5 full.",
        )


def check_direction(from_deg: object) -> None:
    """Raises `SheetError` for a direction that is no number of degrees."""
    if not isinstance(from_deg, int | float) or not math.isfinite(from_deg):
        raise SheetError(
            f"a direction is a number of degrees, got {shown(from_deg)}",
            mend="Hand it wind_from_deg of an hour: 0 is from the north, 90 from the east.",
        )
