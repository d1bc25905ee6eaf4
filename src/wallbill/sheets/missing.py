"""What stands in a sheet for a fact that is not there: it prints as a dash and is noted, and nothing breaks."""

from collections.abc import Callable, Iterator

DASH = "–"
"""Printed where a value should be: an en dash, common practice in tables, no source."""


class Missing:
    """A source's facts that could not be had. False, empty, and every part of it is missing too.

    ``note``: called with the dotted path whenever a sheet prints a part of it.
    """

    __slots__ = ("_note", "_path")

    def __init__(self, path: str, note: Callable[[str], None]) -> None:
        self._path = path
        self._note = note

    def __getattr__(self, name: str) -> "Missing":
        if name.startswith("__"):  # python's own protocols must not find one here
            raise AttributeError(name)
        return Missing(f"{self._path}.{name}", self._note)

    def __getitem__(self, key: object) -> "Missing":
        return Missing(f"{self._path}[{key!r}]", self._note)

    def __call__(self, *args: object, **kwargs: object) -> "Missing":
        """What a missing fact's method gives: missing."""
        return self

    def __bool__(self) -> bool:
        return False

    def __len__(self) -> int:
        return 0

    def __iter__(self) -> Iterator["Missing"]:
        return iter(())

    def __contains__(self, item: object) -> bool:
        return False

    def __eq__(self, other: object) -> bool:
        return other is None or isinstance(other, Missing)

    def __hash__(self) -> int:
        return hash(Missing)

    def _compare(self, other: object) -> bool:
        return False

    __lt__ = __le__ = __gt__ = __ge__ = _compare

    def _reckon(self, other: object) -> "Missing":
        return self

    __add__ = __radd__ = __sub__ = __rsub__ = __mul__ = __rmul__ = __truediv__ = __rtruediv__ = _reckon
    __floordiv__ = __rfloordiv__ = __mod__ = __rmod__ = __pow__ = __rpow__ = _reckon

    def _alone(self) -> "Missing":
        return self

    __neg__ = __pos__ = __abs__ = _alone

    def __str__(self) -> str:
        self._note(self._path)
        return DASH

    __html__ = __str__

    def __repr__(self) -> str:
        return f"{self._path} (missing)"
