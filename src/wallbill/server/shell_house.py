"""A running wall without its sockets: store, kept facts, presses, foreman and watchman, each in its own thread."""

import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from structlog.typing import FilteringBoundLogger

from wallbill import __version__
from wallbill.errors import WallbillError
from wallbill.server.clockwork import WallFiles
from wallbill.server.metrics import Meters
from wallbill.server.model import Work
from wallbill.server.shell_copy import WallCopy
from wallbill.server.shell_foreman import Bench as ForemanBench
from wallbill.server.shell_foreman import Foreman
from wallbill.server.shell_pressroom import Pressroom
from wallbill.server.shell_puller import Puller, PullLimits
from wallbill.server.shell_shelf import LiveShelf
from wallbill.server.shell_watchman import Bench as WatchmanBench
from wallbill.server.shell_watchman import Watchman
from wallbill.server.shell_work_here import WorkHere
from wallbill.sheets.shell import load_texts
from wallbill.sources.fetching import Failures
from wallbill.sources.shell_keeping import Keeper, keeper_path
from wallbill.store.model import Contact, Pressing, Report
from wallbill.store.ports import Store
from wallbill.store.shell import open_store, store_url
from wallbill.wall.model import Wall
from wallbill.wall.shell import load_wall, secret_value
from wallbill.wall.shell_watch import WallWatch


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


def utc_now() -> datetime:
    """The moment, aware, UTC."""
    return datetime.now(UTC)


def store_of(wall: Wall) -> str:
    """The address of the wall's store. Raises `WallError` where its secret is not set."""
    given = wall.store.url
    return store_url(wall.folder, None if given is None else secret_value(wall, given))


def read_files(folder: Path) -> WallFiles:
    """The wall as it is now. Raises `WallbillError`."""
    watch = WallWatch(folder)
    before = watch.digest()
    wall, texts = load_wall(folder), load_texts(folder)
    after = watch.digest()
    # Read in the middle of somebody's writing, it counts for no digest: the next look reads it again.
    return WallFiles(wall, texts, after if before == after else f"unsettled {before}")


@contextmanager
def open_house(
    settings: HouseSettings, log: FilteringBoundLogger, *, clock: Callable[[], datetime] = utc_now
) -> Iterator[House]:
    """Everything but the listeners, running until the context is left; then what was begun is finished and written.

    Raises `WallbillError` where the wall cannot be read or its store cannot be opened.
    """
    files = read_files(settings.folder)
    with ExitStack() as stack:
        store = open_store(store_of(files.wall))
        stack.callback(store.close)
        keeper = stack.enter_context(Keeper(keeper_path(settings.folder)))
        meters = Meters(version=__version__)
        puller = Puller(
            settings.folder, cache=settings.cache, presses=max(settings.presses, 1), limits=settings.limits
        )
        stack.callback(puller.close)
        room = Pressroom(
            store=store,
            keeper=keeper,
            copy=WallCopy(settings.folder),
            puller=puller,
            log=log.bind(part="press"),
            done=_measured(meters),
        )
        work = WorkHere(room)
        stack.callback(work.close)
        shelf = LiveShelf()
        watching: list[Watchman] = []
        watch = WallWatch(settings.folder)
        foreman = Foreman(
            ForemanBench(
                store=store,
                work=work,
                shelf=shelf,
                meters=meters,
                log=log.bind(part="foreman"),
                clock=clock,
                steady_s=time.monotonic,
                digest=watch.digest,
                read=lambda: read_files(settings.folder),
                called=_told(watching),
            ),
            files,
        )
        stopping = threading.Event()
        watchman = Watchman(
            WatchmanBench(
                store=store,
                foreman=foreman,
                meters=meters,
                log=log.bind(part="watch"),
                clock=clock,
                steady_s=time.monotonic,
                failures=_failures(keeper),
                secrets=_secrets,
                workers=lambda: (len(puller.pids()), puller.presses),
                disk=settings.folder,
                stopping=stopping,
            )
        )
        watching.append(watchman)
        foreman.beat()
        threads = [
            threading.Thread(target=foreman.run, args=(stopping,), name="foreman"),
            threading.Thread(target=watchman.run, args=(stopping,), name="watchman"),
        ]
        for thread in threads:
            thread.start()
        try:
            yield House(settings.folder, store, shelf, meters, foreman, watchman, work, stopping)
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


def _told(watching: Sequence[Watchman]) -> Callable[[Sequence[Contact], Sequence[Report]], None]:
    """What the foreman heard goes to the watchman, who comes after him."""

    def called(contacts: Sequence[Contact], reports: Sequence[Report]) -> None:
        for watchman in watching:
            watchman.heard(contacts, reports)

    return called


def _failures(keeper: Keeper) -> Callable[[str], Failures | None]:
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
