"""Which sources a sheet can ask for, read off its text, so that only those are fetched."""

import re
from collections.abc import Collection, Iterable, Mapping

_NAMED = re.compile(r"""\b(?:facts|ages)\s*(?:\.\s*(\w+)|\[\s*["'](\w+)["']\s*\])""")
_ANY = re.compile(r"\b(?:facts|ages)\b(?!\s*(?:\.\s*\w|\[\s*[\"']\w+[\"']\s*\]))")
_OTHERS = re.compile(r"""["']([\w./-]+\.(?:html|svg|css))["']""")


def sources_needed(
    sheets: Iterable[str], conditions: Iterable[str], *, texts: Mapping[str, str], known: Collection[str]
) -> frozenset[str]:
    """Names of the sources of ``known`` that ``sheets`` and what they include can ask for.

    ``sheets``: names with no ending. ``conditions``: expressions of interrupts. ``texts``: by file name. A sheet that
    reaches for facts in a way that names none here (such as a loop over all) needs every source.
    """
    todo = [f"{name}.html" for name in sheets]
    read: dict[str, str] = {}
    while todo:
        name = todo.pop()
        if name not in read and name in texts:
            read[name] = texts[name]
            todo += _OTHERS.findall(texts[name])
    found: set[str] = set()
    for text in (*read.values(), *conditions):
        if _ANY.search(_bare(text)):
            return frozenset(known)
        found.update(one or other for one, other in _NAMED.findall(text))
    return frozenset(found & set(known))


def _bare(text: str) -> str:
    """The text inside the template's braces only: prose may speak of facts."""
    return "\n".join(re.findall(r"\{[{%](.*?)[%}]\}", text, flags=re.DOTALL)) or text
