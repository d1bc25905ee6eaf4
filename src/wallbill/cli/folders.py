"""Folders that several commands know of: the cache, and a wall's own panels."""

import os
from collections.abc import Mapping
from pathlib import Path

from wallbill.errors import PanelError
from wallbill.panels.model import Panel
from wallbill.panels.shell import load_panels


def cache_folder() -> Path:
    """Where fitted faces and tables are kept from run to run (XDG Base Directory Specification)."""
    base = os.environ.get("XDG_CACHE_HOME")
    return (Path(base) if base else Path.home() / ".cache") / "wallbill"


def panels_known(folder: Path | None) -> Mapping[str, Panel]:
    """All panels by name, with those of the wall in ``folder`` if one is named. Raises `PanelError`."""
    if folder is not None and not folder.is_dir():
        raise PanelError(f"there is no folder {str(folder)!r}", mend="Name the folder of a wall.")
    return load_panels(folder / "panels" if folder else None)
