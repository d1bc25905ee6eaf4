"""The further charts as sheets call them: what each may be handed, in whose unit and words, and what is refused."""

import re
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from markupsafe import Markup

from wallbill.blocks.charts.bins import bins
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.ruler import Guess
from wallbill.blocks.maps.coast import Coast
from wallbill.errors import SheetError, WallbillError
from wallbill.facts.forecast import Day, Forecast, Hour
from wallbill.facts.origin import Origin
from wallbill.facts.series import Reading, Series
from wallbill.facts.values import Group, Value, Values
from wallbill.sheets.bench import Bench
from wallbill.sheets.charting_more import MoreCharts
from wallbill.sheets.functions import functions
from wallbill.sheets.missing import Missing
from wallbill.sheets.pictures import Pictures
from wallbill.sources.sun import Spot
from wallbill.units.quantity import Quantity
from wallbill.units.sight import Sight
from wallbill.units.wording import Wording

ZONE = ZoneInfo("Europe/Berlin")
NOW = datetime(2026, 3, 27, 7, 30, tzinfo=ZONE)
START = datetime(2026, 3, 26, 23, tzinfo=UTC)  # midnight at the wall
ORIGIN = Origin("hut", "invented", "", None, START)
SIZE: dict[str, Any] = {"width_px": 400, "height_px": 160}


def no_coast() -> Coast:
    raise AssertionError("a chart needs no coast")


def nobody(*args: object) -> Any:
    raise AssertionError("not asked for")


def bench(*, language: str = "de-DE", latitude_deg: float = 54.0, **units: str) -> Bench:
    return Bench(
        palette=Palette(accent="#c80000"),
        wording=Wording(language, ZONE, units),
        now=NOW,
        spot=Spot(latitude_deg, 10.0),
        size_px=(800, 480),
        sight=Sight(0.2, 1.0),
        ruler=Guess(),
        coast=no_coast,
        pictures=Pictures((), nobody),
        texts={},
        engrave=nobody,
        note=lambda finding: None,
    )


def charts(**how: Any) -> MoreCharts:
    return MoreCharts(bench(**how))


def series(*values: float | None, name: str = "quay", unit: str = "kWh", hours: float = 1) -> Series:
    step = timedelta(hours=hours)
    return Series(ORIGIN, name, unit, tuple(Reading(START + i * step, v) for i, v in enumerate(values)))


def forecast() -> Forecast:
    hours = tuple(
        Hour(
            START + timedelta(hours=i),
            START + timedelta(hours=i + 1),
            temperature=Quantity(i, "°C"),
            wind_speed=Quantity(i, "m/s") if i % 5 else None,
            wind_from_deg=10.0 * i,
        )
        for i in range(30)
    )
    days = tuple(
        Day(
            date(2026, 3, 27) + timedelta(days=i),
            Quantity(2 + i, "°C"),
            Quantity(9 + i, "°C"),
            Quantity(3.5 * i, "mm"),
        )
        for i in range(5)
    )
    return Forecast(ORIGIN, hours, days)


def said(html: Markup) -> list[str]:
    """The labels of a chart."""
    return re.findall(r'<span class="wb-[a-z]+" style="[^"]*">([^<]*)</span>', html)


def title(html: Markup) -> str:
    found = re.search(r'aria-label="([^"]*)"', html)
    return found.group(1).replace("\N{NO-BREAK SPACE}", " ") if found else ""


HOUSE = Values(
    ORIGIN,
    (
        Group("rooms", (Value("kitchen", 21.5, "°C", START), Value("sail loft", 14.0, "°C", START), Value("cellar", None, "°C", None))),
        Value("pump", "jammed", None, START),
    ),
)  # fmt: skip


def test_every_function_is_a_function_of_sheets() -> None:
    there = functions(bench())
    assert set(charts().functions) <= set(there)
    assert len(charts().functions) == 14


@pytest.mark.parametrize(
    "given",
    [
        [["Küche", 4.25], ["Boden", None]],
        (("Küche", Quantity(4.25, "kWh")), ("Boden", Quantity(4250, "Wh"))),
        {"Küche": Value("x", 4.25, "kWh", START), "Boden": Missing("facts.x", lambda path: None)},
        [series(1, 4.25, name="Küche"), series(None, name="Boden")],
    ],
)
def test_names_with_amounts_come_in_many_ways(given: Any) -> None:
    for draw in (charts().bar_chart, charts().bar_rows):
        html = draw(given, **SIZE)
        assert {"Küche", "Boden", "4,2" if "4,2" in said(html) else "4,25"} <= set(said(html))
        assert title(html).startswith("Küche 4,25")


def test_a_group_of_the_house_is_drawn_as_it_is() -> None:
    html = charts(temperature="°F").bar_rows(HOUSE["rooms"], order="falling", **SIZE)
    assert said(html)[:2] == ["kitchen", "70,7"]
    assert "–" in said(html)
    assert "°F" in said(html)


def test_numbers_have_the_places_that_are_asked_for() -> None:
    html = charts().bar_rows([["a", 1], ["b", 2.25]], digits=1, **SIZE)
    assert {"1,0", "2,3"} <= set(said(html)) or {"1,0", "2,2"} <= set(said(html))


def test_series_are_told_in_the_walls_unit() -> None:
    html = charts(temperature="°F").step_chart(series(0, 10, unit="°C"), **SIZE)
    assert {"32", "50", "°F"} <= set(said(html))
    assert "50 °F" in title(html)


def test_a_member_of_a_forecast_is_named() -> None:
    for draw in (charts().step_chart, charts().area_chart, charts().dot_chart):
        assert "29" in said(draw(forecast(), of="temperature", **SIZE))
    wet = charts().bar_chart(forecast().days, of="precipitation", **SIZE)
    assert {"3,5", "14", "mm"} <= set(said(wet))
    assert "Fr. 27" in said(wet) or "Fr., 27." in said(wet)
    with pytest.raises(SheetError, match="of what") as caught:
        charts().step_chart(forecast(), **SIZE)
    assert "of='temperature'" in caught.value.mend
    with pytest.raises(SheetError, match="no 'temprature'") as caught:
        charts().step_chart(forecast(), of="temprature", **SIZE)
    assert "'temperature'" in caught.value.mend


def test_readings_are_gathered_by_days_of_the_wall() -> None:
    html = charts().bar_chart(series(*[0.5] * 48), per="day", **SIZE)
    assert said(html).count("12") == 2
    mean = charts().bar_chart(series(*[0.5] * 48), per="day", gather="mean", **SIZE)
    assert said(mean).count("0,5") == 2
    with pytest.raises(SheetError, match="per='fortnight'"):
        charts().bar_chart(series(1, 2), per="fortnight", **SIZE)


def test_lists_of_moments_and_amounts_are_bars_over_time() -> None:
    by_date = [[date(2026, 3, 27), 4], [date(2026, 3, 28), 5], [date(2026, 3, 29), 6]]
    assert {"4", "5", "6"} <= set(said(charts().bar_chart(by_date, **SIZE)))
    naive = datetime(2026, 3, 27, 12)  # noqa: DTZ001  without a zone it is the wall's own noon
    stretches = [
        [naive, naive + timedelta(hours=6), 7],
        [naive + timedelta(hours=6), naive + timedelta(hours=12), 8],
    ]
    html = charts().bar_chart(stretches, **SIZE)
    assert {"7", "8", "14", "22"} <= set(said(html))


def test_a_year_has_months_under_it() -> None:
    html = charts().bar_chart(
        series(*[float(i % 9) for i in range(365)], hours=24), width_px=800, height_px=160
    )
    assert {"Apr.", "Mai"} & set(said(html)) or "Apr" in said(html)


def test_several_series_are_stacked_by_their_moments() -> None:
    parts = [series(1, 2, 3, name="Sonne", hours=24), series(1, 1, None, name="Netz", hours=24)]
    html = charts().stacked_bars(parts, **SIZE)
    assert {"Sonne", "Netz", "2", "3"} <= set(said(html))
    assert "4" not in said(html), "the third is unknown"


def test_tables_and_lists_are_stacked_by_their_names() -> None:
    table = {"Mo": {"Sonne": 3, "Netz": 1}, "Di": {"Netz": 2}}
    for draw in (charts().stacked_bars, charts().stacked_rows):
        assert {"Mo", "Di", "Sonne", "Netz", "4", "2"} <= set(said(draw(table, **SIZE)))
        listed = draw([["Mo", [3, 1]], ["Di", [0, 2]]], parts=["Sonne", "Netz"], **SIZE)
        assert {"Mo", "Di", "Sonne", "Netz", "4", "2"} <= set(said(listed))
        with pytest.raises(SheetError, match="2 parts, there are 1 names"):
            draw([["Mo", [3, 1]]], parts=["Sonne"], **SIZE)
        with pytest.raises(SheetError):
            draw([["Mo", 3]], parts=["Sonne"], **SIZE)


def test_ranges_of_the_days_of_a_forecast() -> None:
    html = charts(temperature="°F").range_rows(forecast().days, **SIZE)
    assert {"Fr", "Sa", "35,6", "48,2"} <= set(said(html)) or {"Fr.", "35,6"} <= set(said(html))
    listed = charts().range_rows([["heute", 4, 11, 7.5], ["morgen", None, 9]], **SIZE)
    assert {"heute", "4", "11", "morgen", "–"} <= set(said(listed))


def test_samples_of_series_and_numbers() -> None:
    values = [float(i * i % 17) for i in range(60)]
    found = bins(values)
    assert found is not None
    html = charts().histogram(series(*values), marked="latest", **SIZE)
    assert any("kWh" in text for text in said(html))
    assert "(60×)" in title(charts().histogram(values, step=2, **SIZE))
    boxes = charts().box_rows(
        [series(*values, name="quay"), series(*values[:9], name="loft")], quartiles="linear", **SIZE
    )
    assert {"quay", "loft"} <= set(said(boxes))
    with pytest.raises(SheetError, match="width above 0"):
        charts().histogram(values, step=0, **SIZE)


def test_states_come_as_pairs_as_series_and_by_name() -> None:
    pairs = [
        [NOW - timedelta(hours=9), "zu"],
        [NOW - timedelta(hours=4), "offen"],
        [NOW - timedelta(hours=1), None],
    ]
    html = charts().state_strip(pairs, order=["zu", "offen"], **SIZE)
    assert "offen" in said(html)
    numbers = series(0, 0, 1, 1, name="Tür", unit="1")
    html = charts().state_strip(numbers, words={0: "zu", 1: "offen"}, order=["zu", "offen"], **SIZE)
    assert {"Tür", "offen"} <= set(said(html))
    assert title(html).startswith("Tür: offen")
    both = charts().state_strip({"Tür": pairs, "Pumpe": [[NOW - timedelta(hours=3), True]]}, **SIZE)
    assert {"Tür", "Pumpe", "on"} <= set(said(both))


def test_two_series_against_each_other() -> None:
    html = charts(temperature="°F").scatter(
        series(0, 10, unit="°C", name="Luft"), series(50, 70, unit="%", name="Feuchte"), **SIZE
    )
    assert {"Luft, °F", "Feuchte, %"} <= set(said(html))
    assert charts().scatter([[1, 2], [3, 4]], across_name="x", up_name="y", **SIZE)
    with pytest.raises(SheetError):
        charts().scatter([[1, 2, 3]], **SIZE)


def test_barbs_turn_round_south_of_the_equator() -> None:
    north, south = charts(), charts(latitude_deg=-34.0)
    assert north.wind_barb(Quantity(8, "m/s"), 200, size_px=32) != south.wind_barb(
        Quantity(8, "m/s"), 200, size_px=32
    )
    assert north.wind_barbs(forecast(), **SIZE) != south.wind_barbs(forecast(), **SIZE)
    assert north.wind_barbs(forecast().hours, **SIZE) == north.wind_barbs(forecast(), **SIZE)
    assert "wb-gap" in north.wind_barb(Quantity(8, "m/s"), None, size_px=32.4)
    assert "wb-gap" in north.wind_barb(None, 200, size_px=32)
    assert 'aria-label="calm"' in north.wind_barb(Quantity(0, "m/s"), None, size_px=32)


MISSING = Missing("facts.gone", lambda path: None)


@pytest.mark.parametrize("nothing", [None, MISSING, [], ()])
def test_nothing_leaves_an_empty_place(nothing: Any) -> None:
    for name, draw in charts().functions.items():
        if name != "wind_barb":
            assert draw(nothing, **SIZE) == charts().bar_rows(None, **SIZE), name


@pytest.mark.parametrize("wrong", ["kitchen", 7, [["kitchen"]], [object()]])
def test_what_cannot_be_drawn_is_told_with_the_mend(wrong: Any) -> None:
    for name, draw in charts().functions.items():
        if name != "wind_barb":
            with pytest.raises(WallbillError) as caught:
                draw(wrong, **SIZE)
            assert caught.value.mend, name


def test_a_size_and_known_options_are_asked_for() -> None:
    with pytest.raises(SheetError, match="has a size"):
        charts().bar_rows([["a", 1]], width_px=300)
    with pytest.raises(SheetError, match="no option 'colour'"):
        charts().bar_rows([["a", 1]], colour="red", **SIZE)
    with pytest.raises(SheetError, match="order='up'"):
        charts().bar_rows([["a", 1]], order="up", **SIZE)
    with pytest.raises(WallbillError, match="cannot give"):
        charts().bar_rows([["a", Quantity(1, "kWh")], ["b", Quantity(1, "°C")]], **SIZE)


def test_readings_are_no_states() -> None:
    pairs = [[NOW - timedelta(hours=hour), hour / 10] for hour in range(30, 0, -1)]
    with pytest.raises(SheetError, match="at most 12") as told:
        charts().state_strip(pairs, **SIZE)
    assert "step_chart" in told.value.mend
