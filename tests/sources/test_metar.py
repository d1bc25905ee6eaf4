"""METAR reports against the examples of ICAO and an independent decoder, and what goes wrong in them."""

import re
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import MappingProxyType
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallbill.errors import Place, SourceError
from wallbill.facts.forecast import Falling, Phenomenon, Strength, Weather
from wallbill.facts.observation import Observation
from wallbill.facts.origin import Freshness
from wallbill.facts.pressure import Tendency
from wallbill.sources.metar import moment_of, parse
from wallbill.sources.spec import ParseContext, SourceSpec
from wallbill.units.quantity import Quantity

PAYLOADS = Path(__file__).parent / "payloads"
NOW = datetime(2026, 3, 31, 23, 50, tzinfo=UTC)


def read(text: str | bytes, station: str = "EGHD", *, now: datetime = NOW, **options: Any) -> Observation:
    spec = SourceSpec(
        "field",
        "observation",
        MappingProxyType({"station": station, **options}),
        None,
        timedelta(minutes=100),
        Place("wall.toml", 3),
    )
    raw = text.encode() if isinstance(text, str) else text
    return parse(raw, ParseContext(spec, ZoneInfo("Europe/London"), 50.31, -4.05, now, now, "en-GB"))


def unread(seen: Observation) -> list[str]:
    return [finding.what for finding in seen.origin.findings]


A3_1 = (
    "METAR YUDO 221630Z 24004MPS 0600 R12/1000U DZ FG SCT010 OVC020 17/16 Q1018 "
    "BECMG TL1700 0800 FG BECMG AT1800 9999 NSW"
)
A3_2 = "SPECI YUDO 151115Z 05025G37KT 3000 1200NE +TSRA BKN005CB 25/22 Q1008"
SNOW = "METAR LBBG 041600Z 12012MPS 090V150 1400 R04/P1500N R22/P1500U +SN BKN022 OVC050 M04/M07 Q1020 NOSIG"
US = (
    "METAR KTTN 051853Z 04011KT 1/2SM VCTS SN FZFG BKN003 OVC010 M02/M02 A3006 "
    "RMK AO2 TSB40 SLP176 P0002 T10171017"
)
CAVOK = "METAR EGLL 201220Z AUTO 27009KT CAVOK 18/07 Q1023"
ZERO = "METAR ENVA 010000Z VRB02KT 9999 FEW040 M00/M01 Q0987"


def test_the_routine_report_of_annex_3() -> None:
    # Source: ICAO Annex 3, appendix 3, example A3-1.
    seen = read(A3_1, "YUDO")
    assert seen.valid_from == datetime(2026, 3, 22, 16, 30, tzinfo=UTC)
    assert (seen.wind_from_deg, seen.wind_speed) == (240, Quantity(4, "m/s"))
    assert (seen.visibility, seen.visibility_or_more) == (Quantity(600, "m"), False)
    assert seen.weather == Weather(1.0, Falling.DRIZZLE, Strength.MODERATE, fog=True)
    assert [(layer.cover, layer.base) for layer in seen.clouds] == [
        (3.5 / 8, Quantity(304.8, "m")),
        (1.0, Quantity(609.6, "m")),
    ]
    assert (seen.temperature, seen.dew_point) == (Quantity(17, "°C"), Quantity(16, "°C"))
    assert seen.pressure == Quantity(1018, "hPa")
    assert (seen.special, seen.automatic, seen.corrected) == (False, False, False)
    assert not seen.origin.findings
    assert seen.raw == A3_1


def test_the_special_report_of_annex_3() -> None:
    # Source: ICAO Annex 3, appendix 3, example A3-2 (from memory).
    seen = read(A3_2, "YUDO")
    assert [seen.special, seen.automatic] == [True, False]
    assert (seen.wind_from_deg, seen.wind_speed, seen.wind_gust) == (
        50,
        Quantity(25, "kn"),
        Quantity(37, "kn"),
    )
    assert seen.visibility == Quantity(3000, "m")
    assert seen.weather == Weather(0.75, Falling.RAIN, Strength.HEAVY, thunder=True)
    assert seen.clouds[0].storm
    assert seen.beaufort == 6


def test_directions_that_vary_and_runways_that_are_skipped() -> None:
    # Source: the decoder metar 2.0.2 reads it so.
    seen = read(SNOW, "LBBG")
    assert seen.wind_between_deg == (90.0, 150.0)
    assert seen.visibility == Quantity(1400, "m")
    assert seen.weather == Weather(1.0, Falling.SNOW, Strength.HEAVY)
    assert (seen.temperature, seen.dew_point) == (Quantity(-4, "°C"), Quantity(-7, "°C"))
    assert not seen.origin.findings


def test_a_report_of_the_united_states() -> None:
    # Source: the decoder metar 2.0.2 reads it so; it gives 1017.951 hPa for the altimeter setting alone, by a rounded factor.
    seen = read(US, "KTTN")
    assert seen.wind_speed is not None
    assert seen.wind_speed.to("m/s").value == pytest.approx(5.65888, abs=1e-4)
    assert seen.visibility is not None
    assert seen.visibility.value == pytest.approx(804.672)
    assert (seen.temperature, seen.dew_point) == (Quantity(-1.7, "°C"), Quantity(-1.7, "°C"))
    assert seen.pressure == Quantity(1017.6, "hPa")
    assert seen.weather == Weather(1.0, Falling.SNOW, fog=True, phenomenon=Phenomenon.FREEZING_FOG)
    bare = read(US.partition(" RMK")[0], "KTTN")
    assert bare.pressure is not None
    assert bare.pressure.value == pytest.approx(1017.951, abs=5e-3)
    assert bare.temperature == Quantity(-2, "°C")


def test_cavok() -> None:
    seen = read(CAVOK, "EGLL")
    assert (seen.visibility, seen.visibility_or_more) == (Quantity(10_000, "m"), True)
    assert seen.weather == Weather(0.0)
    assert seen.automatic
    # Source: WMO-No. 8, annex 4.B, worked out: 48.6 % at 18 °C and a dew point of 7 °C.
    assert seen.humidity is not None
    assert seen.humidity.value == pytest.approx(48.6, abs=0.1)


def test_a_little_below_nought_is_nought_and_not_minus_nought() -> None:
    seen = read(ZERO, "ENVA", now=datetime(2026, 4, 1, 0, 10, tzinfo=UTC))
    assert seen.temperature is not None
    assert str(seen.temperature.value) == "0.0"
    assert seen.wind_from_deg is None
    assert seen.wind_speed == Quantity(2, "kn")
    assert (seen.visibility, seen.visibility_or_more) == (Quantity(10_000, "m"), True)


@pytest.mark.parametrize(
    ("groups", "field", "told"),
    [
        ("00000KT", "wind_from_deg", None),
        ("00000KT", "wind_speed", Quantity(0, "kn")),
        ("36005KT", "wind_from_deg", 0),
        ("240P99KT", "wind_speed", Quantity(99, "kn")),
        ("/////KT", "wind_speed", None),
        ("24016KT", "beaufort", 4),  # WMO-No. 306, table 1100: 16 knots are force 4, though they are 8.2 m/s
        ("24012KMH", "wind_speed", Quantity(12, "km/h")),
        ("0000", "visibility", Quantity(0, "m")),
        ("9999NDV", "visibility", Quantity(10_000, "m")),
        ("////", "visibility", None),
        ("4000 1200N", "visibility", Quantity(4000, "m")),
        ("10SM", "visibility", Quantity(16093.44, "m")),
        ("10SM", "visibility_or_more", True),
        ("M1/4SM", "visibility", Quantity(402.336, "m")),
        ("1 1/2SM", "visibility", Quantity(2414.016, "m")),
        ("P6SM", "visibility_or_more", True),
        ("15KM", "visibility_or_more", True),
        ("Q////", "pressure", None),
        ("A2992", "pressure", Quantity(1013.2075, "hPa")),  # NIST SP 811: 29.92 x 33.86388640341
        ("QNH2992INS", "pressure", Quantity(1013.2075, "hPa")),
        ("Q0987", "pressure", Quantity(987, "hPa")),
        ("///", "temperature", None),
        ("M05/M07", "feels", Quantity(-5, "°C")),
        ("08/", "dew_point", None),
        ("RMK SLP234", "pressure", Quantity(1023.4, "hPa")),
        ("RMK SLP512", "pressure", Quantity(951.2, "hPa")),
        ("RMK SLPNO", "pressure", None),
        ("RMK T00061006", "temperature", Quantity(0.6, "°C")),
        ("RMK T00061006", "dew_point", Quantity(-0.6, "°C")),
        ("RMK 58021", "pressure_change", Quantity(-2.1, "hPa")),  # WMO-No. 306, table 0200: 8 is falling
        ("RMK 50012", "pressure_change", Quantity(1.2, "hPa")),
        ("RMK 58021", "tendency", Tendency.FALLING),
    ],
)
def test_groups(groups: str, field: str, told: object) -> None:
    seen = read(f"EGHD 311150Z {groups}")
    value = getattr(seen, field)
    if isinstance(told, Quantity):
        assert value.unit == told.unit
        assert value.value == pytest.approx(told.value, abs=1e-3)
    else:
        assert value == told
    assert not seen.origin.findings


@pytest.mark.parametrize(
    ("groups", "weather"),
    [
        # Source: WMO-No. 306, code table 4678, from its letters.
        ("-RA OVC010", Weather(1.0, Falling.RAIN, Strength.LIGHT)),
        ("SHRA BKN020", Weather(0.75, Falling.RAIN, showers=True)),
        ("-RASN OVC010", Weather(1.0, Falling.SLEET, Strength.LIGHT)),
        ("FZRA OVC010", Weather(1.0, Falling.FREEZING_RAIN)),
        ("-FZDZ OVC010", Weather(1.0, Falling.FREEZING_RAIN, Strength.LIGHT)),
        ("FZFG VV001", Weather(1.0, fog=True, phenomenon=Phenomenon.FREEZING_FOG)),
        ("TS BKN030CB", Weather(0.75, thunder=True)),
        ("+TSGR BKN030CB", Weather(0.75, Falling.HAIL, Strength.HEAVY, thunder=True)),
        ("PL OVC010", Weather(1.0, Falling.ICE_PELLETS)),
        ("BLSN FEW010", Weather(1.5 / 8, phenomenon=Phenomenon.BLOWING_SNOW)),
        ("MIFG NSC", Weather(0.0, phenomenon=Phenomenon.MIST)),
        ("VCSH SCT030", Weather(3.5 / 8)),
        ("RERA FEW040", Weather(1.5 / 8)),
        ("BR", Weather(0.5, phenomenon=Phenomenon.MIST)),
        ("FG", Weather(1.0, fog=True)),
        ("RA BR", Weather(1.0, Falling.RAIN, phenomenon=Phenomenon.MIST)),
        ("RAPL OVC010", Weather(1.0, Falling.SLEET)),
        ("IC SKC", Weather(0.0, phenomenon=Phenomenon.DIAMOND_DUST)),
        ("HZ FEW020", Weather(1.5 / 8, phenomenon=Phenomenon.HAZE)),
        ("FU NSC", Weather(0.0, phenomenon=Phenomenon.SMOKE)),
        ("VA NSC", Weather(0.0, phenomenon=Phenomenon.ASH)),
        ("BLDU NSC", Weather(0.0, phenomenon=Phenomenon.DUST)),
        ("SA NSC", Weather(0.0, phenomenon=Phenomenon.DUST)),
        ("+SS NSC", Weather(0.0, strength=Strength.HEAVY, phenomenon=Phenomenon.SANDSTORM)),
        ("SQ BKN020", Weather(0.75, phenomenon=Phenomenon.SQUALL)),
        ("+FC BKN020", Weather(0.75, strength=Strength.HEAVY, phenomenon=Phenomenon.FUNNEL)),
        ("+SN BLSN VV002", Weather(1.0, Falling.SNOW, Strength.HEAVY, phenomenon=Phenomenon.BLOWING_SNOW)),
        ("FU HZ NSC", Weather(0.0, phenomenon=Phenomenon.SMOKE)),
        ("NCD", Weather(0.0)),
        ("//////", None),
        ("", None),
    ],
)
def test_weather(groups: str, weather: Weather | None) -> None:
    assert read(f"EGHD 311150Z 24005KT 5000 {groups}").weather == weather


def test_a_day_rolls_back_over_the_month_and_the_year() -> None:
    now = datetime(2026, 1, 1, 0, 20, tzinfo=UTC)
    assert moment_of((31, 23, 50), now) == datetime(2025, 12, 31, 23, 50, tzinfo=UTC)
    assert moment_of((1, 0, 20), now) == now
    assert moment_of((1, 1, 10), now) == datetime(
        2026, 1, 1, 1, 10, tzinfo=UTC
    )  # a clock that is a little fast
    assert moment_of((1, 3, 0), now) == datetime(2025, 12, 1, 3, 0, tzinfo=UTC)
    march = datetime(2026, 3, 1, 0, 5, tzinfo=UTC)
    assert moment_of((28, 23, 50), march) == datetime(2026, 2, 28, 23, 50, tzinfo=UTC)
    assert moment_of((30, 23, 50), march) == datetime(2026, 1, 30, 23, 50, tzinfo=UTC)
    assert moment_of((32, 0, 0), march) is None
    assert moment_of((1, 24, 0), march) is None


@given(st.integers(0, 50_000_000), st.integers(0, 27 * 1440))
def test_any_moment_of_the_last_weeks_is_found_again(now_min: int, age_min: int) -> None:
    now = datetime(2000, 1, 1, tzinfo=UTC) + timedelta(minutes=now_min)
    at = now - timedelta(minutes=age_min)
    assert moment_of((at.day, at.hour, at.minute), now) == at


def test_the_newest_of_the_station_counts_and_a_correction_before_it() -> None:
    text = (
        "METAR EGHD 312150Z 24005KT 9999 FEW020 08/06 Q1001=\n"
        "METAR EGHE 312320Z 24005KT 9999 FEW020 20/06 Q1001=\n"
        "METAR EGHD 312250Z 24005KT 9999 FEW020 09/06 Q1001=\n"
        "METAR COR EGHD 312250Z 24005KT 9999 FEW020 10/06 Q1001=\n"
        "METAR EGHD 312250Z 24005KT 9999 FEW020 11/06 Q1001=\n"
        "METAR EGHD 312320Z NIL=\n"
    )
    seen = read(text)
    assert seen.temperature == Quantity(10, "°C")
    assert seen.corrected
    assert seen.valid_to - seen.valid_from == timedelta(hours=1)


def test_the_pressure_of_three_hours_ago() -> None:
    text = "\n".join(
        f"EGHD 31{hour:02d}50Z 24005KT 9999 FEW020 08/06 Q{qnh}"
        for hour, qnh in ((20, 1006), (21, 1004), (22, 1003), (23, 1002))
    )
    seen = read(text, now=datetime(2026, 3, 31, 23, 59, tzinfo=UTC))
    assert seen.pressure_change == Quantity(-4.0, "hPa")
    assert seen.tendency is Tendency.FALLING_QUICKLY
    assert read(text.splitlines()[-1]).pressure_change is None


def test_reports_over_several_lines_with_forecasts_between() -> None:
    text = (
        "2026/03/14 06:50\r\n"
        "METAR EGHD 140650Z 24005KT\r\n     9999 FEW020\r\n     08/06 Q1001=\r\n"
        "TAF EGHD 140500Z 1406/1415 24015KT 9999\r\n     TEMPO 1406/1410 4000 RA=\r\n"
        "EGHD 140700Z 1407/1415 24015KT 9999 99/99=\r\n"
    )
    # A date above the report says which month it is of, however late it is read.
    seen = read(text, now=datetime(2026, 6, 20, tzinfo=UTC))
    assert seen.valid_from == datetime(2026, 3, 14, 6, 50, tzinfo=UTC)
    assert seen.pressure == Quantity(1001, "hPa")
    assert seen.temperature == Quantity(8, "°C")


def test_what_cannot_be_read_is_told_and_the_rest_stays() -> None:
    seen = read("EGHD 311150Z 99905KT 9999 XQ7 FEW020 99/06 Q1900 A9999")
    assert seen.visibility == Quantity(10_000, "m")
    assert (seen.wind_speed, seen.temperature, seen.pressure) == (None, None, None)
    assert [re.findall(r"'(\S+)'", what)[0] for what in unread(seen)] == [
        "99905KT",
        "XQ7",
        "99/06",
        "Q1900",
        "A9999",
    ]
    assert str(seen.origin.findings[0].where) == "field EGHD of 31 11:50"


@pytest.mark.parametrize(
    ("text", "station", "what"),
    [
        ("", "EGHD", "empty"),
        ("<html>nothing</html>", "EGHD", "no METAR"),
        ("METAR EGHE 311150Z 24005KT", "EGHD", "only of EGHE"),
        ("METAR EGHD 311150Z NIL=", "EGHD", "no report"),
        ("METAR EGHD 321150Z 24005KT", "EGHD", "no METAR"),
        ("METAR EGHD 311150Z", "harbour", "no code of a station"),
    ],
)
def test_no_report(text: str, station: str, what: str) -> None:
    with pytest.raises(SourceError, match=what) as caught:
        read(text, station)
    assert caught.value.mend


def test_the_age_of_a_report_counts_from_its_time() -> None:
    seen = read("EGHD 312150Z 24005KT")
    assert seen.origin.freshness(datetime(2026, 3, 31, 23, 20, tzinfo=UTC)) is Freshness.FRESH
    assert seen.origin.freshness(NOW) is Freshness.STALE
    assert seen.origin.credit
    assert not read("EGHD 312150Z 24005KT", file="metar.txt").origin.credit


def test_invented_reports_of_three_stations() -> None:
    text = (PAYLOADS / "metar.txt").read_text()
    now = datetime(2026, 3, 14, 11, 0, tzinfo=UTC)
    assert [read(text, code, now=now).origin.findings for code in ("ZZLH", "ZZLL", "ZZCA")] == [(), (), ()]
    assert read(text, "ZZLL", now=now).temperature == Quantity(-1.1, "°C")


VALID = f"{A3_1}\n{A3_2}\n{SNOW}\n{US}\n{CAVOK}\n{ZERO}".encode()


@given(
    st.lists(st.tuples(st.integers(0, len(VALID) - 1), st.integers(0, 255)), max_size=12),
    st.sampled_from(["YUDO", "LBBG", "KTTN", "EGLL", "ENVA"]),
    st.integers(0, len(VALID)),
)
def test_mutated_reports_give_an_observation_or_a_source_error(
    changes: list[tuple[int, int]], station: str, cut: int
) -> None:
    raw = bytearray(VALID)
    for place, value in changes:
        raw[place] = value
    try:
        seen = read(bytes(raw[:cut]), station)
    except SourceError:
        return
    assert seen.station == station
    assert seen.valid_from <= NOW + timedelta(hours=1)
    assert seen.temperature is None or -100 <= seen.temperature.value <= 100
    assert seen.pressure is None or 850 <= seen.pressure.value <= 1100


@given(st.binary(max_size=300))
def test_noise_is_no_report(noise: bytes) -> None:
    with pytest.raises(SourceError):
        read(noise)


def test_a_large_payload_of_short_lines_is_read_in_linear_time() -> None:
    started = datetime.now(UTC)
    with pytest.raises(SourceError):
        read(b"EGHE 311150Z 1\n" * 50_000)
    assert datetime.now(UTC) - started < timedelta(seconds=20)
