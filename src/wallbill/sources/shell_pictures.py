"""Reads a folder of pictures: the names of all, and captions and dates of those whose turn is near."""

import os
from collections.abc import Iterator
from datetime import date
from pathlib import Path

from wallbill.errors import SourceError
from wallbill.sources.pictures import (
    MOST_PICTURES,
    SUFFIXES,
    Listing,
    caption_names,
    in_turn,
    picture_details,
    soon,
)
from wallbill.sources.spec import SourceSpec

_ROOT = "pictures"
_HEAD_BYTES = 1 << 20
_CAPTION_BYTES = 4096


def list_pictures(folder: Path, spec: SourceSpec, *, today: date) -> bytes:
    """The listing of the folder that ``spec`` names, for `wallbill.sources.pictures.parse`.

    ``folder``: the wall's. Names are counted from its ``pictures/``, as sheets have them. Raises `SourceError` for a
    folder that is not there, lies outside ``pictures/``, or holds too much.
    """
    told = str(spec.options["folder"])
    root = (folder / _ROOT).resolve()
    asked = folder
    try:
        asked = (folder / told).resolve()
        inside = asked.is_relative_to(root)
        there = asked.is_dir()
    except (OSError, ValueError):
        inside, there = True, False
    if not inside:
        raise SourceError(
            f"{told!r} lies outside the wall's pictures",
            where=spec.where,
            mend=f"Move or copy it into {_ROOT}/ of the wall folder, where sheets find it.",
        )
    if not there:
        raise SourceError(
            f"there is no folder {told!r}",
            where=spec.where,
            mend="Check the name; it is counted from the wall folder.",
        )
    names = list(_names(asked, root))
    if len(names) > MOST_PICTURES:
        raise SourceError(
            f"{told!r} holds more than {MOST_PICTURES} pictures",
            where=spec.where,
            mend="Name a folder inside it.",
        )
    near = soon(in_turn(names, str(spec.options.get("order", "name"))), today)
    return Listing(tuple(names), {name: _details(root, name) for name in near}).payload()


def _names(folder: Path, root: Path) -> Iterator[str]:
    """The pictures in a folder and below, hidden ones and those that a link leads out to left aside."""
    count = 0
    for place, folders, files in os.walk(folder):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for file in sorted(files):
            path = Path(place) / file
            if file.startswith(".") or path.suffix.lower() not in SUFFIXES:
                continue
            if path.is_symlink() and not path.resolve().is_relative_to(root):
                continue
            yield path.relative_to(root).as_posix()
            count += 1
            if count > MOST_PICTURES:
                return


def _details(root: Path, name: str) -> dict[str, str]:
    """Caption and date of one picture; what cannot be read is left out, as the sheet will say what is wrong."""
    details: dict[str, str] = {}
    try:
        with (root / name).open("rb") as file:
            details.update(picture_details(file.read(_HEAD_BYTES), name)[1])
    except (OSError, SourceError):
        pass
    for beside in caption_names(name):
        try:
            with (root / beside).open("rb") as file:
                words = file.read(_CAPTION_BYTES).decode("utf-8-sig", "replace").strip()
        except OSError:
            continue
        if words:
            return {**details, "caption": words}
    return details
