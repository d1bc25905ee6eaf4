"""QR codes on whole pixels (ISO/IEC 18004), always dark on light and never in a second ink."""

from functools import lru_cache

import numpy as np
import segno
from markupsafe import Markup

from wallbill.blocks.codes.scanning import dark_on_light, reading_distance
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


def qr(
    text: str,
    *,
    size_px: int | None = None,
    module_px: int | None = None,
    palette: Palette,
    level: str = "M",
) -> Markup:
    """A QR code as inline SVG with its quiet zone; the text is its text alternative.

    Give either ``size_px``, the side of the box, and the modules are as many whole pixels as fit with the rest
    left clear around them, or ``module_px``, the side of a module. ``level``: L, M, Q or H.
    Raises `SheetError` where the text does not fit, ValueError for both sizes or none.
    """
    grid = qr_grid(text, size_px=size_px, module_px=module_px, level=level)
    return to_svg(grid, dark_on_light(palette), title=text)


def qr_grid(text: str, *, size_px: int | None = None, module_px: int | None = None, level: str = "M") -> Grid:
    """The same code as ink codes: modules in `INK`, all the rest in `PAPER`."""
    module = qr_module_px(text, size_px=size_px, module_px=module_px, level=level)
    dark = _modules(text, level=level)
    side = size_px if size_px is not None else (dark.shape[0] + 2 * QUIET_MODULES) * module
    code = Grid(frozen_codes(np.where(dark, INK, PAPER))).enlarged(module)
    ground = Sketch(side, side).lay(~shapes.nothing((side, side)), PAPER).grid()
    at = (side - code.width_px) // 2
    return Sketch(side, side).stamp(ground).stamp(code, at=(at, at)).grid()


def qr_module_px(
    text: str, *, size_px: int | None = None, module_px: int | None = None, level: str = "M"
) -> int:
    """The side of a module in pixels: as given, or as large as fits into a box of ``size_px``.

    Raises `SheetError` where the text does not fit, ValueError for both sizes or none.
    """
    if (size_px is None) == (module_px is None):
        raise ValueError("a code has either a size_px or a module_px")
    least_px = qr_modules(text, level=level) + 2 * QUIET_MODULES
    module = module_px if size_px is None else size_px // least_px
    if module is None or module < 1:
        raise SheetError(
            f"a code of {least_px - 2 * QUIET_MODULES} modules does not fit into {size_px or 0} px: "
            f"it needs {least_px} px at 1 px a module",
            mend=f"Give it {least_px} px or more, or encode a shorter text{_lower(level)}.",
        )
    return module


def qr_modules(text: str, *, level: str = "M") -> int:
    """Modules along one side of the code for a text, without the quiet zone. Raises `SheetError`."""
    return int(_modules(text, level=level).shape[0])


def qr_reading_distance(
    modules: int, *, module_px: int, pitch_mm: float, distance_m: float, where: Place | None = None
) -> tuple[Finding, ...]:
    """Finding ``blocks.code-size`` where a code is too small to be scanned from ``distance_m``; else nothing.

    ``modules``: as from `qr_modules`. The rule: `wallbill.blocks.codes.scanning.reading_distance`.
    """
    return reading_distance(
        modules + 2 * QUIET_MODULES,
        module_px=module_px,
        pitch_mm=pitch_mm,
        distance_m=distance_m,
        where=where,
    )


@lru_cache(maxsize=64)  # one code is asked for its size, its modules and its picture
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
    dark = np.array([[module & 1 for module in row] for row in code.matrix], dtype=np.bool_)
    dark.setflags(write=False)
    return dark


def _lower(level: str) -> str:
    """The other way to make a code smaller, where there is one."""
    return "" if level == LEVELS[0] else f", or use a level below {level}"
