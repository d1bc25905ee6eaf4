"""What a table's columns are asked to be, and how wide they come out."""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, TypeVar

from wallbill.blocks.tables.cutting import Cut
from wallbill.errors import SheetError
from wallbill.places.words import did_you_mean, shown

MOST_LINES = 12
"""Lines that a cell may have at most."""


_Word = TypeVar("_Word", bound=StrEnum)


class Align(StrEnum):
    """How texts stand in a column: ``start`` is left, or right where the language runs from right to left."""

    START = "start"
    END = "end"
    CENTRE = "center"
    LEFT = "left"
    RIGHT = "right"

    def side(self, *, leftwards: bool) -> "Align":
        """Left, centre or right."""
        if self in (Align.START, Align.END):
            return Align.RIGHT if (self is Align.END) is not leftwards else Align.LEFT
        return self


@dataclass(frozen=True, slots=True)
class Column:
    """One column.

    ``key``: where its value lies in a row: a name, a path such as ``place.name``, or a number from 0. ``head``: its
    heading. ``priority``: columns of lower priority give way first, and of equal ones that further back. ``least_px``,
    ``most_px``: bounds of its width. ``wrap``: lines that a cell may have. ``numeric``: numbers stand with their
    decimal signs in one line. ``role``: the class of its cells. ``grow``: takes the room that is left over.
    ``form``: makes a value a text.
    """

    key: str | int
    form: Callable[[Any], str]
    head: str = ""
    align: Align = Align.START
    priority: float = 0
    least_px: int | None = None
    most_px: int | None = None
    wrap: int = 1
    numeric: bool = False
    cut: Cut = Cut.END
    role: str = "wb-cell"
    grow: bool = False


OPTIONS = (
    "key", "head", "align", "priority", "least", "most", "format", "filter", "wrap", "numeric", "cut", "role", "grow",
)  # fmt: skip
"""What a sheet may say of a column."""


def column_of(given: object, form_of: Callable[[Any], Callable[[Any], str]]) -> Column:
    """A column from what a sheet says: a key alone, or a mapping with `OPTIONS`. ``form_of``: finds a format.

    Raises `SheetError` for an option or a value that is not known, with the nearest one.
    """
    if isinstance(given, str | int) and not isinstance(given, bool):
        return Column(given, form_of(None))
    if not isinstance(given, Mapping) or "key" not in given:
        raise SheetError(
            f"a column is a key, or a mapping with a key, not {shown(given)}",
            mend='Write {"key": "summary", "head": "What"}.',
        )
    for name in given:
        if name not in OPTIONS:
            raise SheetError(f"a column has no {name!r}", mend=did_you_mean(str(name), OPTIONS))
    numeric = bool(given.get("numeric", False))
    return Column(
        key=given["key"],
        form=form_of(given.get("format", given.get("filter"))),
        head=str(given.get("head") or ""),
        align=_one_of(Align, given.get("align", "end" if numeric else "start"), "align"),
        priority=_number(given, "priority", 0.0),
        least_px=_pixels(given, "least"),
        most_px=_pixels(given, "most"),
        wrap=_wrap(given.get("wrap", 1)),
        numeric=numeric,
        cut=_one_of(Cut, given.get("cut", "end"), "cut"),
        role=str(given.get("role") or "wb-cell"),
        grow=bool(given.get("grow", False)),
    )  # fmt: skip


def _one_of(kind: type[_Word], given: object, name: str) -> _Word:
    try:
        return kind(str(given))
    except ValueError as fault:
        raise SheetError(
            f"a column's {name} cannot be {shown(given)}",
            mend=did_you_mean(str(given), [one.value for one in kind]),
        ) from fault


def _number(given: Mapping[Any, Any], name: str, usual: float) -> float:
    value = given.get(name, usual)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise SheetError(
            f"a column's {name} is a number, not {shown(value)}", mend=f"Write {name}: 1, or leave it out."
        )
    return value


def _pixels(given: Mapping[Any, Any], name: str) -> int | None:
    return None if given.get(name) is None else max(0, round(_number(given, name, 0)))


def _wrap(value: object) -> int:
    lines = 2 if value is True else 1 if value is False or value is None else value
    if not isinstance(lines, int) or not 1 <= lines <= MOST_LINES:
        raise SheetError(
            f"a cell wraps to 1 to {MOST_LINES} lines, not {shown(value)}",
            mend="Write wrap: 2 for two lines.",
        )
    return lines


@dataclass(frozen=True, slots=True)
class Wish:
    """How wide a column would be, pixels: by its texts, and at the least. ``grow``: whether it takes what is left.

    ``snug_px``: down to where its texts are broken but not cut; None: its natural width.
    """

    natural_px: int
    least_px: int
    priority: float = 0
    grow: bool = False
    snug_px: int | None = None

    @property
    def steps_px(self) -> tuple[int, int, int]:
        """Widths that it has in turn when there is less and less room."""
        snug = self.natural_px if self.snug_px is None else min(self.snug_px, self.natural_px)
        return self.natural_px, snug, min(self.least_px, snug)


def shared_widths(wishes: Sequence[Wish], width_px: int, *, gap_px: int) -> tuple[int | None, ...]:
    """The width of each column, pixels, None for one that is left out; with the gaps between they never exceed the whole.

    Natural widths where they fit; else columns that wrap give up what breaking their texts saves; else those of lower
    priority shrink first, down to their least; then those of the lowest priority are left out. What is left over goes
    to the column that grows.
    """
    kept = sorted(range(len(wishes)), key=lambda at: (wishes[at].priority, -at))
    while len(kept) > 1 and _sum([wishes[at].steps_px[-1] for at in kept], gap_px) > width_px:
        kept.pop(0)
    widths = {at: wishes[at].natural_px for at in kept}
    for step in (1, 2):
        for at in kept:
            over_px = max(0, _sum(widths.values(), gap_px) - width_px)
            widths[at] -= min(over_px, widths[at] - min(widths[at], wishes[at].steps_px[step]))
    if len(kept) == 1:
        widths[kept[0]] = min(widths[kept[0]], width_px)
    free_px = width_px - _sum(widths.values(), gap_px)
    growing = next((at for at in widths if wishes[at].grow), None)
    if growing is not None and free_px > 0:
        widths[growing] += free_px
    return tuple(widths.get(at) for at in range(len(wishes)))


def _sum(widths_px: Collection[int], gap_px: int) -> int:
    return sum(widths_px) + gap_px * (len(widths_px) - 1)
