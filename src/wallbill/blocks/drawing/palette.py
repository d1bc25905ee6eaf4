"""The colours that a block is drawn in: the CSS colours that a sheet writes to get a panel's inks."""

import re
from dataclasses import dataclass

from wallbill.blocks.drawing.grid import ACCENT, INK, MUTED, PAPER

_COLOUR = re.compile(r"#[0-9a-f]{6}")


@dataclass(frozen=True, slots=True)
class Palette:
    """CSS colours, each ``#rrggbb`` in lower case.

    ``ink``: the drawing's own. ``paper``: what shows through a knock-out, the ground under the block.
    ``accent``: the second ink, the same as ``ink`` on a panel that has none. ``muted``: for what should
    stand back, such as grid lines; a tint on a panel of few inks, the same as ``ink`` unless it is given.
    ``smooth``: the panel shows greys, so a block may smooth its edges.
    Raises ValueError for a colour in another notation.
    """

    ink: str = "#000000"
    paper: str = "#ffffff"
    accent: str = "#000000"
    muted: str = "#000000"
    smooth: bool = False

    def __post_init__(self) -> None:
        for name in ("ink", "paper", "accent", "muted"):
            colour = getattr(self, name)
            if not _COLOUR.fullmatch(colour):
                raise ValueError(f"{name} is a colour such as #1a2b3c in lower case, got {colour!r}")

    @property
    def has_accent(self) -> bool:
        """True where a second ink sets the accent off from the drawing."""
        return self.accent != self.ink

    def css(self, code: int) -> str:
        """The CSS colour of an ink code of `wallbill.blocks.drawing.grid`. Raises ValueError for any other code."""
        colours = {INK: self.ink, ACCENT: self.accent, PAPER: self.paper, MUTED: self.muted}
        if code not in colours:
            raise ValueError(f"no colour for code {code}: there are {sorted(colours)}")
        return colours[code]
