"""Every function that a sheet can call, bound to one display."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import timedelta
from functools import cache
from importlib import import_module
from types import MappingProxyType
from typing import Any

from wallbill.sheets.asking import Asking
from wallbill.sheets.bench import Bench
from wallbill.sheets.lengths import calendar_days
from wallbill.units.sight import READABLE_ARCMIN

BLOCKS = MappingProxyType(
    {
        "drawings:Drawings": ("sun_is_up", "icon", "moon", "wind_arrow", "sign", "alert_icon", "own_sign"),
        "coding:Codes": (
            *("qr", "barcode"),
            *("wifi_text", "contact_text", "geo_text", "mail_text", "phone_text"),
        ),
        "tinting:Tints": ("tint", "hatch"),
        "charting:Charts": ("line_chart", "band_chart", "spark", "weather_chart"),
        "charting_more:MoreCharts": (
            *("step_chart", "area_chart", "dot_chart", "scatter", "state_strip", "bar_chart", "bar_rows"),
            *("stacked_bars", "stacked_rows", "range_rows", "box_rows", "histogram"),
            *("wind_barb", "wind_barbs"),
        ),
        "mapping:Maps": ("travel_map", "places_map", "height_profile"),
        "daying:DayBlocks": (
            *("day_strip", "month_calendar", "agenda_strip", "week_strip", "big_number"),
            *("countdown", "days_until", "in_days"),
        ),
        "grammar:Grammar": ("vega_lite",),
        "picturing:Showing": ("picture",),
        "tabling:Tables": ("table", "fitted_list", "fitted_text"),
    }
)
"""Where each function is: module and class of this room. A module is loaded when a sheet calls for it."""


def functions(bench: Bench) -> Mapping[str, Callable[..., Any]]:
    """The functions by the names that sheets call them by."""
    sizes = Sizes(bench)
    asking = Asking(bench.wording.zone)

    @cache
    def family(place: str) -> Mapping[str, Callable[..., Any]]:
        module, name = place.split(":")
        found: Mapping[str, Callable[..., Any]] = getattr(import_module(f"wallbill.sheets.{module}"), name)(
            bench
        ).functions
        return {each: asking.checked(each, function) for each, function in found.items()}

    def late(place: str, name: str) -> Callable[..., Any]:
        def call(*args: Any, **how: Any) -> Any:
            return family(place)[name](*args, **how)

        return call

    own: dict[str, Callable[..., Any]] = {
        "hours": lambda count: timedelta(hours=count),
        "days": calendar_days,
        "unit": sizes.unit,
        "readable_px": sizes.readable_px,
    }
    return {
        **{name: asking.checked(name, function) for name, function in own.items()},
        **{name: late(place, name) for place, names in BLOCKS.items() for name in names},
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
