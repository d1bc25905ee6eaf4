"""Opens the press's engines, and keeps its plans in memory."""

import threading
from collections import OrderedDict
from collections.abc import Hashable

from wallbill.errors import PressError
from wallbill.press.model import Engine, Limits
from wallbill.press.shell_blitz import BlitzEngine
from wallbill.press.shell_chromium import ChromiumEngine

ENGINES = ("blitz", "chromium")


def open_engine(name: str = "blitz", *, limits: Limits | None = None, early: bool = False) -> Engine:
    """An engine by name. Raises `PressError` for an unknown name.

    Its process starts with the first page, or at once and without waiting where ``early`` and it can.
    """
    match name:
        case "blitz":
            engine = BlitzEngine(limits=limits or Limits())
            if early:
                engine.begin()
            return engine
        case "chromium":
            return ChromiumEngine(limits=limits or Limits())
    raise PressError(f"unknown engine {name!r}", mend=f"write one of {', '.join(ENGINES)}")


class MemoryPlans:
    """Keeps `PlanKeep`: the values used last, at most ``most`` of them. May be used from several threads."""

    def __init__(self, *, most: int = 2048) -> None:
        self._most = most
        self._lock = threading.Lock()
        self._values: OrderedDict[Hashable, object] = OrderedDict()

    def get(self, key: Hashable) -> object | None:
        """What lies under a key, or None."""
        with self._lock:
            if key not in self._values:
                return None
            self._values.move_to_end(key)
            return self._values[key]

    def put(self, key: Hashable, value: object) -> None:
        """Keeps a value under a key; the one unused longest goes when there are too many."""
        with self._lock:
            self._values[key] = value
            self._values.move_to_end(key)
            if len(self._values) > self._most:
                self._values.popitem(last=False)
