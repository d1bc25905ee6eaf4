"""Code 128 (ISO/IEC 15417): a text as the fewest symbol characters, and their bars.

Source of tables and rules: ISO/IEC 15417, from memory; the tests hold the table against a library of other authors and
the number of characters against a search through all ways of encoding.
"""

from collections.abc import Sequence
from types import MappingProxyType

from wallbill.blocks.codes.linear import Bars, Print
from wallbill.errors import SheetError

FNC1 = -1
"""Stands in a row of characters for the function character that GS1 marks and parts its elements with."""

QUIET_MODULES = 10
"""Clear modules on either side."""

_SYMBOLS = (
    "212222222122222221121223121322131222122213122312132212221213221312231212112232122132122231113222123122123221"
    "223211221132221231213212223112312131311222321122321221312212322112322211212123212321232121111323131123131321"
    "112313132113132311211313231113231311112133112331132131113123113321133121313121211331231131213113213311213131"
    "311123311321331121312113312311332111314111221411431111111224111422121124121421141122141221112214112412122114"
    "122411142112142211241211221114413111241112134111111242121142121241114212124112124211411212421112421211212141"
    "214121412121111143111341131141114113114311411113411311113141114131311141411131211412211214211232"
)
_WIDTHS = 6
_STOP = "2331112"
_START = MappingProxyType({"B": 104, "A": 103, "C": 105})  # B first: it is taken where it is no longer
_CODE = MappingProxyType({"B": 100, "A": 101, "C": 99})
_SHIFT = 98
_FNC1_VALUE = 102
_OTHER = MappingProxyType({"A": "B", "B": "A"})
_CHECK = 103

_Way = tuple[int, ...]


def code128(text: str) -> Bars:
    """The bars of a text of ASCII characters, control characters included. Raises `SheetError` for any other."""
    return _bars(encode(characters(text)), text="".join(c if c.isprintable() else " " for c in text))


def code128_of(elements: Sequence[int], *, text: str) -> Bars:
    """The bars of a row of characters with `FNC1` in it. ``text``: printed below."""
    return _bars(encode(elements), text=text)


def characters(text: str) -> tuple[int, ...]:
    """The codes of a text's characters. Raises `SheetError` for an empty text or characters beyond ASCII."""
    if not text:
        raise SheetError("a code has no text", mend="Give the text that the code is to hold.")
    for letter in text:
        if not letter.isascii():
            raise SheetError(
                f"a bar code cannot hold {letter!r}",
                mend="Keep to ASCII: letters without accents, digits and signs; or draw a qr code.",
            )
    return tuple(ord(letter) for letter in text)


def encode(row: Sequence[int]) -> tuple[int, ...]:
    """The fewest symbol characters for a row of ASCII codes and `FNC1`: start, data and check character, no stop.

    By dynamic programming over the place in the row and the set (A, B or C) in force there. Of ways that are equally
    short the one that stays in its set the longer is taken.
    """
    best: list[dict[str, _Way]] = [{} for _ in range(len(row) + 2)]
    best[0] = {name: (value,) for name, value in _START.items()}
    for at in range(len(row)):
        here = best[at]
        _switch(here)
        for name, way in here.items():
            for symbols, taken in _steps(row, at, name):
                _keep(best[at + taken], name, (*way, *symbols))
    shortest = min(best[len(row)].values(), key=len)
    return (*shortest, check_character(shortest))


def check_character(symbols: Sequence[int]) -> int:
    """The check character of start and data characters: their sum weighted by place, modulo 103."""
    return (symbols[0] + sum(place * value for place, value in enumerate(symbols[1:], 1))) % _CHECK


def _switch(here: dict[str, _Way]) -> None:
    """Adds for each set the way that gets there by a change of set, where that is shorter."""
    for name, way in sorted(here.items(), key=lambda item: len(item[1])):
        for other, value in _CODE.items():
            if other != name:
                _keep(here, other, (*way, value))


def _keep(ways: dict[str, _Way], name: str, way: _Way) -> None:
    if name not in ways or len(way) < len(ways[name]):
        ways[name] = way


def _steps(row: Sequence[int], at: int, name: str) -> list[tuple[tuple[int, ...], int]]:
    """What may stand next in this set: symbol characters, and how many of the row they take."""
    if row[at] == FNC1:
        return [((_FNC1_VALUE,), 1)]
    if name == "C":
        pair = [chr(code) for code in row[at : at + 2] if code != FNC1]
        digits = "".join(pair)
        return [((int(digits),), 2)] if len(digits) == 2 and digits.isdecimal() else []
    value, other = _value(row[at], name), _value(row[at], _OTHER[name])
    if value is not None:
        return [((value,), 1)]
    return [((_SHIFT, other), 1)] if other is not None else []


def _value(code: int, name: str) -> int | None:
    """The value of an ASCII code in set A or B, None where it has none."""
    if name == "A":
        return code + 64 if code < 32 else code - 32 if code < 96 else None
    return code - 32 if code >= 32 else None


def _bars(symbols: Sequence[int], *, text: str) -> Bars:
    widths = "".join(_SYMBOLS[value * _WIDTHS : (value + 1) * _WIDTHS] for value in symbols) + _STOP
    dark = tuple(at % 2 == 0 for at, width in enumerate(widths) for _ in range(int(width)))
    return Bars(dark, quiet=(QUIET_MODULES, QUIET_MODULES), prints=(Print(text, 0, len(dark)),), text=text)
