"""Where the last good payloads are kept, as gathering sees it: in a file of the wall, or in a database that machines share."""

from collections.abc import Iterable, Mapping
from typing import Protocol

from wallbill.sources.fetching import Failures, Kept


class FactKeep(Protocol):
    """The kept payloads of a wall. May be used from several threads and processes.

    All methods may raise `WallbillError`: what is kept cannot be read or written just now.
    """

    def kept(self, source: str) -> Mapping[str, Kept]:
        """What is kept of a source, by part."""
        ...

    def keep(self, source: str, *parts: Kept) -> None:
        """Keeps the good parts of a source in place of what was there, and forgets its failures; all or nothing."""
        ...

    def failures(self, source: str) -> Failures | None:
        """What has gone wrong with a source since it was last good, or None."""
        ...

    def note_failures(self, source: str, failures: Failures) -> None:
        """Notes what went wrong; the payloads stay."""
        ...

    def forget_parts(self, source: str, parts: Iterable[str]) -> None:
        """Forgets some parts of a source; the rest stays."""
        ...

    def forget(self, source: str) -> None:
        """Forgets all of a source: its payloads and its failures."""
        ...

    def close(self) -> None:
        """Lets go of where they are kept; what was kept stays."""
        ...
