"""Text of the web made plain: no tags, no entities, one line, normal form C, and no longer than asked."""

import re
from html import unescape
from html.parser import HTMLParser
from unicodedata import category, normalize

_SILENT = frozenset({"script", "style", "template", "noscript", "iframe", "object", "svg", "math", "head"})
_INLINE = frozenset(
    re.findall(
        r"\w+",
        "a abbr b bdi bdo cite code del dfn em font i ins kbd mark q s samp small span strong sub sup time tt u var wbr",
    )
)
_BLOCK = frozenset(
    re.findall(
        r"\w+",
        "article audio blockquote br dd div dl dt figcaption figure h1 h2 h3 h4 h5 h6 hr img li ol p pre section table "
        "td th tr ul video",
    )
)
_TAG = re.compile(r"</?([a-zA-Z][a-zA-Z0-9]{0,20})(?:\s[^<>]{0,2000})?/?>")
_READ_MOST = 20_000


class _Text(HTMLParser):
    """Gathers the text that a reader of a page would see."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.parts: list[str] = []
        self._silent: str = ""
        self._depth = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if self._silent:
            self._depth += tag == self._silent
        elif tag in _SILENT:
            self._silent, self._depth = tag, 1
        elif tag not in _INLINE:
            self.parts.append(" ")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if not self._silent and tag not in _INLINE:
            self.parts.append(" ")

    def handle_endtag(self, tag: str) -> None:
        if self._silent:
            self._depth -= tag == self._silent
            self._silent = self._silent if self._depth > 0 else ""
        elif tag not in _INLINE:
            self.parts.append(" ")

    def handle_data(self, data: str) -> None:
        if not self._silent:
            self.parts.append(data)


def from_html(text: str, most: int) -> str:
    """The words of a piece of HTML, as `one_line` gives them. Scripts, styles and drawings are left out."""
    reader = _Text()
    # A marked section that is none makes Python's own parser stumble.
    reader.feed(text[:_READ_MOST].replace("<![CDATA[", "").replace("<![", "&lt;!["))
    reader.close()
    return one_line("".join(reader.parts), most)


def from_title(text: str, most: int) -> str:
    """The words of a title that calls itself plain, as `one_line` gives them.

    Many publishers escape twice: tags of HTML are taken out and entities resolved once more, but what only looks like
    a tag, such as ``<late>``, stays.
    """
    known = _INLINE | _BLOCK | _SILENT

    def space(found: re.Match[str]) -> str:
        name = found[1].lower()
        return found[0] if name not in known else "" if name in _INLINE else " "

    return one_line(unescape(_TAG.sub(space, text[:_READ_MOST])), most)


def one_line(text: str, most: int) -> str:
    """Text with all white space folded, control and format signs out, in normal form C (Unicode Annex 15).

    What is longer than ``most`` characters ends at a word with an ellipsis. Joiners that scripts need stay.
    """
    kept = "".join(" " if category(c) in {"Cc", "Zl", "Zp", "Cs"} else c for c in text if c not in _HIDDEN)
    line = re.sub(r"[ \t\n\r\f\v\u2000-\u200a\u3000]+", " ", normalize("NFC", kept)).strip()
    if len(line) <= most:
        return line
    head = line[: most - 1]
    word = head.rpartition(" ")[0]
    return (word if len(word) > most // 2 else head).rstrip(" ,;:–-") + "…"


_HIDDEN = frozenset("\u00ad\u200b\u2060\ufeff\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""Signs that a page cannot show or that would turn the direction of what stands around them."""
