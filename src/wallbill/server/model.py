"""The values that pass between the parts of the server."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from types import MappingProxyType
from typing import Protocol

from wallbill.store.model import Contact, Edition, Impressed
from wallbill.wall.model import Wall


@dataclass(frozen=True, slots=True)
class WallFiles:
    """A wall as a machine has it. ``texts``: of ``sheets/`` by file name. ``digest``: of all its files."""

    wall: Wall
    texts: Mapping[str, str]
    digest: str


class Form(StrEnum):
    """A file format that a device may ask for; the ending of its address."""

    PNG = "png"
    BMP = "bmp"
    PBM = "pbm"
    PLATES = "plates"


@dataclass(frozen=True, slots=True)
class Body:
    """An impression in one form. ``repr_digest``: the value of the header Repr-Digest (RFC 9530).

    ``width_px``, ``height_px``, ``inks`` (names, in the panel's order): of plates only, which do not tell it themselves.
    """

    data: bytes = field(repr=False)
    media_type: str
    repr_digest: str
    width_px: int = 0
    height_px: int = 0
    inks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Hung:
    """What the server holds in memory of a display, to answer its device without asking anybody.

    ``edition``: None before the first pressing. ``forms``: those made so far. ``looks_at_s``: when its next edition may
    come, Unix time; ``ready_s``: how long pressing may take from then; ``phase_s``: by how much this display comes
    later than others, so that a fleet does not call at once. ``every_s``: its usual interval. ``earlier``: plates that were
    fetched before, deflated (RFC 1950), by the opaque part of their entity tag; the shelf keeps them itself.
    """

    name: str
    edition: Edition | None
    forms: Mapping[Form, Body]
    looks_at_s: float
    ready_s: float
    phase_s: float
    every_s: float
    earlier: Mapping[str, bytes] = field(default_factory=lambda: MappingProxyType({}), repr=False)


@dataclass(frozen=True, slots=True)
class Head:
    """The head of a request. ``path``: decoded, with no query. ``headers``: names in lower case."""

    method: str
    path: str
    query: str
    headers: Mapping[str, str] = field(repr=False)
    peer: str = ""


@dataclass(frozen=True, slots=True)
class Answer:
    """What a device gets. ``contact``: to be recorded; None for a caller that opened no display."""

    status: int
    headers: tuple[tuple[str, str], ...]
    body: bytes = field(default=b"", repr=False)
    contact: Contact | None = None


@dataclass(frozen=True, slots=True)
class Wanted:
    """A form that has to be made before the head can be answered."""

    display: str
    form: Form


class Shelf(Protocol):
    """What is in memory, as answers need it."""

    def opened_by(self, key_digest: str, now_s: float) -> str | None:
        """The display that a key opens at ``now_s`` (Unix time)."""
        ...

    def hung(self, display: str) -> Hung | None:
        """What is held of a display."""
        ...


@dataclass(frozen=True, slots=True)
class Pull:
    """An order to pull one impression.

    ``displays``: those that would all look alike; it is pressed for the first, put up on each. ``at``: the moment that
    the sheet sees, aware. ``sheet``: asked for by hand, "" for what the timetable gives. ``wall``: digest of the
    wall's files; a worker whose copy differs refuses. ``why``: told by the timetable, such as ``"timetable"``.
    """

    displays: tuple[str, ...]
    at: datetime
    sheet: str
    wall: str
    why: str = ""

    @property
    def lock(self) -> str:
        """Two orders with the same lock would give the same picture; only one of them is to wait."""
        return f"{self.wall[:16]}/{self.displays[0]}/{self.at.timestamp():.0f}/{self.sheet}"


@dataclass(frozen=True, slots=True)
class Round:
    """All that is to be pressed at one moment: first the facts are gathered, once, then each pull is pressed."""

    at: datetime
    sources: tuple[str, ...]
    pulls: tuple[Pull, ...]


@dataclass(frozen=True, slots=True)
class Pulled:
    """What a press gave for a pull: a picture with what made it, or a fault.

    ``by``: what chose the sheet: ``timetable``, ``interrupt`` or ``asked``. ``dated``: of the sources that it shows.
    ``findings``: JSON. ``fault``: in words, "" where it went well; then ``impression`` is there.
    """

    sheet: str
    by: str
    impression: Impressed | None
    dated: tuple[tuple[str, str], ...] = ()
    stale: tuple[str, ...] = ()
    findings: str = "[]"
    took_ms: int = 0
    fault: str = ""


class Work(Protocol):
    """Where rounds go to be done: in this process, or on PostgreSQL by any worker."""

    def enqueue(self, work: Round) -> int:
        """Hands in a round; gives how many of its pulls were not waiting already."""
        ...

    def waiting(self) -> int:
        """How many pulls wait or are being pressed."""
        ...

    def close(self) -> None:
        """Takes no more; what is being pressed is finished or left to others."""
        ...
