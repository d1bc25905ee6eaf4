"""Taking secrets out of what is logged: by the name they go by, and by their look inside texts."""

import math
import re
from collections.abc import Mapping
from datetime import date, datetime, timedelta

HIDDEN = "[hidden]"

_SECRET_NAMES = re.compile(
    r"(^|[_.-])(authorization|cookies?|csrf|dsn|keys?|pass(word|wd|phrase)?|secrets?|sessions?|tokens?)$",
    re.IGNORECASE,
)
"""Names whose values are never logged: the last word of the name counts, so that ``key_count`` may be told."""

_MOST_CHARS = 8192
_MOST_ITEMS = 100
_MOST_DEEP = 6

# Each takes the part before the secret as its first group; what matches after it is hidden.
_LOOKS = tuple(
    re.compile(pattern, re.IGNORECASE)
    for pattern in (
        # A key as a part of the path: /displays/NAME/KEY/impression.png, cut short or mistyped as it may be.
        r"(/+displays/+[^/\s?#\"']+/+)(?!impression\.\w+|report\b)[^/\s?#\"']+(?=/)",
        r"(/+displays/+[^/\s?#\"']+/+)(?!impression\.|report\b)[\w~.%+=-]{16,}",
        r"(\b[a-z][a-z0-9+.-]*://)[^/\s?#@\"']+(?=@)",  # user and password of an address (RFC 3986, 3.2.1)
        r"(\b(?:proxy-)?authorization[\"']?\s*[:=,]\s*[b\"'(]*)[^\"'\r\n)]+",
        r"(\b(?:set-)?cookie[\"']?\s*[:=,]\s*[b\"'(]*)[^\"'\r\n)]+",
        r"(\b(?:bearer|basic|digest)\s+)[\w~+/.=-]{8,}",  # schemes of RFC 9110, 11.6.2
        r"((?<![a-z])(?:(?:api|access)[_-]?key|key|token|password|passwd|secret|csrf|session|sig(?:nature)?)[\"']?\s*(?:=|:)\s*[\"']?)[^\s&\"',;)}\]]+",
    )
)


def scrubbed(value: object, *, name: str = "", depth: int = 0) -> object:
    """A value fit for a log: plain, short, without secrets. ``name``: of the field that it stands in.

    Texts keep no control characters but line ends, so that a device cannot write into somebody's terminal.
    """
    if name and _SECRET_NAMES.search(name) and value is not None and not isinstance(value, bool):
        return HIDDEN
    if value is None or isinstance(value, bool | int):
        return value
    if isinstance(value, float):
        return value if math.isfinite(value) else str(value)
    if isinstance(value, str):
        return scrubbed_text(value)
    if isinstance(value, Mapping | list | tuple | set | frozenset) and depth < _MOST_DEEP:
        return _scrubbed_inside(value, depth + 1)
    return scrubbed_text(_told(value))


def scrubbed_text(text: str) -> str:
    """A text without secrets and control characters, at most 8192 characters long."""
    cut = text if len(text) <= _MOST_CHARS else text[:_MOST_CHARS] + "…"
    for look in _LOOKS:
        cut = look.sub(rf"\1{HIDDEN}", cut)
    return "".join(c if c.isprintable() or c == "\n" else f"\\x{ord(c):02x}" for c in cut)


def _scrubbed_inside(value: object, depth: int) -> object:
    if isinstance(value, Mapping):
        items = list(value.items())[:_MOST_ITEMS]
        return {str(key): scrubbed(inner, name=str(key), depth=depth) for key, inner in items}
    assert isinstance(value, list | tuple | set | frozenset)
    # A pair of a name and a value, such as a header, is judged by its name.
    if isinstance(value, tuple) and len(value) == 2 and isinstance(value[0], str | bytes):
        key = value[0] if isinstance(value[0], str) else value[0].decode("latin-1")
        return [scrubbed(value[0], depth=depth), scrubbed(value[1], name=key, depth=depth)]
    return [scrubbed(inner, depth=depth) for inner in list(value)[:_MOST_ITEMS]]


def _told(value: object) -> str:
    """Any other value as text."""
    if isinstance(value, bytes | bytearray):
        return bytes(value[:_MOST_CHARS]).decode("utf-8", "replace")
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, timedelta):
        return f"{value.total_seconds():g} s"
    return str(value)
