"""Looks, agendas and checks that the tests of the blocks of time share. Everything here is invented."""

from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime, timedelta
from itertools import combinations
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from wallbill.blocks.days.look import Look
from wallbill.blocks.days.type import Composed, Text
from wallbill.blocks.drawing.labels import apart, inside
from wallbill.blocks.drawing.markup import Drawing
from wallbill.blocks.drawing.palette import Palette
from wallbill.facts.agenda import Agenda, Event, in_order
from wallbill.facts.origin import Origin
from wallbill.units.wording import Wording

LONDON = ZoneInfo("Europe/London")
START = datetime(2026, 3, 14, 10, 40, tzinfo=UTC)
ORIGIN = Origin("hut", "invented", "", None, START)
RED = Palette(accent="#c80000")
GREY = Palette(smooth=True)
PLATE = ((255, 255, 255), (0, 0, 0), (200, 0, 0), (240, 240, 240), (120, 120, 120))


def wording(language: str = "en-GB", zone: ZoneInfo = LONDON) -> Wording:
    return Wording(language, zone)


def look(width_px: int = 400, height_px: int = 200, **how: Any) -> Look:
    given: dict[str, Any] = {"wording": wording(), "now": START, "palette": RED, **how}
    return Look(width_px, height_px, **given)


def event(summary: str, starts: datetime | date, ends: datetime | date, *, tentative: bool = False) -> Event:
    return Event(f"{summary}-{starts}", summary, starts, ends, tentative=tentative)


def timed(summary: str, at: str, hours: float = 1.0, *, tentative: bool = False) -> Event:
    starts = datetime.fromisoformat(at).replace(tzinfo=LONDON).astimezone(UTC)
    return event(summary, starts, starts + timedelta(hours=hours), tentative=tentative)


def whole(summary: str, first: str, days: int = 1, *, tentative: bool = False) -> Event:
    begin = date.fromisoformat(first)
    return event(summary, begin, begin + timedelta(days=days), tentative=tentative)


def agenda(name: str, events: Iterable[Event]) -> Agenda:
    return Agenda(ORIGIN, name, in_order(events, LONDON))


CLUB = agenda(
    "Rowing club",
    (
        timed("Outing", "2026-03-14T09:30", 2),
        timed("Soup lunch", "2026-03-14T12:30", 1.5),
        timed("Committee", "2026-03-17T19:30"),
        timed("Coxes' evening", "2026-03-19T18:30"),
        whole("Spring regatta", "2026-03-28", 2),
    ),
)
HOUSE = agenda(
    "House",
    (
        whole("Gig on the slip", "2026-03-16", 3),
        whole("Painters in", "2026-03-20", 6),
        whole("Visitors", "2026-03-28", 3, tentative=True),
        timed("Sail loft", "2026-03-14T10:00", 1.5),
        timed("Dredging", "2026-03-14T11:00", 5, tentative=True),
    ),
)
HOLIDAYS = agenda("GB", (whole("Mothers' day", "2026-03-15"),))


def codes(composed: Composed) -> NDArray[np.uint8]:
    """The drawing in ink codes, its tints as hatches, with a frame of code 4 about every text that says something."""
    found: NDArray[np.uint8] = Drawing(composed.grid, tints=composed.tints).flat().codes.copy()
    for text in composed.texts:
        if text.text:
            x, y, wide, high = text.box
            box = found[max(0, y) : y + high, max(0, x) : x + wide]
            for edge in (box[:1], box[-1:], box[:, :1], box[:, -1:]):
                edge[edge == 0] = 4
    return found


def check_texts(texts: Sequence[Text], size: tuple[int, int]) -> None:
    """Every text lies on the block, and none over another."""
    said = [text for text in texts if text.text]
    assert all(inside(text.box, size) for text in said), [t for t in said if not inside(t.box, size)]
    for one, other in combinations(said, 2):
        assert apart(one.box, other.box), (one, other)
