"""A driver's own function, in a process of its own: what it holds is let go of, and it can be ended if it hangs."""

from __future__ import annotations

import importlib
import json
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any, NamedTuple


class Fed(NamedTuple):
    """What a driver's ``show(picture, info)`` is given as ``picture``. ``planes``: bytes, as ``info`` says they lie."""

    width_px: int
    height_px: int
    bits: int
    stride_bytes: int
    planes: tuple[bytes, ...]


def read_stream(stream: Any) -> tuple[Fed, Mapping[str, Any]]:
    """A picture and what was told of it, from a stream of one line of JSON and planes. Raises `ValueError` if it is cut."""
    info = json.loads(stream.readline())
    planes = tuple(stream.read(length) for length in info["bytes"])
    if [len(plane) for plane in planes] != info["bytes"]:
        raise ValueError("the picture is cut")
    fed = Fed(info["width_px"], info["height_px"], info["bits"], info["stride_bytes"], planes)
    return fed, info


def drive(named: str, folder: Path) -> int:
    """Gives the picture on standard input to a function such as ``hall_panel:show``, looked for in ``folder`` first."""
    sys.path.insert(0, str(folder))
    module, _, function = named.partition(":")
    show = getattr(importlib.import_module(module), function)
    fed, info = read_stream(sys.stdin.buffer)
    show(fed, info)
    return 0
