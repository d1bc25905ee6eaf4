"""A press room for tests: a small wall, a store, a keeper and a press, all real."""

import io
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from tests.end_to_end.walls import wall

from wallbill.server.model import Pull, Round
from wallbill.server.shell_copy import WallCopy
from wallbill.server.shell_logs import logger
from wallbill.server.shell_pressroom import Pressroom
from wallbill.server.shell_puller import Puller, PullLimits
from wallbill.sources.shell_keeping import Keeper, keeper_path
from wallbill.store.model import Installed, Pressing
from wallbill.store.ports import Store
from wallbill.store.shell import open_store, store_url
from wallbill.wall.shell import wall_digest

AT = datetime(2026, 3, 14, 8, tzinfo=UTC)
CACHE = Path.home() / ".cache" / "wallbill"


def installed(store: Store, **like: str) -> None:
    """Installs displays by name, each with the settings of another."""
    store.install(*(Installed(name, of, AT) for name, of in like.items()))


def order(folder: Path, *displays: str, at: datetime = AT, sheet: str = "") -> Pull:
    """An order for displays of the wall in ``folder`` as it is now."""
    return Pull(displays, at, sheet, wall_digest(folder))


def round_of(*pulls: Pull, sources: tuple[str, ...] = ("sky",)) -> Round:
    """A round of pulls."""
    return Round(pulls[0].at, sources, pulls)


@contextmanager
def pressroom(
    folder: Path, *, presses: int = 1, limits: PullLimits | None = None, url: str | None = None
) -> Iterator[tuple[Pressroom, list[Pressing]]]:
    """A press room over the wall in ``folder``, and what it records as it goes."""
    done: list[Pressing] = []
    store, keeper = open_store(store_url(folder, url)), Keeper(keeper_path(folder))
    puller = Puller(folder, cache=CACHE, presses=presses, limits=limits)
    log = logger(io.StringIO())
    try:
        yield Pressroom(store, keeper, WallCopy(folder), puller, log, done.extend), done
    finally:
        puller.close()
        keeper.close()
        store.close()


__all__ = ["AT", "CACHE", "installed", "order", "pressroom", "round_of", "wall"]
