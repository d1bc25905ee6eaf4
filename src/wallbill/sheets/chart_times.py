"""What sheets hand to charts over time, turned into series, spans, winds and states."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from math import nan
from typing import Any

from wallbill.blocks.charts.barbs import Wind
from wallbill.blocks.charts.periods import spans_of
from wallbill.blocks.charts.readings import Span
from wallbill.blocks.charts.states import State, Strip
from wallbill.blocks.charts.timeaxis import first_instant
from wallbill.errors import SheetError
from wallbill.facts.forecast import Day, Forecast, Hour
from wallbill.facts.origin import Origin
from wallbill.facts.series import Reading, Series
from wallbill.places.words import did_you_mean
from wallbill.sheets.chart_facts import Scales, is_missing, refused
from wallbill.units.wording import Wording

SERIES = "facts.NAME of a source of kind series, one of its members, or a forecast and of='temperature'"
"""What a chart over time may be handed."""

_OF_HOURS = tuple(field.name for field in fields(Hour) if "Quantity" in str(field.type))
_OF_DAYS = tuple(field.name for field in fields(Day) if "Quantity" in str(field.type))


@dataclass(frozen=True, slots=True)
class Times:
    """Reads what is handed to one chart. ``block``: what would be drawn, with its article, for messages."""

    wording: Wording
    block: str

    def series(self, given: Any, of: str | None = None) -> tuple[Series, ...]:
        """One or several series of one kind, or the one of a forecast's hours that ``of`` names, in the wall's unit.

        Raises `SheetError` for anything else.
        """
        if _is_empty(given):
            return ()
        scales = Scales(self.wording)
        if hours := _hours(given):
            name = self._member(of, _OF_HOURS)
            readings = tuple(Reading(hour.valid_from, scales.number(getattr(hour, name))) for hour in hours)
            return (Series(_origin(given, hours), "", scales.unit, readings),)
        listed = given if isinstance(given, Sequence) and not isinstance(given, str) else (given,)
        for one in listed:
            if not (isinstance(one, Series) or is_missing(one)):
                raise refused(self.block, one, SERIES)
        return tuple(scales.series(one) for one in listed if isinstance(one, Series))

    def pair(self, across: Series, up: Any) -> tuple[Series, Series]:
        """Two series, each in the wall's unit for its kind. Raises `SheetError` where the second is none."""
        if not isinstance(up, Series):
            raise refused(self.block, up, "two series, or a list of pairs of numbers")
        return Scales(self.wording).series(across), Scales(self.wording).series(up)

    def spans(self, given: Any, scales: Scales, *, of: str | None, at_end: bool = False) -> tuple[Span, ...]:
        """Amounts over time: of a series, of hours or days of a forecast, or of lists of moments and amounts.

        Lists hold pairs of a moment, or a date, and an amount, or a start, an end and an amount. ``at_end``: readings
        tell of the time before them.
        """
        if _is_empty(given):
            return ()
        if hours := _hours(given):
            name = self._member(of, _OF_HOURS)
            return tuple(
                Span(hour.valid_from, hour.valid_to, _number(scales, getattr(hour, name))) for hour in hours
            )
        if days := _days(given):
            name = self._member(of, _OF_DAYS)
            return tuple(Span(*self.day(one.day), _number(scales, getattr(one, name))) for one in days)
        if isinstance(given, Series):
            return spans_of(scales.series(given).readings, at_end=at_end)
        return self._listed_spans(given, scales, at_end=at_end)

    def _listed_spans(self, given: Any, scales: Scales, *, at_end: bool) -> tuple[Span, ...]:
        readings, spans = [], []
        for one in _rows(given, self.block):
            if len(one) == 3:
                spans.append(Span(self.moment(one[0]), self.moment(one[1]), _number(scales, one[2])))
            elif isinstance(one[0], date) and not isinstance(one[0], datetime):
                spans.append(Span(*self.day(one[0]), _number(scales, one[1])))
            else:
                readings.append(Reading(self.moment(one[0]), scales.number(one[1])))
        return (*spans, *spans_of(readings, at_end=at_end))

    def winds(self, given: Any) -> tuple[Wind, ...]:
        """Speed and direction of the hours or days of a forecast. Raises `SheetError` for anything else."""
        if _is_empty(given):
            return ()
        if hours := _hours(given):
            return tuple(Wind(h.valid_from, h.valid_to, h.wind_speed, h.wind_from_deg) for h in hours)
        if days := _days(given):
            return tuple(Wind(*self.day(one.day), one.wind_speed, one.wind_from_deg) for one in days)
        raise refused(self.block, given, "facts.NAME of a source of kind forecast, its hours or its days")

    def strips(self, given: Any, words: Mapping[Any, str], now: datetime) -> tuple[Strip, ...]:
        """States of one thing or several: of pairs of a moment and a state, of series and ``words`` for their numbers.

        Several are pairs of a name and such a list, a mapping of them, or several series.
        """
        if _is_empty(given):
            return ()
        if isinstance(given, Series):
            return (self._strip(given.name, given, words, now),)
        if isinstance(given, Mapping):
            return tuple(self._strip(str(name), one, words, now) for name, one in given.items())
        listed = [one for one in given if not is_missing(one)] if isinstance(given, Sequence) else None
        if listed is None or isinstance(given, str):
            raise refused(self.block, given, STATES)
        if all(isinstance(one, Series) for one in listed):
            return tuple(self._strip(one.name, one, words, now) for one in listed)
        if all(_is_row(one) and isinstance(one[0], str) for one in listed):
            return tuple(self._strip(one[0], one[1], words, now) for one in listed)
        return (self._strip("", listed, words, now),)

    def _strip(self, name: str, given: Any, words: Mapping[Any, str], now: datetime) -> Strip:
        """One strip: each state holds until the next, the last one until now."""
        if is_missing(given):
            return Strip(name, ())
        if isinstance(given, Series):
            rows = [(reading.at, reading.value) for reading in given.readings]
        else:
            rows = [(self.moment(one[0]), one[1]) for one in _rows(given, self.block)]
        rows.sort(key=lambda row: row[0])
        if not rows:
            return Strip(name, ())
        last = rows[-1][0]
        steps = sorted(later[0] - earlier[0] for earlier, later in pairwise(rows))
        until = max(now, last + (steps[len(steps) // 2] if steps else timedelta(hours=1)))
        ends = [*(row[0] for row in rows[1:]), until]
        found: list[State] = []
        for (start, state), end in zip(rows, ends, strict=True):
            text = _state_text(state, words)
            if text is None or end <= start:
                continue
            if found and found[-1].end == start and found[-1].text == text:
                found[-1] = State(found[-1].start, end, text)
            else:
                found.append(State(start, end, text))
        return Strip(name, tuple(found))

    def day(self, day: date) -> tuple[datetime, datetime]:
        """The first instant of a local day, and of the next (UTC)."""
        zone = self.wording.zone
        return first_instant(day, zone), first_instant(day + timedelta(days=1), zone)

    def moment(self, given: Any) -> datetime:
        """The instant (UTC): a moment without a zone is the wall's, and a date is the beginning of its day."""
        if isinstance(given, datetime):
            return (given if given.tzinfo else given.replace(tzinfo=self.wording.zone)).astimezone(UTC)
        if isinstance(given, date):
            return first_instant(given, self.wording.zone)
        raise SheetError(
            f"{self.block} needs a moment, got {given!r}",
            mend="Hand it moments, such as reading.at, or dates.",
        )

    def _member(self, of: str | None, choices: Sequence[str]) -> str:
        if of in choices:
            return str(of)
        if of is None:
            raise SheetError(
                f"{self.block} of a forecast needs to know of what", mend="Write of='temperature'."
            )
        raise SheetError(f"a forecast has no {of!r} to be drawn", mend=did_you_mean(str(of), choices))


STATES = "pairs of a moment and a state, pairs of a name and such a list, or series and words={0: 'shut', 1: 'open'}"
"""What a strip of states may be handed."""


def _is_empty(given: Any) -> bool:
    """Whether nothing was handed over, or a list or forecast of nothing."""
    empty = isinstance(given, list | tuple) and not given
    return is_missing(given) or empty or (isinstance(given, Forecast) and not given.hours)


def _hours(given: Any) -> tuple[Hour, ...]:
    """The hours of a forecast, or those handed over; none for anything else."""
    if isinstance(given, Forecast):
        return given.hours
    listed = tuple(given) if isinstance(given, list | tuple) else ()
    return listed if listed and all(isinstance(one, Hour) for one in listed) else ()


def _days(given: Any) -> tuple[Day, ...]:
    listed = tuple(given) if isinstance(given, list | tuple) else ()
    return listed if listed and all(isinstance(one, Day) for one in listed) else ()


def _origin(given: Any, hours: Sequence[Hour]) -> Origin:
    """Where the facts are from; of bare hours nothing is known but their beginning."""
    return given.origin if isinstance(given, Forecast) else Origin("", "", "", None, hours[0].valid_from)


def _is_row(given: Any) -> bool:
    return isinstance(given, Sequence) and not isinstance(given, str) and len(given) in {2, 3}


def _rows(given: Any, block: str) -> Iterable[Sequence[Any]]:
    """Lists of two or three parts."""
    mend = "pairs of a moment and an amount, or of a start, an end and an amount"
    if isinstance(given, str) or not isinstance(given, Iterable):
        raise refused(block, given, f"{SERIES}, or {mend}")
    rows = [one for one in given if not is_missing(one)]
    for one in rows:
        if not _is_row(one):
            raise refused(block, one, f"{SERIES}, or {mend}")
    return rows


def _number(scales: Scales, given: Any) -> float:
    """The number, not a number for a gap."""
    value = scales.number(given)
    return nan if value is None else value


def _state_text(state: Any, words: Mapping[Any, str]) -> str | None:
    """The word for a state; None for a gap."""
    if is_missing(state):
        return None
    if isinstance(state, float) and state.is_integer():
        state = int(state)
    if state in words:
        return str(words[state])
    if isinstance(state, bool):
        return "on" if state else "off"
    return str(state)
