"""Reading a table of settings: each value checked, each fault named by its field, all faults at once. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping


class SettingsError(Exception):
    """What is wrong with the settings, a line for each fault: file, field, what, mend."""


class Table:
    """A table of the settings, and the faults found in it so far. What was not asked for by `done` is a fault too.

    ``path``: where it stands, such as ``glass.``. Tables inside share their faults with it.
    """

    def __init__(
        self, values: Mapping[str, object], *, path: str = "", faults: list[str] | None = None
    ) -> None:
        self.faults: list[str] = [] if faults is None else faults
        self._values = values
        self._path = path
        self._asked: list[str] = []

    def text(self, name: str, usual: str | None = None, *, one_of: Iterable[str] = ()) -> str:
        """A text; ``usual``: where it is missing, None where it must not be."""
        value = self._get(name, usual)
        known = tuple(one_of)
        if not isinstance(value, str):
            self._say(name, value, "a text")
        elif known and value not in known:
            self._say(name, value, "one of " + ", ".join(known))
        else:
            return value
        return ""

    def number(self, name: str, usual: float | None = None, *, least: float, most: float) -> float:
        """A number between two others, both allowed."""
        value = self._get(name, usual)
        good = isinstance(value, (int, float)) and not isinstance(value, bool) and least <= value <= most
        if not good:
            self._say(name, value, f"a number from {least:g} to {most:g}")
        return value if good and isinstance(value, (int, float)) else least

    def whole(self, name: str, usual: int | None = None, *, least: int, most: int) -> int:
        """A whole number between two others, both allowed."""
        value = self.number(name, usual, least=least, most=most)
        if value != int(value):
            self._say(name, value, "a whole number")
        return int(value)

    def one_of(self, name: str, usual: int, known: tuple[int, ...]) -> int:
        """One of a few whole numbers."""
        value = self._get(name, usual)
        if type(value) is not int or value not in known:
            self._say(name, value, "one of " + ", ".join(map(str, known)))
            return usual
        return value

    def flag(self, name: str, *, usual: bool) -> bool:
        """True or false."""
        value = self._get(name, usual)
        if not isinstance(value, bool):
            self._say(name, value, "true or false")
            return usual
        return value

    def texts(self, name: str, usual: tuple[str, ...] = (), *, one_of: Iterable[str] = ()) -> tuple[str, ...]:
        """A list of texts."""
        value = self._get(name, list(usual))
        known = tuple(one_of)
        if not isinstance(value, list) or not all(isinstance(each, str) for each in value):
            self._say(name, value, "a list of texts")
            return usual
        wrong = [each for each in value if known and each not in known]
        if wrong:
            self._say(name, wrong[0], "of " + ", ".join(known))
        return tuple(value)

    def table(self, name: str) -> Table:
        """A table in this one; an empty one where it is missing."""
        value = self._get(name, {})
        if not isinstance(value, dict):
            self._say(name, value, "a table")
            value = {}
        return Table(value, path=f"{self._path}{name}.", faults=self.faults)

    def tables(self, name: str) -> tuple[Table, ...]:
        """A list of tables."""
        value = self._get(name, [])
        if not isinstance(value, list) or not all(isinstance(each, dict) for each in value):
            self._say(name, value, "a list of tables")
            value = []
        return tuple(
            Table(each, path=f"{self._path}{name}[{place}].", faults=self.faults)
            for place, each in enumerate(value)
        )

    def has(self, name: str) -> bool:
        """Whether something stands there; null counts as nothing."""
        self._asked.append(name)
        return self._values.get(name) is not None

    def names(self) -> tuple[str, ...]:
        """All names in the table; each then counts as asked for."""
        self._asked.extend(self._values)
        return tuple(self._values)

    def fault(self, name: str, what: str) -> None:
        """Notes a fault of a field."""
        self.faults.append(f"{self._path}{name}: {what}")

    def done(self) -> None:
        """Notes every field that nobody asked for."""
        for name in self._values:
            if name not in self._asked:
                known = ", ".join(sorted(set(self._asked)))
                self.fault(name, f"there is no such setting; known here are {known}")

    def _get(self, name: str, usual: object) -> object:
        self._asked.append(name)
        value = self._values.get(name)
        return usual if value is None else value

    def _say(self, name: str, value: object, wanted: str) -> None:
        if value is None:
            self.fault(name, f"is missing; give {wanted}")
        else:
            self.fault(name, f"is {_brief(value)}; give {wanted}")


def _brief(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 40 else text[:37] + "..."
