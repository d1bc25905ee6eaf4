"""Keeps, beside the facts, the page that each display's last impression was made from, so that pictures keep their dots.

It is kept for all presses: whichever of them, on whichever machine, pulls the next impression, the dots of a picture
that did not change stay where they are. Where it is lost, dots may move once.
"""

from contextlib import suppress
from datetime import UTC, datetime

from wallbill.errors import WallbillError
from wallbill.sources.fetching import Kept
from wallbill.sources.keeping import FactKeep

_PART = "standing"


class KeptStandings:
    """Keeps `wallbill.server.rounds.Standings` among the kept facts, under a name that no source can have."""

    def __init__(self, keeper: FactKeep) -> None:
        self._keeper = keeper

    def get(self, display: str, digest: str) -> bytes:
        """The page of the impression that a display has up, b"" where it is not known."""
        with suppress(WallbillError):
            kept = self._keeper.kept(_name(display)).get(_PART)
            if kept is not None and kept.identity == digest:
                return kept.body
        return b""

    def put(self, display: str, digest: str, standing: bytes) -> None:
        """Keeps the page of an impression in place of the one before."""
        at = datetime.now(UTC)
        with suppress(WallbillError):  # dots may move once, and nothing else is lost
            self._keeper.keep(_name(display), Kept(_name(display), _PART, digest, "", standing, {}, at, at))


def _name(display: str) -> str:
    return f"display {display}"
