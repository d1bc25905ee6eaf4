"""This machine's copy of the wall: read when it is first asked for, and anew when its files have changed."""

import threading
from datetime import UTC, tzinfo
from pathlib import Path

from wallbill.errors import Place, WallbillError, WallError
from wallbill.server.model import WallFiles
from wallbill.sheets.shell import load_texts
from wallbill.wall.shell import WallWatch, load_wall


def differs(folder: Path) -> WallError:
    """What is told where an order is for another state of the wall than this machine has."""
    return WallError(
        "this machine's copy of the wall differs from the server's",
        where=Place(str(folder)),
        mend="Bring the wall's folder to the same state on every machine.",
    )


class WallCopy:
    """The wall in ``folder``. May be used from several threads."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._watch = WallWatch(folder)
        self._lock = threading.Lock()
        self._known: WallFiles | None = None

    def at(self, digest: str) -> WallFiles:
        """The wall whose files have this digest. Raises `WallbillError` where this machine has another, or a faulty one."""
        with self._lock:
            if self._known is None or self._known.digest != digest:
                self._known = self._read()
            if self._known.digest != digest:
                raise differs(self.folder)
            return self._known

    def now(self) -> WallFiles:
        """The wall as it is now, read anew. Its digest is "" where somebody was writing to it. Raises `WallbillError`."""
        with self._lock:
            self._known = self._read()
            return self._known

    def digest(self) -> str:
        """The digest of the wall's files as they are now."""
        with self._lock:
            return self._watch.digest()

    def _read(self) -> WallFiles:
        """The wall as it is now; if somebody writes to it meanwhile, what was read counts for no digest but its own."""
        before = self._watch.digest()
        wall, texts = load_wall(self.folder), load_texts(self.folder)
        after = self._watch.digest()
        return WallFiles(wall, texts, after if before == after else "")

    def zone(self, digest: str) -> tzinfo:
        """The wall's zone, for words to people; UTC where the wall cannot be read."""
        try:
            return self.at(digest).wall.time_zone
        except (WallbillError, OSError):
            return UTC
