"""What a button means: a short press asks for a refresh now, a long one for the next sheet. Pure."""

from __future__ import annotations

from typing import NamedTuple

_BOUNCE_S = 0.02  # contacts settle within some milliseconds: common practice, no source


class Edge(NamedTuple):
    """A change of the button. ``at_s``: of any clock that only goes forward."""

    is_down: bool
    at_s: float


class Presses(NamedTuple):
    """What has been seen of the button. ``down_s``: since when it is held, None if it is not. ``last``: the last change, bounces too."""

    down_s: float | None = None
    last: Edge = Edge(is_down=False, at_s=float("-inf"))


def after(presses: Presses, edge: Edge, *, long_s: float) -> tuple[Presses, str]:
    """What is known after a change, and what it asks for: ``refresh``, ``next`` or nothing.

    ``long_s``: a press so long asks for the next sheet. A change right after another is a bounce.
    """
    is_settled = not 0 <= edge.at_s - presses.last.at_s < _BOUNCE_S
    seen = presses._replace(last=edge)
    if edge.is_down:
        is_new = is_settled and (presses.down_s is None or not presses.last.is_down)
        return (seen._replace(down_s=edge.at_s) if is_new else seen), ""
    if presses.down_s is None or edge.at_s - presses.down_s < _BOUNCE_S:
        return seen, ""
    held_s = edge.at_s - presses.down_s
    return seen._replace(down_s=None), "next" if held_s >= long_s else "refresh"
