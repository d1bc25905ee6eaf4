"""What a table's columns are asked to be, and how wide they come out."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, TypeVar

from wallbill.blocks.tables.cutting import Cut
from wallbill.errors import SheetError
from wallbill.places.words import did_you_mean

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
            f"a column is a key, or a mapping with a key, not {given!r}",
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
            f"a column's {name} cannot be {given!r}",
            mend=did_you_mean(str(given), [one.value for one in kind]),
        ) from fault


def _number(given: Mapping[Any, Any], name: str, usual: float) -> float:
    value = given.get(name, usual)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise SheetError(
            f"a column's {name} is a number, not {value!r}", mend=f"Write {name}: 1, or leave it out."
        )
    return value


def _pixels(given: Mapping[Any, Any], name: str) -> int | None:
    return None if given.get(name) is None else max(0, round(_number(given, name, 0)))


def _wrap(value: object) -> int:
    lines = 2 if value is True else 1 if value in (False, None) else value
    if not isinstance(lines, int) or not 1 <= lines <= MOST_LINES:
        raise SheetError(
            f"a cell wraps to 1 to {MOST_LINES} lines, not {value!r}", mend="Write wrap: 2 for two lines."
        )
    return lines


@dataclass(frozen=True, slots=True)
class Wish:
    """How wide a column would be, pixels: by its texts, and at the least. ``grow``: whether it takes what is left."""

    natural_px: int
    least_px: int
    priority: float = 0
    grow: bool = False


def shared_widths(wishes: Sequence[Wish], width_px: int, *, gap_px: int) -> tuple[int | None, ...]:
    """The width of each column, pixels, None for one that is left out; with the gaps between they never exceed the whole.

    Natural widths where they fit; else those of lower priority shrink first, down to their least; then those of the
    lowest priority are left out. What is left over goes to the column that grows.
    """
    givers = sorted(range(len(wishes)), key=lambda at: (wishes[at].priority, -at))
    kept = list(givers)
    while len(kept) > 1 and _sum(wishes, kept, gap_px, least=True) > width_px:
        kept.pop(0)
    widths: list[int | None] = [None] * len(wishes)
    for at in kept:
        widths[at] = wishes[at].natural_px
    over_px = _sum(wishes, kept, gap_px, least=False) - width_px
    for at in kept:
        if over_px <= 0:
            break
        least_px = 0 if len(kept) == 1 else min(wishes[at].least_px, wishes[at].natural_px)
        given_px = min(over_px, wishes[at].natural_px - least_px)
        widths[at] = wishes[at].natural_px - given_px
        over_px -= given_px
    growing = next((at for at in range(len(wishes)) if wishes[at].grow and at in kept), None)
    if growing is not None and over_px < 0:
        widths[growing] = (widths[growing] or 0) - over_px
    return tuple(widths)


def _sum(wishes: Sequence[Wish], kept: Sequence[int], gap_px: int, *, least: bool) -> int:
    each = (
        min(wishes[at].least_px, wishes[at].natural_px) if least else wishes[at].natural_px for at in kept
    )
    return sum(each) + gap_px * (len(kept) - 1)
