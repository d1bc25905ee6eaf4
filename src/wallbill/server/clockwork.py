"""When each display is looked at anew: from its timetable to rounds of pulls. No clock of its own; told what time it is."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from heapq import heappop, heappush

from wallbill.server.likeness import like_displays
from wallbill.server.model import Pull, Round, WallFiles
from wallbill.server.timetable import Situation, is_quiet, last_look, next_look, phase_s, why_look
from wallbill.sheets.needs import sources_needed
from wallbill.store.model import Asked, Edition, Installed
from wallbill.wall.model import Display

PATIENCE = timedelta(minutes=5)
"""How long an edition that is overdue is waited for before devices are told to come for the next one."""

_ON_TIME = timedelta(minutes=1)
_AHEAD = timedelta(minutes=2)  # a look recorded further ahead than this was made by another clock
_READY_FIRST_S, _READY_LEAST_S, _READY_MOST_S = 20.0, 5.0, 120.0
_READY_REMEMBERED = 32


@dataclass(slots=True)
class _Dial:
    """What the clockwork knows of one display.

    ``looked_at``: the last look that was handed out or pressed; ``settled_at``: the last that is known to be done.
    """

    situation: Situation
    group: int
    looked_at: datetime | None = None
    settled_at: datetime | None = None
    pending: tuple[datetime, datetime] | None = None  # the look, and when it was handed out
    next_at: datetime | None = None
    turn: int = 0


class Clockwork:
    """Turns the timetables of all displays into rounds. Effects happen elsewhere; ``now`` is aware, UTC."""

    def __init__(self, files: WallFiles) -> None:
        self._files = files
        self._dials: dict[str, _Dial] = {}
        self._installed: tuple[Installed, ...] = ()
        self._asked: dict[str, Asked] = {}
        self._editions: dict[str, Edition] = {}
        self._heap: list[tuple[datetime, int, str]] = []
        self._turns = 0
        self._edited: set[str] = set()
        self._ready_s: list[float] = []

    @property
    def files(self) -> WallFiles:
        """The wall as it is known now."""
        return self._files

    def settings(self, name: str) -> Display | None:
        """The settings of an installed display, or None where wall.toml has none for it."""
        dial = self._dials.get(name)
        return None if dial is None else dial.situation.display

    def names(self) -> tuple[str, ...]:
        """All displays that have settings."""
        return tuple(self._dials)

    def set_wall(self, files: WallFiles, *, now: datetime) -> None:
        """Takes a wall whose files have changed: everything is looked at again."""
        edited = files.digest != self._files.digest
        self._files = files
        self._rebuild(now)
        if edited:
            self._edited.update(self._dials)

    def set_displays(self, installed: Iterable[Installed], *, now: datetime) -> bool:
        """Takes the displays that are installed now; gives whether they are others than before."""
        found = tuple(installed)
        if found == self._installed:
            return False
        self._installed = found
        self._rebuild(now)
        return True

    def set_asked(self, asked: Iterable[Asked], *, now: datetime) -> tuple[str, ...]:
        """Takes what is asked for by hand; gives the displays for which that is new."""
        found = {each.display: each for each in asked}
        changed = [name for name in self._dials if found.get(name) != self._asked.get(name)]
        self._asked = found
        for name in changed:
            self._set(name, now)
        return tuple(changed)

    def set_edition(self, edition: Edition, *, now: datetime) -> None:
        """Takes the edition that a display has up now."""
        self._editions[edition.display] = edition
        if edition.display in self._dials:
            self._set(edition.display, now)

    def set_settled(self, name: str, looked_at: datetime, *, now: datetime) -> bool:
        """Takes note that a look is done: the display is pressed, or could not be. Gives whether that is new."""
        dial = self._dials.get(name)
        if dial is None or looked_at > now + _AHEAD or (dial.settled_at and dial.settled_at >= looked_at):
            return False
        dial.settled_at = looked_at
        if dial.pending and dial.pending[0] <= looked_at:
            self._note_ready((now - dial.pending[1]).total_seconds())
            dial.pending = None
        if dial.looked_at is None or looked_at > dial.looked_at:
            dial.looked_at = looked_at
            self._set(name, now)
        return True

    def pending(self, *, now: datetime) -> tuple[str, ...]:
        """Displays whose last look was handed out not long ago and is not known to be done."""
        return tuple(
            name
            for name, dial in self._dials.items()
            if dial.pending and abs(now - dial.pending[1]) < PATIENCE
        )

    def looks_at(self, name: str, *, now: datetime) -> datetime:
        """When the display's next edition may come: the look that is overdue, for a while, else the next."""
        dial = self._dials[name]
        if dial.pending and abs(now - dial.pending[1]) < PATIENCE:
            return dial.pending[0]
        return dial.next_at or next_look(dial.situation, now)

    def ready_s(self) -> float:
        """How long a round may take from its look until its editions are up, by those seen last."""
        if not self._ready_s:
            return _READY_FIRST_S
        return min(max(max(self._ready_s) * 1.25, _READY_LEAST_S), _READY_MOST_S)

    def phase_s(self, name: str) -> float:
        """By how much the display's device comes later than it could."""
        return phase_s(name, every_s=self._dials[name].situation.display.every.total_seconds())

    def recall(self, now: datetime) -> None:
        """Works everything out anew, after the clock was set."""
        for name, dial in self._dials.items():
            if dial.looked_at and dial.looked_at > now + _AHEAD:
                dial.looked_at = dial.settled_at = dial.pending = None
            self._set(name, now)

    def tick(self, now: datetime) -> tuple[Round | None, tuple[str, ...]]:
        """The round that is due, if any, and the displays whose next look has changed."""
        due: dict[tuple[int, datetime, str], list[str]] = {}
        whys: dict[tuple[int, datetime, str], str] = {}
        moved = []
        for name in self._taken(now):
            dial = self._dials[name]
            look, why = self._look(name, dial, now)
            if look is not None:
                key = (dial.group, look, self._sheet(name, look))
                due.setdefault(key, []).append(name)
                whys.setdefault(key, why)
                dial.looked_at, dial.pending = look, (look, now)
                self._edited.discard(name)
            self._set(name, now)
            moved.append(name)
        if not due:
            return None, tuple(moved)
        pulls = tuple(
            Pull(tuple(sorted(names)), at, sheet, self._files.digest, whys[group, at, sheet])
            for (group, at, sheet), names in sorted(due.items(), key=lambda item: min(item[1]))
        )
        return Round(now, self._sources(pulls), pulls), tuple(moved)

    def _taken(self, now: datetime) -> list[str]:
        """Displays whose time has come, each once."""
        found = dict.fromkeys(name for name in sorted(self._edited) if self._may_look(name, now))
        while self._heap and self._heap[0][0] <= now:
            _, turn, name = heappop(self._heap)
            dial = self._dials.get(name)
            if dial is not None and dial.turn == turn:
                found[name] = None
        return list(found)

    def _look(self, name: str, dial: _Dial, now: datetime) -> tuple[datetime | None, str]:
        """The look that is to be handed out for a display whose time has come, and why."""
        whole = now.replace(microsecond=0)
        if name not in self._editions:
            return whole, "first"
        look = last_look(dial.situation, now)
        if look is not None and (dial.looked_at is None or look > dial.looked_at):
            return (look if now - look < _ON_TIME else whole), str(why_look(dial.situation, look))
        return (whole, "wall") if name in self._edited else (None, "")

    def _may_look(self, name: str, now: datetime) -> bool:
        """Whether a display whose wall was edited may have another edition already."""
        dial = self._dials.get(name)
        if dial is None:
            self._edited.discard(name)
            return False
        up_at, display = dial.situation.edition_at, dial.situation.display
        rested = up_at is None or (now - up_at).total_seconds() >= display.panel.refresh.least_interval_s
        return rested and not is_quiet(dial.situation, now)

    def _sheet(self, name: str, at: datetime) -> str:
        asked = self._asked.get(name)
        return asked.sheet if asked and asked.at <= at < asked.until else ""

    def _sources(self, pulls: Sequence[Pull]) -> tuple[str, ...]:
        """The sources that any sheet of the pulls can ask for."""
        displays = [self._dials[pull.displays[0]].situation.display for pull in pulls]
        sheets = [sheet for display in displays for sheet in display.sheets()]
        sheets += [pull.sheet for pull in pulls if pull.sheet]
        conditions = [interrupt.when for display in displays for interrupt in display.interrupts]
        known = self._files.wall.sources
        return tuple(sorted(sources_needed(sheets, conditions, texts=self._files.texts, known=known)))

    def _rebuild(self, now: datetime) -> None:
        """Dials for all displays, those that stay keeping what they knew."""
        wall = self._files.wall
        displays = {
            each.name: replace(wall.displays[each.like], name=each.name)
            for each in self._installed
            if each.like in wall.displays
        }
        groups = {
            name: number
            for number, names in enumerate(like_displays(displays, self._files.texts))
            for name in names
        }
        before, self._dials = self._dials, {}
        self._heap.clear()
        for name, display in displays.items():
            situation = Situation(display, wall.time_zone)
            dial = before.get(name)
            if dial is None:
                dial = _Dial(situation, groups[name])
            dial.situation, dial.group = situation, groups[name]
            self._dials[name] = dial
            self._set(name, now)

    def _set(self, name: str, now: datetime) -> None:
        """Works out the next time that a display is to be looked at, and lays it on the heap."""
        dial = self._dials[name]
        edition = self._editions.get(name)
        # An edition from the future was put up by another clock: it holds nothing back.
        up_at = edition.at if edition and edition.at <= now + _AHEAD else None
        dial.situation = replace(dial.situation, asked=self._asked.get(name), edition_at=up_at)
        dial.next_at = next_look(dial.situation, now).astimezone(UTC)
        at = dial.next_at
        if self._is_overdue(name, dial, now):
            at = now
        self._turns += 1
        dial.turn = self._turns
        heappush(self._heap, (at, dial.turn, name))

    def _is_overdue(self, name: str, dial: _Dial, now: datetime) -> bool:
        if name not in self._editions:
            return dial.looked_at is None
        look = last_look(dial.situation, now)
        return look is not None and (dial.looked_at is None or look > dial.looked_at)

    def _note_ready(self, seconds_s: float) -> None:
        self._ready_s = [*self._ready_s[-_READY_REMEMBERED + 1 :], seconds_s]
