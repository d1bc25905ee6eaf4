"""The settings of the two small clients, the microcontroller twin and the shell client, as the wall and the panel give them. Pure."""

import shlex
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from wallbill.agent.device.addresses import Target, read_target
from wallbill.errors import Place, WallError
from wallbill.wall.model import Display

MEDIA_TYPES = MappingProxyType(
    {
        "png": "image/png",
        "bmp": "image/bmp",
        "pbm": "image/x-portable-bitmap",
        "plates": "application/octet-stream",
    }
)
"""The type that the server sends each form as."""

_SHORTEST_S, _LONGEST_S = 60, 7 * 86400
_ANY_AIR_C = (-100, 100)


def target_of(url: str) -> Target:
    """The server's address, taken apart. Raises `WallError` for one that a device could not call."""
    try:
        target = read_target(url.rstrip("/"))
    except ValueError as error:
        raise WallError(
            str(error), where=Place(field="--url"), mend="Write it like http://wall.example:8000."
        ) from error
    if "?" in target.path:
        raise WallError(
            "an address with a question", where=Place(field="--url"), mend="End it before the question mark."
        )
    return target


def plates_bytes(display: Display) -> int:
    """How long the plates of a display are in one piece, bytes."""
    panel = display.panel
    return -(-panel.width_px // 8) * panel.height_px * len(panel.inks)


def twin_settings(display: Display, target: Target, *, made_s: int) -> dict[str, Any]:
    """What the twin of a display must know. ``made_s``: now, Unix time; no clock that is behind it is believed."""
    panel = display.panel
    lowest_c, highest_c = (
        (panel.climate.lowest_c, panel.climate.highest_c) if panel.climate is not None else _ANY_AIR_C
    )
    return twin_settings_at(target, name=display.name, length_bytes=plates_bytes(display), made_s=made_s) | {
        "every_s": every_s(display),
        "least_interval_s": panel.refresh.least_interval_s,
        "longest_rest_s": panel.refresh.longest_rest_s,
        "lowest_c": lowest_c,
        "highest_c": highest_c,
    }


def twin_settings_at(target: Target, *, name: str, length_bytes: int, made_s: int) -> dict[str, Any]:
    """Settings of a twin for a panel that nothing but the length of its plates is known of."""
    place = f"{target.path.rstrip('/')}/displays/{name}"
    return {
        "name": name,
        "host": target.host,
        "port": target.port,
        "tls": target.is_secure,
        "authority": target.host_field,
        "path": f"{place}/impression.plates",
        "report": f"{place}/report",
        "packed": False,
        "length_bytes": length_bytes,
        "every_s": 1800,
        "least_interval_s": 180,
        "longest_rest_s": 86400,
        "lowest_c": _ANY_AIR_C[0],
        "highest_c": _ANY_AIR_C[1],
        "quiet_ms": 20000,
        "patience_ms": 120000,
        "made_s": made_s,
    }


def shell_settings(display: Display, url: str, *, form: str, paths: Mapping[str, str]) -> str:
    """The shell client's settings, as assignments that a shell reads.

    ``paths``: ``folder``, ``key_file``, ``show``, and ``ca_file`` where there is one.
    """
    target_of(url)
    refresh = display.panel.refresh
    values: dict[str, str | int] = {
        "address": f"{url.rstrip('/')}/displays/{display.name}",
        "name": display.name,
        "form": form,
        "media_type": MEDIA_TYPES[form],
        **({"length_bytes": plates_bytes(display)} if form == "plates" else {}),
        "every_s": every_s(display),
        "least_interval_s": refresh.least_interval_s,
        "longest_rest_s": refresh.longest_rest_s,
        "show_within_s": max(60, round(4 * refresh.full_s)),
        **paths,
    }
    lines = "".join(f"{word}={shlex.quote(str(value))}\n" for word, value in values.items())
    return f"# Settings of the shell client for the display {display.name}; docs/how-to/shell-client.md explains them.\n{lines}"


def every_s(display: Display) -> int:
    """How often a display is looked at anew, within what a device can be told, seconds."""
    return max(_SHORTEST_S, min(int(display.every.total_seconds()), _LONGEST_S))
