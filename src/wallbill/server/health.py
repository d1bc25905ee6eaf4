"""Whether the server lives and is ready, judged from a few figures; as JSON for those who watch it.

Alive: it makes progress; restart it if not. Ready: devices may be sent to it. What hangs on the wall is held in memory, so
a server whose database is away, or that cannot press, still answers devices with the last good picture: it is ready, and
says that it is ``degraded``.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from types import MappingProxyType

from wallbill.server.watched import SeenFault

STUCK_S = 60.0
"""A clockwork that has not gone round for so long is stuck."""

LEAST_FREE_BYTES = 200 * 1024 * 1024
"""With less disk space left, editions and reports may soon be lost."""


class Health(StrEnum):
    """How a part fares. ``degraded``: the server goes on without it for a while."""

    OK = "ok"
    DEGRADED = "degraded"
    DOWN = "down"


@dataclass(frozen=True, slots=True)
class Vitals:
    """What is known of the server at a moment.

    ``loaded``: the wall, keys and editions are in memory. ``tick_age_s``: since the clockwork last went round, None before
    the first time; ``up_s``: since the process began. ``store_answers``: None where it has not been asked yet.
    ``workers``, ``workers_wanted``: processes that press, alive and asked for (0 where others press). ``disk_free_bytes``:
    where the store is kept, None if that is not here.
    """

    loaded: bool
    up_s: float
    tick_age_s: float | None = None
    stopping: bool = False
    store_answers: bool | None = None
    workers: int = 0
    workers_wanted: int = 0
    disk_free_bytes: int | None = None


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the server, how it fares, and why in words, "" if it is well."""

    name: str
    health: Health
    told: str = ""


@dataclass(frozen=True, slots=True)
class Verdict:
    """An answer: HTTP status, and the parts. ``good``: whether it is what was asked after."""

    good: bool
    parts: tuple[Part, ...]

    @property
    def status(self) -> int:
        """200, or 503 where it is not good."""
        return 200 if self.good else 503

    @property
    def health(self) -> Health:
        """Of the whole: down if it is not good, else as its worst part."""
        if not self.good:
            return Health.DOWN
        well = all(part.health is Health.OK for part in self.parts)
        return Health.OK if well else Health.DEGRADED

    @property
    def body(self) -> bytes:
        """The answer as JSON. It holds no addresses, names or faults in words of others: anybody may read it."""
        document: dict[str, object] = {"status": self.health.value, "components": _components(self.parts)}
        return json.dumps(document, separators=(",", ":")).encode() + b"\n"


def live(vitals: Vitals) -> Verdict:
    """Whether the server makes progress. Also for the service manager's watchdog: no ``WATCHDOG=1`` if it does not."""
    parts = _parts(vitals)
    return Verdict(parts["clockwork"].health is not Health.DOWN, tuple(parts.values()))


def ready(vitals: Vitals) -> Verdict:
    """Whether devices may be sent to the server."""
    parts = _parts(vitals)
    good = (
        vitals.loaded
        and not vitals.stopping
        and vitals.tick_age_s is not None
        and parts["clockwork"].health is Health.OK
    )
    return Verdict(good, tuple(parts.values()))


def faults(vitals: Vitals, now: datetime) -> tuple[SeenFault, ...]:
    """The parts that fail, for notices; dated ``now`` (see `wallbill.server.watched.lasting`)."""
    return tuple(
        SeenFault(part.name, f"the {part.name} of the server: {part.told}", _MENDS[part.name], now)
        for part in _parts(vitals).values()
        if part.health is not Health.OK and part.name in _MENDS and part.told
    )


_MENDS: Mapping[str, str] = MappingProxyType(
    {
        "clockwork": "Restart the server; if it comes back, look at its log.",
        "store": "See that the database runs and that its disk is not full; until then the last good pictures stay up.",
        "workers": "Look at the log for what ended them; a sheet may need more memory than there is.",
        "disk": "Make room, or keep old editions for a shorter time (keep in wall.toml).",
    }
)


def _parts(vitals: Vitals) -> dict[str, Part]:
    parts = (_wall(vitals), _clockwork(vitals), _store(vitals), _workers(vitals), _disk(vitals))
    return {part.name: part for part in parts}


def _wall(vitals: Vitals) -> Part:
    if vitals.stopping:
        return Part("wall", Health.DOWN, "the server is stopping")
    return Part("wall", Health.OK) if vitals.loaded else Part("wall", Health.DOWN, "it is being read")


def _clockwork(vitals: Vitals) -> Part:
    age_s = vitals.up_s if vitals.tick_age_s is None else vitals.tick_age_s
    if age_s > STUCK_S:
        return Part("clockwork", Health.DOWN, f"it has stood still for {age_s:.0f} s")
    return Part("clockwork", Health.OK)


def _store(vitals: Vitals) -> Part:
    if vitals.store_answers is False:
        return Part("store", Health.DEGRADED, "it does not answer")
    return Part("store", Health.OK)


def _workers(vitals: Vitals) -> Part:
    if vitals.workers >= vitals.workers_wanted:
        return Part("workers", Health.OK)
    return Part("workers", Health.DEGRADED, f"{vitals.workers} of {vitals.workers_wanted} are alive")


def _disk(vitals: Vitals) -> Part:
    free = vitals.disk_free_bytes
    if free is None or free >= LEAST_FREE_BYTES:
        return Part("disk", Health.OK)
    return Part("disk", Health.DEGRADED, f"{free / 2**20:.0f} MiB are left")


def _components(parts: tuple[Part, ...]) -> dict[str, dict[str, str]]:
    return {
        part.name: {"status": part.health.value, **({"told": part.told} if part.told else {})}
        for part in parts
    }
