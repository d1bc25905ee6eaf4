"""Where the inks touch the disk: pictures are read, link tables kept."""

import tempfile
from dataclasses import dataclass
from pathlib import Path

from wallbill.errors import PictureError, Place
from wallbill.inks.impression import Rgb
from wallbill.inks.pictures import LIMIT, PictureLimit, open_picture

_MOST_BYTES = 200_000_000  # a file larger than this is no picture for a wall


@dataclass(frozen=True, slots=True)
class DiskTables:
    """A `TableKeep` in a folder. What cannot be read or written is simply not kept."""

    folder: Path

    def get(self, key: str) -> bytes | None:
        """The bytes kept under ``key``, or None."""
        try:
            return (self.folder / key).read_bytes()
        except OSError:
            return None

    def put(self, key: str, data: bytes) -> None:
        """Keeps ``data`` under ``key``: written beside and renamed, so that a reader never sees a half."""
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            with tempfile.NamedTemporaryFile(dir=self.folder, delete=False) as file:
                file.write(data)
            Path(file.name).replace(self.folder / key)
        except OSError:
            return


def load_picture(path: Path, *, limit: PictureLimit = LIMIT) -> Rgb:
    """The picture in a file, as `open_picture` gives it. Raises `PictureError`, also for a missing file."""
    try:
        with path.open("rb") as file:  # the size that is told may be wrong: a pipe or a device has none
            data = file.read(_MOST_BYTES + 1)
    except OSError as fault:
        reason = fault.strerror or str(fault)
        raise PictureError(
            f"cannot be read: {reason}", where=Place(str(path)), mend="Check the path."
        ) from fault
    if len(data) > _MOST_BYTES:
        most = f"{_MOST_BYTES // 1_000_000} MB"
        raise PictureError(
            f"the file has more than {most}", where=Place(str(path)), mend=f"Give a file of at most {most}."
        )
    return open_picture(data, name=str(path), limit=limit)
