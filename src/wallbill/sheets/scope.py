"""What a sheet can see: its facts, its wall, its display and panel, and the moment."""

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime

from wallbill.errors import SheetError
from wallbill.facts.origin import Freshness
from wallbill.facts.supply import Fact, Supply
from wallbill.places.words import closest
from wallbill.sheets.missing import Missing


class FactsView:
    """``facts`` in a sheet: the facts of each source by its name.

    A source that has no facts gives `Missing`; a name that the wall does not have is a `SheetError`.
    ``known``: the wall's sources, of which ``supply`` may hold only those that its sheets can ask for.
    ``used`` notes which sources a sheet has asked for, so that its staleness is its own.
    """

    __slots__ = ("_known", "_note", "_supply", "used")

    def __init__(
        self, supply: Supply, note: Callable[[str], None], *, known: Collection[str] | None = None
    ) -> None:
        self._supply = supply
        self._note = note
        self._known = supply.sources if known is None else known
        self.used: set[str] = set()

    def __getattr__(self, name: str) -> Fact | tuple[Fact, ...] | Missing:
        if name.startswith("_"):
            raise AttributeError(name)
        given = self._supply.sources.get(name)
        if given is None:
            raise _no_source(name, self._known)
        self.used.add(name)
        return Missing(f"facts.{name}", self._note) if given.fact is None else given.fact

    __getitem__ = __getattr__

    def __contains__(self, name: object) -> bool:
        given = self._supply.sources.get(str(name))
        return given is not None and given.fact is not None

    def __iter__(self) -> Iterator[str]:
        return iter(self._supply.sources)


def _no_source(name: str, known: Collection[str]) -> SheetError:
    """The error for a source that the wall does not have."""
    near = closest(name, known)
    listed = ", ".join(f"facts.{each}" for each in sorted(known)) or "none"
    return SheetError(
        f"the wall has no source {name!r}",
        mend=f"Write facts.{near}." if near else f"The wall's sources: {listed}.",
    )


@dataclass(frozen=True, slots=True)
class WallView:
    """``wall`` in a sheet: its name, language, and whether its language runs from right to left."""

    name: str
    language: str
    direction: str
    elevation: object = None
    latitude_deg: float = 0.0
    longitude_deg: float = 0.0


@dataclass(frozen=True, slots=True)
class DisplayView:
    """``display`` in a sheet: its name, the page's size in pixels, and the next time that it will look again.

    ``pitch_mm``: distance from one pixel to the next. ``read_from_m``: how far away the reader stands.
    """

    name: str
    width_px: int
    height_px: int
    pitch_mm: float
    read_from_m: float
    next_look: datetime


@dataclass(frozen=True, slots=True)
class PanelView:
    """``panel`` in a sheet: its name, its inks' names and whether it can smooth an edge with greys."""

    name: str
    inks: tuple[str, ...]
    greys: bool


@dataclass(frozen=True, slots=True)
class Age:
    """How a source stands, for a stale mark: ``freshness``, when it was issued (local), and its trouble.

    ``trouble``: what is wrong, in a few words. ``told``: the same with its place and how to mend it.
    """

    source: str
    freshness: Freshness
    dated: datetime | None
    credit: str = ""
    trouble: str = ""
    told: str = ""


def ages(supply: Supply, now: datetime) -> Mapping[str, Age]:
    """The age of each source at ``now`` (aware; its zone is the zone of the times given)."""
    found = {}
    for name, given in supply.sources.items():
        facts = given.fact if isinstance(given.fact, tuple) else (given.fact,)
        dated = [fact.origin.dated for fact in facts if fact is not None]
        credit = next((fact.origin.credit for fact in facts if fact is not None and fact.origin.credit), "")
        found[name] = Age(
            source=name,
            freshness=given.freshness(now),
            dated=min(dated).astimezone(now.tzinfo) if dated else None,
            credit=credit,
            trouble=given.trouble.what if given.trouble else "",
            told=str(given.trouble) if given.trouble else "",
        )
    return found
