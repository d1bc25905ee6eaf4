"""The marks in a sheet's corners: small codes that say which corner, which sheet, which target.

Micro QR codes of version M2 (ISO/IEC 18004): 13 by 13 modules, ten digits. A photograph's reader of codes finds them
however the picture is turned.
"""

from dataclasses import dataclass

import numpy as np
import segno

from wallbill.inks.impression import Mask

MODULES = 13
QUIET_MODULES = 2
"""Clear modules on every side of a Micro QR code (ISO/IEC 18004, 'quiet zone', from memory)."""

CORNERS = (1, 2, 3, 4)
"""Left top, right top, right bottom, left bottom."""

BEFORE = 50
"""Added to the number of a sheet in the marks of what is shown before it."""

_DIGITS = 10**7


@dataclass(frozen=True, slots=True)
class Mark:
    """What a mark says: its corner (1 to 4), its sheet (from 1), and the last digits of the target's digest."""

    corner: int
    sheet: int
    target: int

    @property
    def text(self) -> str:
        """The ten digits."""
        return f"{self.corner}{self.sheet:02}{self.target:07}"


def target_number(digest: str) -> int:
    """The digits of a target's digest (hexadecimal) that its marks hold."""
    return int(digest[:12], 16) % _DIGITS


def read_mark(text: str) -> Mark | None:
    """The mark with this text, or None for a code that is no mark."""
    if len(text) != 10 or not text.isascii() or not text.isdigit() or int(text[0]) not in CORNERS:
        return None
    return Mark(int(text[0]), int(text[1:3]), int(text[3:]))


def modules(mark: Mark) -> Mask:
    """The modules of a mark, true where dark: bool (13, 13)."""
    code = segno.make_micro(mark.text, version="M2", error="L", mode="numeric")
    return np.array([[module & 1 for module in row] for row in code.matrix], dtype=np.bool_)
