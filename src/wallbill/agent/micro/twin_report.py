"""What a wake tells the server of itself, and when that is worth a second connection. Pure."""

import json

from twin_rules import AGENT

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from twin_kinds import Board

REPORT_EVERY_S = 21600


def has_news(state: "dict[str, Any]", woken_by: str, now_s: int) -> bool:
    """Whether there is something to tell: a fault, a refresh, somebody at the button, or six hours gone by."""
    is_quiet = 0 <= now_s - state["told_s"] < REPORT_EVERY_S
    return bool(state["error"] or state["refresh_ms"]) or woken_by != "timer" or not is_quiet


def report_of(state: "dict[str, Any]", board: "Board", times: "dict[str, Any]") -> str:
    """The report, a JSON object. ``times``: ``woken_by``, ``join_ms`` and ``transfer_ms``, those that are known."""
    told = {
        "agent": AGENT,
        "battery_mv": board.battery_mv(),
        "temperature_c": board.temperature_c(),
        "signal_dbm": board.network.signal_dbm(),
    }
    for key in ("error", "refresh_ms"):
        told[key] = state[key] or None
    told["shown"] = state["tag"] or None
    told.update(times)
    return json.dumps({key: value for key, value in told.items() if value is not None})
