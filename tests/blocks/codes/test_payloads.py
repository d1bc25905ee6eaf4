"""Texts for phones: worked examples of the specifications, and what has to be escaped."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallbill.blocks.codes.payloads import contact_text, geo_text, mail_text, phone_text, wifi_text
from wallbill.errors import SheetError


def test_wifi() -> None:
    assert wifi_text("Shed", "oars") == "WIFI:T:WPA;S:Shed;P:oars;;"
    assert wifi_text("Shed") == "WIFI:T:nopass;S:Shed;;"
    assert wifi_text("Shed", "oars", security="WEP", hidden=True) == "WIFI:T:WEP;S:Shed;P:oars;H:true;;"
    assert wifi_text('a;b,c:d"e', "\\") == 'WIFI:T:WPA;S:a\\;b\\,c\\:d\\"e;P:\\\\;;'


@given(st.text(min_size=1, max_size=32), st.text(min_size=1, max_size=63))
def test_wifi_is_read_back(ssid: str, password: str) -> None:
    """By the reader's rule: a field ends at the first semicolon that no backslash is before."""
    text = wifi_text(ssid, password)
    fields = re.findall(r"([A-Z]):((?:\\.|[^\\;])*);", text[len("WIFI:") :], flags=re.DOTALL)
    read = {key: re.sub(r"\\(.)", r"\1", value, flags=re.DOTALL) for key, value in fields}
    assert read == {"T": "WPA", "S": ssid, "P": password}


def test_geo() -> None:
    # RFC 5870, 1: geo:13.4125,103.8667
    assert geo_text(13.4125, 103.8667) == "geo:13.4125,103.8667"
    assert geo_text(-0.0, 10) == "geo:0,10"
    assert geo_text(1e-9, -180) == "geo:0,-180"
    with pytest.raises(SheetError):
        geo_text(103.8667, 13.4125)


def test_mail() -> None:
    # RFC 6068, 6.1: mailto:chris@example.com; 5: spaces and line breaks are percent-encoded, a break as %0D%0A.
    assert mail_text("chris@example.com") == "mailto:chris@example.com"
    assert mail_text("list@example.org", subject="a b") == "mailto:list@example.org?subject=a%20b"
    assert mail_text("a@b.example", body="send\r\nthe&file") == "mailto:a@b.example?body=send%0D%0Athe%26file"
    with pytest.raises(SheetError):
        mail_text("chris")


def test_phone() -> None:
    # RFC 3966, 6: tel:+1-201-555-0123; signs that only part the digits may be left out (5.1.1).
    assert phone_text("+1-201-555-0123") == "tel:+12015550123"
    for wrong in ("", "none", "++1", "1+2"):
        with pytest.raises(SheetError):
            phone_text(wrong)


def test_contact() -> None:
    # RFC 6350, 3.3 and 3.4: lines end in CR LF; comma, semicolon, backslash and line break are escaped.
    assert contact_text("Hut; the, old\nshed\\", phone="+44 1632 960123", url="https://hut.example") == (
        "BEGIN:VCARD\r\nVERSION:4.0\r\nFN:Hut\\; the\\, old\\nshed\\\\\r\nTEL;VALUE=uri:tel:+441632960123\r\n"
        "URL:https://hut.example\r\nEND:VCARD\r\n"
    )
    with pytest.raises(SheetError):
        contact_text("")
