"""What a source's table says, option by option, each of the type that it should have."""

import codecs
from collections.abc import Mapping
from datetime import timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from wallbill.errors import Place, SourceError
from wallbill.sources.lengths import length_of_time


class Saying:
    """Options of the types that they should have; raises `SourceError` with the option's place for any other.

    ``inside``: the dotted path of the table itself, for a table inside a source's.
    """

    def __init__(self, options: Mapping[str, object], where: Place, *, inside: str = "") -> None:
        self._options = options
        self._where = where
        self._inside = f"{inside}." if inside else ""

    def at(self, name: str) -> Place:
        """The place of an option."""
        return Place(self._where.file, self._where.line, self._inside + name)

    def only(self, *known: str) -> None:
        """Raises for a key that is none of ``known``."""
        unknown = sorted(set(self._options) - set(known))
        if unknown:
            raise SourceError(
                f"unknown key {unknown[0]!r}", where=self.at(unknown[0]), mend=f"Use {', '.join(known)}."
            )

    def text(self, name: str, default: str) -> str:
        """A text; ``time`` may also be the number of a column."""
        value = self._options.get(name, default)
        if isinstance(value, str):
            return value
        if name == "time" and isinstance(value, int) and not isinstance(value, bool):
            return str(value)
        raise SourceError(
            f"{name} is {value!r}", where=self.at(name), mend=f"Give {name} as a text in quotes."
        )

    def choice(self, name: str, default: str, choices: tuple[str, ...]) -> str:
        """A text out of a few."""
        value = self.text(name, default)
        if value not in choices:
            raise SourceError(
                f"{name} is {value!r}", where=self.at(name), mend=f"Use one of {', '.join(choices)}."
            )
        return value

    def truth(self, name: str, *, default: bool) -> bool:
        """True or false."""
        value = self._options.get(name, default)
        if isinstance(value, bool):
            return value
        raise SourceError(f"{name} is {value!r}", where=self.at(name), mend="Use true or false.")

    def whole(self, name: str, default: int = 0, *, least: int = 0, most: int = 10000) -> int:
        """A whole number from ``least`` to ``most``."""
        value = self._options.get(name, default)
        if isinstance(value, int) and not isinstance(value, bool) and least <= value <= most:
            return value
        raise SourceError(
            f"{name} is {value!r}",
            where=self.at(name),
            mend=f"Give a whole number from {least} to {most}.",
        )

    def length(self, name: str) -> timedelta | None:
        """A length of time, None where nothing is said."""
        if name not in self._options:
            return None
        return length_of_time(self._options[name], self.at(name))

    def zone(self, name: str) -> ZoneInfo | None:
        """A time zone, None where nothing is said."""
        key = self.text(name, "")
        try:
            return ZoneInfo(key) if key else None
        except (ZoneInfoNotFoundError, ValueError, OSError):
            raise SourceError(
                f"unknown time zone {key!r}",
                where=self.at(name),
                mend="Use one such as Europe/London or UTC.",
            ) from None

    def encoding(self, name: str) -> str:
        """The name of a text encoding; UTF-8 where nothing is said."""
        key = self.text(name, "utf-8")
        try:
            return codecs.lookup(key).name
        except LookupError:
            raise SourceError(
                f"unknown encoding {key!r}",
                where=self.at(name),
                mend="Use one such as utf-8, cp1252 or utf-16.",
            ) from None
