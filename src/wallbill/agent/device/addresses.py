"""Where requests go, and where an answer may send us. Pure."""

from __future__ import annotations

from typing import NamedTuple

from wallbill.agent.device.answers import RefusedError

REDIRECTS = (301, 302, 303, 307, 308)


class Target(NamedTuple):
    """An address taken apart. ``path``: with its query, from the first slash on."""

    is_secure: bool
    host: str
    port: int
    path: str

    @property
    def host_field(self) -> str:
        """The value of the header ``Host``: the port only where it is not the scheme's own (RFC 9110, 7.2)."""
        host = f"[{self.host}]" if ":" in self.host else self.host
        return host if self.port == (443 if self.is_secure else 80) else f"{host}:{self.port}"


def read_target(address: str) -> Target:
    """An address such as ``http://wall.example:8000/displays/hall``. Raises `ValueError` for anything else."""
    scheme, there, rest = address.partition("://")
    if scheme.lower() not in ("http", "https") or not there or any(not "!" <= sign <= "~" for sign in rest):
        raise ValueError(f"no address for the web: {address[:80]!r}")
    place, slash, path = rest.partition("/")
    host, port = place, ""
    if place.startswith("["):
        host, _, port = place[1:].partition("]")
        port = port.removeprefix(":")
    elif ":" in place:
        host, _, port = place.partition(":")
    is_secure = scheme.lower() == "https"
    number = int(port) if port.isdigit() and len(port) <= 5 else 0 if port else 443 if is_secure else 80
    if not host or "@" in host or not 0 < number < 65536:
        raise ValueError(f"no address for the web: {address[:80]!r}")
    return Target(is_secure, host.lower(), number, slash + path.partition("#")[0] or "/")


def redirected(target: Target, location: str) -> Target:
    """Where an answer sends us. Only to the same machine, and never from TLS to none: all else is a captive network, or worse.

    Raises `RefusedError`.
    """
    if location.startswith("/") and not location.startswith("//"):
        return target._replace(path=location.partition("#")[0])
    if location.startswith("//"):
        location = ("https:" if target.is_secure else "http:") + location
    try:
        found = read_target(location)
    except ValueError:
        raise RefusedError("sent on to no address") from None
    is_safer = found.is_secure and not target.is_secure
    if found.host != target.host or not (is_safer or found[:3] == target[:3]):
        raise RefusedError(f"sent on to another place, {found.host_field}")
    return found
