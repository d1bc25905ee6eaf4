"""A TOML text read into values that know where they stand."""

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType

from wallbill.errors import Place, WallbillError
from wallbill.places.scan import KeyPath, key_lines

_AT = re.compile(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)$")
_BARE = re.compile(r"[A-Za-z0-9_-]+")

# What tomllib says -> what a person should do about it. The first that matches counts.
_MENDS = (
    ("Expected '='", "Write key = value, and put a key that holds spaces or dots into quotes."),
    ("Invalid value", "Put text into double quotes; numbers, true and false stand bare."),
    ("Cannot overwrite", "Each key may stand once: take away or rename one of the two."),
    ("Cannot declare", "Each [table] may stand once: join the two, or rename one."),
    ("Duplicate inline table key", "Each key may stand once: take away or rename one of the two."),
    ("Cannot mutate", "A table in braces is complete: put the further keys inside the braces."),
    ("Unterminated string", "Close the text with the same quotes that opened it."),
    ("Illegal character", "Close the text with the same quotes on the same line."),
    ("Unclosed array", "Close the list with ] and part its items with commas."),
    ("Unclosed inline table", "Close the table with } and part its keys with commas."),
    ("Expected ']", "Close the table's name with ] (or ]] for one of a list)."),
    ("Unescaped '\\'", "Write a backslash twice, or use single quotes."),
    ("Invalid initial character", "Start the key with a letter or a digit, or put it into quotes."),
    ("Expected newline", "Put each key on a line of its own, and text into quotes."),
    ("Invalid statement", "Start the line with a key, a [table] or a # for a remark."),
)
_END = "the end of the file"
_MEND_ANY = "Correct the line; text stands in double quotes, lists in [ ], tables in { }."


def dotted(path: KeyPath) -> str:
    """A path as people write it: ``displays.hall.timetable[0].sheet``; the first list item is [0]."""
    text = ""
    for part in path:
        if isinstance(part, int):
            text += f"[{part}]"
        else:
            word = part if _BARE.fullmatch(part) else f'"{part}"'
            text += f".{word}" if text else word
    return text


@dataclass(frozen=True)
class Places:
    """The values of one TOML file and the line of each key.

    ``file``: the name for messages. ``values``: tables as dicts, as the standard reader gives them.
    The lines are worked out when first asked for: most files have no fault.
    """

    file: str
    text: str
    values: Mapping[str, object]

    @cached_property
    def lines(self) -> Mapping[KeyPath, int]:
        """The line (from 1) of every key path."""
        return key_lines(self.text)

    def line(self, *path: str | int) -> int | None:
        """The line of a key path, or of the nearest table around it; None for the file as a whole."""
        for end in range(len(path), 0, -1):
            if (found := self.lines.get(path[:end])) is not None:
                return found
        return None

    def place(self, *path: str | int) -> Place:
        """Where a key path stands, for a message."""
        return Place(self.file, self.line(*path), dotted(path))


def read_toml(text: str, *, file: str, fault: type[WallbillError] = WallbillError) -> Places:
    """The values of a TOML text with their places.

    ``file``: its name for messages. Raises ``fault`` with line and column where the text is not sound TOML.
    """
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _syntax_fault(text, file=file, message=str(error), fault=fault) from error
    except RecursionError as error:
        raise fault(
            "lists or tables are nested too deeply to be read",
            where=Place(file),
            mend="Nest them less: nothing here needs more than a few levels.",
        ) from error
    return Places(file, text, MappingProxyType(values))


def _syntax_fault(text: str, *, file: str, message: str, fault: type[WallbillError]) -> WallbillError:
    """The reader's complaint in our words; its text ends in ``(at line L, column C)`` or ``(at end of document)``."""
    found = _AT.search(message)
    bare = message[: found.start()] if found else message
    if found and found[1]:
        line, column = int(found[1]), f"column {found[2]}"
    else:
        line, column = max(1, len(text.rstrip("\n").split("\n"))), _END
    mend = next((mend for sign, mend in _MENDS if bare.startswith(sign)), _MEND_ANY)
    if bare == "Invalid value" and column == _END:
        mend = "Something is still open or empty there: close it with ], } or quotes, or give the value."
    what = f"this is not sound TOML at {column}: {bare[:1].lower()}{bare[1:]}"
    return fault(what, where=Place(file, line), mend=mend)
