"""Named values: how they are asked for, and how old they are."""

import copy
import pickle
from datetime import UTC, datetime, timedelta

import pytest

from wallbill.facts.origin import Freshness, Origin
from wallbill.facts.plain import plain_fact
from wallbill.facts.supply import Supplied
from wallbill.facts.values import Group, Value, Values, is_free_name
from wallbill.units.quantity import Quantity

NOW = datetime(2026, 3, 14, 7, 7, tzinfo=UTC)
HOUR = timedelta(hours=1)


def values(*entries: Value | Group, good_for: timedelta | None = None) -> Values:
    return Values(Origin("house", "mqtt", "", None, NOW, good_for), entries)


BOILER = Value("boiler", 61.5, "°C", NOW)
DOOR = Value("door", True, None, None)
ROOMS = Group("rooms", (Value("kitchen", 19.5, "°C", NOW), Value("sail loft", None, None, None)))


def test_values_are_asked_for_by_name() -> None:
    house = values(BOILER, DOOR, ROOMS)
    assert house.boiler is BOILER
    assert house["door"] is DOOR
    assert house.rooms is ROOMS
    assert list(house) == ["boiler", "door", "rooms"]
    assert dict(house)["rooms"] == ROOMS
    assert "boiler" in house
    assert "cellar" not in house
    assert house.get("cellar") is None
    assert ROOMS["sail loft"].name == "sail loft"


def test_a_name_that_there_is_not_is_told_with_those_that_there_are() -> None:
    with pytest.raises(AttributeError, match="no value 'cellar'; there are: boiler, door"):
        _ = values(BOILER, DOOR).cellar
    with pytest.raises(KeyError):
        _ = values(BOILER)["cellar"]


def test_quantities_are_of_numbers_that_have_a_unit() -> None:
    assert BOILER.quantity == Quantity(61.5, "°C")
    assert DOOR.quantity is None
    assert Value("n", 3.0, None, NOW).quantity is None


def test_ages_never_run_backwards_and_may_be_unknown() -> None:
    assert BOILER.age(NOW + HOUR) == HOUR
    assert BOILER.age(NOW - HOUR) == timedelta(0)
    assert DOOR.age(NOW) is None
    assert (BOILER.age_known, DOOR.age_known) == (True, False)
    with pytest.raises(ValueError, match="aware"):
        Value("x", 1.0, None, datetime(2026, 1, 1))  # noqa: DTZ001  the mistake itself


@pytest.mark.parametrize(
    ("value", "state"),
    [
        (Value("x", None, None, NOW, good_for=HOUR), Freshness.MISSING),
        (Value("x", 1.0, None, NOW - HOUR, good_for=HOUR), Freshness.FRESH),
        (Value("x", 1.0, None, NOW - HOUR * 2, good_for=HOUR), Freshness.STALE),
        (Value("x", 1.0, None, NOW - HOUR * 2), Freshness.FRESH),
        (Value("x", 1.0, None, None, good_for=HOUR), Freshness.STALE),
        (Value("x", 1.0, None, None), Freshness.FRESH),
        (Value("x", 1.0, None, None, held_at=NOW, good_for=HOUR), Freshness.FRESH),
        (Value("x", 1.0, None, None, held_at=NOW - HOUR * 2, good_for=HOUR), Freshness.STALE),
        (Value("x", 1.0, None, NOW - HOUR * 2, held_at=NOW, good_for=HOUR), Freshness.FRESH),
        (Value("x", 1.0, None, NOW, online=False, good_for=HOUR), Freshness.STALE),
        (Value("x", False, None, NOW, good_for=HOUR), Freshness.FRESH),
    ],
)
def test_the_freshness_of_a_value(value: Value, state: Freshness) -> None:
    assert value.freshness(NOW) is state
    assert Group("g", (value,)).freshness(NOW) is state


def test_the_stalest_value_decides_and_what_is_missing_does_not() -> None:
    fresh = Value("a", 1.0, None, NOW, good_for=HOUR)
    stale = Value("b", 1.0, None, NOW - 2 * HOUR, good_for=HOUR)
    missing = Value("c", None, None, NOW, good_for=HOUR)
    assert values(fresh, missing).freshness(NOW) is Freshness.FRESH
    assert values(fresh, Group("g", (stale,))).freshness(NOW) is Freshness.STALE
    assert values(missing).freshness(NOW) is Freshness.MISSING
    assert values().freshness(NOW) is Freshness.MISSING
    assert values(fresh, good_for=HOUR).freshness(NOW + 2 * HOUR) is Freshness.STALE
    assert Supplied("house", "mqtt", values(missing)).freshness(NOW) is Freshness.MISSING
    assert Supplied("house", "mqtt", values(fresh)).freshness(NOW) is Freshness.FRESH


def test_they_can_be_copied_hashed_and_printed() -> None:
    house = values(BOILER, ROOMS)
    assert copy.deepcopy(house) == house
    assert pickle.loads(pickle.dumps(house)) == house
    assert hash(house) == hash(values(BOILER, ROOMS))
    plain = plain_fact(house)
    assert isinstance(plain, dict)
    assert list(plain) == ["boiler", "rooms"]
    assert plain["boiler"] == {
        "name": "boiler", "value": 61.5, "unit": "°C", "at": "2026-03-14T07:07:00+00:00",
        "held_at": None, "online": None, "good_for": None,
    }  # fmt: skip


def test_names_that_may_be_asked_for_by_attribute() -> None:
    assert all(is_free_name(name) for name in ("boiler", "t2", "ölstand"))
    assert not any(
        is_free_name(name) for name in ("items", "origin", "freshness", "_x", "two words", "2t", "")
    )
