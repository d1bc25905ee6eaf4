"""Tones of a sheet's pictures by their names; what they do is worked out where inks are, see `wallbill.inks.toning`."""

from wallbill.errors import SheetError
from wallbill.inks.toning import PRESETS, USUAL, Tones, blurred, toned
from wallbill.places.words import did_you_mean

__all__ = ["PRESETS", "USUAL", "Tones", "blurred", "toned", "tones_of"]


def tones_of(name: str) -> Tones:
    """The preset of that name. Raises `SheetError` for one that is none."""
    if name not in PRESETS:
        raise SheetError(f"there is no tone {name!r}", mend=did_you_mean(str(name), tuple(PRESETS)))
    return PRESETS[name]
