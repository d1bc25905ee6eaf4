"""Own sources: a Python function of the wall's ``facts`` folder, called for its plain value.

Option ``function``: module and function, such as ``rota:who_is_on`` for the function in ``facts/rota.py``. Option
``options``: a table handed to the function as it is. The function is called with the keyword arguments that it names
among ``now`` (aware, in the wall's zone), ``today`` (the local date), ``place`` and ``options``.
"""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from wallbill.errors import Place, SourceError
from wallbill.facts.given import Given
from wallbill.facts.origin import Origin
from wallbill.sources.own_values import decoded
from wallbill.sources.spec import ParseContext, SourceSpec

_FUNCTION = re.compile(r"([a-z_]\w*):([a-z_]\w*)", re.IGNORECASE | re.ASCII)


@dataclass(frozen=True, slots=True)
class OwnFunction:
    """A function of the wall: its module under ``facts/`` and its name."""

    module: str
    name: str

    @property
    def file(self) -> str:
        """The module's file, from the wall folder."""
        return f"facts/{self.module}.py"


def own_function(spec: SourceSpec) -> OwnFunction:
    """The function that a source names; raises `SourceError` for a name that is none."""
    said = spec.options.get("function")
    found = _FUNCTION.fullmatch(said) if isinstance(said, str) else None
    if found is None:
        raise SourceError(
            "it names no function" if said is None else f"{said!r} names no function",
            where=Place(spec.where.file, spec.where.line, "function"),
            mend='Write module:function, such as function = "rota:who_is_on" for facts/rota.py.',
        )
    return OwnFunction(found[1], found[2])


def request_of(context: ParseContext) -> Mapping[str, Any]:
    """What the function's process is told, fit for JSON apart from the option values, which are the wall's own.

    Raises `SourceError` for options that are no table.
    """
    function = own_function(context.spec)
    options = context.spec.options.get("options", {})
    if not isinstance(options, Mapping):
        raise SourceError(
            f"options is {options!r}",
            where=Place(context.spec.where.file, context.spec.where.line, "options"),
            mend="Give a table, such as options = { crew = 4 }.",
        )
    return {
        "module": function.module,
        "function": function.name,
        "now": context.now.isoformat(),
        "zone": context.zone.key,
        "place": {
            "latitude_deg": context.latitude_deg,
            "longitude_deg": context.longitude_deg,
            "time_zone": context.zone.key,
            "language": context.language,
        },
        "options": {str(key): value for key, value in options.items()},
    }


def checked_reply(reply: bytes, spec: SourceSpec) -> bytes:
    """The reply itself, if it tells a result; raises `SourceError` with the user's own file and line if it does not."""
    told = _reply(reply, spec)
    fault = told.get("fault")
    if fault is None:
        return reply
    parts = fault if isinstance(fault, dict) else {}
    line = parts.get("line")
    raise SourceError(
        str(parts.get("what", "the function failed")),
        where=Place(
            str(parts.get("file", "")), line if isinstance(line, int) else None, own_function(spec).name
        ),
        mend=str(parts.get("mend", "Look at the function.")),
    )


def _reply(reply: bytes, spec: SourceSpec) -> dict[str, Any]:
    try:
        told = json.loads(reply)
    except (ValueError, RecursionError):
        told = None
    if isinstance(told, dict) and ("value" in told or "fault" in told):
        return told
    function = own_function(spec)
    raise SourceError(
        "the function's process gave no answer",
        where=Place(function.file, field=function.name),
        mend="See that it returns, and does not end its process.",
    )


def parse(data: bytes, context: ParseContext) -> Given:
    """The reply of an own function as a fact; raises `SourceError` with the user's file and line."""
    checked_reply(data, context.spec)
    origin = Origin(
        source=context.spec.name,
        service="own",
        credit="",
        issued_at=None,
        fetched_at=context.fetched_at,
        good_for=context.spec.good_for,
    )
    try:
        return Given(origin, decoded(_reply(data, context.spec)["value"]))
    except (ValueError, TypeError, KeyError, IndexError, OverflowError) as fault:
        raise SourceError(
            f"what was kept of it cannot be read: {fault}",
            where=Place(context.spec.name),
            mend="Gather it anew.",
        ) from None
