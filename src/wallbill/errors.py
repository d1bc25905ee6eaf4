"""One small tree of errors: each says what is wrong, where it stands, and how to mend it.

Raise one of these when a person's file, source, panel or picture is at fault. ``ValueError`` and
``TypeError`` stay for mistakes of our own callers.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Place:
    """Where something stands: a file or source, the line (from 1), and the field, element or value.

    Printed as ``file:line field``, with the parts that are known.
    """

    file: str = ""
    line: int | None = None
    field: str = ""

    def __str__(self) -> str:
        head = self.file if self.line is None else f"{self.file}:{self.line}"
        return " ".join(part for part in (head, self.field) if part)


class WallbillError(Exception):
    """What stops the job through no fault of the code.

    ``what`` is lower case and holds the offending value; ``mend`` is one sentence in the imperative.
    """

    def __init__(self, what: str, *, where: Place | None = None, mend: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.where = where or Place()
        self.mend = mend

    def __str__(self) -> str:
        place = str(self.where)
        head = f"{place}: {self.what}" if place else self.what
        return f"{head}\n  mend: {self.mend}" if self.mend else head


class WallError(WallbillError):
    """A wall folder or its ``wall.toml`` is wrong."""


class PanelError(WallbillError):
    """A panel is unknown, or its profile is wrong."""


class FaceError(WallbillError):
    """A face cannot be found, read or fitted."""


class PressError(WallbillError):
    """A page cannot be laid out or painted: too deep, too slow, too large, or the engine failed."""


class SheetError(WallbillError):
    """A sheet's template is wrong or asks for what is not there."""


class SourceError(WallbillError):
    """A source cannot be reached or its payload cannot be read."""


class PictureError(WallbillError):
    """A picture cannot be read, or is too large to be worked on."""


class StoreError(WallbillError):
    """The database cannot be reached, read or written, or is of another edition."""


class LetterError(WallbillError):
    """A notice cannot be sent out by mail or webhook; it is tried again later."""


class ListenError(WallbillError):
    """A port cannot be listened on, or a certificate cannot be used."""


class FaultList(WallbillError):  # noqa: N818  it is named for what it is: a list
    """Several faults found in one reading, so that they can be mended in one go."""

    def __init__(self, faults: tuple[WallbillError, ...]) -> None:
        super().__init__(f"{len(faults)} faults" if len(faults) != 1 else faults[0].what)
        self.faults = faults

    def __str__(self) -> str:
        return "\n".join(str(fault) for fault in self.faults)
