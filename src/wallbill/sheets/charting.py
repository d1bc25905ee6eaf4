"""The charts as sheets call them."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import date, datetime, time, tzinfo
from decimal import Decimal
from functools import partial
from typing import Any

from markupsafe import Markup

from wallbill.blocks.charts.lines import Band, band_chart, line_chart, spark
from wallbill.blocks.charts.readings import is_number
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.charts.timeaxis import first_instant
from wallbill.blocks.charts.weather import WeatherUnits, weather_chart
from wallbill.blocks.charts.words import words_of
from wallbill.errors import SheetError
from wallbill.facts.forecast import Forecast
from wallbill.facts.series import Series
from wallbill.places.words import did_you_mean
from wallbill.sheets.bench import Bench, gap, is_gap
from wallbill.sheets.missing import Missing
from wallbill.sheets.sun import nights
from wallbill.units.quantity import UNITS, Quantity
from wallbill.units.wording import Wording

_USUAL_PLACES = 3  # after the decimal sign, which every number may have


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

    def spec(self, width_px: float, height_px: float, *, block: str, **how: Any) -> ChartSpec:
        """What a chart is asked to be, with the wall's wording and the display's colours.

        ``block``: the chart's name with its article, for what is to be said about it. A gap in ``how`` counts as unsaid.
        Raises `SheetError` for an option that is unknown, or a value that no chart can have.
        """
        bench, wording = self.bench, self.bench.wording
        said = _said(how)
        check_options(said, block=block)
        label_px = round(said.pop("label_px", bench.label_px(height_px)))
        bench.check_type(label_px, block=block)
        for name in ("start", "end", "now"):
            if name in said:
                said[name] = moment_of(said[name], wording.zone, name=name)
        if said.pop("nights", False) and "start" in said and "end" in said:
            said["nights"] = nights(said["start"], said["end"], bench.spot)
        if "line_px" in said:
            said["line_px"] = round(said["line_px"])
        unit = str(said.get("unit", ""))
        said["thresholds"] = levels(said.get("thresholds", ()), unit)
        said["include"] = tuple(value for value, _ in levels(said.get("include", ()), unit))
        defaults: dict[str, Any] = {
            "now": bench.now,
            "value_label": partial(number_label, wording),
            **time_labels(wording),
            "amount_label": partial(amount_label, wording),
            "moment_label": partial(moment_label, wording),
        }
        try:
            return ChartSpec(
                width_px=round(width_px),
                height_px=round(height_px),
                label_px=label_px,
                palette=bench.palette,
                ruler=bench.ruler,
                zone=wording.zone,
                words=words_of(wording.language),
                **{**defaults, **said},
            )
        except ValueError as fault:
            raise SheetError(f"{block}: {fault}", mend="Write a size that holds a chart.") from fault

    def line_chart(self, series: Any, *, width_px: float, height_px: float, **how: Any) -> Markup:
        """One series or several of one unit as lines; see `wallbill.blocks.charts.lines.line_chart`."""
        known = series_of(series)
        if not known:
            return gap(round(width_px), round(height_px))
        how = {"unit": known[0].unit, **_said(how)}
        check_units(known, block="a line chart")
        return line_chart(known, spec=self.spec(width_px, height_px, block="a line chart", **how))

    def band_chart(
        self, low: Any, high: Any, *, width_px: float, height_px: float, middle: Any = None, **how: Any
    ) -> Markup:
        """The band between two series, with a line in it if there is a middle one."""
        known = [series_of(one)[:1] for one in (low, high, middle)]
        if not known[0] or not known[1]:
            return gap(round(width_px), round(height_px))
        band = Band(known[0][0], known[1][0], known[2][0] if known[2] else None)
        how = {"unit": known[0][0].unit, **_said(how)}
        check_units([one for some in known for one in some], block="a band chart")
        return band_chart(band, spec=self.spec(width_px, height_px, block="a band chart", **how))

    def spark(self, series: Any, *, width_px: float, height_px: float, **how: Any) -> Markup:
        """A series as a line with no axes."""
        known = series_of(series)
        if not known:
            return gap(round(width_px), round(height_px))
        return spark(known[0], spec=self.spec(width_px, height_px, block="a spark", **how))

    def weather_chart(self, forecast: Any, *, width_px: float, height_px: float, **how: Any) -> Markup:
        """Temperature, what falls, and the wind if asked (``wind=true``) of a forecast on one axis of time."""
        mend = "facts.NAME of a source of kind forecast"
        if is_gap(forecast, Forecast, block="a weather chart", mend=mend):
            return gap(round(width_px), round(height_px))
        wording = self.bench.wording
        units = WeatherUnits(
            temperature=wording.units.get("temperature", "°C"),
            rain_label=lambda amount: wording.quantity(Quantity(amount, "mm"), 1, unit="mm"),
            wind=bool(how.pop("wind", False)),
        )
        spec = self.spec(width_px, height_px, block="a weather chart", **how)
        return weather_chart(forecast, spec=spec, units=units)


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


_OPTIONS = frozenset(one.name for one in fields(ChartSpec)) - {"palette", "ruler", "zone", "words"}


def check_options(said: Mapping[str, Any], *, block: str) -> None:
    """Raises `SheetError` for the name of an option that no chart has."""
    for name in said:
        if name not in _OPTIONS:
            raise SheetError(
                f"{block} has no option {name!r}",
                mend=did_you_mean(name, _OPTIONS),
            )


def check_units(known: Sequence[Series], *, block: str) -> None:
    """Raises `SheetError` for series of more than one unit, which no single scale can show."""
    units = list(dict.fromkeys(one.unit for one in known))
    if len(units) > 1:
        raise SheetError(
            f"{block} has one scale, and these series have the units {' and '.join(units)}",
            mend="Draw a chart for each unit.",
        )


def moment_of(given: Any, zone: tzinfo, *, name: str) -> datetime:
    """A moment from what a sheet wrote: itself, or the first instant of a date in the wall's zone.

    Raises `SheetError` for anything else.
    """
    if isinstance(given, datetime):
        return given if given.tzinfo else given.replace(tzinfo=zone)
    if isinstance(given, date):
        return first_instant(given, zone)
    raise SheetError(
        f"{name} is a moment, got {given!r}", mend="Write it as now + hours(48), or hand it a date."
    )


def levels(given: Any, unit: str) -> list[tuple[float, str]]:
    """Levels with their names from a list of numbers, quantities, and pairs of one of these and a name.

    Gaps are left out, and what is no finite number. Quantities are told in ``unit``.
    Raises `SheetError` for anything else.
    """
    found = []
    for one in given if isinstance(given, Sequence) and not isinstance(given, str) else (given,):
        value, name = one if isinstance(one, Sequence) and len(one) == 2 else (one, "")
        if isinstance(value, Quantity):
            value = value.to(unit).value if unit else value.value
        if _is_gap(value):
            continue
        if not isinstance(value, int | float):
            raise SheetError(
                f"a level is a number, or a number and a name, got {one!r}",
                mend='Write them as [[5, "frost watch"], 30].',
            )
        if is_number(value):
            found.append((float(value), "" if _is_gap(name) else str(name)))
    return found


def number_label(wording: Wording, value: float) -> str:
    """A number in the wall's figures, with as many places as it has."""
    exponent = Decimal(repr(value)).as_tuple().exponent
    places = -exponent if isinstance(exponent, int) else 0
    return wording.number(value, places if places > _USUAL_PLACES else None)


def time_labels(wording: Wording) -> dict[str, Callable[[datetime], str]]:
    """How an axis of time is worded: hours by the language's clock of 12 or 24, days, dates, months and years."""
    labels: dict[str, Callable[[datetime], str]] = {
        "day_label": partial(wording.date, pattern="EEEd"),
        "date_label": partial(wording.date, pattern="MMMd"),
        "month_label": partial(wording.date, pattern="LLL"),
        "year_label": partial(wording.date, pattern="y"),
    }
    if "13" not in wording.time(time(13)):
        labels["hour_label"] = lambda local: (
            wording.date(local, "j") if local.minute == 0 else wording.time(local)
        )
    return labels


def amount_label(wording: Wording, value: float, unit: str) -> str:
    """A number with its unit in the wall's words; with the sign as it stands where it is no known unit."""
    if unit not in UNITS:
        return f"{number_label(wording, value)} {unit}".rstrip()
    return wording.quantity(Quantity(value, unit), None, unit=unit)


def moment_label(wording: Wording, local: datetime) -> str:
    """Date and time of a moment."""
    return f"{wording.date(local, 'MMMEd')}, {wording.time(local)}"


def _said(how: Mapping[str, Any]) -> dict[str, Any]:
    """The options that are no gaps."""
    return {name: value for name, value in how.items() if not _is_gap(value)}


def _is_gap(value: object) -> bool:
    return value is None or isinstance(value, Missing)
