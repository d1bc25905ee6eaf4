"""The agent for one display as one file that any Python from 3.9 on runs. The same display gives the same bytes."""

import io
import json
import re
import zipfile
from collections.abc import Mapping
from typing import Any

from wallbill.agent.clients import every_s
from wallbill.agent.device.packing import usual_packing
from wallbill.agent.device.reading import SettingsError
from wallbill.agent.device.settings import merged, read_settings
from wallbill.errors import Place, WallError
from wallbill.panels.model import Panel
from wallbill.wall.model import Display

HOME = "wallbill.agent.device"
NAME = "wallbill_agent"
_DAWN = (1980, 1, 1, 0, 0, 0)  # the first date that a ZIP file can hold
_MANY_INKS = 5  # from here up a PNG is several times smaller than plates

_MAIN = f'''"""Starts the agent."""
import sys

if sys.version_info < (3, 9):
    sys.exit("the agent needs Python 3.9 or newer")

from pathlib import Path

from {NAME}.shell_main import Place, main

FILE = Path(sys.argv[0]).resolve()
sys.exit(main(sys.argv[1:], Place(FILE, __loader__.get_data("settings.json"), (sys.executable, str(FILE)))))
'''


def settings_for(display: Display, address: str, *, over: Mapping[str, Any]) -> dict[str, Any]:
    """The agent's settings for a display: what the wall and the panel's profile know, and ``over`` laid over it.

    ``address``: of the server. Raises `WallError` naming every setting that is wrong.
    """
    panel = display.panel
    known = {
        "v": 1,
        "display": display.name,
        "address": address.rstrip("/"),
        "form": "png" if len(panel.inks) >= _MANY_INKS else "plates",
        "panel": {**_panel(panel), "turned_deg": display.turned},
        "limits": _limits(panel),
        # Only full refreshes, whatever the panel can do: that its driver can do others is for its owner to say.
        "glass": {"adapter": "file", "path": f"{display.name}.png", "modes": ["full"]},
        "packing": _packing(panel),
        "usual_s": every_s(display),
    }
    values = merged(known, over)
    try:
        read_settings(values, file="settings")
    except SettingsError as error:
        raise WallError(
            str(error), where=Place(field=f"displays.{display.name}"), mend="See docs/reference/agent.md."
        ) from error
    return values


def _panel(panel: Panel) -> dict[str, Any]:
    return {
        "name": panel.name,
        "width_px": panel.width_px,
        "height_px": panel.height_px,
        "inks": {ink.name: "#{:02x}{:02x}{:02x}".format(*ink.css) for ink in panel.inks},
    }


def _limits(panel: Panel) -> dict[str, Any]:
    limits: dict[str, Any] = {
        "least_interval_s": panel.refresh.least_interval_s,
        "longest_rest_s": max(3600, panel.refresh.longest_rest_s),
        "full_s": panel.refresh.full_s,
    }
    if panel.climate is not None:
        limits |= {"lowest_c": panel.climate.lowest_c, "highest_c": panel.climate.highest_c}
    return limits


def _packing(panel: Panel) -> dict[str, Any]:
    """The panel's usual packing, written out so that its owner sees what there is to change."""
    names = tuple(ink.name for ink in panel.inks)
    usual = usual_packing(names)
    if usual.bits == 1:
        return {
            "bits": 1,
            "planes": [
                {"name": plane.name, "inks": list(plane.inks), "one_means": plane.one_means}
                for plane in usual.planes
            ],
        }
    return {"bits": usual.bits, "codes": dict(zip(names, usual.codes, strict=True))}


def bundle(modules: Mapping[str, str], settings: Mapping[str, Any]) -> bytes:
    """The agent's file: a ZIP archive that Python runs. ``modules``: the source of each, by its file's name.

    Source: Python's zipapp, "The Python Zip Application Archive Format".
    """
    files = {
        "__main__.py": _MAIN,
        "settings.json": json.dumps(settings, indent=2, ensure_ascii=False) + "\n",
        **{f"{NAME}/{name}": renamed(text) for name, text in modules.items()},
    }
    packed = io.BytesIO()
    packed.write(b"#!/usr/bin/env python3\n")
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        for name in sorted(files):
            entry = zipfile.ZipInfo(name, _DAWN)
            entry.external_attr = 0o644 << 16
            entry.create_system = 3  # Unix, on whatever system it is written
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, files[name])
    return packed.getvalue()


def renamed(source: str) -> str:
    """A module's source as it stands in the agent's file, where the package has a name of its own."""
    return re.sub(rf"^(\s*(?:from|import) ){re.escape(HOME)}\b", rf"\g<1>{NAME}", source, flags=re.MULTILINE)
