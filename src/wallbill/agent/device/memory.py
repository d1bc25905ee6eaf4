"""What the agent remembers from wake to wake, as JSON. Whatever cannot be read counts as forgotten, so that all begins anew."""

from __future__ import annotations

import json
from typing import Any, NamedTuple

from wallbill.agent.device.moments import NEVER, Moment


class Memory(NamedTuple):
    """What is known of the glass and of the server.

    ``tag``: entity tag of what the glass shows; "" where that is not certain, and while it is being refreshed.
    ``shown``: SHA-256 in hex of what the glass was last told to show. ``kept``: of the picture that was fetched last and is good.
    ``marked``: the glass shows it with the mark of old news. ``since_full``: quick refreshes since a full one.
    ``refreshed``: when the glass last began a refresh. ``heard``: when the server last gave a good answer.
    ``reported``: when a report last went out. ``tried``: when the last wake ended, ``wait_s`` before the next is due, and
    ``must_wait``: whether the server, or our own patience, forbids to come sooner.
    ``failures``: in a row. ``error``: the last that was not reported. ``fresh_s``: the last wait that a good answer told.
    ``zero_s``: Unix time by the server's clock at which the start ``boot`` was; None where unknown.
    """

    tag: str = ""
    shown: str = ""
    kept: str = ""
    marked: bool = False
    since_full: int = 0
    refreshed: Moment = NEVER
    heard: Moment = NEVER
    reported: Moment = NEVER
    tried: Moment = NEVER
    wait_s: int = 0
    must_wait: bool = False
    failures: int = 0
    error: str = ""
    fresh_s: int | None = None
    boot: str = ""
    zero_s: float | None = None

    def now(self, boot: str, up_s: float) -> Moment:
        """This moment, in a start ``boot`` of the machine, ``up_s`` after it began."""
        known = self.boot == boot and self.zero_s is not None
        return Moment(boot, up_s, self.zero_s + up_s if known and self.zero_s is not None else None)


_EMPTY = Memory()
_MOST = 1e12  # seconds; no moment is farther away, and what is no number at all is not less


def written(memory: Memory) -> bytes:
    """The memory as JSON; moments are lists."""
    return json.dumps({"v": 1, **memory._asdict()}, indent=1).encode("utf-8")


def remembered(text: bytes) -> Memory:
    """The memory that `written` wrote; what has another type than it must have is left at nothing."""
    try:
        found = json.loads(text)
    except ValueError:
        return _EMPTY
    if not isinstance(found, dict) or found.get("v") != 1:
        return _EMPTY
    values: dict[str, Any] = {}
    for name, empty in _EMPTY._asdict().items():
        value = _moment(found.get(name)) if isinstance(empty, Moment) else found.get(name)
        if type(value) is type(empty) or (empty is None and _is_number(value)):
            values[name] = value
    return _EMPTY._replace(**values)


def _moment(value: object) -> Moment | None:
    if not isinstance(value, list) or len(value) != 3 or not isinstance(value[0], str):
        return None
    up_s, date_s = value[1:]
    if not _is_number(up_s) or not (date_s is None or _is_number(date_s)):
        return None
    return Moment(value[0], up_s, date_s)


def _is_number(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and abs(value) < _MOST
