"""The watchman: looks at the whole wall each minute, writes down what is amiss, and has it sent out."""

import shutil
import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from structlog.typing import FilteringBoundLogger

from wallbill.errors import StoreError, WallbillError
from wallbill.facts.origin import Freshness
from wallbill.server.batteries import forecast
from wallbill.server.health import Vitals, faults
from wallbill.server.metrics import Meters
from wallbill.server.shell_foreman import Foreman
from wallbill.server.shell_letters import Postman, ways
from wallbill.server.watched import (
    Seen,
    SeenDisplay,
    SeenFault,
    SeenSource,
    Showing,
    Vigil,
    follow_contact,
    follow_report,
    keep_vigil,
    lasting,
)
from wallbill.server.watching import REMEMBERED, judge, unsent
from wallbill.server.watching_rules import Kind
from wallbill.sources.fetching import Failures
from wallbill.store.model import Contact, Installed, Notice, Pressing, Report
from wallbill.store.ports import Store
from wallbill.wall.model import Display, Wall

_LOOK_S = 60.0
_FEW_PRESSINGS = 5
_FEW_REPORTS = 20
_MANY_REPORTS = 2000


@dataclass(frozen=True, slots=True)
class Bench:
    """What the watchman works with. ``failures``: what is noted of a source; ``secrets``: the wall's, by name.

    ``workers``: processes that press here, alive and wanted. ``disk``: a folder on the store's disk, None if elsewhere.
    """

    store: Store
    foreman: Foreman
    meters: Meters
    log: FilteringBoundLogger
    clock: Callable[[], datetime]
    steady_s: Callable[[], float]
    failures: Callable[[str], Failures | None]
    secrets: Callable[[Wall], dict[str, str]]
    workers: Callable[[], tuple[int, int]]
    disk: Path | None = None
    stopping: threading.Event = field(default_factory=threading.Event)


class Watchman:
    """See the module."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        self._began_s = bench.steady_s()
        self._lock = threading.Lock()
        self._showing: dict[str, Showing] = {}
        self._vigil: Vigil | None = None
        self._sources: dict[str, SeenSource] = {}
        self._faults: tuple[SeenFault, ...] = ()
        self._postman: tuple[object, Postman] | None = None

    def heard(self, contacts: Sequence[Contact], reports: Sequence[Report]) -> None:
        """Follows who called and what they said; may be called from any thread."""
        with self._lock:
            for contact in contacts:
                before = self._showing.get(contact.display, Showing())
                self._showing[contact.display] = follow_contact(before, contact)
            for report in reports:
                before = self._showing.get(report.display, Showing())
                self._showing[report.display] = follow_report(before, report)

    def run(self, stop: threading.Event, *, every_s: float = _LOOK_S) -> None:
        """Looks round until ``stop`` is set."""
        while not stop.wait(every_s):
            self.look()

    def look(self) -> tuple[Notice, ...]:
        """Looks round once; gives the notices that began, changed or ended. Never raises."""
        now = self._bench.clock()
        try:
            seen = self._seen(now)
            known = self._bench.store.notices(ended=True)
            near = [each for each in known if each.ended_at is None or now - each.ended_at <= REMEMBERED]
            written = judge(seen, near, now)
            if written:
                self._bench.store.put_notices(written)
            for notice in written:
                self._bench.log.warning(
                    notice.what, kind=notice.kind, subject=notice.subject, over=notice.ended_at is not None
                )
            self._measure(seen)
            self._send(now)
        except StoreError as fault:
            self._bench.log.warning("the watchman cannot read the store", fault=str(fault))
            return ()
        except Exception:  # the next look may go better
            self._bench.log.exception("a look round failed")
            return ()
        return written

    def vitals(self) -> Vitals:
        """How the server fares."""
        bench, foreman = self._bench, self._bench.foreman
        now_s = bench.steady_s()
        alive, wanted = bench.workers()
        return Vitals(
            loaded=foreman.loaded,
            up_s=now_s - self._began_s,
            tick_age_s=None if foreman.ticked_s is None else now_s - foreman.ticked_s,
            stopping=bench.stopping.is_set(),
            store_answers=foreman.store_answers,
            workers=alive,
            workers_wanted=wanted,
            disk_free_bytes=None if bench.disk is None else shutil.disk_usage(bench.disk).free,
        )

    def sources(self) -> tuple[SeenSource, ...]:
        """How the sources fared at the last look."""
        return tuple(self._sources.values())

    def _seen(self, now: datetime) -> Seen:
        store, wall = self._bench.store, self._bench.foreman.files.wall
        contacts = {each.display: each for each in store.contacts()}
        installed = store.installed()
        alive_at = max((each.at for each in contacts.values()), default=None)
        self._vigil = keep_vigil(self._vigil, now, alive_at=alive_at)
        self._faults = lasting(self._faults, self._found(now))
        displays = [
            self._seen_display(each, wall.displays[each.like], contacts.get(each.name), now)
            for each in installed
            if each.like in wall.displays
        ]
        self._look_at_sources(wall, [each.pressings for each in displays], now)
        return Seen(
            up_since=self._vigil.up_since,
            down_since=self._vigil.down_since,
            zone=wall.time_zone,
            displays=tuple(displays),
            sources=tuple(self._sources.values()),
            faults=self._faults,
            settings=wall.watch,
        )

    def _seen_display(
        self, each: Installed, settings: Display, contact: Contact | None, now: datetime
    ) -> SeenDisplay:
        store, empty = self._bench.store, settings.battery_empty
        reports = store.reports(each.name, most=_MANY_REPORTS)
        with self._lock:
            showing = self._showing.get(each.name, Showing())
        return SeenDisplay(
            name=each.name,
            installed_at=each.added_at,
            every=settings.every,
            contact=contact,
            reports=tuple(reports[:_FEW_REPORTS]),
            pressings=tuple(store.pressings(display=each.name, most=_FEW_PRESSINGS)),
            showing=showing,
            battery=forecast(reports, empty_mv=None if empty is None else empty.to("mV").value, now=now),
            climate=settings.panel.climate,
        )

    def _found(self, now: datetime) -> list[SeenFault]:
        found = list(faults(self.vitals(), now))
        if self._postman:
            found += self._postman[1].troubles()
        fault = self._bench.foreman.wall_fault
        if fault is not None:
            found.append(SeenFault("wall", f"the wall's files: {fault.what}", fault.mend or str(fault), now))
        return found

    def _look_at_sources(self, wall: Wall, pressings: Iterable[Sequence[Pressing]], now: datetime) -> None:
        """Takes the freshness of each source from the last pressings of the displays that show it."""
        stale = {name for each in pressings if each for name in each[0].stale}
        found = {}
        for name in wall.sources:
            state = Freshness.STALE if name in stale else Freshness.FRESH
            before = self._sources.get(name)
            since = before.since if before and before.freshness is state else now
            trouble = self._bench.failures(name) if name in stale else None
            found[name] = SeenSource(
                name, state, since, trouble.what if trouble else "", trouble.mend if trouble else ""
            )
        self._sources = found

    def _measure(self, seen: Seen) -> None:
        meters = self._bench.meters
        open_now = self._bench.store.notices()
        late = sum(each.kind == Kind.MISSED_WAKES for each in open_now)
        meters.hanging(len(seen.displays), late=late)
        meters.noticed(open_now)
        told = ((each.name, next(_voltages(each), None)) for each in seen.displays)
        meters.charged({name: float(mv) for name, mv in told if mv is not None})

    def _send(self, now: datetime) -> None:
        """Has what is unsent sent out, by the ways that the wall asks for now."""
        wall = self._bench.foreman.files.wall
        if wall.watch.mail is None and wall.watch.webhook is None:
            return
        if not unsent(self._bench.store.notices(ended=True), now):
            return
        if self._postman is None or self._postman[0] != wall.watch:
            try:
                secrets = self._bench.secrets(wall)
            except WallbillError as fault:
                self._bench.log.warning("notices cannot be sent", fault=str(fault))
                return
            carriers = ways(wall.watch, secrets, wall=wall.name, zone=wall.time_zone)
            self._postman = (wall.watch, Postman(carriers))
        done = self._postman[1].deliver(self._bench.store.notices(ended=True), now)
        if done:
            self._bench.store.put_notices(done)
            self._bench.log.info("notices went out", count=len(done))


def _voltages(seen: SeenDisplay) -> Iterator[int]:
    return (each.battery_mv for each in seen.reports if each.battery_mv is not None)
