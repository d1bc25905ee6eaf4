"""Notices as letters: a mail for people, a JSON object for programs. The same notices give the same letter each time."""

import hashlib
import json
import re
from collections import Counter
from collections.abc import Sequence
from datetime import datetime, timedelta, tzinfo
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime, parseaddr
from textwrap import fill

from wallbill.server.watching import over
from wallbill.server.watching_rules import cleaned, worded
from wallbill.store.model import Notice
from wallbill.wall.model import MailSettings

MOST_TOLD = 100
"""So many notices are told one by one in a mail; of more only the count is."""

_DOMAIN = re.compile(r"[A-Za-z0-9.-]+")
_WIDTH = 76
_SUBJECT_CHARS = 120


def letter_id(notices: Sequence[Notice]) -> str:
    """The name of a letter about these notices: 32 hexadecimal digits, the same for the same notices and states."""
    named = sorted(
        (n.kind, n.subject, n.since.isoformat(), "" if n.ended_at is None else n.ended_at.isoformat())
        for n in notices
    )
    return hashlib.sha256(json.dumps(named).encode()).hexdigest()[:32]


def webhook_body(notices: Sequence[Notice], *, wall: str) -> bytes:
    """The JSON object for a webhook (docs/reference/watching.md). It holds no moment of sending: sent again it is the same."""
    document = {
        "id": letter_id(notices),
        "wall": wall,
        "summary": summary(notices),
        "notices": [
            {
                "id": letter_id([notice]),
                "kind": notice.kind,
                "subject": notice.subject,
                "state": "open" if notice.ended_at is None else "over",
                "what": notice.what if notice.ended_at is None else over(notice),
                "mend": notice.mend if notice.ended_at is None else "",
                "since": notice.since.isoformat(),
                "ended_at": None if notice.ended_at is None else notice.ended_at.isoformat(),
            }
            for notice in notices
        ],
    }
    return json.dumps(document, ensure_ascii=False, separators=(",", ":")).encode()


def mail(
    notices: Sequence[Notice], settings: MailSettings, *, wall: str, zone: tzinfo, now: datetime
) -> EmailMessage:
    """The mail about some notices: plain text (RFC 5322), marked as made by a program (RFC 3834).

    Its Message-ID is made of the notices, so that a mail which is sent twice can be known for one.
    """
    message = EmailMessage(policy=SMTP)
    domain = parseaddr(settings.sender)[1].partition("@")[2]
    message["From"] = _header(settings.sender)
    message["To"] = ", ".join(map(_header, settings.to))
    message["Subject"] = _header(f"{wall}: {summary(notices)}")[:_SUBJECT_CHARS]
    message["Date"] = format_datetime(now.astimezone(zone))
    message["Message-ID"] = f"<{letter_id(notices)}@{domain if _DOMAIN.fullmatch(domain) else 'localhost'}>"
    message["Auto-Submitted"] = "auto-generated"
    message.set_content(_text(notices, wall=wall, zone=zone), cte="quoted-printable")
    return message


def summary(notices: Sequence[Notice]) -> str:
    """A letter in a line: the one thing that it tells, or how many began and are over."""
    if len(notices) == 1:
        notice = notices[0]
        if notice.ended_at is not None:
            return _line(over(notice))
        short = len(notice.what) <= _SUBJECT_CHARS // 2
        return _line(notice.what if short else notice.what.partition(": ")[0])
    ended = sum(notice.ended_at is not None for notice in notices)
    told = ((len(notices) - ended, "new"), (ended, "over"))
    return ", ".join(f"{count} {what}" for count, what in told if count)


def _text(notices: Sequence[Notice], *, wall: str, zone: tzinfo) -> str:
    begun = [notice for notice in notices if notice.ended_at is None]
    ended = [notice for notice in notices if notice.ended_at is not None]
    parts = [_line(wall)]
    told = begun[:MOST_TOLD]
    parts += [_begun(notice, zone) for notice in told]
    over_told = ended[: MOST_TOLD - len(told)]
    if over_told and told:
        parts.append("Over:")
    parts += [_ended(notice, zone) for notice in over_told]
    rest = Counter(notice.kind for notice in (*begun[len(told) :], *ended[len(over_told) :]))
    if rest:
        counts = ", ".join(f"{count} of {kind}" for kind, count in sorted(rest.items()))
        parts.append(_filled(f"and {rest.total()} more ({counts}), which are on the wall's pages."))
    parts.append(
        "-- \nSent by Wallbill. Each notice is sent when it begins and when it is over, and not in between."
    )
    return "\n\n".join(parts) + "\n"


def _begun(notice: Notice, zone: tzinfo) -> str:
    lines = [
        _filled(notice.what),
        _filled(f"since {worded(notice.since, zone)} [{notice.kind}]", indent="  "),
    ]
    if notice.mend:
        lines.append(_filled(f"mend: {notice.mend}", indent="  "))
    return "\n".join(lines)


def _ended(notice: Notice, zone: tzinfo) -> str:
    assert notice.ended_at is not None
    lasted = f"{worded(notice.since, zone)} to {worded(notice.ended_at, zone)}, {_span(notice.ended_at - notice.since)}"
    lines = [_filled(over(notice)), _filled(f"{lasted} [{notice.kind}]", indent="  ")]
    if notice.sent_at is None:
        lines.append(_filled(f"it was: {notice.what}", indent="  "))
    return "\n".join(lines)


def _span(lasted: timedelta) -> str:
    """A span in words, in two parts at most."""
    minutes = round(lasted.total_seconds() / 60)
    days, hours, left = minutes // 1440, minutes // 60 % 24, minutes % 60
    parts = [(days, "d"), (hours, "h"), (left, "min")]
    told = [f"{count} {unit}" for count, unit in parts if count][:2]
    return " ".join(told) or "under a minute"


def _filled(text: str, *, indent: str = "") -> str:
    """A text as lines that fit a mail."""
    return fill(
        _line(text),
        _WIDTH,
        initial_indent=indent,
        subsequent_indent=indent + "  " * bool(indent),
        break_long_words=False,
        break_on_hyphens=False,
    )


def _line(text: str) -> str:
    return cleaned(text)


def _header(text: str) -> str:
    """A text that can stand in a header: no line ends or other control characters, so that none can be smuggled in."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())
