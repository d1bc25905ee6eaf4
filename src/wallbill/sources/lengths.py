"""Lengths of time as a wall writes them: "30 min", "6 h", "7 days"."""

import re
from datetime import timedelta
from types import MappingProxyType

from wallbill.errors import Place, SourceError

_SECONDS = MappingProxyType(
    {
        **dict.fromkeys(("s", "second", "seconds"), 1),
        **dict.fromkeys(("min", "minute", "minutes"), 60),
        **dict.fromkeys(("h", "hour", "hours"), 3600),
        **dict.fromkeys(("d", "day", "days"), 86400),
    }
)


def length_of_time(value: object, where: Place) -> timedelta:
    """A length of time from its text; raises `SourceError` for what is none, or is not above nought."""
    found = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*([a-z]+)\s*", value) if isinstance(value, str) else None
    if found is None or found[2] not in _SECONDS or not float(found[1]) > 0:
        raise SourceError(
            f"{value!r} is no length of time",
            where=where,
            mend='Write a number and s, min, h or d, such as "30 min".',
        )
    return timedelta(seconds=float(found[1]) * _SECONDS[found[2]])
