"""How near each way comes to a picture: mean CIEDE2000 after the eye's blur, and mean difference in lightness."""

from collections.abc import Callable, Iterator
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
from benchmarks import inks_ways as ways
from benchmarks.inks_eye import seen
from benchmarks.inks_pictures import PANELS, pictures
from benchmarks.inks_ways import Setting

from wallbill.inks import colour
from wallbill.inks.impression import Codes, Rgb
from wallbill.inks.manner import Way
from wallbill.panels.model import Tone

WAYS: MappingProxyType[str, Callable[[Rgb, Setting], Codes]] = MappingProxyType(
    {
        "usual": ways.usual,
        "best library": ways.best_library,
        "ImageMagick, usual": ways.magick_usual,
        "ImageMagick, linear, mapped": ways.magick_linear,
        "serpentine, linear, mapped": ways.serpentine,
        "quick": ways.ours(Way.QUICK),
        "quick, mixed": ways.ours(Way.QUICK, mixed=True),
        "diffused": ways.ours(Way.DIFFUSED),
        "fine": ways.ours(Way.FINE, compiled=True),
        "fine, mixed": ways.ours(Way.FINE, mixed=True, compiled=True),
    }
)


class Error(NamedTuple):
    """Mean error of a way: against the mapped picture, against the fitted one, and in lightness alone."""

    target: float
    original: float
    lightness: float


Measured = dict[tuple[str, str], Error]
"""By ink set and way."""


def _fits(way: str, setting: Setting) -> bool:
    """Whether a way says something of its own about a panel, and can be run here."""
    if way.startswith("ImageMagick"):
        return bool(ways.magick())
    coloured = setting.panel.tone is Tone.INKS and len(setting.panel.inks) > 3
    return coloured or not way.endswith("mixed")


def _errors(setting: Setting, given: tuple[tuple[str, Rgb], ...]) -> Iterator[tuple[str, Error]]:
    found: dict[str, list[Error]] = {way: [] for way in WAYS if _fits(way, setting)}
    for _, rgb in given:
        target, original = (seen(light) for light in setting.targets(rgb))
        for way, errors in found.items():
            made = seen(setting.lights[WAYS[way](rgb, setting)])
            errors.append(
                Error(
                    float(colour.ciede2000(made, target).mean()),
                    float(colour.ciede2000(made, original).mean()),
                    float(np.abs(made[..., 0] - original[..., 0]).mean()),
                )
            )
    for way, errors in found.items():
        yield way, Error(*np.mean(errors, axis=0))


def measure() -> Measured:
    """The mean errors over all pictures, every ink set and way: some minutes."""
    given = pictures()
    found: Measured = {}
    for name, panel in PANELS:
        for way, error in _errors(Setting(panel), given):
            found[name, way] = error
    return found


def report(found: Measured) -> list[str]:
    """The errors as a table: against the mapped picture / against the fitted one / in lightness."""
    names = [name for name, _ in PANELS]
    rows = [f"| way | {' | '.join(names)} |", "|" + " --- |" * (len(names) + 1)]
    for way in WAYS:
        cells = [found.get((name, way)) for name in names]
        if any(cells):
            told = (f"{e.target:.2f} / {e.original:.2f} / {e.lightness:.2f}" if e else "" for e in cells)
            rows.append(f"| {way} | {' | '.join(told)} |")
    if not ways.magick():
        rows.append("\nImageMagick is not installed here (Debian: imagemagick).")
    return rows
