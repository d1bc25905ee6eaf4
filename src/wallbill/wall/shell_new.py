"""A new wall from the starter that lies in this package."""

import shutil
import tempfile
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

from wallbill.errors import Place, WallError


def make_wall(folder: Path) -> tuple[Path, ...]:
    """Make a new wall in ``folder``, whole or not at all; gives its files, relative to the folder, in order.

    Raises `WallError` if the folder holds anything already, or cannot be written.
    """
    _refuse(folder)
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        beside = Path(tempfile.mkdtemp(prefix=f".{folder.name}.", dir=folder.parent))
    except OSError as error:
        raise _unwritable(folder, error) from error
    try:
        _copy(resources.files("wallbill.wall") / "starter", beside)
        beside.chmod(0o755)
        made = tuple(sorted(path.relative_to(beside) for path in beside.rglob("*") if path.is_file()))
        beside.rename(folder)  # takes the place of an empty folder, and of nothing else
    except OSError as error:
        shutil.rmtree(beside, ignore_errors=True)
        raise _unwritable(folder, error) from error
    return made


def _refuse(folder: Path) -> None:
    if folder.is_symlink() or (folder.exists() and not folder.is_dir()):
        raise WallError("something else has this name", where=Place(str(folder)), mend="Choose another name.")
    if folder.is_dir() and any(folder.iterdir()):
        first = min(path.name for path in folder.iterdir())
        raise WallError(
            f"the folder is not empty: it holds {first!r}",
            where=Place(str(folder)),
            mend="Choose a new name; nothing in it was touched.",
        )


def _unwritable(folder: Path, error: OSError) -> WallError:
    return WallError(
        f"cannot be made: {error.strerror or error}",
        where=Place(str(folder)),
        mend="Choose a place that you may write to.",
    )


def _copy(source: Traversable, target: Path) -> None:
    for item in source.iterdir():
        if item.is_dir():
            (target / item.name).mkdir()
            _copy(item, target / item.name)
        elif not item.name.endswith(".pyc"):
            (target / item.name).write_bytes(item.read_bytes())
