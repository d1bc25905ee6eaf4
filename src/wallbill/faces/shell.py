"""The edge of the room: face files from packages, folders and the system, and the keep on disk."""

import hashlib
import importlib.util
import os
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from wallbill.errors import FaceError, Place
from wallbill.faces.catalogue import FALLBACK, GENERIC, PACKAGED, SYSTEM_FALLBACK, SYSTEM_FILES, TEXT_FAMILY
from wallbill.faces.reading import read_faces
from wallbill.faces.shelf import FaceFile, Shelf

_SUFFIXES = frozenset({".ttf", ".otf", ".ttc", ".otc", ".otb", ".woff", ".woff2", ".bdf", ".pcf", ".gz"})
_SYSTEM_FOLDERS = ("/usr/share/fonts", "/usr/local/share/fonts")


def load_shelf(extra_folders: Sequence[Path] = (), *, system: bool = False) -> Shelf:
    """The packaged faces, those in ``extra_folders`` (searched downwards), and a few of the system's if asked.

    Raises FaceError for an unreadable file in an extra folder, or where the text face is not installed. A face
    in an extra folder stands before a packaged one of the same family.
    """
    packaged = tuple(_packaged())
    if not any(face.family == TEXT_FAMILY for face in packaged):
        raise FaceError(
            f"the text face {TEXT_FAMILY} is not installed",
            mend="Install the package fontpkg-noto-sans, one of Wallbill's dependencies.",
        )
    own = tuple(face for folder in extra_folders for face in _folder(folder))
    found = tuple(_system()) if system else ()
    families = (*FALLBACK, *(face.family for face in own), *SYSTEM_FALLBACK)
    own_names = {face.family for face in own}
    kept = tuple(face for face in (*packaged, *found) if face.family not in own_names)
    return Shelf((*own, *kept), tuple(dict.fromkeys(families)), GENERIC)


def _packaged() -> Iterator[FaceFile]:
    for package, files in PACKAGED.items():
        spec = importlib.util.find_spec(package)
        for folder in (spec.submodule_search_locations or () if spec else ())[:1]:
            for file in files:
                path = Path(folder) / file
                if path.is_file():
                    yield from read_faces(f"{package}/{file}", path.read_bytes())


def _folder(folder: Path) -> Iterator[FaceFile]:
    """Every face under a folder, in the order of names; a folder that is not there holds none."""
    for path in sorted(folder.rglob("*")) if folder.is_dir() else ():
        if path.suffix.casefold() in _SUFFIXES and path.is_file():
            try:
                data = path.read_bytes()
            except OSError as fault:
                raise FaceError(
                    f"cannot be read: {fault.strerror}",
                    where=Place(str(path)),
                    mend="Give the user that runs Wallbill leave to read it.",
                ) from fault
            yield from read_faces(str(path), data)


def _system() -> Iterator[FaceFile]:
    """The system's faces that the catalogue names; one that cannot be read is passed over."""
    for path in _named(Path(folder) for folder in _SYSTEM_FOLDERS):
        try:
            yield from (replace(face, borrowed=True) for face in read_faces(str(path), path.read_bytes()))
        except (FaceError, OSError):
            continue


def _named(folders: Iterable[Path]) -> list[Path]:
    found: dict[str, Path] = {}
    for folder in folders:
        for parent, folders_below, names in os.walk(folder):
            folders_below.sort()
            for name in names:
                if name in SYSTEM_FILES:
                    found.setdefault(name, Path(parent) / name)
    return [found[name] for name in SYSTEM_FILES if name in found]


class FaceKeep:
    """Fitted faces on disk, one file a key; in memory only where ``folder`` is None.

    Written beside its place and moved there, so a reader never sees half a file. A full disk or a folder that
    cannot be written is not an error: the face is fitted again next time.
    """

    def __init__(self, folder: Path | None) -> None:
        self._folder = folder
        self._memory: dict[str, bytes] = {}

    def get(self, key: str) -> bytes | None:
        """The bytes kept under a key, or None."""
        if self._folder is None:
            return self._memory.get(key)
        try:
            return self._path(self._folder, key).read_bytes()
        except OSError:
            return None

    def put(self, key: str, data: bytes) -> None:
        """Keep bytes under a key."""
        if self._folder is None:
            self._memory[key] = data
            return
        path = self._path(self._folder, key)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            handle, beside = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".part")
            with os.fdopen(handle, "wb") as file:
                file.write(data)
            os.replace(beside, path)  # noqa: PTH105 Path.replace would say the same
        except OSError:
            return

    @staticmethod
    def _path(folder: Path, key: str) -> Path:
        name = hashlib.sha256(key.encode()).hexdigest()
        return folder / name[:2] / f"{name[2:]}.face"
