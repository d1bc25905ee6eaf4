"""Where calibration touches the disk: readings and photographs are read, profiles written."""

import os
import tempfile
from pathlib import Path

from wallbill.errors import PanelError, Place

_MOST_BYTES = 4_000_000  # a file of readings has a few hundred lines


def load_readings(path: Path) -> bytes:
    """The bytes of a file of readings. Raises `PanelError` where it cannot be read or is far too large."""
    try:
        with path.open("rb") as file:
            data = file.read(_MOST_BYTES + 1)
    except OSError as fault:
        raise PanelError(
            f"cannot be read: {fault.strerror or fault}", where=Place(str(path)), mend="Check the path."
        ) from fault
    if len(data) > _MOST_BYTES:
        raise PanelError(
            f"more than {_MOST_BYTES // 1_000_000} MB: these are no readings",
            where=Place(str(path)),
            mend="Give the CSV file with one line a reading.",
        )
    return data


def profile_path(wall: Path, panel: str) -> Path:
    """Where a wall keeps its own profile of a panel."""
    return wall / "panels" / f"{panel}.toml"


def refuse_standing(path: Path, *, force: bool) -> None:
    """Raises `PanelError` where a profile stands at ``path`` and ``force`` is false."""
    if path.exists() and not force:
        raise PanelError(
            "the wall has a profile of this panel already",
            where=Place(f"panels/{path.name}"),
            mend="Give --force: what was measured takes its place, its other figures stay, and it is kept beside.",
        )


def write_profile(path: Path, text: str, *, force: bool) -> Path | None:
    """Write a profile whole or not at all; the one that stood there is kept beside it, and its path comes back.

    Raises `PanelError` where one stands there and ``force`` is false, `OSError` where the folder cannot be written.
    """
    refuse_standing(path, force=force)
    path.parent.mkdir(parents=True, exist_ok=True)
    kept = _kept(path) if path.exists() else None
    descriptor, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(descriptor, "w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(0o644)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    return kept


def _kept(path: Path) -> Path:
    """A copy of a profile under a name that no profile has and no copy before it."""
    number = 1
    while (copy := path.with_name(f"{path.name}.old-{number}")).exists():
        number += 1
    copy.write_bytes(path.read_bytes())
    return copy
