"""The language of a wall: a BCP 47 tag resolved to what the CLDR knows of it, with the traps of the library closed."""

import re
from dataclasses import dataclass
from types import MappingProxyType

from babel import Locale, UnknownLocaleError
from babel.core import get_global

from wallbill.errors import WallbillError

# First digit of the decimal numbering systems that locales use by default. Source: Unicode, blocks of the script.
_ZEROS = MappingProxyType(
    {
        "latn": "0",
        "arab": "٠",
        "arabext": "۰",
        "beng": "০",
        "cakm": "𑄶",
        "deva": "०",
        "hmnp": "𞅀",
        "mymr": "၀",
        "nkoo": "߀",
        "olck": "᱐",
        "tibt": "༠",
    }
)

_MINUS = "\N{MINUS SIGN}"


@dataclass(frozen=True, slots=True)
class Tongue:
    """What is needed of a language: its locale, its digits, and whether the clock has 12 or 24 hours.

    ``home``: the locale with a territory, which week data needs. ``zero``: the digit for nought.
    """

    locale: Locale
    home: Locale
    script: str
    zero: str
    numbering: str
    hours_12: bool

    def printed(self, text: str) -> str:
        """``text`` in the digits of the language."""
        if self.zero == "0":
            return text
        return "".join(chr(ord(self.zero) + int(c)) if c.isascii() and c.isdigit() else c for c in text)

    def signed(self, text: str) -> str:
        """A number's text in the language's digits with a true minus sign in place of a hyphen."""
        return self.printed(text).replace("-", _MINUS)


def tongue(tag: str) -> Tongue:
    """A language by its BCP 47 tag such as ``en-GB``; the extensions ``nu`` (digits) and ``hc`` (clock) are honoured.

    ``ar-EG-u-nu-latn`` has Western digits, ``en-US-u-hc-h23`` a clock of 24 hours. Raises `WallbillError`.
    """
    name, _, extension = tag.replace("_", "-").partition("-u-")
    try:
        locale = Locale.parse(name, sep="-")
    except (UnknownLocaleError, ValueError, TypeError) as fault:
        raise WallbillError(
            f"unknown language {tag!r}", mend="Give a language tag such as en-GB, de-DE, pt-BR or ja."
        ) from fault
    wishes = dict(re.findall(r"(nu|hc)-([a-z0-9]+)", extension))
    numbering = wishes.get("nu", locale.default_numbering_system)
    if numbering not in _ZEROS:
        numbering = "latn"
    if numbering not in locale.number_symbols:
        numbering = locale.default_numbering_system if wishes.get("nu") else "latn"
    likely = str(
        get_global("likely_subtags").get(str(locale), get_global("likely_subtags").get(locale.language, ""))
    )
    parts = likely.split("_")
    return Tongue(
        locale=locale,
        home=_home(locale, parts),
        script=locale.script or (parts[1] if len(parts) > 1 else "Latn"),
        zero=_ZEROS.get(numbering, "0"),
        numbering=numbering,
        hours_12=_hours_12(locale, wishes.get("hc", "")),
    )


def has_12_hours(pattern: str) -> bool:
    """Whether a CLDR pattern of a time of day counts to twelve."""
    return bool({"h", "K"} & set(re.sub("'[^']*'", "", pattern)))


def _hours_12(locale: Locale, wish: str) -> bool:
    return wish in {"h11", "h12"} if wish else has_12_hours(locale.time_formats["short"].pattern)


def _home(locale: Locale, likely: list[str]) -> Locale:
    """The locale with the territory where most of its speakers live, if it names none."""
    if locale.territory:
        return locale
    try:
        return Locale(locale.language, likely[-1], script=locale.script)
    except (UnknownLocaleError, ValueError, IndexError):
        return locale
