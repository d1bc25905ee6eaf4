"""What the twin asks of a maker's board, for readers and type checkers. It need not go onto the board."""

from typing import Protocol


class Driver(Protocol):
    """The panel. Raise `OSError` where it does not answer in time; never wait for a busy pin without an end."""

    def begin(self) -> None:
        """Wakes the panel and makes ready for the first byte of its frame memory."""
        ...

    def show(self, block: memoryview) -> None:
        """Takes the next bytes of the plates into frame memory, which nobody sees yet. They hold only during the call."""
        ...

    def commit(self) -> None:
        """Refreshes, waits until the panel is done, and puts it to sleep."""
        ...

    def abandon(self) -> None:
        """Puts the panel to sleep without a refresh: what came was not whole."""
        ...


class Network(Protocol):
    """The way to the server. Raise `OSError` where there is none in good time: waiting for it costs the battery most."""

    def join(self) -> None:
        """Switches the radio on and joins."""
        ...

    def leave(self) -> None:
        """Switches the radio off; also called where joining failed."""
        ...

    def signal_dbm(self) -> int | None:
        """How strong the network is heard, None where that is not known."""
        ...


class Clock(Protocol):
    """The clock that TLS and the twin look at. It may be years off after a power cut."""

    def now_s(self) -> int:
        """Unix time, seconds."""
        ...

    def set_s(self, moment_s: int) -> None:
        """Sets the clock to a Unix time."""
        ...


class Keep(Protocol):
    """Where a few hundred bytes outlast the sleep: a file, or memory that stays powered."""

    def load(self) -> bytes:
        """What was saved last, whole, or nothing."""
        ...

    def save(self, data: bytes) -> None:
        """Saves in such a way that a power cut leaves the old or the new."""
        ...


class Picture(Protocol):
    """Where a picture waits until its digest is known to be right."""

    @property
    def lasts(self) -> bool:
        """Whether it can be put up again in a later wake."""
        ...

    def begin(self) -> None:
        """Makes ready for a new picture."""
        ...

    def take(self, block: memoryview) -> None:
        """Takes its next bytes."""
        ...

    def keep(self) -> None:
        """All is here and right."""
        ...

    def drop(self) -> None:
        """It is not right: away with it."""
        ...

    def put_up(self, digest: str) -> None:
        """Refreshes the panel with the picture kept, whose SHA-256 must be ``digest`` (base64)."""
        ...


class Board(Protocol):
    """A maker's board."""

    @property
    def driver(self) -> Driver:
        """The panel."""
        ...

    @property
    def network(self) -> Network:
        """The way to the server."""
        ...

    @property
    def clock(self) -> Clock:
        """The clock."""
        ...

    def battery_mv(self) -> int | None:
        """The battery's voltage, millivolts, None where there is none."""
        ...

    def temperature_c(self) -> float | None:
        """The air at the panel, degrees Celsius, None where nothing measures it."""
        ...
