"""The foreman: keeps clockwork, shelf and store in step, one beat after the other, in a thread of its own."""

import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from types import MappingProxyType

from structlog.typing import FilteringBoundLogger

from wallbill.errors import StoreError, WallbillError
from wallbill.panels.model import Panel
from wallbill.server.bodies import body_of, png_body
from wallbill.server.clockwork import Clockwork
from wallbill.server.metrics import Meters
from wallbill.server.model import Body, Form, Hung, WallFiles, Work
from wallbill.server.shell_copy import WallCopy
from wallbill.server.shell_shelf import LiveShelf
from wallbill.store.model import Contact, Edition, Installed, Report
from wallbill.store.ports import Store

_FLUSH = timedelta(seconds=1)
_LOOK_ROUND = timedelta(seconds=2)
_TIDY = timedelta(hours=1)
_JUMP = timedelta(seconds=30)
_UNSET_EVERY_S = 3600.0


@dataclass(frozen=True, slots=True)
class Bench:
    """What the foreman works with.

    ``clock``: now, aware, UTC. ``steady_s``: seconds that only go forward. ``copy``: the wall's files.
    """

    store: Store
    work: Work
    shelf: LiveShelf
    meters: Meters
    log: FilteringBoundLogger
    clock: Callable[[], datetime]
    steady_s: Callable[[], float]
    copy: WallCopy


class Foreman:
    """See the module. All methods but `beat` may be called from any thread."""

    def __init__(self, bench: Bench, files: WallFiles) -> None:
        self._bench = bench
        self._clockwork = Clockwork(files)
        self._editions: dict[str, Edition] = {}
        self._bodies: dict[str, Body] = {}
        self._called: Callable[[Sequence[Contact], Sequence[Report]], None] = lambda _contacts, _reports: None
        self._mark = 0
        self._flushed_at: datetime | None = None
        self._looked_at: datetime | None = None
        self._tidied_at: datetime | None = None
        self._was: datetime | None = None
        self._steady_s = bench.steady_s()
        self._refused = ""
        self._poked = threading.Event()
        self.ticked_s: float | None = None
        self.store_answers: bool | None = None
        self.loaded = False
        self.wall_fault: WallbillError | None = None

    @property
    def meters(self) -> Meters:
        """What counts here."""
        return self._bench.meters

    @property
    def files(self) -> WallFiles:
        """The wall as it is known now."""
        return self._clockwork.files

    def tell(self, called: Callable[[Sequence[Contact], Sequence[Report]], None]) -> None:
        """From now on ``called`` is told what displays said, once it is written down."""
        self._called = called

    def poke(self) -> None:
        """Makes the next beat come at once, and look at everything."""
        self._looked_at = None
        self._poked.set()

    def run(self, stop: threading.Event, *, rest_s: float = 0.5) -> None:
        """Beats until ``stop`` is set; the last one writes down what is left."""
        while not stop.is_set():
            self.beat()
            self._poked.wait(rest_s)
            self._poked.clear()
        self._flush(self._bench.clock())

    def beat(self) -> None:
        """One turn: what is new is read, what is due is handed out, what was heard is written down. Never raises."""
        now = self._bench.clock()
        try:
            self._follow_clock(now)
            self._flush(now)
            self._read_store(now)
            self._read_wall(now)
            self._hand_out(now)
            self._tidy(now)
            self.store_answers = True
        except StoreError as fault:
            if self.store_answers is not False:
                self._bench.log.warning("the store does not answer", fault=str(fault))
            self.store_answers = False
        except Exception:  # the next beat may go better, and devices are answered from memory
            self._bench.log.exception("a beat failed")
        self.ticked_s = self._bench.steady_s()

    def _follow_clock(self, now: datetime) -> None:
        """Works everything out anew where the clock was set."""
        steady_s = self._bench.steady_s()
        if self._was is not None:
            jump = now - self._was - timedelta(seconds=steady_s - self._steady_s)
            if abs(jump) > _JUMP:
                self._bench.log.warning("the clock was set", by_s=round(jump.total_seconds()))
                self._clockwork.recall(now)
                self._flushed_at = self._looked_at = self._tidied_at = None
                for name in self._clockwork.names():
                    self._hang(name, now)
        self._was, self._steady_s = now, steady_s

    def _flush(self, now: datetime) -> None:
        if self._flushed_at is not None and now - self._flushed_at < _FLUSH:
            return
        contacts, reports = self._bench.shelf.contacts_due()
        self._flushed_at = now
        if not contacts and not reports:
            return
        began_s = self._bench.steady_s()
        try:
            self._bench.store.note_contacts(contacts, reports)
        except StoreError:
            self._bench.shelf.give_back(contacts, reports)
            raise
        self._bench.meters.flushed(self._bench.steady_s() - began_s)
        self._called(contacts, reports)

    def _read_store(self, now: datetime) -> None:
        """Takes what is new in the store: editions at every beat, the rest every other second."""
        store, clockwork = self._bench.store, self._clockwork
        if self._looked_at is None or not timedelta(0) <= now - self._looked_at < _LOOK_ROUND:
            self._looked_at = now
            self._take_installed(store.installed(), now)
            self._bench.shelf.set_keys(store.keys())
            for name in clockwork.set_asked(store.asked(), now=now):
                self._hang(name, now)
        self._mark, editions = store.editions_up(after=self._mark)
        first = not self.loaded
        for edition in editions:
            self._take_edition(edition, now, first=first)
        if first or clockwork.pending(now=now):
            for name, (looked_at, _) in store.looked().items():
                if clockwork.set_settled(name, looked_at, now=now):
                    self._hang(name, now)  # its device is to come for the next look
        self.loaded = True

    def _take_installed(self, installed: Sequence[Installed], now: datetime) -> None:
        wall = self.files.wall
        known = {each.name for each in installed}
        missing = [name for name in wall.displays if name not in known]
        if missing:
            fresh = [Installed(name, name, now) for name in missing]
            self._bench.store.install(*fresh)
            installed = [*installed, *fresh]
        if self._clockwork.set_displays(installed, now=now):
            names = {each.name for each in installed}
            for name in self._bench.shelf.names():
                if name not in names:
                    self._bench.shelf.take_down(name)
            for name in names:
                self._hang(name, now)

    def _take_edition(self, edition: Edition, now: datetime, *, first: bool) -> None:
        before = self._editions.get(edition.display)
        self._editions[edition.display] = edition
        self._clockwork.set_edition(edition, now=now)
        if before is None or before.digest != edition.digest:
            self._png_of(edition.digest)
        self._hang(edition.display, now)
        if not first:
            self._bench.meters.put_up(edition.why)

    def _png_of(self, digest: str) -> Body | None:
        """The PNG of an impression, one value for all displays that show it."""
        if digest not in self._bodies:
            impressed = self._bench.store.impression(digest)
            if impressed is None:
                self._bench.log.error("an impression is missing from the store", digest=digest)
                return None
            if len(self._bodies) > 2 * len(self._editions) + 16:
                wanted = {each.digest for each in self._editions.values()}
                self._bodies = {key: body for key, body in self._bodies.items() if key in wanted}
            self._bodies[digest] = png_body(impressed)
        return self._bodies[digest]

    def _hang(self, name: str, now: datetime) -> None:
        """Puts what the devices are to be told into memory."""
        edition = self._editions.get(name)
        png = self._png_of(edition.digest) if edition else None
        forms: Mapping[Form, Body] = MappingProxyType({Form.PNG: png} if png else {})
        if png is None:
            edition = None
        clockwork = self._clockwork
        settings = clockwork.settings(name)
        if settings is None:  # wall.toml knows it no more: what is up stays up
            looks_at_s = now.timestamp() + _UNSET_EVERY_S
            hung = Hung(name, edition, forms, looks_at_s, 0.0, 0.0, _UNSET_EVERY_S)
        else:
            hung = Hung(
                name,
                edition,
                forms,
                looks_at_s=clockwork.looks_at(name, now=now).timestamp(),
                ready_s=clockwork.ready_s(),
                phase_s=clockwork.phase_s(name),
                every_s=settings.every.total_seconds(),
            )
        self._bench.shelf.hang(hung)

    def _read_wall(self, now: datetime) -> None:
        """Takes the wall anew where its files have changed; one that cannot be read leaves the old one in force."""
        if self._looked_at != now:
            return
        digest = self._bench.copy.digest()
        if digest in (self.files.digest, self._refused):
            return
        try:
            files = self._bench.copy.now()
        except (WallbillError, OSError) as fault:
            self._refused = digest
            self.wall_fault = fault if isinstance(fault, WallbillError) else WallbillError(str(fault))
            self._bench.log.warning(
                "the wall cannot be read; the one before stays in force", fault=str(fault)
            )
            return
        self._refused, self.wall_fault = "", None
        if files.digest != digest:
            return  # somebody is still writing: the next beat sees more
        self._bench.log.info("the wall has changed", wall=digest[:16])
        self._clockwork.set_wall(files, now=now)
        self._take_installed(self._bench.store.installed(), now)
        for name in self._clockwork.names():
            self._hang(name, now)

    def _hand_out(self, now: datetime) -> None:
        work, moved = self._clockwork.tick(now)
        if work is not None:
            taken = self._bench.work.enqueue(work)
            self._bench.log.info("a round was handed out", pulls=len(work.pulls), taken=taken)
        for name in moved:
            self._hang(name, now)
        self._bench.meters.waiting(self._bench.work.waiting())

    def _tidy(self, now: datetime) -> None:
        if self._tidied_at is not None and now - self._tidied_at < _TIDY:
            return
        if self._tidied_at is not None:  # not at the start, when there is enough to do
            keep_s = self.files.wall.store.keep.total_seconds()
            wanted = {each.digest for each in self._editions.values()}
            count = self._bench.store.tidy(now, keep_s=keep_s, wanted=wanted)
            if count:
                self._bench.log.info("old records were dropped", rows=count)
        self._tidied_at = now

    def body(self, name: str, form: Form) -> Body:
        """A form of what a display has up, made now. Raises `StoreError` where it is not to be had."""
        edition = self._editions.get(name)
        impressed = self._bench.store.impression(edition.digest) if edition else None
        panel = self._panel(name, impressed.panel if impressed else "")
        if impressed is None or panel is None:
            raise StoreError(f"nothing is up on {name}", mend="Wait until it is pressed.")
        return body_of(impressed, form, panel)

    def _panel(self, name: str, panel: str) -> Panel | None:
        settings = self._clockwork.settings(name)
        if settings is not None and settings.panel.name == panel:
            return settings.panel
        return self.files.wall.panels.get(panel)
