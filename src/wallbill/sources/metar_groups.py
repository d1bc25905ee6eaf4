"""The groups of a METAR after its time, each read by a pattern; what no pattern takes is handed back unread."""

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from types import MappingProxyType

from wallbill.facts.forecast import Falling, Phenomenon, Strength, Weather
from wallbill.facts.observation import CloudLayer, Observation
from wallbill.units.quantity import Quantity

_FALLS = (
    (r"FZ(?=.*(RA|DZ|UP))", Falling.FREEZING_RAIN),
    (r"GR|GS", Falling.HAIL),
    (r"(RA|DZ).*(SN|PL)|(SN|PL).*(RA|DZ)|SN.*PL|PL.*SN", Falling.SLEET),
    (r"PL", Falling.ICE_PELLETS),
    (r"SN|SG", Falling.SNOW),
    (r"RA|UP", Falling.RAIN),
    (r"DZ", Falling.DRIZZLE),
)
"""What falls, by the letters of code table 4678; mixtures count as sleet, small hail as hail, unknown as rain."""

_AIR = (
    (r"FC", Phenomenon.FUNNEL),
    (r"SQ", Phenomenon.SQUALL),
    (r"SS|DS", Phenomenon.SANDSTORM),
    (r"VA", Phenomenon.ASH),
    (r"FZ.*FG", Phenomenon.FREEZING_FOG),
    (r"(BL|DR)SN", Phenomenon.BLOWING_SNOW),
    (r"FU", Phenomenon.SMOKE),
    (r"DU|SA|PO", Phenomenon.DUST),
    (r"IC", Phenomenon.DIAMOND_DUST),
    (r"BR|MIFG", Phenomenon.MIST),
    (r"HZ", Phenomenon.HAZE),
)
"""What else the air does or carries, by the letters of the same table; shallow fog counts as mist."""

_COVER = MappingProxyType({"FEW": 1.5 / 8, "SCT": 3.5 / 8, "BKN": 6 / 8, "OVC": 1.0, "VV": 1.0, "///": None})
"""Shares of the sky: the middle of 1 to 2, 3 to 4 and 5 to 7 eighths. Source: WMO-No. 306, FM 15, regulation 15.9."""

_SKIPPED = re.compile(
    r"(AUTO|COR|CC[A-Z]|NIL|NSW|NOSIG|SNOCLO|RTD|CLRD|\$|BLACK|BLU|WHT|GRN|YLO\d?|AMB|RED"
    r"|R\d{2}[LCR]{0,2}/\S*|R/SNOCLO|\d{8}|WS|ALL|RWY\S*|W(\d{2}|//|M\d{2})/[SH]\S*|RE[A-Z]{2,8}|VC[A-Z]{2,6}"
    r"|\d{4}[NESW]{1,2}|[/X]+|Q/+|A/+|/+(KT|MPS|SM)|/{2,3}V/{2,3}|/+(CB|TCU)|[/\d]{3}/{2,}(G//)?(KT|MPS))"
)
"""Groups that are known and not shown: runways, states of the sea and the field, what could not be measured."""


@dataclass(frozen=True, slots=True)
class _Told:
    """What has been read so far; present weather adds up beside the rest."""

    seen: Observation
    sky_seen: bool = False
    weather: tuple[Weather, ...] = ()


def read_groups(blank: Observation, body: str) -> tuple[Observation, tuple[str, ...]]:
    """An observation with what the groups after its time tell, and the groups that could not be read.

    The groups count up to the forecast; of the remarks only those that make figures closer.
    """
    main, _, remarks = f" {body} ".partition(" RMK ")
    main = re.split(r"\s(?:TEMPO|BECMG|INTER|PROB\d\d)\s", main)[0]
    main = re.sub(r"\s(\d{1,2})\s+(\d/\d{1,2}SM)\s", r" \1+\2 ", main)
    told = _Told(replace(blank, automatic=" AUTO " in main))
    unread: list[str] = []
    for group in main.split():
        after = _one(group, told)
        if after is None:
            unread.append(group)
        else:
            told = after
    for group in remarks.split():
        told = _remark(group, told)
    return replace(told.seen, weather=_weather(told)), tuple(unread)


def _one(group: str, told: _Told) -> _Told | None:
    """With one more group; the same for one that is skipped; None for one that cannot be read."""
    if _SKIPPED.fullmatch(group):
        return told
    for pattern, read in _PATTERNS:
        if (found := pattern.fullmatch(group)) is not None:
            return read(found, told)
    return None


def _saw(told: _Told, seen: Observation) -> _Told:
    return replace(told, seen=seen)


def _sight(told: _Told, metres: float, *, or_more: bool) -> _Told:
    """With a visibility; the first counts, as the least of all directions may follow."""
    if told.seen.visibility is not None:
        return told
    sight = Quantity(metres, "m")
    return _saw(told, replace(told.seen, visibility=sight, visibility_or_more=or_more))


def _wind(found: re.Match[str], told: _Told) -> _Told | None:
    unit = {"KT": "kn", "MPS": "m/s", "KMH": "km/h"}[found[4]]
    speed, gust = _speed(found[2], unit), _speed(found[3], unit)
    if speed is None or any(wind is not None and wind.to("m/s").value > 150 for wind in (speed, gust)):
        return None
    from_deg = float(found[1]) if found[1].isdigit() else None
    if from_deg is not None and from_deg > 360:
        return None
    calm = from_deg == 0 and speed.value == 0
    return _saw(
        told,
        replace(
            told.seen,
            wind_speed=speed,
            wind_gust=gust,
            wind_from_deg=None if calm or from_deg is None else from_deg % 360,
        ),
    )


def _speed(text: str | None, unit: str) -> Quantity | None:
    digits = (text or "").lstrip("P")
    return Quantity(float(digits), unit) if digits.isdigit() else None


def _varies(found: re.Match[str], told: _Told) -> _Told | None:
    between = float(found[1]), float(found[2])
    return _saw(told, replace(told.seen, wind_between_deg=between)) if max(between) <= 360 else None


def _metres(found: re.Match[str], told: _Told) -> _Told:
    metres = int(found[1])
    far = metres == 9999
    return _sight(told, 10_000.0 if far else float(metres), or_more=far)


def _miles(found: re.Match[str], told: _Told) -> _Told | None:
    """Statute miles: ``10SM``, ``1/2SM``, ``1+1/2SM``, ``M1/4SM`` for less, ``P6SM`` for more."""
    whole, over, under = found[2], found[3], found[4]
    if (whole is None and over is None) or (under is not None and int(under) == 0):
        return None
    miles = int(whole or 0) + (int(over) / int(under) if under else 0)
    more = found[1] == "P" or (not under and miles >= 10)
    return _sight(told, Quantity(miles, "mi").to("m").value, or_more=more)


def _kilometres(found: re.Match[str], told: _Told) -> _Told:
    return _sight(told, float(found[1]) * 1000, or_more=int(found[1]) >= 10)


def _cavok(_: re.Match[str], told: _Told) -> _Told:
    """Ceiling and visibility are well: 10 km or more, no weather, no cloud that matters."""
    return _sight(replace(told, sky_seen=True), 10_000.0, or_more=True)


def _clear(_: re.Match[str], told: _Told) -> _Told:
    return replace(told, sky_seen=True)


def _cloud(found: re.Match[str], told: _Told) -> _Told:
    cover = _COVER[found[1]]
    base = Quantity(int(found[2]) * 100.0, "ft").to("m") if (found[2] or "").isdigit() else None
    layer = CloudLayer(cover, base, storm=found[3] in {"CB", "TCU"})
    told = replace(told, sky_seen=told.sky_seen or cover is not None)
    return _saw(told, replace(told.seen, clouds=(*told.seen.clouds, layer)))


def _present(found: re.Match[str], told: _Told) -> _Told | None:
    """Present weather, code table 4678."""
    sign, kind, falls, other = (part or "" for part in found.groups())
    if not (kind == "TS" or falls or other):
        return None
    lies = kind in {
        "DR",
        "BL",
        "MI",
    }  # driven by the wind, or below the eyes: nothing falls, nothing is hidden
    letters = kind + falls
    falling = next((what for pattern, what in _FALLS if re.search(pattern, letters)), Falling.NONE)
    strength = {"+": Strength.HEAVY, "-": Strength.LIGHT}.get(sign, Strength.MODERATE)
    return replace(
        told,
        weather=(
            *told.weather,
            Weather(
                falling=Falling.NONE if lies else falling,
                strength=strength,
                showers=kind == "SH",
                thunder=kind == "TS",
                fog=other == "FG" and not lies,
                phenomenon=next(
                    (what for pattern, what in _AIR if re.search(pattern, letters + other)), Phenomenon.NONE
                ),
            ),
        ),
    )


def _weather(told: _Told) -> Weather | None:
    """The gravest that falls, thunder, fog and air of any group, and the cover of the fullest layer; None if nothing is told."""
    if not told.weather and not told.sky_seen:
        return None
    falls = [replace(w, phenomenon=Phenomenon.NONE) for w in told.weather]
    worst = max(falls, key=lambda w: w.gravity, default=Weather())
    known = [layer.cover for layer in told.seen.clouds if layer.cover is not None]
    if told.sky_seen:
        cloud = max(known, default=0.0)
    else:
        cloud = 1.0 if any(not w.dry or w.fog for w in told.weather) else 0.5
    return replace(
        worst,
        cloud=cloud,
        thunder=any(w.thunder for w in told.weather),
        fog=any(w.fog for w in told.weather),
        phenomenon=max(
            (w.phenomenon for w in told.weather), key=lambda p: p.gravity, default=Phenomenon.NONE
        ),
    )


def _temperatures(found: re.Match[str], told: _Told) -> _Told | None:
    air_c, dew_c = _degrees(found[1]), _degrees(found[2])
    if any(value is not None and not -90 <= value <= 60 for value in (air_c, dew_c)):
        return None
    return _saw(told, replace(told.seen, temperature=_celsius(air_c), dew_point=_celsius(dew_c)))


def _degrees(text: str | None) -> float | None:
    """``M04`` is -4; ``M00``, which says a little below nought, is 0 and never -0."""
    digits = (text or "").lstrip("M")
    if not digits.isdigit():
        return None
    return 0.0 - float(digits) if (text or "").startswith("M") else float(digits)


def _celsius(value: float | None) -> Quantity | None:
    return None if value is None else Quantity(value, "°C")


def _hectopascals(found: re.Match[str], told: _Told) -> _Told | None:
    hpa = float(found[1])
    return _saw(told, replace(told.seen, pressure=Quantity(hpa, "hPa"))) if 850 <= hpa <= 1090 else None


def _inches(found: re.Match[str], told: _Told) -> _Told | None:
    hpa = Quantity(int(found[1]) / 100, "inHg").to("hPa")
    return _saw(told, replace(told.seen, pressure=hpa)) if 850 <= hpa.value <= 1090 else None


def _remark(group: str, told: _Told) -> _Told:
    """Closer figures of the remarks: tenths of a degree, pressure at sea level, its change; FMH-1, chapter 12.

    A sea-level pressure has three digits in tenths: below 500 they follow 10, else 9.
    """
    seen = told.seen
    if found := re.fullmatch(r"T([01])(\d{3})(?:([01])(\d{3}))?", group):
        dew = _tenths(found[3], found[4]) if found[3] else seen.dew_point
        return _saw(told, replace(seen, temperature=_tenths(found[1], found[2]), dew_point=dew))
    if found := re.fullmatch(r"SLP(\d{3})", group):
        tenths = int(found[1])
        hpa = ((10_000 if tenths < 500 else 9_000) + tenths) / 10
        return _saw(told, replace(seen, pressure=Quantity(hpa, "hPa")))
    if found := re.fullmatch(r"5([0-8])(\d{3})", group):
        change = int(found[2]) / 10
        change = 0.0 - change if int(found[1]) >= 5 else change
        return _saw(told, replace(seen, pressure_change=Quantity(change, "hPa")))
    return told


def _tenths(sign: str, digits: str) -> Quantity:
    return Quantity(0.0 - int(digits) / 10 if sign == "1" else int(digits) / 10, "°C")


_PRESENT = (
    r"([+-])?(MI|PR|BC|DR|BL|SH|TS|FZ)?((?:DZ|RA|SN|SG|IC|PL|GR|GS|UP){0,3})"
    r"(BR|FG|FU|VA|DU|SA|HZ|PY|PO|SQ|FC|SS|DS)?"
)
_Reader = Callable[[re.Match[str], _Told], _Told | None]
_PATTERNS: tuple[tuple[re.Pattern[str], _Reader], ...] = tuple(
    (re.compile(pattern, re.ASCII), read)
    for pattern, read in (
        (r"(\d{3}|VRB|///)(P?\d{2,3})(?:G(P?\d{2,3}|//))?(KT|MPS|KMH)", _wind),
        (r"(\d{3})V(\d{3})", _varies),
        (r"CAVOK", _cavok),
        (r"(\d{4})(?:NDV)?", _metres),
        (r"([MP])?(?:(\d{1,3})\+?)??(?:(\d{1,2})/(\d{1,2}))?SM", _miles),
        (r"(\d{1,2})KM", _kilometres),
        (r"SKC|CLR|NCD|NSC", _clear),
        (r"(FEW|SCT|BKN|OVC|VV|///)(\d{3}|///)?(CB|TCU|///)?", _cloud),
        (r"(M?\d{2}|//|XX)/(M?\d{2}|//|XX)?", _temperatures),
        (r"Q(?:NH)?(\d{4})(?:HPA)?", _hectopascals),
        (r"(?:A|QNH)(\d{4})(?:INS)?", _inches),
        (_PRESENT, _present),
    )
)
"""The readable groups; of two that could take a group, the first does."""
