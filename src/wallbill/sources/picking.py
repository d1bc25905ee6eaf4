"""Picking a part of a JSON value by a JMESPath expression (jmespath.org, the specification of 2015)."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Protocol

import jmespath
from jmespath.exceptions import JMESPathError

from wallbill.errors import Place, SourceError
from wallbill.sources.datum import DoubtError

_LONGEST = 500


class Part(Protocol):
    """A way to a part of a value. ``text``: how the wall writes it."""

    @property
    def text(self) -> str:
        """How the wall writes it."""

    def of(self, value: object) -> object:
        """The part, None where there is none; raises `DoubtError` where it cannot be had of such a value."""


@dataclass(frozen=True, slots=True)
class ColumnOf:
    """The value of a column of a row, which is a mapping. ``text``: the column's name."""

    text: str

    def of(self, value: object) -> object:
        """The column's value, None for what is no row."""
        return value.get(self.text) if isinstance(value, Mapping) else None


@dataclass(frozen=True, slots=True)
class Pick:
    """A part of a JSON value. ``text``: the expression as it is written."""

    text: str
    _compiled: Any = field(repr=False, compare=False)

    def of(self, value: object) -> object:
        """The part, None where there is none; raises `DoubtError` where the expression does not fit the value."""
        try:
            return self._compiled.search(value)
        except (JMESPathError, ValueError, TypeError, ArithmeticError, LookupError) as fault:
            why = " ".join(str(fault).split())[:120]
            raise DoubtError(f"{self.text!r} does not fit: {why}", "Mend the pick.") from None
        except RecursionError:
            raise DoubtError(f"{self.text!r} goes too deep", "Mend the pick.") from None


def pick_of(text: str, where: Place) -> Pick:
    """The expression that a wall writes; raises `SourceError` for what is none."""
    why = "it is too long"
    if len(text) <= _LONGEST:
        try:
            return Pick(text, jmespath.compile(text))
        except (JMESPathError, ValueError, RecursionError) as fault:
            why = " ".join(str(fault).split())[:160]
    raise SourceError(
        f"{text[:60]!r} is no JMESPath: {why}",
        where=where,
        mend='Write a path such as "boiler.temp", "sensors[0].value", or "\\"a-b\\".value" for odd names.',
    )
