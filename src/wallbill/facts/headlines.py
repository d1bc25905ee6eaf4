"""Headlines out of a news feed: plain text, newest first."""

from dataclasses import dataclass, field
from datetime import datetime

from wallbill.facts.origin import Origin


@dataclass(frozen=True, slots=True)
class Headline:
    """One entry of a feed. ``title`` and ``summary`` are plain text in one line each, never markup.

    ``published``: when it first came out, aware and in UTC, None if the feed does not say. ``link``: an address of the
    web, or "". ``id``: what tells it from other entries of the feed.
    """

    title: str
    summary: str = ""
    published: datetime | None = None
    link: str = ""
    id: str = ""


@dataclass(frozen=True, slots=True)
class Headlines:
    """The entries of a feed, newest first, those without a date last.

    ``updated``: when the feed says that it last changed (aware, UTC). A quiet feed is not a stale one: its age counts
    from when it was fetched.
    """

    origin: Origin
    name: str
    headlines: tuple[Headline, ...] = field(default=())
    updated: datetime | None = None

    def newest(self, count: int) -> tuple[Headline, ...]:
        """The first ``count`` headlines."""
        return self.headlines[: max(count, 0)]

    def since(self, moment: datetime) -> tuple[Headline, ...]:
        """The headlines published at ``moment`` (aware) or later; those without a date are left aside."""
        return tuple(h for h in self.headlines if h.published is not None and h.published >= moment)
