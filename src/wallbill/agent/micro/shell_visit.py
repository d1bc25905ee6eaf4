"""The part of a wake with the radio on: the server is asked, a new picture is fetched and checked, a report goes out."""

import gc

from shell_fetch import Fetch
from shell_wire import Wire, secured, ticks_diff, ticks_ms
from twin_report import has_news, report_of
from twin_rules import (
    AGENT,
    TwinError,
    calls_s,
    check_picture,
    date_s,
    is_same,
    rest_s,
    retry_s,
    tag_of,
    told_of,
)

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from twin_kinds import Board, Picture

CLOCK_OFF_S = 60
WEEK_S = 604800
YEARS_S = 20 * 31556952


class Visit:
    """One visit to the server.

    ``state``: see `twin_rules.remembered`; what the server tells goes into it. ``block``: the buffer that all passes through.
    ``wait_s``: when the server wants us back. ``fresh``: tag and digest of a new picture that waits to be put up, or None.
    ``trouble``: why there is no good answer, or None.
    """

    def __init__(
        self,
        settings: "dict[str, Any]",
        board: "Board",
        picture: "Picture",
        *,
        state: "dict[str, Any]",
        block: bytearray,
    ) -> None:
        self._settings = settings
        self._board = board
        self._picture = picture
        self._state = state
        self._block = block
        self._context: Any = None
        self._answered = False
        self.wait_s: int = settings["every_s"]
        self.fresh: tuple[str, str] | None = None
        self.trouble: Exception | None = None

    def pay(self, woken_by: str) -> None:
        """Joins, asks, reports and leaves. ``woken_by``: timer, button or power."""
        network = self._board.network
        times: dict[str, Any] = {"woken_by": woken_by}
        try:
            began_ms = ticks_ms()
            network.join()
            times["join_ms"] = ticks_diff(ticks_ms(), began_ms)
            began_ms = ticks_ms()
            self._secure()
            self._ask()
            times["transfer_ms"] = ticks_diff(ticks_ms(), began_ms)
        except Exception as error:  # noqa: BLE001  whatever a maker's board raises, the next wake must come
            self.trouble = error
            self._state["error"] = told_of(error)
        try:
            if self._answered and has_news(self._state, woken_by, self._board.clock.now_s()):
                self._report(times)
        except (OSError, TwinError):
            pass  # the next report says it again
        finally:
            network.leave()

    def _secure(self) -> None:
        """For TLS: a clock that may be believed, then what verifies the server."""
        ca = self._settings["ca"]
        if not ca:
            return
        since_s = max(self._settings["made_s"], self._state["since_s"])
        believed = since_s <= self._board.clock.now_s() < since_s + YEARS_S
        if not believed or self._state["failures"]:
            # The date of a server that is not verified yet: no worse than a time service, and no key goes out.
            self._context = secured(None)
            moment_s = date_s(self._exchange("HEAD", "/").get("date"))
            if moment_s is not None and since_s <= moment_s < since_s + YEARS_S:
                self._set_clock(moment_s)
            elif not believed:
                raise TwinError("the clock is not set, and the server tells no date that could be")
        self._context = secured(ca)

    def _set_clock(self, moment_s: int) -> None:
        """Puts the clock right, and with it the moments that were read from it."""
        off_s = moment_s - self._board.clock.now_s()
        if abs(off_s) > CLOCK_OFF_S:
            self._board.clock.set_s(moment_s)
            for key in ("shown_s", "told_s"):
                if self._state[key]:
                    self._state[key] += off_s

    def _exchange(
        self, method: str, path: str, more: str = "\r\n", *, read: "Any" = None
    ) -> "dict[str, str]":
        """One request; ``more``: further headers, an empty line and a body. ``read`` is given the open answer."""
        gc.collect()
        settings = self._settings
        wire = Wire(self._block, quiet_ms=settings["quiet_ms"], patience_ms=settings["patience_ms"])
        try:
            wire.open(settings["host"], settings["port"], self._context)
            wire.ask(
                f"{method} {path} HTTP/1.0\r\nHost: {settings['authority']}\r\nUser-Agent: {AGENT}\r\n{more}".encode()
            )
            if read is not None:
                read(wire)
            return wire.fields
        finally:
            wire.close()

    def _ask(self) -> None:
        """Asks for the picture, and fetches it where it is another one and may be shown."""
        tag = self._state["tag"]
        more = f"Authorization: Bearer {self._settings['key']}\r\n"
        if tag:
            more += f"If-None-Match: {tag}\r\n"
        self._exchange("GET", self._settings["path"], more + "\r\n", read=self._judge)

    def _judge(self, wire: Wire) -> None:
        """What an answer means: the same, wait, or a picture."""
        self._answered = True
        fields, tag, settings = wire.fields, self._state["tag"], self._settings
        digest = ""
        if wire.status == 200:
            digest = check_picture(fields, None if settings["packed"] else settings["length_bytes"])
        elif wire.status != 304 or not tag:
            raise TwinError(f"HTTP {wire.status}", retry_s(fields) if wire.status in (429, 503) else None)
        elif not is_same(tag_of(fields) or tag, tag):
            raise TwinError("304 for another picture")
        self.wait_s = calls_s(fields, settings["every_s"])
        moment_s = date_s(fields.get("date"))
        if settings["ca"] and moment_s is not None:
            self._set_clock(moment_s)
            if moment_s - self._state["since_s"] > WEEK_S:
                self._state["since_s"] = moment_s
        if digest and not is_same(tag_of(fields), tag) and self._may_refresh():
            fetch = Fetch(wire, self._picture, settings["length_bytes"], packed=settings["packed"])
            self.fresh = (tag_of(fields), fetch.run(digest))

    def _may_refresh(self) -> bool:
        """Whether a picture could be put up now: else it is not fetched."""
        settings = self._settings
        rest = rest_s(self._state, settings["least_interval_s"], self._board.clock.now_s())
        air_c = self._board.temperature_c()
        if rest:
            self.wait_s = rest
        elif air_c is not None and not settings["lowest_c"] <= air_c <= settings["highest_c"]:
            self._state["error"] = f"no refresh at {air_c} C"
        else:
            return True
        return False

    def _report(self, times: "dict[str, Any]") -> None:
        """Tells the server how we are; what it has taken is forgotten."""
        state = self._state

        def taken(wire: Wire) -> None:
            if wire.status < 300:
                state["error"] = ""
                state["refresh_ms"] = 0
                state["told_s"] = self._board.clock.now_s()

        body = report_of(state, self._board, times)
        more = f"Authorization: Bearer {self._settings['key']}\r\nContent-Type: application/json\r\n"
        more += f"Content-Length: {len(body)}\r\n\r\n{body}"
        self._exchange("POST", self._settings["report"], more, read=taken)
