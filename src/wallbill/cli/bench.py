"""What the commands share: a wall with its facts gathered, and the tools that press its sheets."""

from collections.abc import Collection, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import click

from wallbill.facts.supply import Supply
from wallbill.sheets.shell_facts import gather_wall
from wallbill.sources.shell_keeping import Keeper, keeper_path
from wallbill.wall.clock import instant
from wallbill.wall.model import Wall

_FIRST_YEAR, _LAST_YEAR = 1900, 2199
"""Moments that can be pressed: sheets look days ahead, and the sun is reckoned well within these years."""


class Moment(click.ParamType[datetime]):
    """A moment as people write it: ``2026-03-14T08:00``, local to the wall unless it names an offset."""

    name = "time"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> datetime:
        """The moment; naive where no offset was named."""
        if isinstance(value, datetime):
            return value
        try:
            moment = datetime.fromisoformat(str(value))
        except ValueError:
            self.fail(f"{value!r} is no moment; write it as 2026-03-14T08:00", param, ctx)
        if not _FIRST_YEAR <= moment.year <= _LAST_YEAR:
            self.fail(f"{value!r} is not in the years {_FIRST_YEAR} to {_LAST_YEAR}", param, ctx)
        return moment


def moment_of(at: datetime | None, wall: Wall) -> datetime:
    """``at`` in the wall's zone, or now. A time of the wall's clocks is taken as the timetable takes it."""
    moment = datetime.now(UTC) if at is None else at
    if moment.tzinfo is None:
        moment = instant(moment.date(), moment.time(), wall.time_zone)
    return moment.astimezone(wall.time_zone)


def gathered(
    wall: Wall, now: datetime, *, only: Collection[str] | None = None, offline: bool = False
) -> Supply:
    """The facts of the wall's sources (``only`` those named, or all) at ``now`` (aware)."""
    with _keeper(wall.folder, offline=offline) as keeper:
        return gather_wall(wall, now, keeper=keeper, only=only, offline=offline)


@contextmanager
def _keeper(folder: Path, *, offline: bool) -> Iterator[Keeper | None]:
    """The wall's kept facts; offline none are made where there are none, so that a wall may be read-only."""
    path = keeper_path(folder)
    if offline and not path.exists():
        yield None
        return
    keeper = Keeper(path)
    try:
        yield keeper
    finally:
        keeper.close()
