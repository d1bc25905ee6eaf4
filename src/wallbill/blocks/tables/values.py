"""Values out of the rows that a sheet hands over: mappings, records, tuples; and numbers set by their decimal signs."""

from collections.abc import Mapping, Sequence
from typing import Any

from wallbill.errors import SheetError
from wallbill.places.words import did_you_mean


class NotThereError(Exception):
    """A row has no value under a key; ``known``: the keys that it has."""

    def __init__(self, known: Sequence[str]) -> None:
        super().__init__()
        self.known = known


def value_at(row: object, key: str | int) -> Any:
    """The value of a row under a key, a path such as ``place.name``, or a number from 0; None within a gap.

    Raises `NotThereError` where the row has none of that name.
    """
    if isinstance(key, str) and isinstance(row, Mapping) and key in row:
        return row[key]
    value: Any = row
    for part in key.split(".") if isinstance(key, str) else (key,):
        value = _part(value, part)
        if value is None:
            return None
    return value


def _part(row: Any, name: str | int) -> Any:
    if row is None:
        return None
    if isinstance(row, Mapping):
        if name not in row:
            raise NotThereError([str(key) for key in row])
        return row[name]
    if isinstance(row, Sequence) and not isinstance(row, str) and (isinstance(name, int) or name.isdigit()):
        if not -len(row) <= int(name) < len(row):
            raise NotThereError([str(at) for at in range(len(row))])
        return row[int(name)]
    parts = [part for part in dir(row) if not part.startswith("_")]
    if str(name) not in parts or callable(getattr(row, str(name))):
        raise NotThereError([part for part in parts if not callable(getattr(row, part, None))])
    return getattr(row, str(name))


def values_under(rows: Sequence[object], key: str | int) -> tuple[Any, ...]:
    """The value of each row; None where a row lacks it. Raises `SheetError` where every row does, with the near key."""
    found: list[Any] = []
    lacking: NotThereError | None = None
    there = False
    for row in rows:
        try:
            found.append(value_at(row, key))
            there = True
        except NotThereError as fault:
            found.append(None)
            lacking = lacking or fault
    if lacking is not None and not there:
        raise SheetError(
            f"no row has {key!r}", mend=did_you_mean(str(key), lacking.known, else_=_keys(lacking.known))
        )
    return tuple(found)


def _keys(known: Sequence[str]) -> str:
    return f"The rows have {', '.join(known)}." if known else "Hand over rows that have parts."


def keys_of(rows: Sequence[object]) -> tuple[str | int, ...]:
    """The columns of rows of which nothing is said: keys of mappings, places in tuples, fields of records."""
    first = next((row for row in rows if row is not None), None)
    if isinstance(first, Mapping):
        return tuple(dict.fromkeys(str(key) for row in rows if isinstance(row, Mapping) for key in row))
    fields = getattr(first, "_fields", None) or tuple(getattr(type(first), "__dataclass_fields__", ()))
    if fields:
        return tuple(str(name) for name in fields if not str(name).startswith("_"))
    if isinstance(first, Sequence) and not isinstance(first, str):
        return tuple(range(max(len(row) for row in rows if isinstance(row, Sequence))))
    return ()


def whole_part(text: str, decimal: str) -> int:
    """How many characters of a number stand before its decimal sign; all of a text that has no figure.

    "−3.5 °C" 2, "12 km" 2, "1,012.4" 5, "–" 1.
    """
    start = next((at for at, sign in enumerate(text) if sign.isdigit()), None)
    if start is None:
        return len(text)
    for at in range(start, len(text)):
        behind = text[at + 1 : at + 2]
        if text[at].isdigit():
            continue
        if text[at] == decimal or not behind.isdigit():
            return at
    return len(text)
