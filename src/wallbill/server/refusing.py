"""Answers that refuse something: what is wrong and how to mend it, as plain text or as a problem (RFC 9457)."""

import json
import math
from datetime import datetime
from types import MappingProxyType

from wallbill.server.heads import written_date
from wallbill.server.model import Answer

TEXT = "text/plain; charset=utf-8"
PROBLEM = "application/problem+json"

_TITLES = MappingProxyType(
    {
        400: "Bad Request",
        401: "Unauthorized",
        404: "Not Found",
        405: "Method Not Allowed",
        412: "Precondition Failed",
        413: "Content Too Large",
        422: "Unprocessable Content",
        429: "Too Many Requests",
        503: "Service Unavailable",
    }
)
"""As RFC 9110, 15 and RFC 6585, 4 name them; a problem without a type has its status's own (RFC 9457, 4.2.1)."""


def refusal(
    status: int,
    what: str,
    *,
    mend: str,
    now: datetime,
    more: tuple[tuple[str, str], ...] = (),
) -> Answer:
    """A refusal in plain text, two lines. ``status``: of HTTP. ``more``: headers that it needs besides."""
    text = f"{what}\n{mend}\n".encode()
    return Answer(status, (*_head(TEXT, len(text), now), *more), text)


def problem(refused: Answer, *, faults: tuple[tuple[str, str], ...] = ()) -> Answer:
    """The same refusal as problem details. ``faults``: where a report is wrong, and in what."""
    what, mend, *_ = refused.body.decode().split("\n")
    told: dict[str, object] = {"title": _TITLES[refused.status], "status": refused.status}
    told |= {"detail": what, "mend": mend}
    if faults:
        told["faults"] = [{"field": name, "what": fault} for name, fault in faults]
    text = json.dumps(told, ensure_ascii=False).encode()
    kept = tuple(field for field in refused.headers if field[0] not in {"Content-Type", "Content-Length"})
    return Answer(
        refused.status,
        (*kept, ("Content-Type", PROBLEM), ("Content-Length", str(len(text)))),
        text,
        refused.contact,
    )


def without_body(answer: Answer) -> Answer:
    """An answer to HEAD: the same head, nothing after it (RFC 9110, 9.3.2)."""
    return Answer(answer.status, answer.headers, b"", answer.contact)


def too_often(wait_s: float, *, now: datetime) -> Answer:
    """The refusal of somebody who asks too often. ``wait_s``: how long it is until there is an answer again."""
    return refusal(
        429,
        "this is asked for too often",
        mend="Wait as long as Retry-After says; heed max-age.",
        now=now,
        more=(("Retry-After", str(max(1, math.ceil(wait_s)))),),
    )


def _head(media_type: str, length: int, now: datetime) -> tuple[tuple[str, str], ...]:
    return (
        ("Date", written_date(int(now.timestamp()))),
        ("Cache-Control", "no-store"),
        ("Content-Type", media_type),
        ("Content-Length", str(length)),
    )
