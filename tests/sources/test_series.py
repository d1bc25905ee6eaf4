"""Tables of readings into series: what is said holds, gaps stay gaps, and bad rows are told with their line."""

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import MappingProxyType
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wallbill.errors import Place, SourceError
from wallbill.facts.origin import Freshness, Origin
from wallbill.facts.series import Reading, Series
from wallbill.sources.series import parse
from wallbill.sources.spec import ParseContext, SourceSpec
from wallbill.units.quantity import Quantity

PAYLOADS = Path(__file__).parent / "payloads"
NOW = datetime(2026, 3, 14, 7, 45, tzinfo=UTC)
AIR: Mapping[str, object] = {"air": {"column": "air_c", "unit": "°C"}}


def _read(data: bytes, zone: str = "Europe/London", **options: Any) -> tuple[Series, ...]:
    spec = SourceSpec(
        "hut",
        "series",
        MappingProxyType({"columns": AIR, **options}),
        None,
        timedelta(minutes=45),
        Place("wall.toml", 12),
    )
    made = parse(data, ParseContext(spec, ZoneInfo(zone), 50.31, -4.05, NOW, NOW, "en-GB"))
    return made if isinstance(made, tuple) else (made,)


def _table(*rows: str, head: str = "time,air_c") -> bytes:
    return "\r\n".join([head, *rows, ""]).encode()


def _values(series: Series) -> list[float | None]:
    return [reading.value for reading in series.readings]


def test_two_columns_with_gaps_and_a_lone_peak() -> None:
    air, power = _read(
        (PAYLOADS / "readings.csv").read_bytes(),
        columns={
            "greenhouse": {"column": "greenhouse_c", "unit": "°C"},
            "power": {"column": "power_w", "unit": "W"},
        },
    )
    assert (air.name, air.unit, power.name, power.unit) == ("greenhouse", "°C", "power", "W")
    assert len(air.readings) == len(power.readings) == 96
    assert [r.at.strftime("%H:%M") for r in air.readings if r.value is None] == ["16:15", "16:30", "16:45"]
    assert None not in _values(power)
    assert power.maximum == Reading(datetime(2026, 3, 13, 21, 15, tzinfo=UTC), 1290.0)
    assert air.minimum_quantity == Quantity(13.0, "°C")
    assert power.latest == Reading(datetime(2026, 3, 14, 6, tzinfo=UTC), 401.0)
    assert power.thinned(8).maximum == power.maximum


def test_a_table_of_another_country() -> None:
    (air,) = _read(
        (PAYLOADS / "readings-de.csv").read_bytes(),
        zone="Europe/Berlin",
        encoding="cp1252",
        delimiter=";",
        decimal=",",
        time="Zeit",
        time_format="%d.%m.%Y %H:%M",
        columns={"luft": {"column": "Temperatur (°C)", "unit": "°C"}},
    )
    assert air.readings == (
        Reading(datetime(2026, 3, 14, 5, tzinfo=UTC), 3.4),
        Reading(datetime(2026, 3, 14, 6, tzinfo=UTC), -0.5),
    )


@pytest.mark.parametrize(
    ("cell", "style", "at"),
    [
        ("2026-03-14T06:00:00Z", "iso", datetime(2026, 3, 14, 6, tzinfo=UTC)),
        ("2026-03-14T06:00:00+01:00", "iso", datetime(2026, 3, 14, 5, tzinfo=UTC)),
        ("2026-07-14 06:00", "iso", datetime(2026, 7, 14, 5, tzinfo=UTC)),
        ("1773468000", "unix", datetime(2026, 3, 14, 6, tzinfo=UTC)),
        ("1773468000500", "unix-ms", datetime(2026, 3, 14, 6, 0, 0, 500000, tzinfo=UTC)),
        ("14/03/2026 06:00 +0100", "%d/%m/%Y %H:%M %z", datetime(2026, 3, 14, 5, tzinfo=UTC)),
    ],
)
def test_times(cell: str, style: str, at: datetime) -> None:
    (air,) = _read(_table(f"{cell},3.4"), time_format=style)
    assert air.readings == (Reading(at, 3.4),)


def test_a_zone_of_its_own() -> None:
    (air,) = _read(_table("2026-07-14 06:00,3.4"), time_zone="UTC")
    assert air.readings[0].at == datetime(2026, 7, 14, 6, tzinfo=UTC)


def test_order_doubles_gaps_and_a_byte_order_mark() -> None:
    data = _table(
        "2026-03-14T07:00Z,3",
        "2026-03-14T06:00Z,1",
        "",
        "2026-03-14T06:30Z,NaN",
        "2026-03-14T06:45Z,unavailable",
        '2026-03-14T07:00Z,"4.5"',
        "2026-03-14T07:15Z,1e2",
    )
    (air,) = _read(b"\xef\xbb\xbf" + data)
    assert _values(air) == [1.0, None, None, 4.5, 100.0]


def test_a_later_row_of_the_same_instant_does_not_wipe_what_it_leaves_out() -> None:
    columns = {**AIR, "cell": {"column": "cell_v", "unit": "V"}}
    data = _table("2026-03-14T07:00Z,3,", "2026-03-14T07:00Z,,3.9", head="time,air_c,cell_v")
    air, cell = _read(data, columns=columns)
    assert (_values(air), _values(cell)) == ([3.0], [3.9])


def test_columns_by_number_and_lines_before_the_table() -> None:
    data = b'Logger 7\n"of the hut"\n2026-03-14T07:00Z|x|3\n'
    (air,) = _read(
        data, delimiter="|", header=False, skip_lines=2, time=1, columns={"air": {"column": 3, "unit": "°C"}}
    )
    assert _values(air) == [3.0]


def test_time_that_jumps_is_a_gap_if_the_wall_says_so() -> None:
    data = _table("2026-03-14T04:00Z,1", "2026-03-14T04:15Z,2", "2026-03-14T07:15Z,3")
    assert _values(_read(data)[0]) == [1.0, 2.0, 3.0]
    (air,) = _read(data, gap_after="30 min")
    assert _values(air) == [1.0, 2.0, None, 3.0]
    assert [len(run) for run in air.stretches()] == [2, 1]
    assert [len(run) for run in _read(data)[0].stretches(longest_gap=timedelta(hours=1))] == [2, 1]


def test_one_bad_row_is_left_out_and_told() -> None:
    good = [f"2026-03-14T06:{minute:02}Z,{minute}" for minute in range(30)]
    (air,) = _read(_table(*good[:10], "2026-03-14T06:3", *good[10:]))
    assert len(air.readings) == 30
    (finding,) = air.origin.findings
    assert (finding.rule, finding.where) == ("sources.left-out", Place("hut", 12))
    (air,) = _read(_table(*good[:10], "tomorrow,3", *good[10:]))
    assert "'tomorrow' is no time" in air.origin.findings[0].what
    (air,) = _read(_table(*good[:10], "2026-03-14T07:00Z,warm", *good[10:]))
    assert (_values(air)[-1], air.origin.findings[0].where.line) == (None, 12)


@pytest.mark.parametrize(
    ("data", "options", "line", "what"),
    [
        (_table("14.03.2026 06:00,3", "14.03.2026 07:00,4"), {}, 2, "no time of the format"),
        (_table("2026-03-14T06:00Z,3,4", '2026-03-14T07:00Z,"3,5"', '2026-03-14T07:15Z,"3,7"'), {}, 3, "no number"),
        (_table("2026-03-14T06:00Z,3", head="when,air_c"), {}, 1, "no column 'time'"),
        (_table("2026-03-14T06:00Z,3", head="time,warmth"), {}, 1, "no column 'air_c'"),
        (b"time,air_c\n2026-03-14T06:00Z,3\n# caf\xe9\n", {}, 3, "not written in utf-8"),
        (b"", {}, None, "empty"),
        (_table("2026-03-14T06:00Z,1_000", "2026-03-14T07:00Z,2_000"), {}, 2, "no number"),
        (_table("2026-03-14T06:00Z;3", head="time;air_c"), {}, 1, "no column 'time'"),
    ],
)  # fmt: skip
def test_a_table_of_another_kind_is_refused_with_its_line(
    data: bytes, options: dict[str, Any], line: int | None, what: str
) -> None:
    with pytest.raises(SourceError) as caught:
        _read(data, **options)
    assert what in str(caught.value)
    assert caught.value.where.file == "hut"
    assert caught.value.where.line == line
    assert caught.value.mend


@pytest.mark.parametrize(
    ("options", "field"),
    [
        ({"columns": None}, "columns"),
        ({"columns": {"air": {"column": "air_c"}}}, "columns.air"),
        ({"columns": {"air": {"column": "air_c", "unit": "°X"}}}, "columns.air"),
        ({"columns": {"air": {"colum": "air_c", "unit": "°C"}}}, "columns.air"),
        ({"delimiter": "||"}, "delimiter"),
        ({"decimal": ","}, "decimal"),
        ({"encoding": "utf-99"}, "encoding"),
        ({"time_zone": "Mars/Base"}, "time_zone"),
        ({"header": "no"}, "header"),
        ({"skip_lines": -1}, "skip_lines"),
        ({"gap_after": "soon"}, "gap_after"),
        ({"time_format": 3}, "time_format"),
    ],
)
def test_an_option_that_cannot_be_is_told_with_its_name(options: dict[str, Any], field: str) -> None:
    with pytest.raises(SourceError) as caught:
        _read(_table("2026-03-14T06:00Z,3"), **options)
    assert caught.value.where == Place("wall.toml", 12, field)
    assert caught.value.mend


def test_the_age_is_that_of_the_latest_reading() -> None:
    (air,) = _read(_table("2026-03-14T06:45Z,3", "2026-03-14T07:30Z,"))
    assert air.origin.dated == datetime(2026, 3, 14, 6, 45, tzinfo=UTC)
    assert air.origin.freshness(NOW) is Freshness.STALE
    (ahead,) = _read(_table("2026-03-14T09:00Z,3"))
    assert ahead.origin.dated == NOW


def test_an_empty_table_is_an_empty_series() -> None:
    (air,) = _read(_table())
    assert (air.readings, air.latest, air.minimum, air.maximum_quantity) == ((), None, None, None)
    assert air.thinned(3).readings == ()


def _series(values: list[float | None]) -> Series:
    start = datetime(2026, 3, 14, tzinfo=UTC)
    readings = tuple(Reading(start + timedelta(minutes=n), value) for n, value in enumerate(values))
    return Series(Origin("a", "", "", None, start), "a", "°C", readings)


@settings(max_examples=200)
@given(values=st.lists(st.one_of(st.none(), st.floats(-1e3, 1e3)), max_size=300), buckets=st.integers(1, 20))
def test_thinning_keeps_peaks_ends_gaps_and_order(values: list[float | None], buckets: int) -> None:
    whole = _series(values)
    thin = whole.thinned(buckets)
    assert len(thin.readings) <= max(5 * buckets, len(values) if len(values) <= 4 * buckets else 0)
    assert set(thin.readings) <= set(whole.readings)
    assert list(thin.readings) == sorted(thin.readings, key=lambda r: r.at)
    for name in ("minimum", "maximum", "latest"):
        kept, wanted = getattr(thin, name), getattr(whole, name)
        assert (kept and kept.value) == (wanted and wanted.value)
    assert (None in _values(thin)) == (None in values)


def test_thinning_needs_a_bucket() -> None:
    with pytest.raises(ValueError, match="bucket"):
        _series([1.0]).thinned(0)


def test_a_part_of_the_time() -> None:
    whole = _series([0.0, 1.0, 2.0, 3.0])
    start = datetime(2026, 3, 14, tzinfo=UTC)
    assert _values(whole.between(start + timedelta(minutes=1), start + timedelta(minutes=3))) == [1.0, 2.0]
