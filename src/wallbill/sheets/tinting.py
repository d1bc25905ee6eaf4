"""Tints and hatches as sheets call them: values of CSS backgrounds."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from wallbill.blocks.drawing.patterns import STROKE_ARCMIN, pattern_of_hatch, pattern_of_tint
from wallbill.blocks.drawing.tiles import MOST_STROKE_PX, hatch_css, tint_css
from wallbill.sheets.bench import Bench


@dataclass(frozen=True, slots=True)
class Tints:
    """The functions of a sheet that fill a box with a pattern: ``style="background:{{ hatch('rising') }}"``."""

    bench: Bench

    @property
    def functions(self) -> Mapping[str, Callable[..., Any]]:
        """By the names that sheets call them by."""
        return {"tint": self.tint, "hatch": self.hatch}

    def tint(self, name: str, *, of: str = "ink") -> Markup:
        """An even tone by name, see `wallbill.blocks.drawing.patterns.TINTS`; ``of``: "ink" or "accent"."""
        return tint_css(pattern_of_tint(str(name)), self.bench.palette, of=of)

    def hatch(
        self, name: str, *, closeness: str = "open", stroke_px: int | None = None, of: str = "ink"
    ) -> Markup:
        """Lines or dots by name, see `wallbill.blocks.drawing.patterns.HATCHES`.

        ``closeness``: "open" or "close". ``stroke_px``: how wide the strokes are; else as wide as it takes for the
        patterns to be told apart from where the display is read.
        """
        stroke = (
            min(MOST_STROKE_PX, self.bench.sight.pixels(STROKE_ARCMIN)) if stroke_px is None else stroke_px
        )
        return hatch_css(
            pattern_of_hatch(str(name), closeness=closeness), self.bench.palette, stroke_px=stroke, of=of
        )
