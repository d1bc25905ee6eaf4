"""One wake of the microcontroller twin: visit, show, sleep. The last good picture stays, whatever happens.

What the panel shows and the tag that is sent never part: the tag is forgotten before a refresh begins, and written
down once it has ended.
"""

import gc
import json

from shell_visit import Visit
from shell_wire import ticks_diff, ticks_ms
from twin_rules import back_off_s, remembered, rest_s, spread_s, told_of

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from twin_kinds import Board, Keep, Picture

BLOCK_BYTES = 512


class Twin:
    """The twin of one display. Make it once; call `wake` each time the board wakes.

    ``settings``: from `shell_flash.load_settings`. ``keep``: what outlasts the sleep. ``picture``: the way of a picture
    to the panel.
    """

    def __init__(
        self, settings: "dict[str, Any]", board: "Board", *, keep: "Keep", picture: "Picture"
    ) -> None:
        self._settings = settings
        self._board = board
        self._keep = keep
        self._picture = picture
        self._block = bytearray(BLOCK_BYTES)
        self._state: dict[str, Any] = {}
        self._saved = b""

    def wake(self, woken_by: str = "timer") -> int:
        """One wake; gives how long to sleep, seconds. ``woken_by``: timer, button or power. Raises nothing of a wake's own."""
        self._saved = self._keep.load()
        state = self._state = remembered(self._saved)
        visit = Visit(self._settings, self._board, self._picture, state=state, block=self._block)
        visit.pay(woken_by)
        trouble = visit.trouble
        gc.collect()
        try:
            self._show(visit.fresh)
        except Exception as error:  # noqa: BLE001  whatever a maker's panel raises, the next wake must come
            trouble = trouble or error
            state["error"] = told_of(error)
        wait_s = visit.wait_s
        if trouble is None:
            state["failures"] = 0
        else:
            state["failures"] = min(state["failures"] + 1, 99)
            told_s = getattr(trouble, "wait_s", None)
            wait_s = back_off_s(state["failures"]) if told_s is None else told_s
        self._save()
        return spread_s(wait_s, self._settings["name"])

    def _show(self, found: "tuple[str, str] | None") -> None:
        """Refreshes the panel with a new picture, or with the kept one where nobody knows what the panel shows."""
        state = self._state
        if found is None and self._is_due():
            found = (state["kept"], state["digest"])
        if found is None:
            return
        state["tag"] = ""
        state["kept"], state["digest"] = found
        state["shown_s"] = self._board.clock.now_s()
        self._save()
        began_ms = ticks_ms()
        self._picture.put_up(found[1])
        state["refresh_ms"] = ticks_diff(ticks_ms(), began_ms)
        state["tag"] = found[0]
        self._save()

    def _is_due(self) -> bool:
        """Whether the kept picture is to go up again: a refresh was cut off, or the panel has rested too long."""
        settings, state = self._settings, self._state
        now_s = self._board.clock.now_s()
        if not (self._picture.lasts and state["kept"]) or rest_s(state, settings["least_interval_s"], now_s):
            return False
        air_c = self._board.temperature_c()
        if air_c is not None and not settings["lowest_c"] <= air_c <= settings["highest_c"]:
            return False
        return not state["tag"] or now_s - state["shown_s"] >= settings["longest_rest_s"]

    def _save(self) -> None:
        """Writes the state down where it has changed: flash wears."""
        data = json.dumps(self._state).encode()
        if data != self._saved:
            self._keep.save(data)
            self._saved = data
