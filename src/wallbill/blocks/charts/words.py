"""The few words that a chart's text alternative needs, by language."""

from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Words:
    """The words between the figures, in one language: of the last value, the highest and lowest, and of a sum."""

    latest: str
    highest: str
    lowest: str
    total: str


SIGNS = Words("→", "max", "min", "Σ")
"""For a language whose words are not known here: signs and abbreviations that most can read."""

# Written by hand; from memory.
_WORDS = MappingProxyType(
    {
        "ca": Words("darrer", "màxim", "mínim", "total"),
        "cs": Words("naposledy", "nejvíce", "nejméně", "celkem"),
        "cy": Words("diweddaraf", "uchaf", "isaf", "cyfanswm"),
        "da": Words("senest", "højest", "lavest", "i alt"),
        "de": Words("zuletzt", "am höchsten", "am tiefsten", "zusammen"),
        "en": Words("latest", "highest", "lowest", "total"),
        "es": Words("último", "máximo", "mínimo", "total"),
        "et": Words("viimati", "kõrgeim", "madalaim", "kokku"),
        "fi": Words("viimeksi", "korkein", "matalin", "yhteensä"),
        "fr": Words("dernier", "maximum", "minimum", "total"),
        "it": Words("ultimo", "massimo", "minimo", "totale"),
        "nb": Words("sist", "høyest", "lavest", "til sammen"),
        "nl": Words("laatst", "hoogste", "laagste", "totaal"),
        "nn": Words("sist", "høgast", "lågast", "til saman"),
        "no": Words("sist", "høyest", "lavest", "til sammen"),
        "pl": Words("ostatnio", "najwyżej", "najniżej", "razem"),
        "pt": Words("último", "máximo", "mínimo", "total"),
        "sv": Words("senast", "högst", "lägst", "totalt"),
    }
)


def words_of(language: str) -> Words:
    """The words of a language by its BCP 47 tag; `SIGNS` for one that is not known."""
    return _WORDS.get(language.replace("_", "-").split("-")[0].lower(), SIGNS)


ENGLISH = _WORDS["en"]
