"""GS1 element strings in Code 128: what a number means goes before it, in brackets.

Source: GS1 General Specifications, element strings and their predefined lengths, from memory.
"""

import re
from types import MappingProxyType

from wallbill.blocks.codes.code128 import FNC1, characters, code128_of
from wallbill.blocks.codes.ean import check_digit
from wallbill.blocks.codes.linear import Bars
from wallbill.errors import SheetError

_ELEMENT = re.compile(r"\((\d{2,4})\)([^()]+)")
_LENGTHS = MappingProxyType(
    {
        "00": 18, "01": 14, "02": 14, "03": 14, "04": 16,
        **dict.fromkeys(("11", "12", "13", "14", "15", "16", "17", "18", "19"), 6),
        "20": 2, **dict.fromkeys(("31", "32", "33", "34", "35", "36"), 6), "41": 13,
    }
)  # fmt: skip
"""Digits after the identifiers that begin so; these elements need no separator after them."""

_CHECKED = frozenset({"00", "01", "02", "03"})
_MOST = 48


def gs1_128(text: str) -> Bars:
    """The bars of element strings such as ``(01)09501101530003(17)261231(10)AB-12``; printed below as they stand.

    FNC1 goes first, and again after each element of no set length but the last. Raises `SheetError` for what has
    no identifiers, wrong lengths or check digits, or more than 48 characters.
    """
    compact = text.replace(" ", "")
    elements = _ELEMENT.findall(compact)
    if not elements or "".join(f"({name}){value}" for name, value in elements) != compact:
        raise SheetError(
            f"{text!r} is no row of GS1 elements",
            mend="Write each identifier in brackets before its value: (01)09501101530003(10)AB-12.",
        )
    row: list[int] = [FNC1]
    for place, (name, value) in enumerate(elements):
        _check(name, value)
        row += characters(name + value)
        if name[:2] not in _LENGTHS and place < len(elements) - 1:
            row.append(FNC1)
    if len(row) - 1 > _MOST:
        raise SheetError(
            f"a GS1 code holds {_MOST} characters, got {len(row) - 1}",
            mend="Part the elements over two codes.",
        )
    return code128_of(row, text=compact)


def _check(name: str, value: str) -> None:
    length = _LENGTHS.get(name[:2])
    if length is None:
        return
    if len(value) != length or not (value.isascii() and value.isdecimal()):
        raise SheetError(
            f"({name}) takes {length} digits, got {value!r}", mend="Fill it up with zeros on the left."
        )
    if name in _CHECKED and int(value[-1]) != check_digit(value[:-1]):
        raise SheetError(
            f"the check digit of ({name}){value} is wrong: it would be {check_digit(value[:-1])}",
            mend="Copy the number again.",
        )
