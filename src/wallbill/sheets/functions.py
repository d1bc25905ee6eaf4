"""Every function that a sheet can call, bound to one display."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from wallbill.sheets.bench import Bench
from wallbill.sheets.charting import Charts
from wallbill.sheets.charting_more import MoreCharts
from wallbill.sheets.coding import Codes
from wallbill.sheets.daying import DayBlocks
from wallbill.sheets.drawings import Drawings
from wallbill.sheets.grammar import Grammar
from wallbill.sheets.lengths import calendar_days
from wallbill.sheets.mapping import Maps
from wallbill.sheets.picturing import Showing
from wallbill.sheets.tabling import Tables
from wallbill.sheets.tinting import Tints
from wallbill.units.sight import READABLE_ARCMIN


def functions(bench: Bench) -> Mapping[str, Callable[..., Any]]:
    """The functions by the names that sheets call them by."""
    sizes = Sizes(bench)
    return {
        "hours": lambda count: timedelta(hours=count),
        "days": calendar_days,
        "unit": sizes.unit,
        "readable_px": sizes.readable_px,
        **Drawings(bench).functions,
        **Codes(bench).functions,
        **Tints(bench).functions,
        **Charts(bench).functions,
        **MoreCharts(bench).functions,
        **Maps(bench).functions,
        **DayBlocks(bench).functions,
        **Grammar(bench).functions,
        **Showing(bench).functions,
        **Tables(bench).functions,
    }


@dataclass(frozen=True, slots=True)
class Sizes:
    """Sizes that go with the page and with where its reader stands."""

    bench: Bench

    def unit(self, columns: float, rows: float) -> int:
        """A whole number of pixels, at least 1, of which ``columns`` fit across the page and ``rows`` down it."""
        width_px, height_px = self.bench.size_px
        return max(1, int(min(width_px / columns, height_px / rows)))

    def readable_px(self, arcmin: float = READABLE_ARCMIN) -> int:
        """The least size of type whose capitals are seen under ``arcmin`` from the reader's place."""
        return self.bench.sight.type_px(arcmin)
