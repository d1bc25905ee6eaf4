"""What every function of a sheet is asked for, checked in one place: sizes, moments, names of options."""

import inspect
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo
from functools import wraps
from types import MappingProxyType
from typing import Any

from wallbill.blocks.drawing.grid import MOST_PX
from wallbill.errors import SheetError, WallbillError
from wallbill.places.words import did_you_mean, shown
from wallbill.sheets.missing import Missing

_PIXELS = "_px"
_SIDES = ("width_px", "height_px", "size_px")
_MOMENTS = frozenset({"start", "end", "now", "day", "at"})
_COUNTING = frozenset({"fitted_list"})  # its start is a number
_MOMENT_ALONE = frozenset({"now", "at"})

_KINDS: Mapping[str, tuple[type, str, str]] = MappingProxyType(
    {
        "digits": (int, "a whole number", "1"),
        "unit": (str, "a text", '"mm"'),
        "day_pattern": (str, "a pattern of the CLDR", '"EEEd"'),
        "gap_after": (timedelta, "a length of time", "hours(2)"),
        "over": (timedelta, "a length of time", "hours(3)"),
    }
)
"""Options that mean the same wherever they are: what they are, in code and in words, and an example."""


@dataclass(frozen=True, slots=True)
class Asking:
    """Checks what a sheet asks its functions for. ``zone``: of times that name none."""

    zone: tzinfo

    def checked(self, name: str, function: Callable[..., Any]) -> Callable[..., Any]:
        """``function`` as sheets call it by ``name``: faults in what it is handed are told in the sheet's words.

        Every ``…_px`` is a finite number of at most `MOST_PX`; moments may be written as texts of ISO 8601.
        Raises `SheetError`, also for what would be an error of Python's own.
        """
        moments = frozenset[str]() if name in _COUNTING else _MOMENTS

        @wraps(function)
        def call(*args: Any, **how: Any) -> Any:
            for option, value in how.items():
                if option.endswith(_PIXELS):
                    _check_pixels(name, option, value)
                elif option in moments and isinstance(value, str | int | float):
                    how[option] = moment(value, self.zone, option=option)
                elif option in _KINDS and value is not None:
                    _check_kind(name, option, value)
            try:
                return function(*args, **how)
            except WallbillError:
                raise
            except Exception as error:
                raise _told(name, function, args, how, error) from error

        return call


def moment(given: object, zone: tzinfo, *, option: str) -> datetime | date:
    """The moment or date that a sheet wrote as a text of ISO 8601, a time of day without an offset being the wall's.

    ``option``: what it was written for. Raises `SheetError` for a text that is none, and for anything but a text.
    """
    said = given.strip() if isinstance(given, str) else ""
    try:
        found = datetime.fromisoformat(said)
    except ValueError:
        raise SheetError(
            f"{option} is a moment or a date, not {shown(given)}",
            mend=f'Write {option}=now + hours(48), {option}="2026-03-29" or {option}="2026-03-29T18:30".',
        ) from None
    is_day = len(said) <= len("2026-03-29") and option not in _MOMENT_ALONE
    if is_day:
        return found.date()
    return found if found.tzinfo else found.replace(tzinfo=zone)


def _check_kind(name: str, option: str, value: object) -> None:
    """Raises `SheetError` for a value that is not of its option's kind, nor a gap."""
    kind, told, mend = _KINDS[option]
    if not isinstance(value, (kind, Missing)) or isinstance(value, bool):
        raise SheetError(f"{option} of {name} is {told}, not {shown(value)}", mend=f"Write {option}={mend}.")


def _check_pixels(name: str, option: str, value: object) -> None:
    """Raises `SheetError` for what is no number of pixels that a block can have; a gap is left to the block."""
    if value is None or isinstance(value, Missing):
        return
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise SheetError(
            f"{option} of {name} is a number of pixels, not {shown(value)}",
            mend=f"Write {option}={20 if option not in _SIDES else 200}, without quotes.",
        )
    if value > MOST_PX:
        raise SheetError(
            f"{option} of {name} is at most {MOST_PX} pixels, got {value:g}",
            mend=f"Write a smaller {option}.",
        )


def _told(
    name: str, function: Callable[..., Any], args: tuple[Any, ...], how: Mapping[str, Any], error: Exception
) -> SheetError:
    """An error of Python's own in the sheet's words: a wrong call, or a value of the wrong kind."""
    parameters = inspect.signature(function).parameters
    takes_any = any(one.kind is one.VAR_KEYWORD for one in parameters.values())
    named = [
        one.name for one in parameters.values() if one.kind in {one.KEYWORD_ONLY, one.POSITIONAL_OR_KEYWORD}
    ]
    unknown = [option for option in how if option not in named and not takes_any]
    if unknown:
        return SheetError(f"{name} takes no {unknown[0]!r}", mend=did_you_mean(unknown[0], named))
    try:
        inspect.signature(function).bind(*args, **how)
    except TypeError as fault:
        lacking = [
            one.name for one in parameters.values()
            if one.kind is one.KEYWORD_ONLY and one.default is one.empty and one.name not in how
        ]  # fmt: skip
        if lacking:
            return SheetError(
                f"{name} needs {' and '.join(lacking)}",
                mend=f"Write {', '.join(f'{one}=…' for one in lacking)}.",
            )
        return SheetError(f"{name}: {fault}", mend="docs/reference/sheets.md lists what it takes.")
    gaps = [side for side in _SIDES if side in how and (how[side] is None or isinstance(how[side], Missing))]
    if gaps:
        return SheetError(f"{name} needs a {gaps[0]}, and there is none", mend=f"Write {gaps[0]}=200.")
    if isinstance(error, MemoryError):
        return SheetError(f"{name} is too large to be drawn", mend="Make it smaller.")
    because = " ".join(str(error).split())
    return SheetError(
        f"{name} cannot be made of what it is handed{f': {because}' if because else ''}",
        mend="Hand it values of the kinds that docs/reference/sheets.md names.",
    )
