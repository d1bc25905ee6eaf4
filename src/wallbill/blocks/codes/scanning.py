"""What every code needs to be scanned: dark on light, and modules large enough for the distance."""

import math

from wallbill.blocks.drawing.light import decoded, rgb
from wallbill.blocks.drawing.palette import Palette
from wallbill.errors import Place
from wallbill.findings import Finding

_WIDTHS_AWAY = 10
_USUAL_MODULES = 25
"""Common practice, no source: a code of 25 modules is scanned from up to ten times its width."""


def dark_on_light(palette: Palette) -> Palette:
    """Ink and paper alone, the darker of the two as ink: many readers cannot read a code light on dark."""
    if _luminance(palette.ink) <= _luminance(palette.paper):
        return Palette(ink=palette.ink, paper=palette.paper)
    return Palette(ink=palette.paper, paper=palette.ink)


def reading_distance(
    modules: int, *, module_px: int, pitch_mm: float, distance_m: float, where: Place | None = None
) -> tuple[Finding, ...]:
    """Finding ``blocks.code-size`` where a code is too small to be scanned from ``distance_m``; else nothing.

    ``modules``: across the code, its quiet zones included. A module is at least 1/250 of the distance: a code of 25
    modules can be scanned from about ten times its width, one of more from nearer in proportion (common practice,
    no source).
    """
    module_mm = module_px * pitch_mm
    least_mm = distance_m * 1000 / (_WIDTHS_AWAY * _USUAL_MODULES)
    if module_mm >= least_mm:
        return ()
    needed_px = math.ceil(least_mm / pitch_mm)
    reach_m = module_mm * _WIDTHS_AWAY * _USUAL_MODULES / 1000
    return (
        Finding(
            rule="blocks.code-size",
            where=where or Place(),
            what=f"the modules of a code are too small to be scanned from {distance_m:g} m",
            measured=f"{module_mm:.2f}",
            limit=f"{least_mm:.2f}",
            unit="mm",
            mend=(
                f"Draw modules of {needed_px} px (a code of {modules * needed_px} px), "
                f"or let people come as near as {reach_m:.1f} m."
            ),
        ),
    )


def _luminance(colour: str) -> float:
    """Relative luminance of a CSS colour, 0 to 1 (Web Content Accessibility Guidelines 2.2, from memory)."""
    linear = [decoded(code) for code in rgb(colour)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
