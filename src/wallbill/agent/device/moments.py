"""How long ago something was, on a machine whose clock may be wrong or missing. Pure."""

from __future__ import annotations

from typing import NamedTuple


class Moment(NamedTuple):
    """A moment. ``boot``: which start of the machine, "" for never. ``up_s``: since that start, sleep included.

    ``date_s``: Unix time by the server's own clock, None where it has said nothing since the start.
    """

    boot: str
    up_s: float
    date_s: float | None = None


NEVER = Moment("", 0.0)


class Ago(NamedTuple):
    """A span. ``span_s``: at least so long ago. ``is_sure``: that it was no longer."""

    span_s: float
    is_sure: bool


def ago(now: Moment, then: Moment) -> Ago:
    """How long ago ``then`` was. Within one start by its own clock, else by the server's.

    Where neither helps, the machine has been up since: that long at least. A server's clock that went back counts as no help.
    """
    if then.boot == now.boot and now.up_s >= then.up_s:
        return Ago(now.up_s - then.up_s, is_sure=True)
    if now.date_s is not None and then.date_s is not None and now.date_s >= then.date_s:
        return Ago(max(now.date_s - then.date_s, now.up_s), is_sure=True)
    return Ago(now.up_s, is_sure=False)
