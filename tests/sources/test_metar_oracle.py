"""METAR reports made of valid groups, read by us and by an independent decoder (metar, BSD 2-clause, tests only)."""

import warnings
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from metar import Metar
from tests.sources.test_metar import read

from wallbill.units.quantity import Quantity

WINDS = st.builds(
    "{:03d}{:02d}{}{}".format,
    st.integers(1, 36).map(lambda d: d * 10),
    st.integers(1, 30),
    st.sampled_from(["", "G45"]),
    st.sampled_from(["KT", "MPS"]),
)
SIGHTS = st.one_of(
    st.sampled_from(["9999", "CAVOK", "10SM", "1/2SM", "1 1/2SM", "3SM", "2 3/4SM"]),
    st.integers(1, 99).map(lambda n: f"{n * 100:04d}"),
)
SKIES = st.lists(
    st.builds("{}{:03d}".format, st.sampled_from(["FEW", "SCT", "BKN", "OVC"]), st.integers(1, 250)),
    max_size=3,
)
WARMTHS = st.tuples(st.integers(-40, 45), st.integers(-45, 30)).map(
    lambda pair: "/".join(f"{'M' if t < 0 else ''}{abs(t):02d}" for t in pair)
)
PRESSURES = st.one_of(
    st.integers(950, 1049).map(lambda q: f"Q{q:04d}"), st.integers(2800, 3090).map(lambda a: f"A{a}")
)


@given(
    st.integers(1440, 31 * 1440 - 1),
    WINDS,
    SIGHTS,
    SKIES,
    st.tuples(WARMTHS, PRESSURES),
)
def test_an_independent_decoder_reads_the_same(
    minute: int, wind: str, sight: str, sky: list[str], rest: tuple[str, str]
) -> None:
    at = datetime(2026, 3, 1, tzinfo=UTC) + timedelta(minutes=minute)
    text = " ".join([f"METAR EGHD {at:%d%H%M}Z {wind} {sight}", *sky, *rest])
    seen = read(text)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        other: Any = Metar.Metar(text, month=3, year=2026)
    assert seen.valid_from == other.time.replace(tzinfo=UTC)
    assert seen.wind_from_deg == other.wind_dir.value() % 360
    for ours, theirs in ((seen.wind_speed, other.wind_speed), (seen.wind_gust, other.wind_gust)):
        assert (ours is None) is (theirs is None)
        assert ours is None or ours.to("m/s").value == pytest.approx(theirs.value("MPS"), rel=1e-4)
    assert seen.visibility is not None
    assert seen.visibility.value == pytest.approx(other.vis.value("M"), rel=1e-4)
    assert len(seen.clouds) == len(other.sky)
    assert all(
        ours.base is not None and ours.base.value == pytest.approx(theirs[1].value("M"), rel=1e-4)
        for ours, theirs in zip(seen.clouds, other.sky, strict=True)
    )
    assert seen.temperature == Quantity(other.temp.value("C"), "°C")
    assert seen.dew_point == Quantity(other.dewpt.value("C"), "°C")
    assert seen.pressure is not None
    assert seen.pressure.value == pytest.approx(other.press.value("HPA"), rel=1e-4)
    assert not seen.origin.findings
