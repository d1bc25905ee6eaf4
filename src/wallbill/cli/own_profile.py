"""A wall's own profile of a panel, written by what measured it: never over another one unasked, and nothing is lost."""

from pathlib import Path

from wallbill.cli.shell import make_folder, write_whole
from wallbill.errors import PanelError, Place


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
    make_folder(path.parent)
    kept = _kept(path) if path.exists() else None
    write_whole(path, text.encode())
    return kept


def _kept(path: Path) -> Path:
    """A copy of a profile under a name that no profile has and no copy before it."""
    number = 1
    while (copy := path.with_name(f"{path.name}.old-{number}")).exists():
        number += 1
    write_whole(copy, path.read_bytes())
    return copy
