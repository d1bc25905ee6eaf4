"""The line of every key in a TOML text.

The standard reader (``tomllib``) checks the text and gives its values, but not where they stood. This walk over
the same text gives the lines. It trusts that the text is sound: read it with ``tomllib`` first.
"""

import re
import tomllib
from collections.abc import Mapping
from contextlib import suppress
from types import MappingProxyType

KeyPath = tuple[str | int, ...]
"""Keys and list positions (from 0) from the top of a file down to a value."""

_BLANK = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_COMMAS = re.compile(r"(?:[ \t\r\n,]+|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
# TOML 1.0: strings of many lines close at the first three quotes, and up to two more belong to the text.
_STRING = re.compile(
    r'"{3}(?:\\.|[^\\])*?"{3}"{0,2}' r"|'{3}.*?'{3}'{0,2}" r'|"(?:\\.|[^"\\])*"' r"|'[^']*'",
    re.DOTALL,
)
_SCALAR = re.compile(r"[^,\]}#\r\n]*")


class _Scanner:
    """One walk over one text. ``lines`` fills up as it goes; ``_tables`` counts the items of ``[[lists]]``."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.lines: dict[KeyPath, int] = {}
        self._tables: dict[KeyPath, int] = {}
        self._counted_to = 0
        self._line = 1

    def document(self) -> None:
        """Walk the whole text."""
        base: KeyPath = ()
        while self._peek(_BLANK):
            if self.text[self.at] == "[":
                base = self._header()
            else:
                self._pair(base)

    def _peek(self, skipped: re.Pattern[str]) -> str:
        """The next character after what ``skipped`` takes, or "" at the end."""
        self._take(skipped)
        return self.text[self.at : self.at + 1]

    def _take(self, pattern: re.Pattern[str]) -> str:
        found = pattern.match(self.text, self.at)
        if found is None:
            raise ValueError(f"no sound TOML at character {self.at}")
        self.at = found.end()
        return found.group()

    def _here(self) -> int:
        """The line (from 1) that the walk has reached."""
        self._line += self.text.count("\n", self._counted_to, self.at)
        self._counted_to = self.at
        return self._line

    def _keys(self) -> tuple[str, ...]:
        """A key, bare, quoted or dotted, in its parts."""
        keys = []
        while True:
            char = self._peek(_SPACE)
            if char in {'"', "'"}:
                keys.append(str(tomllib.loads(f"key = {self._take(_STRING)}")["key"]))
            else:
                keys.append(self._take(_BARE_KEY))
            if self._peek(_SPACE) != ".":
                return tuple(keys)
            self.at += 1

    def _header(self) -> KeyPath:
        """``[table]`` or ``[[list of tables]]``; gives the path that the pairs below it belong to."""
        line = self._here()
        listed = self.text.startswith("[[", self.at)
        self.at += 2 if listed else 1
        keys = self._keys()
        self.at += 2 if listed else 1
        path: KeyPath = ()
        for position, key in enumerate(keys):
            path = (*path, key)
            self.lines.setdefault(path, line)
            if listed and position == len(keys) - 1:
                self._tables[path] = self._tables.get(path, -1) + 1
            if path in self._tables:
                path = (*path, self._tables[path])
        self.lines[path] = line
        return path

    def _pair(self, base: KeyPath) -> None:
        """``key = value``, the key perhaps dotted."""
        line = self._here()
        path = base
        for key in self._keys():
            path = (*path, key)
            self.lines.setdefault(path, line)
        self.at += 1  # the equals sign
        self._value(path)

    def _value(self, path: KeyPath) -> None:
        char = self._peek(_SPACE)
        if char in {'"', "'"}:
            self._take(_STRING)
        elif char == "[":
            self._list(path)
        elif char == "{":
            self.at += 1
            while self._peek(_COMMAS) != "}":
                self._pair(path)
            self.at += 1
        else:
            self._take(_SCALAR)

    def _list(self, path: KeyPath) -> None:
        self.at += 1
        position = 0
        while self._peek(_COMMAS) != "]":
            item = (*path, position)
            self.lines[item] = self._here()
            self._value(item)
            position += 1
        self.at += 1


def key_lines(text: str) -> Mapping[KeyPath, int]:
    """The line (from 1) of every key and list item of a sound TOML text, by its path from the top.

    A table's line is that of its header, or of the first key that made it. Raises ``ValueError`` on unsound TOML.
    """
    scanner = _Scanner(text)
    with suppress(RecursionError):  # lists nested hundreds deep: the rest stays without lines
        scanner.document()
    return MappingProxyType(scanner.lines)
