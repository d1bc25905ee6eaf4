"""How a language says that there are more than are shown.

The words were written by hand, from memory; their forms go by the plural rules of the CLDR. Other languages get a plus
sign and the number.
"""

import re
from collections.abc import Mapping
from types import MappingProxyType

from wallbill.errors import SheetError
from wallbill.units.wording import Wording

_BRACES = re.compile(r"\{([^{}]*)\}")

_MORE: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "ar": {"other": "و{n} أخرى"},
        "bg": {"other": "и още {n}"},
        "ca": {"other": "i {n} més"},
        "cs": {"other": "a ještě {n}"},
        "cy": {"other": "a {n} arall"},
        "da": {"other": "og {n} til"},
        "de": {"one": "und noch {n}", "other": "und {n} weitere"},
        "el": {"other": "και {n} ακόμη"},
        "en": {"other": "and {n} more"},
        "es": {"other": "y {n} más"},
        "et": {"other": "ja veel {n}"},
        "eu": {"other": "eta {n} gehiago"},
        "fi": {"one": "ja {n} muu", "other": "ja {n} muuta"},
        "fr": {"one": "et {n} autre", "other": "et {n} autres"},
        "ga": {"other": "agus {n} eile"},
        "gl": {"other": "e {n} máis"},
        "he": {"other": "ועוד {n}"},
        "hr": {"other": "i još {n}"},
        "hu": {"other": "és még {n}"},
        "is": {"other": "og {n} í viðbót"},
        "it": {"one": "e {n} altro", "other": "e altri {n}"},
        "ja": {"other": "ほか{n}件"},
        "ko": {"other": "외 {n}개"},
        "lt": {"other": "ir dar {n}"},
        "lv": {"other": "un vēl {n}"},
        "nb": {"other": "og {n} til"},
        "nl": {"other": "en nog {n}"},
        "nn": {"other": "og {n} til"},
        "no": {"other": "og {n} til"},
        "pl": {"other": "i jeszcze {n}"},
        "pt": {"other": "e mais {n}"},
        "ro": {"other": "și încă {n}"},
        "ru": {"other": "и ещё {n}"},
        "sk": {"other": "a ešte {n}"},
        "sl": {"other": "in še {n}"},
        "sv": {"other": "och {n} till"},
        "tr": {"other": "ve {n} daha"},
        "uk": {"other": "і ще {n}"},
        "zh": {"other": "还有{n}项"},
    }
)
_ELSE: Mapping[str, str] = MappingProxyType({"other": "+{n}"})


def more_text(
    hidden: int, total: int, wording: Wording, *, words: str | Mapping[str, str] | None = None
) -> str:
    """What is said of ``hidden`` things out of ``total`` that found no room, in the language of the page.

    ``words``: the sheet's own, with ``{n}`` for how many are left, ``{of}`` for all and ``{shown}`` for those shown;
    one text, or one for each plural form of ``n``. Raises `SheetError` for another name in braces.
    """
    if words is None:
        forms = _MORE.get(wording.language.split("-")[0].split("_")[0].lower(), _ELSE)
    else:
        forms = {"other": words} if isinstance(words, str) else words
    text = wording.plural(hidden, **{str(name): str(form) for name, form in forms.items()})
    counts = {"n": hidden, "of": total, "shown": total - hidden}

    def worded(found: re.Match[str]) -> str:
        if found[1] not in counts:
            raise SheetError(
                f"cannot put {found[0]} into {text!r}",
                mend='Write {n} for those left over, {of} for all, {shown} for those shown: more="and {n} of {of}".',
            )
        return wording.number(counts[found[1]])

    return _BRACES.sub(worded, text)
