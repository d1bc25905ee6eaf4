"""The values that a store keeps. Moments are aware, UTC; digests are SHA-256 in hex unless said otherwise."""

from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

TAG_DIGITS = 32
"""Hex digits of an impression's digest that its entity tag shows."""


@dataclass(frozen=True, slots=True)
class Installed:
    """A display that the store knows. ``like``: the display of wall.toml whose settings it has, often itself."""

    name: str
    like: str
    added_at: datetime


@dataclass(frozen=True, slots=True)
class Key:
    """A key of one display, by its digest only. ``ends_at``: after which it opens nothing; None: never."""

    digest: str
    display: str
    begun_at: datetime
    ends_at: datetime | None = None

    def opens_at(self, now: datetime) -> bool:
        """Whether the key is good at ``now``."""
        return self.ends_at is None or now < self.ends_at


class Why(StrEnum):
    """Why a display got a new edition."""

    FIRST = "first"
    FACTS = "facts"
    TIMETABLE = "timetable"
    INTERRUPT = "interrupt"
    ASKED = "asked"
    WALL = "wall"
    REST = "rest"


@dataclass(frozen=True, slots=True)
class Impressed:
    """An impression as it is kept: the PNG in the panel's own scan order, by the digest of its ink values.

    ``minor``: parts (left, top, right, bottom in pixels of the scan order) whose change alone is no news.
    """

    digest: str
    panel: str
    width_px: int
    height_px: int
    png: bytes = field(repr=False)
    minor: tuple[tuple[int, int, int, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Edition:
    """What a display is to show, from ``at`` on. Numbered per display from 1; the last is the one that is up.

    ``sheet``: the sheet it was pressed from. ``why``, ``told``: what made it, and the same in words for people.
    ``dated``: how each source that it shows was dated, by name, ISO 8601. ``wall``: digest of the wall's files.
    """

    display: str
    number: int
    digest: str
    at: datetime
    sheet: str
    why: Why
    told: str = ""
    dated: tuple[tuple[str, str], ...] = ()
    wall: str = ""

    @property
    def tag(self) -> str:
        """Its entity tag, weak: of the ink values alone, so that a file packed anew wakes no panel.

        An edition that is there only because the panel has rested too long bears its number beside them.
        """
        rest = f"-{self.number}" if self.why is Why.REST else ""
        return f'W/"{self.digest[:TAG_DIGITS]}{rest}"'


@dataclass(frozen=True, slots=True)
class Contact:
    """The last time that a display called. ``tag``: the entity tag it came away with or kept, "" if none.

    ``shown``: the tag that it said it had (its If-None-Match). ``due_at``: when it was told to come back.
    ``status``: of the HTTP answer.
    """

    display: str
    at: datetime
    status: int
    tag: str
    shown: str
    due_at: datetime


@dataclass(frozen=True, slots=True)
class Report:
    """What a display said of itself; every part may be missing. It may be wrong: it is shown, never obeyed.

    ``woken_by``: timer, button or power. ``join_ms``, ``transfer_ms``, ``refresh_ms``: what the wake took.
    """

    display: str
    at: datetime
    shown: str | None = None
    refresh_ms: int | None = None
    join_ms: int | None = None
    transfer_ms: int | None = None
    battery_mv: int | None = None
    signal_dbm: int | None = None
    temperature_c: float | None = None
    woken_by: str | None = None
    agent: str | None = None
    error: str | None = None


@dataclass(frozen=True, slots=True)
class Asked:
    """A sheet that somebody wants on a display until a moment, whatever the timetable says."""

    display: str
    sheet: str
    until: datetime
    by: str
    at: datetime


class Outcome(StrEnum):
    """What became of a pressing."""

    NEW = "new"
    SAME = "same"
    MINOR = "minor"
    FAILED = "failed"


@dataclass(frozen=True, slots=True)
class Pressing:
    """A pressing that was done, or failed, for a display.

    ``looked_at``: the moment that the sheet saw. ``took_ms``: how long. ``told``: the fault in words, "" if none.
    ``findings``: a JSON list, as `wallbill press` writes it. ``stale``: sources that were stale or missing.
    """

    display: str
    looked_at: datetime
    outcome: Outcome
    sheet: str
    took_ms: int
    told: str = ""
    findings: str = "[]"
    stale: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Notice:
    """Something that somebody should know. One that goes on is one notice.

    ``kind`` and ``subject``: together its name, such as ``missed-wakes`` and a display. ``ended_at``: None while it lasts.
    ``sent_at``: when it last went out by webhook or mail, None if it has not yet; one that is over goes out once more.
    ``better_since``: since when it has looked mended; it ends once that has lasted.
    """

    kind: str
    subject: str
    what: str
    mend: str
    since: datetime
    sent_at: datetime | None = None
    ended_at: datetime | None = None
    better_since: datetime | None = None


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who may administer the wall. ``password``: an Argon2id hash with its parameters."""

    name: str
    password: str = field(repr=False)
    added_at: datetime = field(kw_only=True)


@dataclass(frozen=True, slots=True)
class Session:
    """A log-in. ``digest``: of the cookie's value. ``csrf``: what its forms must carry."""

    digest: str
    person: str
    csrf: str = field(repr=False)
    begun_at: datetime = field(kw_only=True)
    ends_at: datetime = field(kw_only=True)
