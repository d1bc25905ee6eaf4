"""A running wall without its sockets: store, kept facts, presses, foreman and watchman, each in its own thread."""

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from structlog.typing import FilteringBoundLogger

from wallbill import __version__
from wallbill.errors import WallbillError
from wallbill.server.metrics import Meters
from wallbill.server.model import Work
from wallbill.server.shell_copy import WallCopy
from wallbill.server.shell_devices import utc_now
from wallbill.server.shell_foreman import Bench as ForemanBench
from wallbill.server.shell_foreman import Foreman
from wallbill.server.shell_pressroom import Pressroom
from wallbill.server.shell_puller import Puller, PullLimits
from wallbill.server.shell_shelf import LiveShelf
from wallbill.server.shell_watchman import Bench as WatchmanBench
from wallbill.server.shell_watchman import Watchman
from wallbill.server.shell_work_here import WorkHere
from wallbill.sources.fetching import Failures
from wallbill.sources.keeping import FactKeep
from wallbill.store.model import Pressing
from wallbill.store.ports import Store
from wallbill.store.shell import open_keeper, open_store
from wallbill.store.shell_wall import wall_store_url
from wallbill.wall.model import Wall
from wallbill.wall.shell import secret_value


@dataclass(frozen=True, slots=True)
class HouseSettings:
    """``folder``: of the wall. ``cache``: where fitted faces are kept. ``presses``: processes that press here."""

    folder: Path
    cache: Path | None
    presses: int = 1
    limits: PullLimits = field(default_factory=PullLimits)


@dataclass(frozen=True, slots=True)
class House:
    """What runs. ``stopping``: set when it is to end."""

    folder: Path
    store: Store
    shelf: LiveShelf
    meters: Meters
    foreman: Foreman
    watchman: Watchman
    work: Work
    stopping: threading.Event


@contextmanager
def open_house(
    settings: HouseSettings, log: FilteringBoundLogger, *, clock: Callable[[], datetime] = utc_now
) -> Iterator[House]:
    """Everything but the listeners, running until the context is left; then what was begun is finished and written.

    Raises `WallbillError` where the wall cannot be read or its store cannot be opened.
    """
    copy = WallCopy(settings.folder)
    files = copy.now()
    meters = Meters(version=__version__)
    with _pressroom(settings, copy, files.wall, meters, log) as room, _working(room) as work:
        shelf = LiveShelf()
        foreman = Foreman(
            ForemanBench(
                store=room.store,
                work=work,
                shelf=shelf,
                meters=meters,
                log=log.bind(part="foreman"),
                clock=clock,
                steady_s=time.monotonic,
                copy=copy,
            ),
            files,
        )
        stopping = threading.Event()
        watchman = Watchman(_watch(room, foreman, log=log, clock=clock, stopping=stopping))
        foreman.tell(watchman.heard)
        foreman.beat()
        with _threads(foreman, watchman, stopping):
            yield House(settings.folder, room.store, shelf, meters, foreman, watchman, work, stopping)


@contextmanager
def _pressroom(
    settings: HouseSettings, copy: WallCopy, wall: Wall, meters: Meters, log: FilteringBoundLogger
) -> Iterator[Pressroom]:
    """The store, the kept facts and the presses, open until the context is left."""
    with ExitStack() as stack:
        url = wall_store_url(wall)
        store = open_store(url)
        stack.callback(store.close)
        keeper = open_keeper(url, settings.folder)
        stack.callback(keeper.close)
        puller = Puller(
            settings.folder, cache=settings.cache, presses=max(settings.presses, 1), limits=settings.limits
        )
        stack.callback(puller.close)
        yield Pressroom(store, keeper, copy, puller, log.bind(part="press"), _measured(meters))


@contextmanager
def _working(room: Pressroom) -> Iterator[Work]:
    work = WorkHere(room)
    try:
        yield work
    finally:
        work.close()


def _watch(
    room: Pressroom,
    foreman: Foreman,
    *,
    log: FilteringBoundLogger,
    clock: Callable[[], datetime],
    stopping: threading.Event,
) -> WatchmanBench:
    return WatchmanBench(
        store=room.store,
        foreman=foreman,
        log=log.bind(part="watch"),
        meters=foreman.meters,
        clock=clock,
        steady_s=time.monotonic,
        failures=_failures(room.keeper),
        secrets=_secrets,
        workers=lambda: (len(room.puller.pids()), room.puller.presses),
        disk=room.copy.folder,
        stopping=stopping,
    )


@contextmanager
def _threads(foreman: Foreman, watchman: Watchman, stopping: threading.Event) -> Iterator[None]:
    """Foreman and watchman at work, each in a thread, until the context is left."""
    threads = [
        threading.Thread(target=foreman.run, args=(stopping,), name="foreman"),
        threading.Thread(target=watchman.run, args=(stopping,), name="watchman"),
    ]
    for thread in threads:
        thread.start()
    try:
        yield
    finally:
        stopping.set()
        foreman.poke()
        for thread in threads:
            thread.join()


def _measured(meters: Meters) -> Callable[[tuple[Pressing, ...]], None]:
    def done(pressings: tuple[Pressing, ...]) -> None:
        for each in pressings:
            meters.pressed(each.outcome, each.took_ms / 1000)

    return done


def _failures(keeper: FactKeep) -> Callable[[str], Failures | None]:
    def failures(source: str) -> Failures | None:
        try:
            return keeper.failures(source)
        except WallbillError:
            return None

    return failures


def _secrets(wall: Wall) -> dict[str, str]:
    """The secrets that notices need, by name. Raises `WallError` for one that is not set."""
    given = [wall.watch.webhook, wall.watch.mail.password if wall.watch.mail else None]
    return {
        each.name: secret_value(wall, each)
        for each in given
        if each is not None and not isinstance(each, str)
    }
