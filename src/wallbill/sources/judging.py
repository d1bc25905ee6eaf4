"""Which addresses may be asked, and what an answer means that is no payload."""

import json
from datetime import timedelta
from ipaddress import IPv4Address, IPv6Address, IPv6Network, ip_address

from wallbill.errors import Place, SourceError
from wallbill.sources.fetching import Answer, retry_after

_NAT64 = IPv6Network("64:ff9b::/96")
_QUOTED_MOST = 200

_STATUSES = (
    (204, "the service has nothing to give", "Check the wall's place, and that the service covers it."),
    (400, "the service does not understand the request", "Check the source's settings and the wall's place."),
    (401, "it wants a name and password, or others than these", "Check user and password of the source."),
    (403, "it refuses us", "Check the contact in wall.toml, the source's password, and the service's terms."),
    (
        404,
        "there is nothing at this address",
        "Check the address, and that the service covers the wall's place.",
    ),
    (410, "what was at this address is gone for good", "Give the source's new address."),
    (422, "the service does not cover the wall's place", "Choose another service for this place."),
    (429, "it was asked too often", "Nothing: it is asked again later. If it stays so, set a longer every."),
    (503, "it is out of service for the moment", "Nothing: it is asked again later."),
)


class RefusalError(SourceError):
    """An answer that is no payload. ``wait``: how long the server asks us to stay away, None if it does not."""

    def __init__(self, what: str, *, where: Place, mend: str, wait: timedelta | None = None) -> None:
        super().__init__(what, where=where, mend=mend)
        self.wait = wait


def is_public(address: str) -> bool:
    """Whether an IP address lies in the open internet: not in one's own network, nor in this machine.

    An IPv6 address that carries an IPv4 address inside (mapped, 6to4, Teredo, NAT64) is judged by that too.
    """
    ip = ip_address(address.partition("%")[0])
    judged: list[IPv4Address | IPv6Address] = [ip]
    if isinstance(ip, IPv6Address):
        if ip in _NAT64:
            judged = [IPv4Address(int(ip) & 0xFFFFFFFF)]
        inner = (ip.ipv4_mapped, ip.sixtofour, *(ip.teredo or ()))
        judged += [part for part in inner if part is not None]
    return all(part.is_global and not (part.is_multicast or part.is_reserved) for part in judged)


def judge(answer: Answer, *, host: str, source: str, quotable: bool) -> RefusalError | None:
    """What is wrong with an answer by its status, or None for a payload (200, 203) or "not modified" (304).

    ``quotable``: whether the server's own words may be shown, which they may not where they could echo a secret.
    """
    if answer.status in {200, 203, 304}:
        return None
    known = {status: (what, mend) for status, what, mend in _STATUSES}
    fallback = "the server has failed" if answer.status >= 500 else "it gives no payload"
    what, mend = known.get(answer.status, (fallback, "Look at the service's state, and at the address."))
    said = _reason(answer.body) if quotable else ""
    return RefusalError(
        f"{what} (status {answer.status}){f': {said}' if said else ''}",
        where=Place(source, field=host),
        mend=mend,
        wait=retry_after(answer),
    )


def _reason(body: bytes) -> str:
    """The reason that a JSON error answer gives (RFC 9457 ``detail``, or ``reason``), in one line, else ""."""
    try:
        told = json.loads(body[:16_384])
    except (ValueError, RecursionError):
        return ""
    if not isinstance(told, dict):
        return ""
    words = next(
        (told[name] for name in ("reason", "detail", "title") if isinstance(told.get(name), str)), ""
    )
    return " ".join("".join(c if c.isprintable() else " " for c in words).split())[:_QUOTED_MOST]
