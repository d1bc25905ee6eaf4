"""Filling in sheets: what may be said, and how faults are told."""

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

import pytest

from wallbill.errors import Place, SheetError
from wallbill.facts.given import Given
from wallbill.facts.origin import Origin
from wallbill.facts.supply import Supplied, Supply
from wallbill.sheets.environment import Environment
from wallbill.sheets.missing import DASH, Missing
from wallbill.sheets.scope import FactsView

NOW = datetime(2026, 3, 14, 8, tzinfo=UTC)
ORIGIN = Origin("rota", "own", "", None, NOW)


def environment(**texts: str) -> Environment:
    named = {f"{name}.html": text for name, text in texts.items()}
    return Environment(
        named, {"shout": lambda value: DASH if value is None else str(value).upper(), "fail": failing}
    )


def failing(value: object) -> str:
    raise ValueError("no such day")


def scope(notes: list[str] | None = None) -> dict[str, Any]:
    supply = Supply(
        {
            "rota": Supplied("rota", "own", Given(ORIGIN, {"name": "Orla", "nothing": None})),
            "forecast": Supplied("forecast", "forecast", None),
        }
    )
    return {"facts": FactsView(supply, (notes if notes is not None else []).append)}


def filled(text: str, notes: list[str] | None = None) -> str:
    return environment(hall=text).fill("hall.html", scope(notes))


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("{{ facts.rota.value.name }}", "Orla"),
        ("{{ facts['rota'].value['name']|shout }}", "ORLA"),
        ("{{ facts.rota.value.nothing }}", DASH),
        ("{{ facts.forecast.days[1].low|shout }}", DASH),
        ("{{ facts.forecast.at(1).low }}", DASH),
        ("{% for hour in facts.forecast.hours %}x{% else %}none{% endfor %}", "none"),
        ("{% if facts.forecast %}yes{% else %}no{% endif %}", "no"),
        ("{% if facts.forecast.low < 3 %}frost{% endif %}", ""),
        ("{{ facts.forecast.low + 1 }}", DASH),
        ("{% if 'forecast' in facts %}yes{% endif %}{% if 'rota' in facts %}rota{% endif %}", "rota"),
        ("{{ '<b>' }}", "&lt;b&gt;"),
        ("{{ (facts.forecast.low % 7)|round(1) }}", DASH),
        ("{{ -facts.forecast.low // 2 }}", DASH),
        ("{{ facts.forecast.low|int }}", DASH),
        ("{{ '%.1f'|format(facts.forecast.low) }}", DASH),
        ("{{ facts.forecast.hours|first }}", DASH),
        ("{{ (facts.forecast.hours|map(attribute='low')|list|length) }}", "0"),
        ("{{ facts.forecast.low|default('unknown') }}", "unknown"),
        ("{{ nothing|default('unknown') }}", "unknown"),
        ("{{ 3|default('unknown') }}", "3"),
        ("{{ ''|default('empty', true) }}", "empty"),
        (
            "{% macro m(x) %}{{ 'in' if x is defined else 'out' }}{% endmacro %}{{ m(nothing) }}{{ m(1) }}",
            "outin",
        ),
    ],
)
def test_facts_and_gaps_in_sheets(text: str, wanted: str) -> None:
    assert filled(text) == wanted


def test_each_printed_gap_is_noted_and_an_asked_one_is_not() -> None:
    notes: list[str] = []
    filled("{% if facts.forecast.x %}{% endif %}{{ facts.forecast.a }}{{ facts.forecast.b|shout }}", notes)
    assert notes == ["facts.forecast.a", "facts.forecast.b"]


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("x\n{% if %}", 2, "Close or correct the tag"),
        ("x\n\n{{ boat.name }}", 3, "'boat' is undefined"),
        ("\n{{ facts.rotta }}", 2, "rota"),
        ("\n\n{{ 1 + 'a' }}", 3, "TypeError"),
        ("{{ ''.__class__.__mro__ }}", 1, "unsafe"),
        ("\n{{ facts.rota.valu }}", 2, "valu"),
        ("{{ facts.rota.value.nam }}", 1, "there is no 'nam' in the table\n  mend: Did you mean 'name'?"),
        ("{{ [1, 2][5] }}", 1, "there is no member 5: the row has 2"),
        ("{{ nam|shout }}", 1, "'nam' is undefined"),
        ("{{ facts.rota.value.get(nam) }}", 1, "'nam' is undefined"),
        ("{{ 3|fail }}", 1, "the filter 'fail' cannot be put on 3: no such day"),
        ("{% include 'hall.html' %}", 1, "Break the circle"),
        ("\n{% for i in range(999999999) %}{% endfor %}", 2, "Range too big"),
    ],
)
def test_faults_name_file_line_and_mend(text: str, line: int, words: str) -> None:
    with pytest.raises(SheetError) as caught:
        filled(text)
    told = str(caught.value)
    assert told.startswith(f"sheets/hall.html:{line}")
    assert words in told
    assert caught.value.mend


def test_a_fault_in_an_included_sheet_names_that_sheet() -> None:
    sheets = environment(hall="{% include 'foot.html' %}", foot="\n\n{{ nothing.here }}")
    with pytest.raises(SheetError, match=r"sheets/foot\.html:3"):
        sheets.fill("hall.html", scope())


def test_a_sheet_that_is_not_there_is_told_with_the_nearest_name() -> None:
    with pytest.raises(SheetError, match=r"there is no sheet 'foott\.html'(.|\n)*Did you mean 'foot"):
        environment(hall="{% include 'foott.html' %}", foot="").fill("hall.html", scope())


@pytest.mark.parametrize(
    ("condition", "holds"),
    [
        ("facts.rota.value.name == 'Orla'", True),
        ("facts.forecast.active", False),
        ("facts.rota.nothing", False),
    ],
)
def test_conditions_over_facts(condition: str, *, holds: bool) -> None:
    assert environment().holds(condition, scope()) is holds


def test_a_broken_condition_is_told() -> None:
    with pytest.raises(SheetError, match="cannot reckon the condition"):
        environment().holds("facts.rota ==", scope())


@pytest.mark.parametrize(
    "condition", ["facts.rota.value.name > 3", "1 / 0", "facts.rotta", "facts.rota.value.x.y"]
)
def test_a_condition_that_cannot_be_reckoned_names_its_place(condition: str) -> None:
    with pytest.raises(SheetError) as caught:
        environment().holds(condition, scope(), where=Place("wall.toml", 9))
    assert str(caught.value).startswith("wall.toml:9: ")
    assert caught.value.mend


def test_missing_has_no_value_anywhere() -> None:
    missing = Missing("facts.x", lambda _: None)
    values: Mapping[str, Any] = {"part": missing.a.b[3].c(), "sum": missing + 1, "back": 2 * missing}
    assert all(isinstance(value, Missing) for value in values.values())
    assert not missing
    assert list(missing) == []
    assert missing == None  # noqa: E711  that it equals None is what is tested
    assert not missing > 0
    assert not missing < 0
