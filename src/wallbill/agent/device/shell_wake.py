"""One wake, from the first look at the clock to the report: ask, check, keep, show, and only then remember the tag."""

from __future__ import annotations

import json
import time
from collections.abc import Callable
from typing import NamedTuple

from wallbill.agent.device import shell_machine
from wallbill.agent.device.addresses import read_target
from wallbill.agent.device.answers import (
    Head,
    RefusedError,
    fresh_for_s,
    length_bytes,
    media_type,
    moment_s,
    retry_after_s,
    same_tag,
    sha256_of,
    tag_of,
)
from wallbill.agent.device.choosing import FULL, Refresh, refresh_for
from wallbill.agent.device.marking import darkest_lightest, marked
from wallbill.agent.device.memory import Memory
from wallbill.agent.device.moments import NEVER, Moment, ago
from wallbill.agent.device.pictures import read_png
from wallbill.agent.device.plates import Picture, split
from wallbill.agent.device.settings import Settings
from wallbill.agent.device.shell_glass import Glass, GlassError, Job
from wallbill.agent.device.shell_http import Answer, Request, exchange
from wallbill.agent.device.shell_keeping import Fetching, Keep
from wallbill.agent.device.waking import LONGEST_S, after_answer_s, after_failure_s, stale_after_s

AGENT = "wallbill-agent/0.1"
_TYPES = (("plates", "application/octet-stream"), ("png", "image/png"))
_TOLD_SIGNS = 300
_MOST_DELAY_S = 30
_PATIENCE = 1.1


class Outcome(NamedTuple):
    """What a wake came to.

    ``status``: ``shown``; ``same``; ``held``, if a new picture has to wait; ``failed``. ``wait_s``: until the next wake is due.
    """

    status: str
    wait_s: int
    told: str = ""


class Tools(NamedTuple):
    """What a wake works with. ``key``: the display's key, "" for none."""

    settings: Settings
    keep: Keep
    glass: Glass
    key: str
    sleep: Callable[[float], object] = time.sleep


class Wake:
    """A wake under way. ``woken_by``: timer, button or power; ``wants_next``: a long press asked for the next sheet."""

    def __init__(self, tools: Tools, *, woken_by: str, wants_next: bool = False) -> None:
        self._tools = tools
        self._settings = tools.settings
        self._woken_by = woken_by
        self._wants_next = wants_next
        self._boot = shell_machine.boot()
        self._memory = tools.keep.memory()
        self._figures: dict[str, object] = {}
        self._cold = False
        self._glass_failed = False
        self._remark = ""
        self._was_heard = False

    def run(self) -> Outcome:
        """The whole of it. What fails is told in the outcome, and in the next report; the last good picture stays up."""
        self._sense()
        self._check_kept()
        if self._wants_next:
            self._report(button="next")
        outcome = self._tried()
        outcome = self._cared_for(outcome)
        memory = self._memory._replace(
            tried=self._now(), wait_s=outcome.wait_s, must_wait=outcome.status in ("failed", "held")
        )
        if outcome.told:
            memory = memory._replace(error=outcome.told[:_TOLD_SIGNS])
        self._memory = memory
        if self._was_heard and self._is_report_due(outcome):
            self._report()
        return self._written(outcome)

    def _written(self, outcome: Outcome) -> Outcome:
        """The outcome, with the memory written down; where that fails, a failure.

        Only then are older pictures dropped, those of a wake that was cut short as well.
        """
        try:
            self._tools.keep.remember(self._memory)
            self._tools.keep.tidy(self._memory.kept)
        except OSError as error:
            return Outcome("failed", outcome.wait_s, f"state cannot be kept: {_words(error)}")
        return outcome

    def _now(self) -> Moment:
        return self._memory.now(self._boot, shell_machine.up_s())

    def _sense(self) -> None:
        """Reads battery, temperature and signal; one that cannot be read is told, and hinders nothing."""
        limits = self._settings.limits
        for name, sensor in (
            ("battery_mv", self._settings.battery),
            ("temperature_c", self._settings.temperature),
            ("signal_dbm", self._settings.signal),
        ):
            try:
                value = shell_machine.sensed(sensor)
            except (OSError, ValueError) as error:
                self._remark = f"{name}: {_words(error)}"[:_TOLD_SIGNS]
                continue
            if value is not None:
                self._figures[name] = round(value, 1) if name == "temperature_c" else round(value)
                if name == "temperature_c":
                    lowest, highest = limits.lowest_c, limits.highest_c
                    self._cold = (lowest is not None and value < lowest) or (
                        highest is not None and value > highest
                    )

    def _check_kept(self) -> None:
        """Where the kept picture is gone or spoilt, its tag is forgotten, so that it is fetched again."""
        if self._memory.tag and self._kept() is None:
            self._memory = self._memory._replace(tag="", shown="", kept="")

    def _kept(self) -> Picture | None:
        """The last good picture; None where there is none, or it is not for this panel."""
        data = self._tools.keep.picture(self._memory.kept, self._settings.form) if self._memory.kept else None
        try:
            return None if data is None else self._decoded(data)
        except ValueError:
            return None

    def _decoded(self, data: bytes) -> Picture:
        panel = self._settings.panel
        if self._settings.form == "png":
            return read_png(data, panel.colours, width_px=panel.width_px, height_px=panel.height_px)
        return split(data, width_px=panel.width_px, height_px=panel.height_px, inks=len(panel.inks))

    def _tried(self) -> Outcome:
        """Asks the server, and shows what it gives."""
        name, failures = self._settings.display, self._memory.failures + 1
        try:
            return self._asked()
        except RefusedError as error:
            told, wait_s = error.told, error.wait_s
        except GlassError as error:
            self._glass_failed = True
            told, wait_s = str(error), None
        except OSError as error:
            told, wait_s = _words(error), None
        self._memory = self._memory._replace(failures=failures)
        return Outcome("failed", after_failure_s(failures, wait_s, name=name), told)

    def _asked(self) -> Outcome:
        """Asks the server. While the panel must not be refreshed, only the head is asked for: a picture would be of no use."""
        memory = self._memory
        headers = self._headers({"Accept": dict(_TYPES)[self._settings.form], "Accept-Encoding": "identity"})
        if memory.tag:
            headers["If-None-Match"] = memory.tag
        path = f"/displays/{self._settings.display}/impression.{self._settings.form}"
        target = read_target(self._settings.address + path)
        request = Request("HEAD" if self._cold else "GET", target, headers, most_bytes=self._most_bytes())
        fetching = self._tools.keep.fetching()
        try:
            answer = exchange(request, self._settings.network, accept=self._accept, sink=fetching.write)
            self._figures.update(join_ms=answer.join_ms, transfer_ms=answer.transfer_ms)
            return self._answered(answer, fetching)
        finally:
            fetching.close()

    def _headers(self, more: dict[str, str]) -> dict[str, str]:
        key = self._tools.key
        return {"User-Agent": AGENT, **({"Authorization": f"Bearer {key}"} if key else {}), **more}

    def _most_bytes(self) -> int:
        """What a body may have at most: that many bytes the plates have, and no PNG of sense is larger."""
        panel = self._settings.panel
        return -(-panel.width_px // 8) * panel.height_px * len(panel.inks) + 4096

    def _accept(self, head: Head) -> None:
        """Refuses a page of a captive network, and whatever else is no picture, by its head."""
        wanted = dict(_TYPES)[self._settings.form]
        if media_type(head) != wanted:
            raise RefusedError(f"got {media_type(head)[:40] or 'no type'}, not {wanted}")
        if head.fields.get("content-encoding", "identity").strip().lower() != "identity":
            raise RefusedError("the body is packed, which was not asked for")
        if sha256_of(head) is None:
            raise RefusedError("the picture comes without a SHA-256 digest")
        if not tag_of(head):
            raise RefusedError("the picture comes without an entity tag")
        told = length_bytes(head)
        if self._settings.form == "plates" and told not in (None, self._most_bytes() - 4096):
            raise RefusedError(f"plates of {told} bytes, not {self._most_bytes() - 4096}: another panel's")

    def _hear(self, head: Head) -> None:
        """Notes a good answer, and the server's clock: a hint for how long ago things were before the machine's start."""
        self._was_heard = True
        date_s = moment_s(head.fields.get("date"))
        zero_s = None if date_s is None else date_s - shell_machine.up_s()
        if zero_s is not None:
            self._memory = self._memory._replace(boot=self._boot, zero_s=zero_s)
        self._memory = self._memory._replace(failures=0, heard=self._now(), fresh_s=fresh_for_s(head))

    def _answered(self, answer: Answer, fetching: Fetching) -> Outcome:
        """What an answer leads to. Raises `RefusedError` for one that is no good."""
        head = answer.head
        wait_s = after_answer_s(
            fresh_for_s(head), usual_s=self._settings.usual_s, name=self._settings.display
        )
        tag = self._memory.tag
        if head.status == 304 and tag and same_tag(tag_of(head) or tag, tag):
            self._hear(head)
            return Outcome("same", wait_s)
        if head.status == 200 and self._cold:
            self._accept(head)
            self._hear(head)
            return Outcome(
                "held",
                wait_s,
                f"it is {self._figures['temperature_c']} °C, where the panel must not be refreshed",
            )
        if head.status != 200:
            raise RefusedError(f"the server answers {head.status}", retry_after_s(head))
        if fetching.digest != sha256_of(head):
            raise RefusedError("the picture is not what its digest says")
        try:
            picture = self._decoded(fetching.data())
        except ValueError as error:
            raise RefusedError(f"no picture for this panel: {error}") from error
        old = self._certain()
        kept = fetching.keep(self._settings.form)
        self._memory = self._memory._replace(kept=kept)
        self._hear(head)
        rest_s = self.rest_s()
        if rest_s > 0:
            return Outcome("held", int(rest_s) + 1)
        self._show(picture, tag=tag_of(head), old=old)
        return Outcome("shown", max(wait_s, self._settings.limits.least_interval_s))

    def _certain(self) -> Picture | None:
        """What the glass certainly shows, None where that is unknown."""
        return self._kept() if self._memory.tag and self._memory.shown == self._memory.kept else None

    def sure_rest_s(self) -> float:
        """As `rest_s`, where it can be told without the server's help, else 0."""
        last = self._memory.refreshed
        return self.rest_s() if ago(self._now(), last).is_sure else 0.0

    def rest_s(self) -> float:
        """For how long the panel must rest before its next refresh."""
        last = self._memory.refreshed
        if last == NEVER:
            return 0.0
        return self._settings.limits.least_interval_s - ago(self._now(), last).span_s

    def _show(self, picture: Picture, *, tag: str, old: Picture | None, is_marked: bool = False) -> None:
        """Shows a picture. Until it is certainly up, no tag is remembered; a refresh that cannot be noted is not begun."""
        glass, memory = self._settings.glass, self._memory
        refresh = FULL
        if not is_marked:
            refresh = refresh_for(
                old, picture, modes=glass.modes, since_full=memory.since_full, full_every=glass.full_every
            )
        self._memory = memory._replace(tag="", shown="", refreshed=self._now())
        self._tools.keep.remember(self._memory)
        began = time.monotonic()
        self._tools.glass.show(Job(picture, refresh, tag))
        self._figures["refresh_ms"] = round((time.monotonic() - began) * 1000)
        self._shown(refresh, tag=tag, is_marked=is_marked)
        self._tools.keep.remember(self._memory)

    def _shown(self, refresh: Refresh, *, tag: str, is_marked: bool) -> None:
        memory: Memory = self._memory
        self._memory = memory._replace(
            tag=tag,
            shown=memory.kept,
            marked=is_marked,
            since_full=0 if refresh.mode == "full" else memory.since_full + 1,
        )

    def _cared_for(self, outcome: Outcome) -> Outcome:
        """The outcome after what the panel itself needs, even where the server is silent."""
        picture = self._kept() if self._needs_care(outcome) else None
        if picture is None:
            return outcome
        memory = self._memory
        try:
            if memory.marked or self._is_old():
                inks = darkest_lightest(self._settings.panel.colours)
                old = marked(picture, inks, turned_deg=self._settings.panel.turned_deg)
                self._show(old, tag="", old=None, is_marked=True)
            else:
                self._show(picture, tag=memory.tag, old=None)
        except (GlassError, OSError) as error:
            return Outcome("failed", outcome.wait_s, str(error))
        return outcome

    def _needs_care(self, outcome: Outcome) -> bool:
        """Whether the kept picture is to be put up: a refresh was cut short, the news is old, or the pigments rested too long."""
        memory = self._memory
        if self._cold or self._glass_failed or outcome.status == "shown" or self.rest_s() > 0:
            return False
        if outcome.status == "failed" and memory.shown != memory.kept:
            return True
        if outcome.status == "failed" and not memory.marked and self._is_old():
            return True
        is_up = memory.shown == memory.kept
        rested = ago(self._now(), memory.refreshed)
        patience = (
            1.0 if outcome.status == "failed" else _PATIENCE
        )  # a server that is there cares for it itself
        return is_up and rested.span_s >= patience * self._settings.limits.longest_rest_s

    def _is_old(self) -> bool:
        """Whether the server has been silent for too long."""
        settings, memory = self._settings, self._memory
        if memory.heard == NEVER or not settings.mark:
            return False
        limit_s = stale_after_s(settings.stale_after_s, memory.fresh_s, usual_s=settings.usual_s)
        return ago(self._now(), memory.heard).span_s >= limit_s

    def _is_report_due(self, outcome: Outcome) -> bool:
        if outcome.status != "same" or self._woken_by != "timer" or self._memory.error:
            return True
        last = self._memory.reported
        return last == NEVER or ago(self._now(), last).span_s >= self._settings.report_every_s

    def _report(self, *, button: str = "") -> None:
        """Tells the server how we are. That it cannot be told is no fault of the picture, so nothing comes of it."""
        report = {"agent": AGENT, "woken_by": self._woken_by, **self._figures}
        if self._memory.tag:
            report["shown"] = self._memory.tag
        if self._memory.error or self._remark:
            report["error"] = self._memory.error or self._remark
        if button:
            report["button"] = button
        target = read_target(f"{self._settings.address}/displays/{self._settings.display}/report")
        headers = self._headers({"Content-Type": "application/json"})
        request = Request("POST", target, headers, json.dumps(report).encode("utf-8"))
        try:
            answer = exchange(request, self._settings.network, accept=_anything, sink=_nowhere)
        except (RefusedError, OSError):
            return
        if 200 <= answer.head.status < 300:
            self._memory = self._memory._replace(error="", reported=self._now())
            if button:  # the server tells how long the next sheet takes to press
                self._tools.sleep(min(retry_after_s(answer.head) or 0, _MOST_DELAY_S))


def _words(error: Exception) -> str:
    """A fault in a few words, with the file that it is about."""
    if not isinstance(error, OSError):
        return str(error)
    what = str(error.strerror or error)
    return f"{what}: {error.filename}" if error.filename else what


def _anything(head: Head) -> None:
    """Takes every answer."""


def _nowhere(data: bytes) -> None:
    """Drops a body."""


def due_s(memory: Memory, now: Moment) -> float:
    """In how many seconds the next wake is due, 0 or less if it is; whatever is not sure counts as due."""
    span = ago(now, memory.tried)
    return min(memory.wait_s, LONGEST_S) - span.span_s if memory.tried != NEVER and span.is_sure else 0.0
