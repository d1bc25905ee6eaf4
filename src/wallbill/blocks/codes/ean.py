"""EAN-13 (ISO/IEC 15420), the number on goods and, as ISBN, on books.

Source: ISO/IEC 15420, from memory; the tests hold it against a library of other authors.
"""

from wallbill.blocks.codes.linear import Bars, Print
from wallbill.errors import SheetError

QUIET_MODULES = (11, 7)
"""Clear modules before and after."""

_DIGITS = 13
_LEFT = ("3211", "2221", "2122", "1411", "1132", "1231", "1114", "1312", "1213", "3112")
# Which of the six digits on the left are drawn with even parity (their widths in reverse), by the first digit.
_EVEN = ("", "245", "235", "234", "145", "125", "123", "135", "134", "124")
_GUARD, _MIDDLE = "111", "11111"
_HALF = 42


def check_digit(digits: str) -> int:
    """The check digit of a GS1 number without it: from the right, weights 3 and 1 in turn, modulo 10."""
    total = sum(int(digit) * (3 if place % 2 == 0 else 1) for place, digit in enumerate(reversed(digits)))
    return -total % 10


def ean13(number: str) -> Bars:
    """The bars of a number of 12 digits, or 13 with its check digit; spaces and hyphens are left out.

    Raises `SheetError` for other lengths, or a check digit that is wrong.
    """
    digits = number.replace(" ", "").replace("-", "")
    if not (digits.isascii() and digits.isdecimal()) or len(digits) not in {_DIGITS - 1, _DIGITS}:
        raise SheetError(
            f"an EAN is 13 digits, or 12 without the check digit, got {number!r}",
            mend="Copy it from the goods; a text of another kind goes into a bar code of kind code128.",
        )
    right = check_digit(digits[: _DIGITS - 1])
    if len(digits) == _DIGITS and int(digits[-1]) != right:
        raise SheetError(
            f"the check digit of {number!r} is wrong: it would be {right}",
            mend="Copy the number again, or leave its last digit out.",
        )
    digits = digits[: _DIGITS - 1] + str(right)
    return Bars(
        tuple(at % 2 == 1 for at, width in enumerate(_widths(digits)) for _ in range(width)),
        quiet=QUIET_MODULES,
        prints=(
            Print(digits[0], -9, -2),
            Print(digits[1:7], 3, 3 + _HALF),
            Print(digits[7:], 8 + _HALF, 8 + 2 * _HALF),
        ),
        text=digits,
        tall=frozenset((*range(3), *range(3 + _HALF, 8 + _HALF), *range(8 + 2 * _HALF, 11 + 2 * _HALF))),
    )


def _widths(digits: str) -> tuple[int, ...]:
    """Widths of spaces and bars in turn; a space of no width comes first, as a code begins with a bar."""
    even = _EVEN[int(digits[0])]
    left = "".join(
        _LEFT[int(digit)][::-1] if str(place) in even else _LEFT[int(digit)]
        for place, digit in enumerate(digits[1:7])
    )
    right = "".join(_LEFT[int(digit)] for digit in digits[7:])
    return tuple(int(width) for width in f"0{_GUARD}{left}{_MIDDLE}{right}{_GUARD}")
