"""How warm, damp and close the air is: values that published formulas derive from temperature, humidity and wind.

Every function is pure and takes quantities in any unit of their kind. Which of them `feels_like` uses where is the
practice of the US National Weather Service.
"""

from math import exp, isfinite, log, sqrt

from wallbill.facts.wind import wind_chill
from wallbill.units.quantity import Quantity

_WATER_HPA, _WATER_FACTOR, _WATER_C = 6.112, 17.62, 243.12
"""Saturation over water, -45 to 60 °C: WMO-No. 8, volume I, annex 4.B (from memory)."""

_HOT_FROM_F = 80.0


def saturation_vapour_pressure(temperature: Quantity) -> Quantity:
    """The pressure of water vapour, in hPa, at which air over a plane of water is saturated.

    Source: WMO-No. 8, volume I, annex 4.B: 6.112 exp(17.62 t / (243.12 + t)), t in °C. Raises ValueError outside
    -100 to 100 °C, where the formula means nothing.
    """
    air_c = _celsius(temperature)
    return Quantity(_WATER_HPA * exp(_WATER_FACTOR * air_c / (_WATER_C + air_c)), "hPa")


def dew_point(temperature: Quantity, humidity: Quantity) -> Quantity | None:
    """The temperature, in °C, to which air must cool for dew to form; None for air with no vapour at all.

    The inverse of `saturation_vapour_pressure`, with water as the surface below 0 °C too, as stations report it.
    Source: WMO-No. 8, volume I, annex 4.B. ``humidity``: relative; more than 100 % counts as 100 %.
    """
    share = min(humidity.to("1").value, 1.0)
    if share <= 0:
        return None
    return dew_point_of(Quantity(share * saturation_vapour_pressure(temperature).value, "hPa"))


def dew_point_of(vapour_pressure: Quantity) -> Quantity | None:
    """The dew point, in °C, of a pressure of water vapour; None for none, or for less than air ever holds."""
    hpa = vapour_pressure.to("hPa").value
    if not (isfinite(hpa) and hpa > 0):
        return None
    part = log(hpa / _WATER_HPA)
    if not -14.5 < part < _WATER_FACTOR:
        return None
    return Quantity(_WATER_C * part / (_WATER_FACTOR - part), "°C")


def relative_humidity(temperature: Quantity, dew: Quantity) -> Quantity:
    """The relative humidity over water, in %, 0 to 100; a dew point above the temperature counts as equal to it.

    Source: the same formula as `dew_point`, turned round.
    """
    share = saturation_vapour_pressure(dew).value / saturation_vapour_pressure(temperature).value
    return Quantity(min(share, 1.0) * 100, "%")


def heat_index(temperature: Quantity, humidity: Quantity) -> Quantity:
    """How hot the air feels in the shade, in °C, by the whole procedure of the US National Weather Service.

    Source: L. P. Rothfusz, "The Heat Index Equation", NWS Southern Region Technical Attachment SR 90-23, 1990, with
    the service's two adjustments and its simple formula below 80 °F. Meant for 80 °F (27 °C) and more.
    """
    air_f, humid = temperature.to("°F").value, humidity.to("%").value
    simple = 0.5 * (air_f + 61 + (air_f - 68) * 1.2 + humid * 0.094)
    index_f = (simple + air_f) / 2
    if index_f >= _HOT_FROM_F:
        index_f = _rothfusz_f(air_f, humid)
        if humid < 13 and 80 <= air_f <= 112:
            index_f -= (13 - humid) / 4 * sqrt((17 - abs(air_f - 95)) / 17)
        elif humid > 85 and 80 <= air_f <= 87:
            index_f += (humid - 85) / 10 * (87 - air_f) / 5
    return Quantity(index_f, "°F").to("°C")


def _rothfusz_f(air_f: float, humid: float) -> float:
    return (
        -42.379
        + 2.04901523 * air_f
        + 10.14333127 * humid
        - 0.22475541 * air_f * humid
        - 0.00683783 * air_f**2
        - 0.05481717 * humid**2
        + 0.00122874 * air_f**2 * humid
        + 0.00085282 * air_f * humid**2
        - 0.00000199 * air_f**2 * humid**2
    )


def humidex(temperature: Quantity, dew: Quantity) -> Quantity:
    """How hot the air feels, as Canada reckons it, as a number that reads like °C.

    Source: J. M. Masterton and F. A. Richardson, "Humidex", Environment Canada, 1979 (from memory):
    T + 5/9 (6.11 exp(5417.753 (1/273.16 - 1/(273.15 + Td))) - 10). Meant for 20 °C and more.
    """
    vapour_hpa = 6.11 * exp(5417.753 * (1 / 273.16 - 1 / (273.15 + _celsius(dew))))
    return Quantity(_celsius(temperature) + 5 / 9 * (vapour_hpa - 10), "°C")


def apparent_temperature(temperature: Quantity, humidity: Quantity, wind_speed: Quantity) -> Quantity:
    """What the air feels like in shade and wind, in °C, as the Australian Bureau of Meteorology reckons it.

    Source: R. G. Steadman, "Norms of apparent temperature in Australia", Australian Meteorological Magazine 43
    (1994), without sun (from memory): T + 0.33 e - 0.70 v - 4, with e = RH/100 x 6.105 exp(17.27 T / (237.7 + T)) hPa
    and v the mean wind at ten metres in m/s.
    """
    air_c = _celsius(temperature)
    vapour_hpa = humidity.to("1").value * 6.105 * exp(17.27 * air_c / (237.7 + air_c))
    return Quantity(air_c + 0.33 * vapour_hpa - 0.70 * wind_speed.to("m/s").value - 4, "°C")


def feels_like(
    temperature: Quantity | None, *, wind_speed: Quantity | None = None, humidity: Quantity | None = None
) -> Quantity | None:
    """What the air feels like: wind chill in the cold, heat index in the heat, else its temperature; None if unknown.

    Wind chill up to 50 °F (10 °C) in wind above 3 mph, heat index from 80 °F (26.7 °C), as the US National Weather
    Service does in its gridded forecasts (from memory).
    """
    if temperature is None:
        return None
    if humidity is not None and temperature.to("°F").value >= _HOT_FROM_F:
        return heat_index(temperature, humidity)
    chilled = wind_chill(temperature, wind_speed) if wind_speed is not None else None
    return chilled or temperature


def _celsius(temperature: Quantity) -> float:
    air_c = temperature.to("°C").value
    if not -100 <= air_c <= 100:
        raise ValueError(f"{air_c} °C is no temperature of air")
    return air_c
