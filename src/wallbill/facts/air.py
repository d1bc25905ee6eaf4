"""Indices that tell people whether to go out: ultraviolet light, and the air quality of the United States."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_DOWN, ROUND_HALF_UP, Decimal
from enum import StrEnum
from math import isfinite
from types import MappingProxyType
from typing import NamedTuple


class UvBand(StrEnum):
    """The exposure categories of the ultraviolet index."""

    LOW = "low"
    MODERATE = "moderate"
    HIGH = "high"
    VERY_HIGH = "very-high"
    EXTREME = "extreme"


def uv_band(index: float) -> UvBand:
    """The category of an ultraviolet index, rounded to a whole number first, a half upwards.

    Source: "Global Solar UV Index: A Practical Guide", WHO, WMO, UNEP, ICNIRP, 2002. Raises ValueError for what is
    below nought or no number.
    """
    whole = _rounded(_decimal(index))
    steps = ((2, UvBand.LOW), (5, UvBand.MODERATE), (7, UvBand.HIGH), (10, UvBand.VERY_HIGH))
    return next((band for most, band in steps if whole <= most), UvBand.EXTREME)


def uv_index(irradiance_w_m2: float) -> float:
    """The ultraviolet index of an erythemally weighted irradiance in W/m²: forty times it.

    Source: the same guide (from memory). Raises ValueError for what is below nought or no number.
    """
    return float(_decimal(irradiance_w_m2) * 40)


class Pollutant(StrEnum):
    """A pollutant of the US air quality index, with the time that its concentration is the mean of."""

    PM2_5 = "pm2.5"
    """Fine dust, mean of 24 h or NowCast, in µg/m³."""
    PM10 = "pm10"
    """Dust, mean of 24 h or NowCast, in µg/m³."""
    OZONE_8H = "ozone-8h"
    """Ozone, mean of 8 h, in ppm; above 0.200 ppm the mean of 1 h decides, and this one gives 300."""
    OZONE_1H = "ozone-1h"
    """Ozone, mean of 1 h, in ppm; has an index from 0.125 ppm only."""
    CARBON_MONOXIDE = "carbon-monoxide"
    """Mean of 8 h, in ppm."""
    SULPHUR_DIOXIDE = "sulphur-dioxide"
    """Mean of 1 h, in ppb; above 304 ppb a mean of 24 h decides, and this one gives 200."""
    NITROGEN_DIOXIDE = "nitrogen-dioxide"
    """Mean of 1 h, in ppb."""


class AirBand(StrEnum):
    """The six categories of the US air quality index."""

    GOOD = "good"
    MODERATE = "moderate"
    UNHEALTHY_FOR_SENSITIVE_GROUPS = "unhealthy-for-sensitive-groups"
    UNHEALTHY = "unhealthy"
    VERY_UNHEALTHY = "very-unhealthy"
    HAZARDOUS = "hazardous"

    @property
    def gravity(self) -> int:
        """0 good to 5 hazardous."""
        return tuple(AirBand).index(self)


class _Scale(NamedTuple):
    """``step``: what concentrations are cut to. ``tops``: the highest concentration of each row of the table."""

    step: str
    tops: tuple[str | None, ...]
    lowest: str = "0"


_ROWS = (50, 100, 150, 200, 300, 500)
"""The highest index of each row; the two hazardous rows, 301 to 500, lie on one line."""

_SCALES = MappingProxyType(
    {
        Pollutant.PM2_5: _Scale("0.1", ("9.0", "35.4", "55.4", "125.4", "225.4", "325.4")),
        Pollutant.PM10: _Scale("1", ("54", "154", "254", "354", "424", "604")),
        Pollutant.OZONE_8H: _Scale("0.001", ("0.054", "0.070", "0.085", "0.105", "0.200", None)),
        Pollutant.OZONE_1H: _Scale("0.001", (None, "0.124", "0.164", "0.204", "0.404", "0.604"), "0.125"),
        Pollutant.CARBON_MONOXIDE: _Scale("0.1", ("4.4", "9.4", "12.4", "15.4", "30.4", "50.4")),
        Pollutant.SULPHUR_DIOXIDE: _Scale("1", ("35", "75", "185", "304", None, None)),
        Pollutant.NITROGEN_DIOXIDE: _Scale("1", ("53", "100", "360", "649", "1249", "2049")),
    }
)
"""Breakpoints: EPA-454/B-24-002, May 2024, table 6; 40 CFR part 58, appendix G."""


@dataclass(frozen=True, slots=True)
class AirQuality:
    """An index, 0 to 500, and the pollutant that it is due to. The table's end stands for all that is worse, too."""

    index: int
    pollutant: Pollutant

    @property
    def band(self) -> AirBand:
        """The category of the index."""
        return air_band(self.index)


def air_band(index: int) -> AirBand:
    """The category of a US air quality index. Source: EPA-454/B-24-002, table 1."""
    return next((band for band, top in zip(AirBand, _ROWS, strict=True) if index <= top), AirBand.HAZARDOUS)


def air_quality(pollutant: Pollutant, concentration: float) -> AirQuality | None:
    """The US air quality index of one pollutant; None for little ozone of one hour, for which there is none.

    ``concentration``: in the unit and over the time that `Pollutant` says. It is cut, not rounded, to the table's
    decimals, laid on the straight line between the row's ends, and rounded to a whole number, a half upwards; all in
    decimal, since 0.078 ppm of ozone is exactly 125.5. Source: EPA-454/B-24-002, part IV. Raises ValueError for a
    concentration that is below nought or no number.
    """
    scale = _SCALES[pollutant]
    step = Decimal(scale.step)
    cut = _decimal(concentration).quantize(step, ROUND_DOWN)
    if cut < Decimal(scale.lowest):
        return None
    start, first, last = Decimal(0), 0, 0
    for top, high in zip(scale.tops, _ROWS, strict=True):
        if top is not None and cut <= Decimal(top):
            share = (cut - start) / (Decimal(top) - start)
            return AirQuality(_rounded((high - first) * share + first), pollutant)
        if top is not None:
            start, last = Decimal(top) + step, high
        first = high + 1
    return AirQuality(last, pollutant)


def worst_air(concentrations: Mapping[Pollutant, float]) -> AirQuality | None:
    """The air quality of several pollutants: the highest of their indices; None if none has one.

    Source: EPA-454/B-24-002, part IV.
    """
    found = [air_quality(pollutant, value) for pollutant, value in concentrations.items()]
    return max((one for one in found if one is not None), key=lambda one: one.index, default=None)


def nowcast(hourly_ug_m3: Sequence[float | None]) -> float | None:
    """The NowCast of fine or coarse dust in µg/m³, from up to twelve hourly means, the newest first; None: a gap.

    Each hour back weighs w times the one after it, w = lowest / highest of the hours, at least one half. None unless
    two of the newest three hours are known. Not for ozone, whose NowCast is another method. The result is cut to
    tenths by `air_quality`. Source: EPA-454/B-24-002, "How the NowCast is calculated". Raises ValueError for an hour
    that is below nought or no number.
    """
    hours = list(hourly_ug_m3)[:12]
    if sum(value is not None for value in hours[:3]) < 2:
        return None
    known = [(age, float(_decimal(value))) for age, value in enumerate(hours) if value is not None]
    lowest, highest = min(value for _, value in known), max(value for _, value in known)
    weight = max(lowest / highest, 0.5) if highest > 0 else 1.0
    return sum(value * weight**age for age, value in known) / sum(weight**age for age, _ in known)


def _decimal(value: float) -> Decimal:
    """The number as a person would write it: the float's noise beyond nine decimals is rounded away."""
    if not (isfinite(value) and value >= 0):
        raise ValueError(f"{value} is no amount")
    return Decimal(repr(value)).quantize(Decimal("1e-9"), ROUND_HALF_UP)


def _rounded(value: Decimal) -> int:
    return int(value.quantize(Decimal(1), ROUND_HALF_UP))
