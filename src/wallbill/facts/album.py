"""Pictures to show, one a day, each in its turn."""

from dataclasses import dataclass, field
from datetime import date, datetime, tzinfo

from wallbill.facts.agenda import local_day
from wallbill.facts.origin import Origin


@dataclass(frozen=True, slots=True)
class Shot:
    """One picture of an album. ``name``: what a sheet's ``picture`` is given.

    ``caption``: plain text, from a text file beside it or from the picture itself, or "". ``taken``: the local date of
    the camera, None if unknown. ``data``: the picture's own bytes where it lies in no folder, else empty.
    """

    name: str
    caption: str = ""
    taken: date | None = None
    data: bytes = field(default=b"", repr=False)


@dataclass(frozen=True, slots=True)
class Album:
    """Pictures in the order in which days take their turn.

    ``shown``: what is known of those whose turn is near; captions and dates of the others have not been read.
    """

    origin: Origin
    name: str
    names: tuple[str, ...]
    shown: tuple[Shot, ...] = ()

    def on(self, day: date) -> Shot:
        """The picture whose turn is on ``day``: each comes once in as many days as there are pictures."""
        name = self.names[turn(day, len(self.names))]
        return next((shot for shot in self.shown if shot.name == name), Shot(name))

    def today(self, now: datetime, *, zone: tzinfo | None = None) -> Shot:
        """The picture whose turn it is at ``now`` (aware); ``zone`` decides which day that is, None: that of ``now``."""
        return self.on(local_day(now, zone) if zone else now.date())


def turn(day: date, count: int) -> int:
    """Whose turn it is on ``day`` among ``count`` (at least 1): from 0, one further each day, and round again."""
    return day.toordinal() % count
