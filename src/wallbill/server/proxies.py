"""Who asks, where a proxy stands between: what it says of the address is believed of known proxies only."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from ipaddress import IPv4Network, IPv6Network, ip_address, ip_network

from wallbill.errors import Place, WallError

Network = IPv4Network | IPv6Network

_PAIR = re.compile(r'\s*([!#$%&\'*+.^_`|~0-9A-Za-z-]+)=("(?:[^"\\]|\\.)*"|[^\s;,"]*)\s*', re.ASCII)


@dataclass(frozen=True, slots=True)
class Caller:
    """Who asks. ``peer``: an IP address; ``scheme``: ``http`` or ``https``, as the caller sees it."""

    peer: str
    scheme: str


def networks(texts: Iterable[str]) -> tuple[Network, ...]:
    """Addresses and networks of proxies that are trusted. Raises `WallError` for what is none."""
    found = []
    for text in texts:
        try:
            found.append(ip_network(text.strip()))
        except ValueError:
            raise WallError(
                f"{text!r} is no address or network of a proxy",
                where=Place(field="trusted proxies"),
                mend="Give an address such as 192.0.2.7, or a network such as 192.0.2.0/24.",
            ) from None
    return tuple(found)


def is_within(peer: str, trusted: Sequence[Network]) -> bool:
    """Whether an address lies in one of the networks. False for what is no address."""
    try:
        address = ip_address(peer.partition("%")[0])
    except ValueError:
        return False
    mapped = getattr(address, "ipv4_mapped", None)
    return any((mapped or address) in network for network in trusted)


def caller_of(
    direct: Caller,
    *,
    forwarded: str | None,
    x_forwarded: str | None,
    x_proto: str | None,
    trusted: Sequence[Network],
) -> Caller:
    """Who really asks.

    ``direct``: who opened the connection; if that is no trusted proxy, headers count for nothing. ``forwarded``: the header
    Forwarded (RFC 7239), which goes before ``x_forwarded`` (X-Forwarded-For) and ``x_proto`` (X-Forwarded-Proto, common
    practice). Each proxy adds to the end of the list, so it is read from the end, up to the first address not trusted.
    """
    if not trusted or not is_within(direct.peer, trusted):
        return direct
    hops = _forwarded(forwarded) if forwarded else _x_forwarded(x_forwarded or "", x_proto or "")
    caller = direct
    for peer, scheme in reversed(hops):
        if not _is_address(peer):
            break
        caller = Caller(peer, scheme if scheme in {"http", "https"} else caller.scheme)
        if not is_within(peer, trusted):
            break
    return caller


def _forwarded(field: str) -> list[tuple[str, str]]:
    """Address and scheme of each hop that a Forwarded header names, in its order."""
    hops: list[tuple[str, str]] = []
    at, pairs = 0, {}
    while at <= len(field):
        found = _PAIR.match(field, at)
        if found:
            pairs[found[1].lower()] = re.sub(r"\\(.)", r"\1", found[2].strip('"'))
            at = found.end()
        mark = field[at : at + 1]
        if mark in {",", ""}:
            hops.append((_bare(pairs.get("for", "")), pairs.get("proto", "").lower()))
            pairs = {}
        elif mark != ";":
            return []
        at += 1
    return hops


def _x_forwarded(addresses: str, scheme: str) -> list[tuple[str, str]]:
    told = scheme.rpartition(",")[2].strip().lower()
    return [(_bare(each.strip()), told) for each in addresses.split(",") if each.strip()]


def _bare(node: str) -> str:
    """An address without brackets and port (RFC 7239, 6)."""
    if node.startswith("["):
        return node[1:].partition("]")[0]
    return node.partition(":")[0] if node.count(":") == 1 else node


def _is_address(text: str) -> bool:
    try:
        ip_address(text.partition("%")[0])
    except ValueError:
        return False
    return True
