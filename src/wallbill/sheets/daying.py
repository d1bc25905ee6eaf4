"""Blocks of time as sheets call them: light, months, events on a strip, days to go, one large figure."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Any

from markupsafe import Markup

from wallbill.blocks.days.agenda_strip import AgendaStrip, agenda_strip
from wallbill.blocks.days.calendar import month_calendar
from wallbill.blocks.days.calendar_plan import MonthPage
from wallbill.blocks.days.heavens import MOST_DAYS, heavens
from wallbill.blocks.days.month import Weeks
from wallbill.blocks.days.strip import DayStrip, Mark, day_strip
from wallbill.errors import SheetError
from wallbill.facts.agenda import Agenda, Event, local_day, midnight
from wallbill.facts.forecast import Forecast
from wallbill.places.words import shown
from wallbill.sheets.asking import moment
from wallbill.sheets.bench import Bench, is_gap
from wallbill.sheets.daying_asked import look_of, none_left
from wallbill.sheets.figuring import Figures
from wallbill.sheets.missing import Missing
from wallbill.sources.moon import elongation_deg


@dataclass(frozen=True, slots=True)
class DayBlocks:
    """The functions of a sheet that draw time."""

    bench: Bench

    @property
    def functions(self) -> Mapping[str, Callable[..., Any]]:
        """By the names that sheets call them by."""
        figures = Figures(self.bench)
        return {
            "day_strip": self.day_strip,
            "month_calendar": self.month_calendar,
            "agenda_strip": self.agenda_strip,
            "week_strip": self.week_strip,
            "big_number": figures.big_number,
            "countdown": figures.countdown,
            "days_until": figures.days_until,
            "in_days": figures.in_days,
        }

    def day_strip(self, *, width_px: float, height_px: float, **how: Any) -> Markup:
        """Light and dark of a local day; see `wallbill.blocks.days.strip.day_strip`.

        ``day``: today if unsaid; or ``start`` and ``end``. ``moon``: whether the moon's row is shown. ``forecast``:
        weather along it. ``marks``: events, or pairs of a moment and a text.
        """
        look = look_of(self.bench, (width_px, height_px), how, block="a strip of light")
        start, end = self._stretch(how)
        forecast = how.pop("forecast", None)
        mend = "facts.NAME of a source of kind forecast"
        known = None if is_gap(forecast, Forecast, block="a strip's weather", mend=mend) else forecast
        phase = elongation_deg(start + (end - start) / 2) / 360 if how.pop("moon", True) else None
        strip = DayStrip(
            heavens=heavens(start, end, self.bench.spot),
            moon_phase=phase,
            south=self.bench.spot.latitude_deg < 0,
            forecast=known,
            marks=tuple(_marks(how.pop("marks", ()))),
        )
        none_left(how, "day_strip", takes=("day", "start", "end", "forecast", "moon", "marks"))
        return day_strip(strip, look=look)

    def _stretch(self, how: dict[str, Any]) -> tuple[datetime, datetime]:
        """The instants from ``start`` to ``end``, or of the local day ``day``. Raises `SheetError` for none."""
        zone = self.bench.wording.zone
        alone = {"start", "end"} & how.keys()
        start, end, day = (how.pop(name, None) for name in ("start", "end", "day"))
        if len(alone) == 1 and (start is not None or end is not None):
            lacking = "end" if "start" in alone else "start"
            raise SheetError(
                f"a strip goes from a start to an end, and {lacking} is not said",
                mend="Write start=now, end=now + hours(24), or day=now for a whole day.",
            )
        if start is None or end is None or isinstance(start, Missing) or isinstance(end, Missing):
            on = local_day(self.bench.now, zone) if day is None or isinstance(day, Missing) else day
            on = local_day(on, zone)
            return midnight(on, zone), midnight(on + timedelta(days=1), zone)
        first, last = (one if isinstance(one, datetime) else midnight(one, zone) for one in (start, end))
        if not timedelta(0) < last - first <= timedelta(days=MOST_DAYS):
            raise SheetError(
                f"a strip goes from an earlier to a later moment, at most {MOST_DAYS} days, got {first} to {last}",
                mend="Write start=now, end=now + hours(24).",
            )
        return first, last

    def month_calendar(self, agendas: Any = (), *, width_px: float, height_px: float, **how: Any) -> Markup:
        """A month; see `wallbill.blocks.days.calendar.month_calendar`.

        ``day``: any day of it, today if unsaid. ``holidays``: agendas of public holidays. ``weeks``: "iso", "local" or
        "none". ``neighbours``: show the days of the months beside. ``heading``: print the month's name.
        """
        look = look_of(self.bench, (width_px, height_px), how, block="a month")
        day = how.pop("day", None)
        day = self.bench.now if day is None or isinstance(day, Missing) else day
        page = MonthPage(
            day=local_day(day, self.bench.wording.zone),
            agendas=_agendas(agendas),
            holidays=_agendas(how.pop("holidays", ())),
            weeks=_word(how.pop("weeks", Weeks.NONE), Weeks, "weeks"),
            neighbours=bool(how.pop("neighbours", False)),
            heading=bool(how.pop("heading", True)),
        )
        none_left(how, "month_calendar", takes=("day", "holidays", "weeks", "neighbours", "heading"))
        return month_calendar(page, look=look)

    def agenda_strip(
        self,
        agendas: Any,
        start: Any = None,
        end: Any = None,
        *,
        width_px: float,
        height_px: float,
        **how: Any,
    ) -> Markup:
        """Events from ``start`` to ``end``, today if unsaid; see `wallbill.blocks.days.agenda_strip.agenda_strip`.

        ``lanes``: "packed" or "calendar". ``holidays``: agendas of public holidays.
        """
        look = look_of(self.bench, (width_px, height_px), how, block="a strip of events")
        zone, asked = self.bench.wording.zone, {"start": start, "end": end, "day": how.pop("day", None)}
        said = {name: value for name, value in asked.items() if value is not None}
        first, last = self._stretch(
            {
                name: moment(one, zone, option=name) if isinstance(one, str) else one
                for name, one in said.items()
            }
        )
        strip = AgendaStrip(
            agendas=_agendas(agendas),
            start=first,
            end=last,
            holidays=_agendas(how.pop("holidays", ())),
            by_calendar=_word(how.pop("lanes", Lanes.PACKED), Lanes, "lanes") is Lanes.CALENDAR,
        )
        none_left(how, "agenda_strip", takes=("start", "end", "day", "lanes", "holidays"))
        return agenda_strip(strip, look=look)

    def week_strip(self, agendas: Any, *, width_px: float, height_px: float, **how: Any) -> Markup:
        """The week of ``day`` (today's if unsaid) as an `agenda_strip`, from the day that weeks begin with here."""
        zone = self.bench.wording.zone
        day = how.pop("day", None)
        for name in ("start", "end"):
            if name in how:
                raise SheetError(
                    f"week_strip takes no {name!r}: it shows the week of its day",
                    mend="Write day=now + days(7), or draw an agenda_strip.",
                )
        on = local_day(self.bench.now if day is None or isinstance(day, Missing) else day, zone)
        first = on - timedelta(days=(on.weekday() - self.bench.wording.first_weekday) % 7)
        return self.agenda_strip(
            agendas, first, first + timedelta(days=7), width_px=width_px, height_px=height_px, **how
        )


class Lanes(StrEnum):
    """How events come into lanes: all packed together, or each calendar for itself."""

    PACKED = "packed"
    CALENDAR = "calendar"


def _agendas(given: Any) -> tuple[Agenda, ...]:
    """The agendas in what a sheet handed over, gaps left out."""
    listed = given if isinstance(given, Iterable) and not isinstance(given, Missing) else (given,)
    mend = "facts.NAME of a source of kind agenda or holidays, or several in brackets"
    return tuple(one for one in listed if not is_gap(one, Agenda, block="a calendar", mend=mend))


def _marks(given: Any) -> Iterable[Mark]:
    listed = () if given is None or isinstance(given, Missing) else given
    for one in listed if isinstance(listed, Iterable) and not isinstance(listed, str) else (listed,):
        if isinstance(one, Mark):
            yield one
        elif isinstance(one, Event) and isinstance(one.starts, datetime):
            yield Mark(one.starts, one.summary)
        elif isinstance(one, list | tuple) and len(one) == 2 and isinstance(one[0], datetime):
            yield Mark(one[0], str(one[1]))
        elif not (isinstance(one, Event | Missing) or one is None):
            raise SheetError(
                f"a mark is an event with a time, or a moment and a text, got {shown(one)}",
                mend='Write marks=[[moment, "high water"]], or hand it events of an agenda.',
            )


def _word(given: Any, kind: type[StrEnum], name: str) -> Any:
    if given not in list(kind):
        raise SheetError(
            f"{name} is {' or '.join(kind)}, got {shown(given)}", mend=f'Write {name}="{next(iter(kind))}".'
        )
    return kind(given)
