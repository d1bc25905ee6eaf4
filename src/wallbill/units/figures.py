"""Numbers, percentages and numbers with units in the figures of a language (Unicode CLDR, through Babel)."""

from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Decimal
from math import isfinite
from types import MappingProxyType
from typing import Literal

from babel.numbers import format_decimal, format_percent
from babel.units import format_unit

from wallbill.errors import WallbillError
from wallbill.units.locales import Tongue
from wallbill.units.patterns import fraction_digits
from wallbill.units.quantity import UNITS

NBSP = "\N{NO-BREAK SPACE}"
NNBSP = "\N{NARROW NO-BREAK SPACE}"

MOST_DIGITS = 3
"""Digits after the decimal sign of a number whose digits are not said; the CLDR's own limit."""

_CLDR_UNITS = MappingProxyType(
    {
        "K": "temperature-kelvin",
        "°C": "temperature-celsius",
        "°F": "temperature-fahrenheit",
        "m/s": "speed-meter-per-second",
        "km/h": "speed-kilometer-per-hour",
        "kn": "speed-knot",
        "mph": "speed-mile-per-hour",
        "hPa": "pressure-hectopascal",
        "inHg": "pressure-inch-ofhg",
        "mmHg": "pressure-millimeter-ofhg",
        "m": "length-meter",
        "mm": "length-millimeter",
        "cm": "length-centimeter",
        "km": "length-kilometer",
        "in": "length-inch",
        "ft": "length-foot",
        "mi": "length-mile",
        "nmi": "length-nautical-mile",
        "s": "duration-second",
        "min": "duration-minute",
        "h": "duration-hour",
        "d": "duration-day",
        "W": "power-watt",
        "kW": "power-kilowatt",
        "kWh": "energy-kilowatt-hour",
        "V": "electric-volt",
        "A": "electric-ampere",
        "mA": "electric-milliampere",
        "kPa": "pressure-kilopascal",
        "bar": "pressure-bar",
        "Hz": "frequency-hertz",
        "kg": "mass-kilogram",
        "g": "mass-gram",
        "l": "volume-liter",
        "m³": "volume-cubic-meter",
        "lx": "light-lux",
        "°": "angle-degree",
    }
)

Length = Literal["long", "short", "narrow"]

LENGTHS: Mapping[str, Length] = MappingProxyType({"long": "long", "short": "short", "narrow": "narrow"})
"""The width words of a unit."""


def rounded(value: float | Decimal | None, digits: int | None) -> Decimal | None:
    """A number at ``digits`` after the decimal sign (None: three); None for one that is missing or not finite.

    Halves go away from nought, and there is no negative nought.
    """
    if value is None or not isfinite(value):
        return None
    exact = value if isinstance(value, Decimal) else Decimal(repr(value))
    step = Decimal(1).scaleb(-(MOST_DIGITS if digits is None else digits))
    near = exact.quantize(step, rounding=ROUND_HALF_UP)
    return abs(near) if near == 0 else near


def number_text(tongue: Tongue, value: Decimal, digits: int | None) -> str:
    """A rounded number with the language's separators and minus sign."""
    text = format_decimal(
        value, format=_pattern(tongue, digits), locale=tongue.locale, numbering_system=_numbering(tongue)
    )
    return tongue.signed(text)


def percent_text(tongue: Tongue, per_cent: Decimal, digits: int | None) -> str:
    """A rounded percentage, 26 being 26 %, with the language's sign and spacing; no line breaks in it."""
    pattern = fraction_digits(str(tongue.locale.percent_formats[None].pattern), _range(digits))
    text = format_percent(
        per_cent / 100, format=pattern, locale=tongue.locale, numbering_system=_numbering(tongue)
    )
    return tongue.signed(text).replace(" ", NBSP)


def unit_text(tongue: Tongue, value: Decimal, sign: str, *, digits: int | None, width: str) -> str:
    """A rounded number with its unit; the sign itself where the CLDR has no such unit. No line breaks in it.

    A narrow temperature has the degree sign alone. Where the CLDR's short form of a temperature spells the degree
    out, its narrow form is taken. Raises `WallbillError` for an unknown width.
    """
    if width not in LENGTHS:
        raise WallbillError(f"unknown width {width!r}", mend=f"Use {', '.join(LENGTHS)}.")
    if width == "narrow" and UNITS[sign].kind == "temperature" and sign != "K":
        return f"{number_text(tongue, value, digits)}°"
    name = _CLDR_UNITS.get(sign)
    for length in (width, "short", "narrow"):
        text = (
            None if name is None else _cldr_text(tongue, value, name, digits=digits, length=LENGTHS[length])
        )
        spelt_out = length == "short" and sign in {"°C", "°F"} and text is not None and "°" not in text
        if text is not None and not spelt_out:
            return text
    return f"{number_text(tongue, value, digits)}{NBSP}{sign}"


def _cldr_text(
    tongue: Tongue, value: Decimal, name: str, *, digits: int | None, length: Length
) -> str | None:
    """CLDR's text; None where the library has no pattern of this length and would print the unit's own name."""
    text = format_unit(
        value,
        name,
        length=length,
        format=_pattern(tongue, digits),
        locale=tongue.locale,
        numbering_system=_numbering(tongue),
    )
    return None if name in text else tongue.signed(text).replace(" ", NBSP)


def _pattern(tongue: Tongue, digits: int | None) -> str:
    return fraction_digits(str(tongue.locale.decimal_formats[None].pattern), _range(digits))


def _range(digits: int | None) -> tuple[int, int]:
    return (0, MOST_DIGITS) if digits is None else (digits, digits)


def _numbering(tongue: Tongue) -> str:
    return tongue.numbering
