"""What a button means: a short press asks for a refresh now, a long one for the next sheet. Pure."""

from __future__ import annotations

from typing import NamedTuple

_BOUNCE_S = 0.02  # contacts settle within some milliseconds: common practice, no source


class Edge(NamedTuple):
    """A change of the button. ``at_s``: of any clock that only goes forward."""

    is_down: bool
    at_s: float


class Presses(NamedTuple):
    """What has been seen of the button. ``down_s``: since when it is held, None if it is not. ``seen_s``: the last change."""

    down_s: float | None = None
    seen_s: float = float("-inf")


def after(presses: Presses, edge: Edge, *, long_s: float) -> tuple[Presses, str]:
    """What is known after a change, and what it asks for: ``refresh``, ``next`` or nothing.

    ``long_s``: a press so long asks for the next sheet. A change right after another is a bounce.
    """
    if edge.is_down:
        if presses.down_s is not None or edge.at_s - presses.seen_s < _BOUNCE_S:
            return presses._replace(seen_s=edge.at_s), ""
        return Presses(edge.at_s, edge.at_s), ""
    if presses.down_s is None or edge.at_s - presses.down_s < _BOUNCE_S:
        return Presses(None, edge.at_s), ""
    held_s = edge.at_s - presses.down_s
    return Presses(None, edge.at_s), "next" if held_s >= long_s else "refresh"
