"""What a wall says about the values of a source: ``values = { boiler = { … } }``, one table a name."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta

from wallbill.errors import Place, SourceError
from wallbill.facts.values import is_free_name
from wallbill.sources.datum import KINDS, Wanted
from wallbill.sources.picking import ColumnOf, Part, pick_of
from wallbill.sources.saying import Saying
from wallbill.units.quantity import UNITS

MOST = 200
"""Values that one source may have."""


@dataclass(frozen=True, slots=True)
class Sought:
    """One value that a wall wants.

    ``place``: its table, for errors. ``topic``: where it comes from, for MQTT. ``pick``: the part of the payload, None:
    the whole. ``time``: the part that says when, None: nothing does.
    ``good_for``: as `wallbill.facts.values.Value` has it. ``availability``: the topic that says whether its sender is running.
    """

    name: str
    place: Place
    wanted: Wanted
    topic: str = ""
    pick: Part | None = None
    time: Part | None = None
    good_for: timedelta | None = None
    availability: str = ""


_KEYS = ("unit", "as", "time", "good_for")


def sought(
    options: Mapping[str, object],
    where: Place,
    *,
    table: str,
    keys: tuple[str, ...],
    good_for: timedelta | None,
) -> tuple[Sought, ...]:
    """The values that the option ``table`` of a source names.

    ``keys``: what each may say beside unit, as, time and good_for: ``pick``, ``topic``, ``column``, ``availability``.
    ``good_for``: of values that do not say it. Raises `SourceError` that names the option.
    """
    said = options.get(table)
    here = Place(where.file, where.line, table)
    if not isinstance(said, Mapping) or not said:
        raise SourceError(
            "it does not say which values to read",
            where=here,
            mend=f'Give {table} = {{ boiler = {{ {keys[0]} = "…", unit = "°C" }} }}.',
        )
    if len(said) > MOST:
        raise SourceError(
            f"it names {len(said)} values, more than {MOST}", where=here, mend="Make several sources of it."
        )
    return tuple(_one(str(name), inner, here, keys=keys, good_for=good_for) for name, inner in said.items())


def _one(
    name: str, said: object, table: Place, *, keys: tuple[str, ...], good_for: timedelta | None
) -> Sought:
    place = Place(table.file, table.line, f"{table.field}.{name}")
    if not is_free_name(name):
        raise SourceError(
            f"{name!r} is no name for a value",
            where=place,
            mend="Use letters, digits and _, and no word that a table of Python has, such as items.",
        )
    if not isinstance(said, Mapping):
        raise SourceError(
            f"{name} is no table", where=place, mend=f'Write {name} = {{ {keys[0]} = "…", unit = "°C" }}.'
        )
    say = Saying(said, place, inside=place.field)
    say.only(*keys, *_KEYS)
    return Sought(
        name=name,
        place=place,
        wanted=Wanted(unit=_unit(say), kind=say.choice("as", "", ("", *KINDS))),
        topic=say.text("topic", ""),
        pick=ColumnOf(say.text("column", name)) if "column" in keys else _pick(say, "pick"),
        time=_column(say, "time") if "column" in keys else _pick(say, "time"),
        good_for=say.length("good_for") or good_for,
        availability=say.text("availability", ""),
    )


def _unit(say: Saying) -> str | None:
    unit = say.text("unit", "")
    if unit and unit not in UNITS:
        raise SourceError(
            f"unknown unit {unit!r}", where=say.at("unit"), mend=f"Use one of {', '.join(UNITS)}."
        )
    return unit or None


def _pick(say: Saying, name: str) -> Part | None:
    text = say.text(name, "")
    return pick_of(text, say.at(name)) if text else None


def _column(say: Saying, name: str) -> Part | None:
    text = say.text(name, "")
    return ColumnOf(text) if text else None
