"""Tables, lists and texts that fit, as sheets call them."""

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, is_dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from functools import partial
from itertools import islice
from typing import Any

from jinja2.runtime import Macro
from markupsafe import Markup

from wallbill.blocks.drawing.grid import MOST_PX
from wallbill.blocks.tables.cutting import Type, one_line
from wallbill.blocks.tables.listing import Item, ListSpec, Marks, lay_list, list_html
from wallbill.blocks.tables.setting import Stripes, inset_of, table_html
from wallbill.blocks.tables.spec import Align, Column, column_of
from wallbill.blocks.tables.table import Room, Row, lay_table
from wallbill.blocks.tables.texts import LEADING, SIZES_PX, TextSpec, lay_text, text_html
from wallbill.blocks.tables.values import keys_of, values_under
from wallbill.blocks.tables.words import more_text
from wallbill.errors import Place, SheetError
from wallbill.findings import Finding, Weight
from wallbill.places.words import a_kind, did_you_mean, shown
from wallbill.sheets.bench import Bench, gap
from wallbill.sheets.filters import filters_of
from wallbill.sheets.missing import DASH, Missing
from wallbill.units.quantity import Quantity

_MOST_ROWS = 10_000
_TABLE = (
    "columns", "size_px", "row_px", "lines", "group", "accent", "reverse", "strike", "more", "empty",
)  # fmt: skip
_LIST = (
    "columns", "size_px", "row_px", "marks", "wrap", "start", "key", "format", "done", "accent", "note",
    "note_format", "more", "empty",
)  # fmt: skip
_TEXT = ("sizes", "align", "role", "leading", "balance", "middle")


@dataclass(frozen=True, slots=True)
class Tables:
    """The functions of a sheet that set many facts, or a long one, into a box."""

    bench: Bench

    @property
    def functions(self) -> Mapping[str, Callable[..., Any]]:
        """By the names that sheets call them by."""
        return {"table": self.table, "fitted_list": self.fitted_list, "fitted_text": self.fitted_text}

    def table(self, rows: Any, *, width_px: float, height_px: float, **how: Any) -> Markup:
        """Rows of facts in measured columns, as many as fit; see `docs/reference/tables.md`."""
        _known(how, _TABLE, "a table")
        box = _box(width_px, height_px)
        known = _rows(rows)
        if known is None:
            return gap(*box)
        room = self._room(box, how)
        columns = self._columns(how.get("columns"), known)
        made = self._marked(known, columns, how)
        if not made:
            return self._empty(box, how, room)
        stripes = _one_of(Stripes, how.get("lines", "rules"), "lines")
        fields = stripes is Stripes.TINT or any(
            row.reverse or (row.accent and not room.palette.has_accent) for row in made
        )
        layout = lay_table(made, columns, room, inset_px=inset_of(room.size_px, fields=fields))
        if not layout.rows:
            self._tell("a table", room)
        return table_html(layout, room, stripes=stripes)

    def fitted_list(self, items: Any, *, width_px: float, height_px: float, **how: Any) -> Markup:
        """Things under each other, as many as fit; see `docs/reference/tables.md`."""
        _known(how, _LIST, "a list")
        box = _box(width_px, height_px)
        known = _rows(items)
        if known is None:
            return gap(*box)
        room = self._room(box, how)
        spec = ListSpec(
            marks=_one_of(Marks, how.get("marks") or "none", "marks"),
            columns=_count(how.get("columns", 1), "columns", most=12),
            wrap=_count(how.get("wrap", 1), "wrap", most=12),
            start=_whole(how.get("start", 1), "start"),
        )
        made = self._items(known, how)
        if not made:
            return self._empty(box, how, room)
        layout = lay_list(made, room, spec)
        if not layout.items:
            self._tell("a list", room)
        return list_html(layout, room, spec)

    def fitted_text(self, text: Any, *, width_px: float, height_px: float, **how: Any) -> Markup:
        """A text as large as its box allows; see `docs/reference/tables.md`."""
        _known(how, _TEXT, "a fitted text")
        box = _box(width_px, height_px)
        if text is None or isinstance(text, Missing):
            str(text)  # notes the gap
            return gap(*box)
        spec = TextSpec(
            align=_one_of(Align, how.get("align", "start"), "align"),
            role=str(how.get("role", "")),
            leading=_leading(how.get("leading", LEADING)),
            balance=bool(how.get("balance", False)),
            middle=bool(how.get("middle", False)),
        )
        wording = self.bench.wording

        def kind_at(size_px: int) -> Type:
            measure = partial(self.bench.ruler.width_px, size_px=size_px, role=spec.role)
            return Type(measure, wording.language.split("-u-")[0])

        sizes = _sizes(how.get("sizes"), box[1], spec.leading)
        layout = lay_text(self._plain(text), box, spec, sizes_px=sizes, kind_at=kind_at)
        if not layout.whole:
            self._note(
                "blocks.text-cut", f"a text was cut: even at {layout.size_px} px it has no room in {box[0]} x {box[1]} px",
                "Give it more room, smaller sizes, or soft hyphens in its long words.",
            )  # fmt: skip
        return text_html(layout, box, spec, palette=self.bench.palette, leftwards=wording.direction == "rtl")

    def _room(self, box: tuple[int, int], how: Mapping[str, Any]) -> Room:
        bench = self.bench
        size = how.get("size_px")
        more = how.get("more")
        if more is not None and not isinstance(more, str | Mapping):
            raise SheetError(
                f"more is a text or its plural forms, not {shown(more)}", mend='Write more="and {n} more".'
            )
        size_px = _count(bench.label_px(box[1]) if size is None else size, "size_px", most=MOST_PX)
        row_px = 0 if how.get("row_px") is None else _count(how["row_px"], "row_px", most=MOST_PX)
        if 0 < row_px < size_px:
            raise SheetError(
                f"rows {row_px} px apart would lie over each other: their type is {size_px} px",
                mend=f"Write row_px={math.ceil(1.2 * size_px)} or more, or leave it out.",
            )
        if more is not None:
            more_text(1, 2, bench.wording, words=more)  # told also where nothing is left over today
        return Room(*box, size_px, bench.ruler, bench.wording, bench.palette, row_px, more)

    def _columns(self, given: Any, rows: Sequence[object]) -> tuple[Column, ...]:
        wanted = keys_of(rows) if given is None else given
        if isinstance(wanted, str) or not isinstance(wanted, Sequence):
            raise SheetError(
                f"columns are listed, not {shown(wanted)}", mend='Write columns=[{"key": "summary"}].'
            )
        if not wanted and rows:
            raise SheetError(
                "it is not said which columns a table has",
                mend='Write columns=[{"key": "summary"}, …]: only tables of mappings, tuples and records name their own.',
            )
        return tuple(column_of(one, self.form) for one in wanted)

    def form(self, asked: Any) -> Callable[[Any], str]:
        """How values become texts: None for by their kind, the name of a filter, one with its options, or a macro."""
        if asked is None:
            return self._plain
        name, *options = asked if isinstance(asked, list | tuple) else (asked,)
        named: dict[str, Any] = dict(options.pop()) if options and isinstance(options[-1], Mapping) else {}
        if isinstance(name, Macro):
            return lambda value: self._plain(name(value, *options, **named))
        filters = filters_of(self.bench.wording)
        if name not in filters:
            raise SheetError(f"there is no filter {name!r}", mend=did_you_mean(str(name), filters))
        if name == "day_name" and not options:
            options = [self.bench.now]

        def formed(value: Any) -> str:
            if name == "time" and isinstance(value, date) and not isinstance(value, datetime):
                return ""  # what lasts all day has no time, and a dash would say that it is not known
            known = None if isinstance(value, Missing) else value
            try:
                return str(filters[name](known, *options, **named))
            except (TypeError, ValueError, AttributeError, ArithmeticError) as fault:
                raise SheetError(
                    f"the filter {name!r} cannot be put on {shown(value)}: {fault}",
                    mend="Give the column a filter for the kind of its values.",
                ) from fault

        return formed

    def _plain(self, value: Any) -> str:
        """A value in the words and figures of the wall, by its kind."""
        if isinstance(value, Missing) or value is None:
            return str(value) if isinstance(value, Missing) else DASH
        if isinstance(value, Markup):
            return value.striptags()
        if isinstance(value, list | tuple | frozenset | set):
            return ", ".join(map(self._plain, value))
        for kind, worded in self._wordings():
            if isinstance(value, kind):
                return worded(value)
        if is_dataclass(value) or isinstance(value, Mapping):
            raise SheetError(
                f"{a_kind(type(value))} is no text",
                mend="Name a part of it, such as its summary or its name.",
            )
        return str(value)

    def _wordings(self) -> tuple[tuple[Any, Callable[[Any], str]], ...]:
        """How values are worded by their kinds, the first that fits."""
        wording = self.bench.wording
        return (
            (bool, lambda truth: "✓" if truth else DASH),
            (int | float | Decimal, wording.number),
            (Quantity, wording.quantity),
            (datetime, wording.time),
            (date, lambda day: wording.date(day, "MMMEd")),
            (timedelta, wording.duration),
        )

    def _marked(
        self, rows: Sequence[object], columns: Sequence[Column], how: Mapping[str, Any]
    ) -> tuple[Row, ...]:
        values = [values_under(rows, column.key) for column in columns]
        groups = self._groups(rows, how.get("group"))
        accent, reverse, strike = (
            self._truths(rows, how.get(name)) for name in ("accent", "reverse", "strike")
        )
        return tuple(
            Row(tuple(one[at] for one in values), groups[at], accent[at], reverse[at], strike[at])
            for at in range(len(rows))
        )

    def _groups(self, rows: Sequence[object], group: Any) -> list[str]:
        if group is None:
            return [""] * len(rows)
        asked = group if isinstance(group, Mapping) else {"key": group}
        for name in asked:
            if name not in ("key", "format"):
                raise SheetError(f"a group has no {name!r}", mend=did_you_mean(str(name), ("key", "format")))
        form = self.form(asked.get("format"))
        texts = [one_line(form(value)) for value in values_under(rows, asked.get("key", ""))]
        # a filter words a day as it stands in a sentence: "today"
        return [text[:1].upper() + text[1:] if asked.get("format") else text for text in texts]

    def _truths(self, rows: Sequence[object], key: Any) -> list[bool]:
        """Whether each row is marked: by a key of the rows, or by a list of the same length."""
        if key is None:
            return [False] * len(rows)
        if isinstance(key, str | int):
            return [bool(value) for value in values_under(rows, key)]
        if isinstance(key, Sequence) and len(key) == len(rows):
            return [bool(value) for value in key]
        given = f"{len(key)} values for {len(rows)} rows" if isinstance(key, Sequence) else shown(key)
        raise SheetError(
            f"rows are marked by a key, or by as many values as there are rows, not by {given}",
            mend='Write reverse="late", with the name of what makes a row stand out.',
        )

    def _items(self, rows: Sequence[object], how: Mapping[str, Any]) -> tuple[Item, ...]:
        key = how.get("key")
        if key is None and rows and not isinstance(rows[0], str | Markup):
            key = next((name for name in ("summary", "title", "text", "name") if name in keys_of(rows)), None)
        texts = [*map(self.form(how.get("format")), rows if key is None else values_under(rows, key))]
        done, accent = self._truths(rows, how.get("done")), self._truths(rows, how.get("accent"))
        notes = [""] * len(rows)
        if how.get("note") is not None:
            form = self.form(how.get("note_format"))
            notes = ["" if value is None else form(value) for value in values_under(rows, how["note"])]
        return tuple(map(Item, texts, done, accent, notes))

    def _empty(self, box: tuple[int, int], how: Mapping[str, Any], room: Room) -> Markup:
        """What stands where there is nothing to list."""
        said = self._plain(how.get("empty"))
        spec = TextSpec(role="wb-empty", leading=1.45)
        layout = lay_text(
            said, box, spec, sizes_px=(room.size_px,), kind_at=lambda size_px: room.kind("wb-empty")
        )
        return text_html(layout, box, spec, palette=room.palette, leftwards=room.leftwards)

    def _tell(self, what: str, room: Room) -> None:
        self._note(
            "blocks.table-small",
            f"{what} of {room.width_px} x {room.height_px} px has no room for a single row of {room.size_px} px",
            "Give it more height, or a smaller size_px.",
        )

    def _note(self, rule: str, what: str, mend: str) -> None:
        self.bench.note(Finding(rule=rule, where=Place(""), what=what, mend=mend, weight=Weight.WARN))


def _known(how: Mapping[str, Any], names: Sequence[str], what: str) -> None:
    for name in how:
        if name not in names:
            raise SheetError(
                f"{what} has no {name!r}", mend=did_you_mean(name, (*names, "width_px", "height_px"))
            )


def _box(width_px: Any, height_px: Any) -> tuple[int, int]:
    return _count(width_px, "width_px", most=MOST_PX), _count(height_px, "height_px", most=MOST_PX)


def _count(value: Any, name: str, *, most: int) -> int:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 1 <= round(value) <= most:
        raise SheetError(
            f"{name} is 1 to {most}, not {shown(value)}", mend=f"Write {name} as a number in that range."
        )
    return round(value)


def _whole(value: Any, name: str) -> int:
    """A whole number. Raises `SheetError` for anything else."""
    if isinstance(value, bool) or not isinstance(value, int):
        raise SheetError(f"{name} is a whole number, not {shown(value)}", mend=f"Write {name}=1.")
    return value


def _leading(value: Any) -> float:
    """From line to line, in sizes of the type. Raises `SheetError` for what no lines can have."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0.8 <= value <= 4:
        raise SheetError(
            f"lines are 0.8 to 4 times the size apart, not {shown(value)}", mend="Write leading=1.2."
        )
    return float(value)


def _one_of(kind: Any, given: Any, name: str) -> Any:
    try:
        return kind(str(given))
    except ValueError as fault:
        raise SheetError(
            f"{name} cannot be {shown(given)}", mend=did_you_mean(str(given), [one.value for one in kind])
        ) from fault


def _sizes(given: Any, height_px: int, leading: float) -> tuple[int, ...]:
    if given is None:
        fitting = tuple(size for size in SIZES_PX if round(leading * size) <= height_px)
        return fitting or SIZES_PX[:1]
    listed = given if isinstance(given, Sequence) and not isinstance(given, str) else (given,)
    sizes = tuple(_count(one, "each of sizes", most=MOST_PX) for one in listed)
    if not sizes:
        raise SheetError("sizes lists no size", mend="Write sizes=[24, 32, 40], or leave it out.")
    return sizes


def _rows(given: Any) -> tuple[object, ...] | None:
    """The rows that a sheet hands over, gaps in them left out; None where they are a gap themselves."""
    if given is None or isinstance(given, Missing):
        str(given)  # notes the gap
        return None
    listed: Sequence[object] | None = None
    if isinstance(given, Iterable) and not isinstance(given, str | Mapping):
        listed = tuple(islice(given, _MOST_ROWS))
    if listed is None:
        raise SheetError(
            f"a table is made of rows, not of {a_kind(type(given))}",
            mend="Hand it a list, such as facts.NAME.events or facts.NAME.upcoming(now, 20).",
        )
    return tuple(row for row in listed if row is not None and not isinstance(row, Missing))
