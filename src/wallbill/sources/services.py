"""The weather services that a wall may ask by name, and the duties towards each."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Service:
    """A weather service and the duties towards it, by its published terms.

    ``base``: its address, which a wall may replace by that of its own instance. ``contact``: whether requests must
    name someone to write to. ``terms``: what a person must know before using it.
    """

    name: str
    base: str
    contact: bool
    terms: str
    accept: str = "application/json"
    least: timedelta = timedelta(minutes=10)


def services() -> Mapping[str, Service]:
    """The weather services by name."""
    listed = (
        Service(
            name="met-norway",
            base="https://api.met.no/weatherapi/locationforecast/2.0/compact",
            contact=True,
            terms="Free for all, worldwide; asks for a contact and a credit (NLOD 2.0, CC BY 4.0).",
        ),
        Service(
            name="nws",
            base="https://api.weather.gov",
            contact=True,
            terms="Free for all, United States only; asks for a contact.",
            accept="application/geo+json",
        ),
        Service(
            name="open-meteo",
            base="https://api.open-meteo.com/v1/forecast",
            contact=False,
            terms="Worldwide; free for non-commercial use only: a firm's wall may need their paid service, or an "
            "instance of its own (url). Asks for a credit (CC BY 4.0).",
        ),
        Service(
            name="bright-sky",
            base="https://api.brightsky.dev/weather",
            contact=False,
            terms="Free for all, Germany and its surroundings; asks for a credit.",
        ),
    )
    return MappingProxyType({service.name: service for service in listed})
