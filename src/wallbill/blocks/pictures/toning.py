"""Tones of a sheet's pictures by their names, told as a sheet's faults; what they do is `wallbill.inks.toning`'s."""

from wallbill.errors import SheetError
from wallbill.inks.toning import PRESETS, Tones
from wallbill.places.words import did_you_mean


def tones_of(name: str) -> Tones:
    """The preset of that name. Raises `SheetError` for one that is none."""
    if name not in PRESETS:
        raise SheetError(f"there is no tone {name!r}", mend=did_you_mean(str(name), tuple(PRESETS)))
    return PRESETS[name]
