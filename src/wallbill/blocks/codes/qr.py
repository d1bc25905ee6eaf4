"""QR codes on whole pixels (ISO/IEC 18004), always dark on light and never in a second ink."""

import math

import numpy as np
import segno
from markupsafe import Markup

from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import INK, PAPER, Grid, Sketch
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.svg import to_svg
from wallbill.errors import Place, SheetError
from wallbill.findings import Finding
from wallbill.inks.impression import Mask, frozen_codes

QUIET_MODULES = 4
"""Clear modules on every side (ISO/IEC 18004, 'quiet zone', from memory)."""

LEVELS = ("L", "M", "Q", "H")
"""Levels of error correction: about 7, 15, 25 and 30 of a hundred codewords can be restored (ISO/IEC 18004)."""

_WIDTHS_AWAY = 10
_USUAL_MODULES = 25
"""Common practice, no source: a code of 25 modules is scanned from up to ten times its width."""


def qr(
    text: str, *, size_px: int | None = None, module_px: int | None = None, palette: Palette, level: str = "M"
) -> Markup:
    """A QR code as inline SVG with its quiet zone; the text is its text alternative.

    Give either ``size_px``, the side of the box, and the modules are as many whole pixels as fit with the rest
    left clear around them, or ``module_px``, the side of a module. ``level``: L, M, Q or H.
    Raises `SheetError` where the text does not fit, ValueError for both sizes or none.
    """
    grid = qr_grid(text, size_px=size_px, module_px=module_px, level=level)
    return to_svg(grid, _dark_on_light(palette), title=text)


def qr_grid(text: str, *, size_px: int | None = None, module_px: int | None = None, level: str = "M") -> Grid:
    """The same code as ink codes: modules in `INK`, all the rest in `PAPER`."""
    dark = _modules(text, level=level)
    least_px = dark.shape[0] + 2 * QUIET_MODULES
    if (size_px is None) == (module_px is None):
        raise ValueError("a code has either a size_px or a module_px")
    if size_px is None:
        module = module_px or 0
        side = least_px * module
    else:
        module = size_px // least_px
        side = size_px
    if module < 1:
        raise SheetError(
            f"a code of {dark.shape[0]} modules does not fit into {side} px: it needs {least_px} px at 1 px a module",
            mend=f"Give it {least_px} px or more, or encode a shorter text{_lower(level)}.",
        )
    code = Grid(frozen_codes(np.where(dark, INK, PAPER))).enlarged(module)
    ground = Sketch(side, side).lay(~shapes.nothing((side, side)), PAPER).grid()
    at = (side - code.width_px) // 2
    return Sketch(side, side).stamp(ground).stamp(code, at=(at, at)).grid()


def qr_modules(text: str, *, level: str = "M") -> int:
    """Modules along one side of the code for a text, without the quiet zone. Raises `SheetError`."""
    return int(_modules(text, level=level).shape[0])


def qr_reading_distance(
    modules: int, *, module_px: int, pitch_mm: float, distance_m: float, where: Place | None = None
) -> tuple[Finding, ...]:
    """Finding ``blocks.code-size`` where a code is too small to be scanned from ``distance_m``; else nothing.

    ``modules``: as from `qr_modules`. A code can be scanned from about ten times its width when it has 25
    modules, nearer in proportion when it has more (common practice, no source): a module is at least 1/250 of
    the distance.
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
                f"Draw modules of {needed_px} px (a code of {(modules + 2 * QUIET_MODULES) * needed_px} px), "
                f"or let people come as near as {reach_m:.1f} m."
            ),
        ),
    )


def _modules(text: str, *, level: str) -> Mask:
    """The code's modules, true where dark, without the quiet zone."""
    if level not in LEVELS:
        raise ValueError(f"a level of error correction is one of {', '.join(LEVELS)}, got {level!r}")
    if not text:
        raise SheetError("a code has no text", mend="Give the text or address that the code is to hold.")
    try:
        # Plain UTF-8 where the text is more than ASCII: readers recognise it, and many do not know the marker
        # for other encodings (common practice, no source).
        code = segno.make(text, error=level, micro=False, boost_error=False, encoding="utf-8", eci=False)
    except segno.DataOverflowError as error:
        raise SheetError(
            f"a text of {len(text.encode())} bytes does not fit into any code at level {level}",
            mend=f"Encode a shorter text{_lower(level)}.",
        ) from error
    return np.array([[module & 1 for module in row] for row in code.matrix], dtype=np.bool_)


def _lower(level: str) -> str:
    """The other way to make a code smaller, where there is one."""
    return "" if level == LEVELS[0] else f", or use a level below {level}"


def _dark_on_light(palette: Palette) -> Palette:
    """The palette with the darker of ink and paper as ink: many readers cannot read a code light on dark."""
    if _luminance(palette.ink) <= _luminance(palette.paper):
        return palette
    return Palette(ink=palette.paper, paper=palette.ink)


def _luminance(colour: str) -> float:
    """Relative luminance of a CSS colour, 0 to 1 (Web Content Accessibility Guidelines 2.2, from memory)."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
