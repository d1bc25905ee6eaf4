"""Families of warnings: the words and codes of several publishers."""

import pytest

from wallbill.facts.hazards import Hazard, hazard_of

# The numbers and words of the parameter awareness_type in European CAP messages (from memory).
AWARENESS = {
    "1; Wind": Hazard.WIND, "2; snow-ice": Hazard.SNOW_ICE, "3; Thunderstorm": Hazard.THUNDERSTORM, "4; Fog": Hazard.FOG,
    "5; high-temperature": Hazard.HIGH_TEMPERATURE, "6; low-temperature": Hazard.LOW_TEMPERATURE,
    "7; coastalevent": Hazard.COASTAL, "8; forest-fire": Hazard.FOREST_FIRE, "9; avalanches": Hazard.AVALANCHE,
    "10; Rain": Hazard.RAIN, "12; flooding": Hazard.FLOOD, "13; rain-flood": Hazard.RAIN_FLOOD,
    "11; Flood": Hazard.FLOOD, "12; Rain-Flood": Hazard.RAIN_FLOOD, "1": Hazard.WIND,
}  # fmt: skip

# Event names of the US National Weather Service (weather.gov/help-map, its list of hazards; names from memory).
EVENTS = {
    "High Wind Warning": Hazard.WIND, "Wind Advisory": Hazard.WIND, "Gale Warning": Hazard.WIND, "Storm Warning": Hazard.WIND,
    "Hurricane Warning": Hazard.WIND, "Tropical Storm Watch": Hazard.WIND, "Small Craft Advisory": Hazard.WIND,
    "Blizzard Warning": Hazard.SNOW_ICE, "Winter Storm Watch": Hazard.SNOW_ICE, "Winter Weather Advisory": Hazard.SNOW_ICE,
    "Ice Storm Warning": Hazard.SNOW_ICE, "Freezing Rain Advisory": Hazard.SNOW_ICE, "Lake Effect Snow Warning": Hazard.SNOW_ICE,
    "Snow Squall Warning": Hazard.SNOW_ICE, "Heavy Freezing Spray Warning": Hazard.SNOW_ICE,
    "Severe Thunderstorm Warning": Hazard.THUNDERSTORM, "Tornado Warning": Hazard.THUNDERSTORM,
    "SEVERE THUNDERSTORM": Hazard.THUNDERSTORM, "Special Marine Warning": Hazard.THUNDERSTORM,
    "Dense Fog Advisory": Hazard.FOG, "Freezing Fog Advisory": Hazard.FOG,
    "Excessive Heat Warning": Hazard.HIGH_TEMPERATURE, "Extreme Heat Watch": Hazard.HIGH_TEMPERATURE, "Heat Advisory": Hazard.HIGH_TEMPERATURE,
    "Wind Chill Warning": Hazard.LOW_TEMPERATURE, "Frost Advisory": Hazard.LOW_TEMPERATURE, "Freeze Watch": Hazard.LOW_TEMPERATURE,
    "Extreme Cold Warning": Hazard.LOW_TEMPERATURE, "Cold Weather Advisory": Hazard.LOW_TEMPERATURE,
    "Coastal Flood Warning": Hazard.COASTAL, "Storm Surge Warning": Hazard.COASTAL, "High Surf Advisory": Hazard.COASTAL,
    "Rip Current Statement": Hazard.COASTAL, "Tsunami Warning": Hazard.COASTAL, "Beach Hazards Statement": Hazard.COASTAL,
    "Lakeshore Flood Watch": Hazard.COASTAL, "Hazardous Seas Warning": Hazard.COASTAL,
    "Red Flag Warning": Hazard.FOREST_FIRE, "Fire Weather Watch": Hazard.FOREST_FIRE, "Fire Warning": Hazard.FOREST_FIRE,
    "Avalanche Warning": Hazard.AVALANCHE,
    "Flash Flood Warning": Hazard.FLOOD, "Flood Watch": Hazard.FLOOD, "Hydrologic Outlook": Hazard.FLOOD,
    "Air Quality Alert": Hazard.AIR_QUALITY, "Air Stagnation Advisory": Hazard.AIR_QUALITY, "Dust Storm Warning": Hazard.AIR_QUALITY,
    "Blowing Dust Advisory": Hazard.AIR_QUALITY, "Dense Smoke Advisory": Hazard.AIR_QUALITY, "Ashfall Warning": Hazard.AIR_QUALITY,
    "Earthquake Warning": Hazard.GENERAL, "Evacuation Immediate": Hazard.GENERAL, "Special Weather Statement": Hazard.GENERAL,
    "911 Telephone Outage": Hazard.GENERAL, "Child Abduction Emergency": Hazard.GENERAL, "Volcano Warning": Hazard.GENERAL,
    "Law Enforcement Warning": Hazard.GENERAL, "Nuclear Power Plant Warning": Hazard.GENERAL, "Test": Hazard.GENERAL,
    # Event codes of the Norwegian Meteorological Institute's alerts (from memory).
    "avalanches": Hazard.AVALANCHE, "blowingSnow": Hazard.SNOW_ICE, "drivingConditions": Hazard.GENERAL, "flood": Hazard.FLOOD,
    "forestFire": Hazard.FOREST_FIRE, "gale": Hazard.WIND, "ice": Hazard.SNOW_ICE, "icing": Hazard.SNOW_ICE,
    "lightning": Hazard.THUNDERSTORM, "polarLow": Hazard.SNOW_ICE, "rain": Hazard.RAIN, "rainFlood": Hazard.RAIN_FLOOD,
    "snow": Hazard.SNOW_ICE, "stormSurge": Hazard.COASTAL, "wind": Hazard.WIND,
    # As other publishers word them.
    "Yellow warning of rain": Hazard.RAIN, "Yellow High-temperature Warning": Hazard.HIGH_TEMPERATURE, "": Hazard.GENERAL,
    "Heavy rain": Hazard.RAIN, "Snow and ice": Hazard.SNOW_ICE, "Thunderstorms": Hazard.THUNDERSTORM,
}  # fmt: skip


@pytest.mark.parametrize("given", AWARENESS)
def test_awareness_types(given: str) -> None:
    assert hazard_of("Warning", awareness_type=given) is AWARENESS[given]


def test_an_awareness_type_goes_before_the_event() -> None:
    assert hazard_of("Storm", awareness_type="10; Rain") is Hazard.RAIN
    assert hazard_of("Storm", awareness_type="99; unheard-of") is Hazard.WIND


@pytest.mark.parametrize("event", EVENTS)
def test_events(event: str) -> None:
    assert hazard_of(event) is EVENTS[event]


@pytest.mark.parametrize("hazard", Hazard)
def test_a_family_has_its_own_name(hazard: Hazard) -> None:
    assert hazard_of(hazard.value) is hazard
    assert hazard_of(hazard.value.upper()) is hazard


def test_categories() -> None:
    # Source: CAP 1.2, section 3.2.2: Geo, Met, Safety, Security, Rescue, Fire, Health, Env, Transport, Infra, CBRNE, Other.
    assert hazard_of("Something", categories=("Met", "Fire")) is Hazard.FOREST_FIRE
    assert hazard_of("Something", categories=("Env",)) is Hazard.AIR_QUALITY
    assert hazard_of("Something", categories=("Met",)) is Hazard.GENERAL
