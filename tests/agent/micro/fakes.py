"""A faked board for the microcontroller twin, whose panel is a file, and a counter of the steps of a wake."""

import os

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any


class Steps:
    """Counts the steps of a wake, and ends the process as ``kill -9`` does just before the one that is wanted."""

    def __init__(self, last: int) -> None:
        self.count = 0
        self._last = last

    def step(self) -> None:
        """One more."""
        self.count += 1
        if self.count == self._last:
            os.system("kill -9 $PPID")

    def opened(self, path: str, mode: str) -> "Any":
        """A file; opening it for writing, and all that is done to it then, are steps."""
        if "w" not in mode:
            return open(path, mode)
        self.step()
        return CountedFile(open(path, mode), self)

    def rename(self, old: str, new: str) -> None:
        """As in ``os``."""
        self.step()
        os.rename(old, new)

    def remove(self, path: str) -> None:
        """As in ``os``."""
        self.step()
        os.remove(path)


class CountedFile:
    """A file for writing, whose steps are counted."""

    def __init__(self, file: "Any", steps: Steps) -> None:
        self._file = file
        self._steps = steps

    def write(self, data: "Any") -> int:
        """Writes."""
        self._steps.step()
        size: int = self._file.write(data)
        return size

    def flush(self) -> None:
        """Flushes."""
        self._file.flush()

    def close(self) -> None:
        """Closes."""
        self._steps.step()
        self._file.close()


class Glass:
    """The panel. A refresh that is cut off leaves neither the old picture nor the new one."""

    def __init__(self, wishes: "dict[str, Any]", steps: Steps) -> None:
        self._path = wishes["glass"]
        self._fails = wishes.get("refresh_fails", 0)
        self._steps = steps
        self._frame: Any = None
        self.shown = 0
        self.largest = 0
        self.log = ""

    def begin(self) -> None:
        """Empties its frame memory."""
        self._steps.step()
        self.log += "b"
        self._frame = open(self._path + ".frame", "wb")

    def show(self, block: memoryview) -> None:
        """Takes bytes."""
        self.largest = max(self.largest, len(block))
        self._frame.write(block)

    def commit(self) -> None:
        """Refreshes."""
        self._frame.close()
        self._steps.step()
        self.log += "c"
        if self._fails:
            self._fails -= 1
            raise OSError("the panel does not answer")
        with open(self._path, "wb") as file:
            file.write(b"half a picture")
        self._steps.step()
        os.rename(self._path + ".frame", self._path)
        self._steps.step()
        self.shown += 1

    def abandon(self) -> None:
        """Goes to sleep."""
        self.log += "a"
        self._frame.close()
        os.remove(self._path + ".frame")


class Net:
    """A network that is there, unless it is wished away."""

    def __init__(self, wishes: "dict[str, Any]", glass: Glass) -> None:
        self._is_there = wishes.get("network", True)
        self._glass = glass

    def join(self) -> None:
        """Joins."""
        self._glass.log += "j"
        if not self._is_there:
            raise OSError("no network")

    def leave(self) -> None:
        """Leaves."""
        self._glass.log += "l"

    def signal_dbm(self) -> "int | None":
        """Fair."""
        return -61


class Clock:
    """A clock that stands unless it is set."""

    def __init__(self, wishes: "dict[str, Any]") -> None:
        self.moment_s = wishes.get("clock_s", 1800000000)

    def now_s(self) -> int:
        """Unix time."""
        moment_s: int = self.moment_s
        return moment_s

    def set_s(self, moment_s: int) -> None:
        """Sets it."""
        self.moment_s = moment_s


class Board:
    """The board."""

    def __init__(self, wishes: "dict[str, Any]", steps: Steps) -> None:
        self.driver = Glass(wishes, steps)
        self.network = Net(wishes, self.driver)
        self.clock = Clock(wishes)
        self._air_c = wishes.get("temperature_c")

    def battery_mv(self) -> "int | None":
        """Half full."""
        return 3712

    def temperature_c(self) -> "float | None":
        """As wished."""
        air_c: float | None = self._air_c
        return air_c


class Counted:
    """What the twin uses of ``os``, counted."""

    def __init__(self, steps: Steps) -> None:
        self.rename = steps.rename
        self.remove = steps.remove
