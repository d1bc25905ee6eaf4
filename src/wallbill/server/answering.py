"""What a device gets for the head of its request: a pure function of the head, what is in memory, and the moment."""

import base64
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from types import MappingProxyType

from wallbill.server.changing import changed_part
from wallbill.server.heads import (
    bearer_key,
    digest_field,
    last_of,
    listed,
    matches_strongly,
    matches_weakly,
    opaque_part,
    read_date,
    rectangle_field,
    shown_tag,
    written_date,
)
from wallbill.server.keys import key_digest
from wallbill.server.model import Answer, Body, Form, Head, Hung, Shelf, Wanted
from wallbill.server.refusing import refusal, without_body
from wallbill.server.timetable import LEAST_WAIT_S, back_in_s
from wallbill.store.model import Contact

FIRST_LEAST_S = 10
FIRST_MOST_S = 300

_FORMS = MappingProxyType({f"impression.{form.value}": form for form in Form})
_REPORT = "report"
_MOST_NAME_CHARS = 200

Headers = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Asked:
    """What an address asks for. ``key``: of its path, None if it has none. ``form``: None for the report."""

    display: str
    key: str | None
    form: Form | None


@dataclass(frozen=True, slots=True)
class Opened:
    """A display that a request has shown a good key for."""

    display: str
    form: Form | None


def asked_for(path: str) -> Asked | None:
    """What a path asks for, or None where it is no address of a device. ``path``: decoded."""
    parts = path.split("/")
    if len(parts) == 4:
        key = None
    elif len(parts) == 5:
        key = parts[3]
    else:
        return None
    name, last = parts[2], parts[-1]
    if parts[0] or parts[1] != "displays" or not name or len(name) > _MOST_NAME_CHARS or key == "":
        return None
    form = _FORMS.get(last)
    return Asked(name, key, form) if form or last == _REPORT else None


def opened(head: Head, shelf: Shelf, now: datetime) -> Opened | Answer:
    """The display that the head's key opens, or the refusal.

    An unknown display and a wrong key are refused in the same words, so that nobody learns which displays there are.
    """
    asked = asked_for(head.path)
    if asked is None:
        return _nowhere(now)
    methods = ("POST",) if asked.form is None else ("GET", "HEAD")
    if head.method not in methods:
        return refusal(
            405,
            "this method does not work at this address",
            mend=f"Use {' or '.join(methods)}.",
            now=now,
            more=(("Allow", ", ".join(methods)),),
        )
    key = asked.key or bearer_key(head.headers.get("authorization"))
    if key is None:
        return refusal(
            401,
            "a key is needed here",
            mend="Send the header Authorization: Bearer KEY, or put the key into the path: /displays/NAME/KEY/…",
            now=now,
            more=(("WWW-Authenticate", 'Bearer realm="wallbill"'),),
        )
    if shelf.opened_by(key_digest(key), now.timestamp()) != asked.display:
        return _nowhere(now)
    return Opened(asked.display, asked.form)


def answer(head: Head, shelf: Shelf, now: datetime) -> Answer | Wanted:
    """The answer to a device, or the form that has to be made first. ``now``: aware."""
    found = opened(head, shelf, now)
    if isinstance(found, Answer):
        return without_body(found) if head.method == "HEAD" else found
    if found.form is None:
        return refusal(400, "the report is missing", mend="Send it as one JSON object.", now=now)
    hung = shelf.hung(found.display)
    if hung is None or hung.edition is None:
        said = _not_yet(found.display, hung, now)
        return without_body(said) if head.method == "HEAD" else said
    return _picture(head, hung, found.form, now)


def _picture(head: Head, hung: Hung, form: Form, now: datetime) -> Answer | Wanted:
    """The answer to a device whose display has something to show."""
    edition = hung.edition
    assert edition is not None
    now_s = now.timestamp()
    back_s = _back_in_s(now_s, hung, LEAST_WAIT_S)
    tag, at_s = edition.tag, int(min(edition.at.timestamp(), now_s))
    status = _by_conditions(head.headers, tag, at_s=at_s, now=now)
    if status == 412:
        said = refusal(
            412, "the precondition does not hold", mend="Leave out If-Match and If-Unmodified-Since.", now=now
        )
        return without_body(said) if head.method == "HEAD" else said
    head_only = head.method == "HEAD"
    shown = head.headers.get("if-none-match", "")
    came_away = tag if status == 304 or not head_only else ""
    contact = Contact(
        hung.name,
        now,
        status,
        came_away,
        shown if shown == tag else shown_tag(shown),
        now + timedelta(seconds=back_s),
    )
    headers: Headers = (
        ("Date", written_date(int(now_s))),
        ("ETag", tag),
        ("Cache-Control", f"private, max-age={back_s}"),
    )
    if status == 304:
        # Nothing more than RFC 9110, 15.4.5 asks for; a Content-Length would keep simple devices waiting for a body.
        return Answer(304, headers, b"", contact)
    body = hung.forms.get(form)
    if body is None:
        return Wanted(hung.name, form)
    last = last_of(head.query) if form is Form.PLATES else ""
    more, data = _content(body, hung, last, head_only=head_only)
    headers = (*headers, ("Last-Modified", written_date(at_s)), *more)
    return Answer(200, headers, b"" if head_only else data, contact)


def _by_conditions(headers: Mapping[str, str], tag: str, *, at_s: int, now: datetime) -> int:
    """200, 304 or 412, by the preconditions in the order of RFC 9110, 13.2.2. ``at_s``: last modified, Unix time."""
    must_match = headers.get("if-match")
    if must_match is not None:
        if not matches_strongly(must_match, tag):
            return 412
    elif (text := headers.get("if-unmodified-since")) is not None:
        until = read_date(text, now=now)
        if until is not None and at_s > until:
            return 412
    none_match = headers.get("if-none-match")
    if none_match is not None:
        return 304 if matches_weakly(none_match, tag) else 200
    if (text := headers.get("if-modified-since")) is not None:
        since = read_date(text, now=now)
        if since is not None and at_s <= since:
            return 304
    return 200


def _content(body: Body, hung: Hung, last: str, *, head_only: bool) -> tuple[Headers, bytes]:
    """The headers that describe the body, and the body: the whole, or the part that changed since ``last``.

    Repr-Digest is always of the bytes in hand, which are all of what this address stands for (RFC 9530, 3). The whole that
    comes of laying the part in has its digest in Impression-Rectangle.
    """
    assert hung.edition is not None
    before = hung.earlier.get(last) if last and last != opaque_part(hung.edition.tag) else None
    found = changed_part(before, body) if before is not None else None
    if found is None:
        return (*_told(body), *_measured(body.media_type, len(body.data), body.repr_digest)), body.data
    part, data = found
    digest = digest_field(data)
    whole = base64.b64decode(body.repr_digest.removeprefix("sha-256=").strip(":"))
    headers = (
        *_told(body),
        ("Impression-Rectangle", rectangle_field(part, whole=whole)),
        *_measured(body.media_type, len(data), digest),
    )
    if not head_only:  # of the content as it is sent: HEAD sends none (RFC 9530, 2)
        headers = (*headers, ("Content-Digest", digest))
    return headers, data


def _told(body: Body) -> Headers:
    """What plates do not say themselves."""
    if not body.inks:
        return ()
    size = f"width={body.width_px}, height={body.height_px}"
    return ("Impression-Size", size), ("Impression-Inks", listed(body.inks))


def _measured(media_type: str, length: int, digest: str) -> Headers:
    return ("Content-Type", media_type), ("Content-Length", str(length)), ("Repr-Digest", digest)


def _nowhere(now: datetime) -> Answer:
    return refusal(
        404,
        "nothing is to be found at this address with this key",
        mend="Check the address (/displays/NAME/impression.png, .bmp, .pbm, .plates, or /displays/NAME/report) and the key.",
        now=now,
    )


def _not_yet(display: str, hung: Hung | None, now: datetime) -> Answer:
    """The answer before the first edition. ``hung``: None where the display has no settings yet."""
    wait_s = (
        FIRST_MOST_S if hung is None else min(_back_in_s(now.timestamp(), hung, FIRST_LEAST_S), FIRST_MOST_S)
    )
    return later(
        display, wait_s, "there is nothing to show yet", mend="Come back when Retry-After says.", now=now
    )


def later(display: str, wait_s: int, what: str, *, mend: str, now: datetime) -> Answer:
    """The refusal of a display that is to come again in ``wait_s`` seconds, and its contact."""
    said = refusal(503, what, mend=mend, now=now, more=(("Retry-After", str(wait_s)),))
    contact = Contact(display, now, 503, "", "", now + timedelta(seconds=wait_s))
    return Answer(said.status, said.headers, said.body, contact)


def _back_in_s(now_s: float, hung: Hung, least_s: int) -> int:
    return back_in_s(
        now_s,
        looks_at_s=hung.looks_at_s,
        ready_s=hung.ready_s,
        phase_s=hung.phase_s,
        least_s=least_s,
    )
