"""Notices as letters: what they say, how they are marked, and that nothing can be smuggled into them."""

import json
from datetime import UTC, datetime, timedelta
from email import message_from_bytes
from email.policy import SMTP
from email.utils import parsedate_to_datetime
from zoneinfo import ZoneInfo

from hypothesis import given
from hypothesis import strategies as st

from wallbill.server.letters import MOST_TOLD, letter_id, mail, summary, webhook_body
from wallbill.store.model import Notice
from wallbill.wall.model import MailSettings

NOON = datetime(2027, 3, 10, 12, tzinfo=UTC)
ZONE = ZoneInfo("Europe/London")
MAIL = MailSettings(
    ("Keeper <keeper@fennelquay.example>", "crew@fennelquay.example"),
    "wall@fennelquay.example",
    "localhost",
    25,
)

LATE = Notice(
    "missed-wakes", "hall", "hall has not called: last at 11:00, due at 11:30", "Look at its power.", NOON
)
OVER = Notice(
    "stale-source", "tide", "the source tide gives nothing", "Look.", NOON, NOON, NOON + timedelta(hours=26)
)


def written(*notices: Notice, wall: str = "Fennel Quay") -> str:
    return str(mail(notices, MAIL, wall=wall, zone=ZONE, now=NOON).get_content())


def test_a_mail_is_plain_text_with_the_headers_of_a_program() -> None:
    """RFC 5322 (3.6: From, Date, To, Message-ID, Subject) and RFC 3834 (section 5: Auto-Submitted: auto-generated)."""
    letter = mail([LATE], MAIL, wall="Fennel Quay", zone=ZONE, now=NOON)
    told = message_from_bytes(letter.as_bytes(), policy=SMTP)
    assert told["Subject"] == "Fennel Quay: hall has not called: last at 11:00, due at 11:30"
    assert told["From"] == "wall@fennelquay.example"
    assert told["To"] == "Keeper <keeper@fennelquay.example>, crew@fennelquay.example"
    assert parsedate_to_datetime(told["Date"]) == NOON
    assert told["Message-ID"] == f"<{letter_id([LATE])}@fennelquay.example>"
    assert told["Auto-Submitted"] == "auto-generated"
    assert told.get_content_type() == "text/plain"
    assert told.get_content_charset() == "utf-8"
    assert all(len(line) <= 78 for line in letter.as_bytes().split(b"\r\n"))  # RFC 5322, 2.1.1


def test_a_mail_as_it_is_read() -> None:
    assert written(LATE, OVER) == (
        "Fennel Quay\n\n"
        "hall has not called: last at 11:00, due at 11:30\n"
        "  since 2027-03-10 12:00 GMT [missed-wakes]\n"
        "  mend: Look at its power.\n\n"
        "Over:\n\n"
        "the source tide is fresh again\n"
        "  2027-03-10 12:00 GMT to 2027-03-11 14:00 GMT, 1 d 2 h [stale-source]\n\n"
        "-- \n"
        "Sent by Wallbill. Each notice is sent when it begins and when it is over, and not in between.\n"
    )


def test_what_was_over_before_it_could_be_sent_says_what_it_was() -> None:
    gone = Notice("stale-source", "tide", "the source tide gives nothing", "Look.", NOON, None, NOON)
    assert "it was: the source tide gives nothing" in written(gone)


def test_a_flood_is_counted_and_not_written_out() -> None:
    many = [Notice("missed-wakes", f"d{n:04}", f"d{n:04} has not called", "Look.", NOON) for n in range(5000)]
    text = written(*many)
    assert text.count("has not called") == MOST_TOLD
    assert "and 4900 more (4900 of missed-wakes)" in text.replace("\n", " ")
    assert summary(many) == "5000 new"
    assert summary([*many, OVER]) == "5000 new, 1 over"


def test_the_same_notices_make_the_same_letter_in_any_order() -> None:
    assert letter_id([LATE, OVER]) == letter_id([OVER, LATE])
    assert letter_id([LATE]) != letter_id([OVER])
    ended = Notice(LATE.kind, LATE.subject, LATE.what, LATE.mend, LATE.since, NOON, NOON + timedelta(hours=1))
    assert letter_id([LATE]) != letter_id([ended])


def test_the_webhooks_object() -> None:
    told = json.loads(webhook_body([LATE, OVER], wall="Fennel Quay"))
    assert told == {
        "id": letter_id([LATE, OVER]),
        "wall": "Fennel Quay",
        "summary": "1 new, 1 over",
        "notices": [
            {
                "id": letter_id([LATE]),
                "kind": "missed-wakes",
                "subject": "hall",
                "state": "open",
                "what": LATE.what,
                "mend": LATE.mend,
                "since": "2027-03-10T12:00:00+00:00",
                "ended_at": None,
            },
            {
                "id": letter_id([OVER]),
                "kind": "stale-source",
                "subject": "tide",
                "state": "over",
                "what": "the source tide is fresh again",
                "mend": "",
                "since": "2027-03-10T12:00:00+00:00",
                "ended_at": "2027-03-11T14:00:00+00:00",
            },
        ],
    }


@given(st.text(), st.text(), st.text(), st.text())
def test_no_text_can_add_a_header_or_break_a_line(wall: str, kind: str, what: str, mend: str) -> None:
    """RFC 5322, 2.2: a header ends at its line end; so no text may bring one along."""
    notice = Notice(kind, "hall\r\nBcc: all@example.org", f"{what}\r\nBcc: x@example.org", mend, NOON)
    plain = mail([LATE], MAIL, wall="w", zone=ZONE, now=NOON)
    letter = mail([notice], MAIL, wall=f"{wall}\r\nBcc: y@example.org\r\n\r\n<b>", zone=ZONE, now=NOON)
    told = message_from_bytes(letter.as_bytes(), policy=SMTP)
    assert told.keys() == plain.keys()
    assert "\n" not in str(told["Subject"])
    assert json.loads(webhook_body([notice], wall=wall))["wall"] == wall


def test_a_sender_with_line_ends_makes_one_address() -> None:
    settings = MailSettings(
        ("a@example.org\r\nBcc: b@example.org",), "wall@example.org\r\nX: y", "localhost", 25
    )
    letter = mail([LATE], settings, wall="w", zone=ZONE, now=NOON)
    assert "Bcc" not in letter
    assert "X" not in letter
    assert "\n" not in letter["Message-ID"]
    bare = mail(
        [LATE], MailSettings(("a@b.example",), "wall", "localhost", 25), wall="w", zone=ZONE, now=NOON
    )
    assert bare["Message-ID"].endswith("@localhost>")
