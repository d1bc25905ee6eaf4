"""The charts as sheets call them."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from markupsafe import Markup

from wallbill.blocks.charts.bars import WeatherUnits, weather_chart
from wallbill.blocks.charts.lines import Band, band_chart, line_chart, spark
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.errors import SheetError
from wallbill.facts.forecast import Forecast
from wallbill.facts.series import Series
from wallbill.sheets.bench import Bench, gap, is_gap
from wallbill.sheets.missing import Missing
from wallbill.sheets.sun import nights


@dataclass(frozen=True, slots=True)
class Charts:
    """The functions of a sheet that draw facts over time."""

    bench: Bench

    @property
    def functions(self) -> Mapping[str, Callable[..., Any]]:
        """By the names that sheets call them by."""
        return {
            "line_chart": self.line_chart,
            "band_chart": self.band_chart,
            "spark": self.spark,
            "weather_chart": self.weather_chart,
        }

    def spec(self, width_px: float, height_px: float, **how: Any) -> ChartSpec:
        """What a chart is asked to be, with the wall's wording and the display's colours."""
        bench = self.bench
        size = {name: round(value) for name, value in how.items() if name in {"label_px", "line_px"}}
        size.setdefault("label_px", bench.label_px(height_px))
        rest = {name: value for name, value in how.items() if name not in size}
        start, end = rest.get("start"), rest.get("end")
        if rest.pop("nights", False) and start and end:
            rest["nights"] = nights(start, end, bench.spot)
        rest.setdefault("value_label", bench.wording.number)
        rest.setdefault("day_label", partial(bench.wording.date, pattern="EEEd"))
        return ChartSpec(
            width_px=round(width_px),
            height_px=round(height_px),
            palette=bench.palette,
            ruler=bench.ruler,
            zone=bench.wording.zone,
            now=rest.pop("now", bench.now),
            **size,
            **rest,
        )

    def line_chart(self, series: Any, *, width_px: float, height_px: float, **how: Any) -> Markup:
        """One series or several of one unit as lines; see `wallbill.blocks.charts.lines.line_chart`."""
        known = series_of(series)
        if not known:
            return gap(round(width_px), round(height_px))
        how.setdefault("unit", known[0].unit)
        return line_chart(known, spec=self.spec(width_px, height_px, **how))

    def band_chart(
        self, low: Any, high: Any, *, width_px: float, height_px: float, middle: Any = None, **how: Any
    ) -> Markup:
        """The band between two series, with a line in it if there is a middle one."""
        known = [series_of(one)[:1] for one in (low, high, middle)]
        if not known[0] or not known[1]:
            return gap(round(width_px), round(height_px))
        band = Band(known[0][0], known[1][0], known[2][0] if known[2] else None)
        how.setdefault("unit", known[0][0].unit)
        return band_chart(band, spec=self.spec(width_px, height_px, **how))

    def spark(self, series: Any, *, width_px: float, height_px: float, **how: Any) -> Markup:
        """A series as a line with no axes."""
        known = series_of(series)
        if not known:
            return gap(round(width_px), round(height_px))
        return spark(known[0], spec=self.spec(width_px, height_px, **how))

    def weather_chart(self, forecast: Any, *, width_px: float, height_px: float, **how: Any) -> Markup:
        """Temperature, what falls, and the wind if asked (``wind=true``) of a forecast on one axis of time."""
        mend = "facts.NAME of a source of kind forecast"
        if is_gap(forecast, Forecast, block="a weather chart", mend=mend):
            return gap(round(width_px), round(height_px))
        units = WeatherUnits(
            temperature=self.bench.wording.units.get("temperature", "°C"), wind=bool(how.pop("wind", False))
        )
        return weather_chart(forecast, spec=self.spec(width_px, height_px, **how), units=units)


def series_of(given: Any) -> Sequence[Series]:
    """The series in what a sheet handed over. Raises `SheetError` for anything else than a series or a gap."""
    if given is None or isinstance(given, Missing):
        return ()
    listed = given if isinstance(given, Sequence) else (given,)
    known = [one for one in listed if isinstance(one, Series)]
    if len(known) + sum(1 for one in listed if one is None or isinstance(one, Missing)) < len(listed):
        raise SheetError(
            "a chart is made of series of readings",
            mend="Hand it facts.NAME of a source of kind series, or one of its members.",
        )
    return known
