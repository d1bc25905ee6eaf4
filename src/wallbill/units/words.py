"""Words that the locale library does not carry: yesterday, today and tomorrow, and the letters of the compass.

Babel reads the dates and units of the Unicode CLDR, but not its relative days, and the CLDR has no winds. The words
were written by hand; the relative days agree with the CLDR's ("day", types -1, 0 and 1) where they were compared.
"""

from types import MappingProxyType

RELATIVE_DAYS = MappingProxyType(
    {
        "ar": ("أمس", "اليوم", "غدًا"),
        "bg": ("вчера", "днес", "утре"),
        "ca": ("ahir", "avui", "demà"),
        "cs": ("včera", "dnes", "zítra"),
        "cy": ("ddoe", "heddiw", "yfory"),
        "da": ("i går", "i dag", "i morgen"),
        "de": ("gestern", "heute", "morgen"),
        "el": ("χθες", "σήμερα", "αύριο"),
        "en": ("yesterday", "today", "tomorrow"),
        "es": ("ayer", "hoy", "mañana"),
        "et": ("eile", "täna", "homme"),
        "eu": ("atzo", "gaur", "bihar"),
        "fi": ("eilen", "tänään", "huomenna"),
        "fr": ("hier", "aujourd’hui", "demain"),
        "ga": ("inné", "inniu", "amárach"),
        "gl": ("onte", "hoxe", "mañá"),
        "he": ("אתמול", "היום", "מחר"),
        "hr": ("jučer", "danas", "sutra"),
        "hu": ("tegnap", "ma", "holnap"),
        "is": ("í gær", "í dag", "á morgun"),
        "it": ("ieri", "oggi", "domani"),
        "ja": ("昨日", "今日", "明日"),
        "ko": ("어제", "오늘", "내일"),
        "lt": ("vakar", "šiandien", "rytoj"),
        "lv": ("vakar", "šodien", "rīt"),
        "nb": ("i går", "i dag", "i morgen"),
        "nl": ("gisteren", "vandaag", "morgen"),
        "nn": ("i går", "i dag", "i morgon"),
        "no": ("i går", "i dag", "i morgen"),
        "pl": ("wczoraj", "dzisiaj", "jutro"),
        "pt": ("ontem", "hoje", "amanhã"),
        "ro": ("ieri", "azi", "mâine"),
        "ru": ("вчера", "сегодня", "завтра"),
        "sk": ("včera", "dnes", "zajtra"),
        "sl": ("včeraj", "danes", "jutri"),
        "sv": ("i går", "i dag", "i morgon"),
        "tr": ("dün", "bugün", "yarın"),
        "uk": ("учора", "сьогодні", "завтра"),
        "zh": ("昨天", "今天", "明天"),
    }
)
"""Yesterday, today and tomorrow by language."""

# North, east, south, west; intercardinal points are put together from them, north or south first. From memory.
_WINDS = MappingProxyType(
    {
        "cs": "S V J Z",
        "da": "N Ø S V",
        "de": "N O S W",
        "en": "N E S W",
        "es": "N E S O",
        "fr": "N E S O",
        "it": "N E S O",
        "ja": "北 東 南 西",
        "nb": "N Ø S V",
        "nl": "N O Z W",
        "nn": "N A S V",
        "no": "N Ø S V",
        "pl": "N E S W",
        "ru": "С В Ю З",
        "sk": "S V J Z",
        "sv": "N O S V",
    }
)


def winds(language: str) -> tuple[str, ...] | None:
    """The sixteen points of the compass from north through east, None where the language's letters are not known."""
    if language not in _WINDS:
        return None
    north, east, south, west = _WINDS[language].split()
    points: list[str] = []
    for first, second, corner in (
        (north, east, north + east),
        (east, south, south + east),
        (south, west, south + west),
        (west, north, north + west),
    ):
        points += [first, first + corner, corner, second + corner]
    return tuple(points)
