"""A number with its unit, and exact conversions between units of one kind.

Source of the factors: NIST Special Publication 811, appendix B (exact definitions), unless said otherwise.
"""

from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType
from typing import NamedTuple

from wallbill.errors import WallbillError


class _Scale(NamedTuple):
    """A unit as a straight line onto its kind's base unit: base = value x factor + offset."""

    kind: str
    factor: Fraction
    offset: Fraction = Fraction(0)


def _scale(kind: str, factor: str, offset: str = "0") -> _Scale:
    return _Scale(kind, Fraction(factor), Fraction(offset))


UNITS = MappingProxyType(
    {
        "K": _scale("temperature", "1"),
        "°C": _scale("temperature", "1", "273.15"),
        "°F": _scale("temperature", "5/9", "45967/180"),  # 459.67 x 5/9, exact
        "m/s": _scale("speed", "1"),
        "km/h": _scale("speed", "5/18"),
        "kn": _scale("speed", "463/900"),  # the knot: 1852 m an hour, exact
        "mph": _scale("speed", "0.44704"),
        "Pa": _scale("pressure", "1"),
        "hPa": _scale("pressure", "100"),
        "kPa": _scale("pressure", "1000"),
        "bar": _scale("pressure", "100000"),
        "inHg": _scale("pressure", "3386.388640341"),  # conventional inch of mercury
        "mmHg": _scale("pressure", "133.322387415"),
        "m": _scale("length", "1"),
        "mm": _scale("length", "0.001"),
        "cm": _scale("length", "0.01"),
        "km": _scale("length", "1000"),
        "in": _scale("length", "0.0254"),
        "ft": _scale("length", "0.3048"),
        "mi": _scale("length", "1609.344"),
        "nmi": _scale("length", "1852"),
        "s": _scale("duration", "1"),
        "min": _scale("duration", "60"),
        "h": _scale("duration", "3600"),
        "d": _scale("duration", "86400"),
        "%": _scale("share", "0.01"),
        "1": _scale("share", "1"),
        "°": _scale("angle", "1"),
        "W": _scale("power", "1"),
        "kW": _scale("power", "1000"),
        "Wh": _scale("energy", "3600"),
        "kWh": _scale("energy", "3600000"),
        "V": _scale("voltage", "1"),
        "mV": _scale("voltage", "0.001"),
        "A": _scale("current", "1"),
        "mA": _scale("current", "0.001"),
        "Hz": _scale("frequency", "1"),
        "kg": _scale("mass", "1"),
        "g": _scale("mass", "0.001"),
        "l": _scale("volume", "0.001"),
        "m³": _scale("volume", "1"),
        "l/min": _scale("flow", "1/60000"),
        "m³/h": _scale("flow", "1/3600"),
        "lx": _scale("illuminance", "1"),
        "W/m²": _scale("irradiance", "1"),
        "ppm": _scale("mixing ratio", "0.000001"),
        "µg/m³": _scale("concentration", "0.000001"),
        "mg/m³": _scale("concentration", "0.001"),
        "dB": _scale("level", "1"),
        "dBm": _scale("signal", "1"),
    }
)
"""Every unit that a fact, a wall or a sheet may name, by its printed sign."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value in a unit, such as ``Quantity(11.5, "°C")``."""

    value: float
    unit: str

    def __post_init__(self) -> None:
        if self.unit not in UNITS:
            raise ValueError(f"unknown unit {self.unit!r}")

    @property
    def kind(self) -> str:
        """What is measured: temperature, speed, pressure, length, duration, share, angle, power, ..."""
        return UNITS[self.unit].kind

    def to(self, unit: str) -> "Quantity":
        """The same quantity in another unit of its kind; raises `WallbillError` for another kind."""
        if unit == self.unit:
            return self
        there = UNITS.get(unit)
        here = UNITS[self.unit]
        if there is None or there.kind != here.kind:
            choices = ", ".join(name for name, scale in UNITS.items() if scale.kind == here.kind)
            raise WallbillError(
                f"cannot give {self.unit} in {unit!r}",
                mend=f"Use one of the units of {here.kind}: {choices}.",
            )
        base = Fraction(self.value) * here.factor + here.offset
        return Quantity(float((base - there.offset) / there.factor), unit)
