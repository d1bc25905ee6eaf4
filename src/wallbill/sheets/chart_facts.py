"""What sheets hand to charts of amounts, turned into values: numbers, names with amounts, parts, ranges, samples."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from wallbill.blocks.charts.amounts import Named
from wallbill.blocks.charts.ranges import Group, Range
from wallbill.blocks.charts.rows import Parts
from wallbill.errors import SheetError
from wallbill.facts.forecast import Day
from wallbill.facts.series import Reading, Series
from wallbill.facts.values import Value
from wallbill.sheets.missing import Missing
from wallbill.units.quantity import Quantity
from wallbill.units.wording import Wording

PAIRS = "a list of pairs such as [['kitchen', 4.2], ['loft', 1.1]], a group of values, or several series"
"""What names with amounts may be handed over as."""


def is_missing(given: object) -> bool:
    """Whether nothing was handed over."""
    return given is None or isinstance(given, Missing)


def refused(block: str, given: object, mend: str) -> SheetError:
    """The fault of a block, with its article, that was handed something it cannot draw."""
    return SheetError(f"{block} cannot be drawn of a {type(given).__name__}", mend=f"Hand it {mend}.")


@dataclass(slots=True)
class Scales:
    """Turns whatever stands for a number into one, all in one unit: the wall's for the first quantity that comes.

    ``unit``: that unit once one has come, "" before.
    """

    wording: Wording
    unit: str = ""

    def number(self, given: object) -> float | None:
        """The number of a number, quantity, value of the house, or series (its latest); None for a gap.

        A value of the house that is a text is a gap. Raises `SheetError` for anything else, and `WallbillError` for
        quantities of several kinds.
        """
        if isinstance(given, Series):
            given = given.latest_quantity
        if isinstance(given, Value):
            given = given.quantity or (given.value if isinstance(given.value, int | float) else None)
        if is_missing(given):
            return None
        if isinstance(given, Quantity):
            return self._in_unit(given)
        if isinstance(given, int | float | Decimal):
            return float(given)
        raise SheetError(
            f"a chart needs a number, got {given!r}",
            mend="Hand it a number, a quantity such as hour.temperature, or a value of the house.",
        )

    def series(self, given: Series) -> Series:
        """The series in that unit."""
        if not any(reading.value is not None for reading in given.readings):
            return given
        readings = tuple(
            Reading(r.at, None if r.value is None else self.number(Quantity(r.value, given.unit)))
            for r in given.readings
        )
        return Series(given.origin, given.name, self.unit, readings)

    def _in_unit(self, given: Quantity) -> float:
        self.unit = self.unit or self.wording.units.get(given.kind, given.unit)
        return given.value if given.unit == self.unit else given.to(self.unit).value


def named_of(given: Any, scales: Scales, *, block: str) -> tuple[Named, ...]:
    """Names with amounts: of a mapping, pairs, or series by their names. Raises `SheetError` for anything else."""
    return tuple(Named(name, scales.number(value)) for name, value in pairs_of(given, block=block))


def pairs_of(given: Any, *, block: str, mend: str = PAIRS) -> list[tuple[str, Any]]:
    """Names with whatever stands beside each."""
    if is_missing(given):
        return []
    if isinstance(given, Series):
        return [(given.name, given)]
    if isinstance(given, Mapping):
        return [(str(name), value) for name, value in given.items()]
    found = []
    for one in _listed(given, block=block, mend=mend):
        if isinstance(one, Series | Value):
            found.append((one.name, one))
        elif isinstance(one, Sequence) and not isinstance(one, str) and len(one) == 2:
            found.append((_name(one[0]), one[1]))
        elif not is_missing(one):
            raise refused(block, one, mend)
    return found


def _listed(given: Any, *, block: str, mend: str) -> Iterable[Any]:
    if isinstance(given, str) or not isinstance(given, Iterable):
        raise refused(block, given, mend)
    return given


def _name(given: object) -> str:
    return "" if is_missing(given) else str(given)


def parts_of(
    given: Any, names: Sequence[str], scales: Scales, *, block: str
) -> tuple[tuple[Parts, ...], tuple[str, ...]]:
    """Wholes with their parts, and the parts' names: of names beside lists of numbers, or beside tables of them.

    ``names``: of the parts, needed for lists; of tables, every key that comes, in the order in which they come.
    A part that a table does not have is nothing. Raises `SheetError` where the names are missing or too few.
    """
    mend = "pairs such as [['Mon', [3.1, 0.4]], ['Tue', [2.2, 1.5]]] and parts=['sun', 'grid']"
    pairs = pairs_of(given, block=block, mend=mend)
    tables = [value for _, value in pairs if isinstance(value, Mapping)]
    keys = tuple(names) or tuple(dict.fromkeys(str(key) for table in tables for key in table))
    found = []
    for name, value in pairs:
        if isinstance(value, Mapping):
            row = {str(key): part for key, part in value.items()}
            found.append(Parts(name, tuple(scales.number(row.get(key, 0)) for key in keys)))
        elif isinstance(value, Sequence) and not isinstance(value, str):
            if len(value) != len(keys):
                raise SheetError(
                    f"{name!r} has {len(value)} parts, there are {len(keys)} names of parts",
                    mend="Write parts=['sun', 'grid'] with a name for each number.",
                )
            found.append(Parts(name, tuple(scales.number(part) for part in value)))
        else:
            raise refused(block, value, mend)
    return tuple(found), keys


def ranges_of(given: Any, scales: Scales, *, wording: Wording) -> tuple[Range, ...]:
    """Ranges: of days of a forecast, by their weekdays, or of lists of a name, a low, a high, and a mark if wanted."""
    if is_missing(given):
        return ()
    mend = "facts.NAME.days of a forecast, or a list of lists such as [['Mon', 4, 11], ['Tue', 2, 9]]"
    found = []
    for one in _listed(given, block="a chart of ranges", mend=mend):
        if isinstance(one, Day):
            found.append(
                Range(wording.weekday(one.day, "short"), scales.number(one.low), scales.number(one.high))
            )
        elif isinstance(one, Sequence) and not isinstance(one, str) and len(one) in {3, 4}:
            found.append(Range(_name(one[0]), *(scales.number(part) for part in one[1:])))
        elif not is_missing(one):
            raise refused("a chart of ranges", one, mend)
    return tuple(found)


def sample_of(given: Any, scales: Scales, *, block: str) -> tuple[float | None, ...]:
    """The values of a series, or of a list of numbers and quantities."""
    if is_missing(given):
        return ()
    if isinstance(given, Series):
        return tuple(reading.value for reading in scales.series(given).readings)
    mend = "a series, or a list of numbers"
    return tuple(scales.number(one) for one in _listed(given, block=block, mend=mend))


def groups_of(given: Any, scales: Scales) -> tuple[Group, ...]:
    """Samples under names: of series, or of names beside series or lists of numbers."""
    block = "a chart of boxes"
    mend = "several series, or pairs of a name and a list of numbers"
    pairs = pairs_of(given, block=block, mend=mend)
    return tuple(Group(name, sample_of(value, scales, block=block)) for name, value in pairs)


def points_of(given: Any, scales: Scales) -> tuple[tuple[float, float], ...]:
    """Pairs of numbers; one of which either is a gap is left out. Raises `SheetError` for anything else."""
    block, mend = "a scatter", "two series, or a list of pairs of numbers"
    found = []
    for one in _listed(given, block=block, mend=mend):
        if not isinstance(one, Sequence) or isinstance(one, str) or len(one) != 2:
            raise refused(block, one, mend)
        x, y = (scales.number(part) for part in one)
        if x is not None and y is not None:
            found.append((x, y))
    return tuple(found)
