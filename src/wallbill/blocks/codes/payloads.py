"""Texts that a phone knows what to do with, to be put into a code.

Each follows a published specification, but for the one of a wireless network: that is a convention which phones
follow widely, without a standard behind it.
"""

from collections.abc import Mapping
from types import MappingProxyType
from urllib.parse import quote

from wallbill.errors import SheetError

SECURITIES = ("WPA", "WEP", "nopass")
"""What a network is kept by; WPA stands for its later kinds too."""

_PHONE_SIGNS = "+0123456789"
_DIGITS_OF_A_DEGREE = 6  # a tenth of a metre
_WIFI = MappingProxyType({ord(sign): f"\\{sign}" for sign in '\\;,:"'})
_CARD = MappingProxyType({**{ord(sign): f"\\{sign}" for sign in "\\;,"}, ord("\n"): "\\n", ord("\r"): ""})


def wifi_text(ssid: str, password: str = "", *, security: str = "", hidden: bool = False) -> str:
    r"""A wireless network to be joined: ``WIFI:T:WPA;S:name;P:password;;``.

    ``security``: WPA where there is a password and nopass where there is none, unless it is said. In names and
    passwords a backslash goes before each of ``\\ ; , : "``. Source: a widely used convention, no standard.
    Raises `SheetError` for a network without a name or a security that is none.
    """
    kept = security or ("WPA" if password else "nopass")
    if kept not in SECURITIES:
        raise SheetError(f"{security!r} keeps no network", mend=f"Write one of {', '.join(SECURITIES)}.")
    if not ssid:
        raise SheetError("a network has no name", mend="Give its name (SSID) as the first thing.")
    if bool(password) == (kept == "nopass"):
        raise SheetError(
            f"a network kept by {kept} {'takes no' if password else 'needs a'} password",
            mend="Give the password alone; the security follows from it.",
        )
    parts = [f"T:{kept}", f"S:{_escaped(ssid, _WIFI)}"]
    parts += [f"P:{_escaped(password, _WIFI)}"] if password else []
    parts += ["H:true"] if hidden else []
    return f"WIFI:{';'.join(parts)};;"


def contact_text(
    name: str, *, phone: str = "", email: str = "", url: str = "", organisation: str = ""
) -> str:
    """A person or a house to be put into an address book: a vCard 4.0 (RFC 6350). Raises `SheetError` without a name."""
    if not name:
        raise SheetError("a contact has no name", mend="Give the name as the first thing.")
    fields = (
        ("FN", _escaped(name, _CARD)),
        ("ORG", _escaped(organisation, _CARD)),
        ("TEL;VALUE=uri", phone_text(phone) if phone else ""),
        ("EMAIL", _escaped(email, _CARD)),
        ("URL", url),
    )
    lines = [f"{key}:{value}" for key, value in fields if value]
    return "\r\n".join(("BEGIN:VCARD", "VERSION:4.0", *lines, "END:VCARD", ""))


def geo_text(latitude_deg: float, longitude_deg: float) -> str:
    """A place on the map: ``geo:50.31,-4.05`` (RFC 5870, WGS 84). Raises `SheetError` for a place that is none."""
    if not (-90 <= latitude_deg <= 90 and -180 <= longitude_deg <= 180):
        raise SheetError(
            f"there is no place at {latitude_deg}, {longitude_deg}",
            mend="Give the latitude first, -90 to 90, then the longitude, -180 to 180.",
        )
    return f"geo:{_degrees(latitude_deg)},{_degrees(longitude_deg)}"


def mail_text(address: str, *, subject: str = "", body: str = "") -> str:
    """A letter to be written: ``mailto:`` (RFC 6068). Raises `SheetError` for an address without an @."""
    if "@" not in address.strip("@"):
        raise SheetError(f"{address!r} is no mail address", mend="Write it as name@host.")
    asked = "&".join(
        f"{key}={quote(value)}" for key, value in (("subject", subject), ("body", body)) if value
    )
    return f"mailto:{quote(address, safe='@')}" + (f"?{asked}" if asked else "")


def phone_text(number: str) -> str:
    """A number to be called: ``tel:+441234567`` (RFC 3966); spaces, brackets and other signs are left out.

    Raises `SheetError` for a number without digits.
    """
    kept = "".join(sign for sign in number if sign in _PHONE_SIGNS)
    if not kept.strip("+") or "+" in kept[1:]:
        raise SheetError(
            f"{number!r} is no telephone number", mend="Write it with its country: +44 1632 960123."
        )
    return f"tel:{kept}"


def _escaped(text: str, signs: Mapping[int, str]) -> str:
    return text.translate(signs)


def _degrees(value: float) -> str:
    """A number of degrees without needless zeros, and no minus before a zero."""
    rounded = round(value, _DIGITS_OF_A_DEGREE) + 0.0
    return f"{rounded:.{_DIGITS_OF_A_DEGREE}f}".rstrip("0").rstrip(".")
