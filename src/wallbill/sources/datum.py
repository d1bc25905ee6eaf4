"""One value of a house as a number, a truth, a text or nothing, from what a device or a database says.

Nothing is guessed beyond what is written here: a number is a number with a point, and its unit, if it names one, is one
that we know. A wall may say what a value is (``as``) where the words are ambiguous.
"""

import json
import re
from dataclasses import dataclass
from math import isfinite
from typing import NoReturn

from wallbill.errors import WallbillError
from wallbill.facts.values import Datum
from wallbill.units.quantity import UNITS, Quantity

TEXT_MOST = 500
"""Characters of a text that are kept; more does not fit a wall."""

KINDS = ("number", "text", "truth")
"""What a wall may say that a value is."""

_NUMBER = re.compile(
    r"([+\-\u2212]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+\-]?[0-9]{1,3})?)\s*([^\s\d.,:;+\-/].{0,15})?"
)
_TRUE = frozenset({"on", "true", "yes", "online", "open", "1"})
_FALSE = frozenset({"off", "false", "no", "offline", "closed", "0"})
_SWITCH = frozenset({"on", "off", "true", "false", "online", "offline"})
_NOTHING = frozenset({"", "-", "--", "na", "n/a", "none", "null", "unknown", "unavailable"})


class DoubtError(Exception):
    """Why a value cannot be read, ``what``, and how to ``mend`` it; it becomes a finding, never more."""

    def __init__(self, what: str, mend: str) -> None:
        super().__init__(what)
        self.what = what
        self.mend = mend


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a value should be. ``unit``: of a number, None: the one that it names, if any. ``kind``: "" : as it looks."""

    unit: str | None = None
    kind: str = ""


def shown(value: object) -> str:
    """A value in a message, cut short."""
    text = repr(value)
    return text if len(text) <= 40 else text[:37] + "..."


def decoded(payload: bytes) -> str:
    """The text of a payload; raises `DoubtError` for what is no UTF-8."""
    try:
        return payload.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise DoubtError(
            "it is no text (UTF-8)", "Look at what is sent; pictures and the like cannot be read."
        ) from None


def unpacked(text: str) -> object:
    """The JSON value (RFC 8259) that a text is; the text itself where it is none.

    Raises `DoubtError` for NaN and Infinity, which are no JSON, and for a nest that is too deep.
    """

    def refuse(name: str) -> NoReturn:
        raise DoubtError(f"{name} is no number", "Look at the sensor: it has nothing to say.")

    try:
        value: object = json.loads(text, parse_constant=refuse)
    except RecursionError:
        raise DoubtError("it is nested too deep", "Look at what is sent.") from None
    except ValueError:
        return text
    return value


def datum(value: object, wanted: Wanted) -> tuple[Datum, str | None]:
    """What a value is, and its unit if it is a number that has one; raises `DoubtError` for what cannot be read."""
    if value is None or (isinstance(value, str) and value.strip().lower() in _NOTHING):
        return None, None
    if wanted.kind == "text":
        return _text(value), None
    if wanted.kind == "truth":
        return _truth(value), None
    if isinstance(value, bool):
        if wanted.kind == "number" or wanted.unit is not None:
            raise DoubtError(f"{shown(value)} is no number", "Take the unit away, or pick another part.")
        return value, None
    if isinstance(value, int | float):
        return _finite(value), wanted.unit
    if not isinstance(value, str):
        raise DoubtError(f"{_what(value)} is no single value", 'Say which part is meant, with pick = "…".')
    return _from_text(value, wanted)


def _from_text(text: str, wanted: Wanted) -> tuple[Datum, str | None]:
    number = _number(text)
    if wanted.kind == "number" or wanted.unit is not None:
        if number is None:
            raise DoubtError(f"{shown(text)} is no number", "Numbers are written with a point and no spaces.")
        return _in_unit(*number, wanted)
    if number is not None and (not number[1] or number[1] in UNITS):
        return _in_unit(*number, wanted)
    word = text.strip().lower()
    if word in _SWITCH:
        return word in _TRUE, None
    return _text(text), None


def _number(text: str) -> tuple[float, str] | None:
    """A number and the unit after it, "" for none; None for what is no number."""
    found = _NUMBER.fullmatch(text.strip())
    return None if found is None else (float(found[1].replace("\u2212", "-")), (found[2] or "").strip())


def _in_unit(number: float, sign: str, wanted: Wanted) -> tuple[float, str | None]:
    number = _finite(number)
    if not sign or sign == wanted.unit:
        return number, wanted.unit
    if sign not in UNITS:
        raise DoubtError(f"unknown unit {shown(sign)}", f"Use one of {', '.join(UNITS)}.")
    if wanted.unit is None:
        return number, sign
    try:
        return Quantity(number, sign).to(wanted.unit).value, wanted.unit
    except WallbillError as fault:
        raise DoubtError(fault.what, fault.mend) from None
    except OverflowError:
        raise DoubtError(f"{number:g} {sign} is too large", "Look at what is sent.") from None


def _finite(value: float) -> float:
    try:
        number = float(value)
    except OverflowError:
        number = float("inf")
    if not isfinite(number):
        raise DoubtError(f"{shown(value)} is no finite number", "Look at the sensor.")
    return number


def _truth(value: object) -> bool:
    if isinstance(value, bool):
        return value
    word = value.strip().lower() if isinstance(value, str) else str(value) if isinstance(value, int) else ""
    if word in _TRUE or word in _FALSE:
        return word in _TRUE
    raise DoubtError(f"{shown(value)} is neither yes nor no", f"Words for yes: {', '.join(sorted(_TRUE))}.")


def _text(value: object) -> str:
    """One line of printable text, cut at `TEXT_MOST`."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if not isinstance(value, str | int | float):
        raise DoubtError(f"{_what(value)} is no text", 'Say which part is meant, with pick = "…".')
    text = "".join(c if c.isprintable() else " " for c in str(value)[: TEXT_MOST * 4])
    text = " ".join(text.split())
    return text if len(text) <= TEXT_MOST else text[: TEXT_MOST - 1] + "…"


def _what(value: object) -> str:
    return "a list" if isinstance(value, list) else "a table" if isinstance(value, dict) else shown(value)
