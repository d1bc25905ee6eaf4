"""A wall as values: where it is, its sources, its displays and what each shows when."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from enum import IntEnum
from pathlib import Path
from types import MappingProxyType
from zoneinfo import ZoneInfo

from wallbill.errors import Place as Where
from wallbill.errors import WallError
from wallbill.inks.inkset import Neutrals
from wallbill.inks.manner import Way
from wallbill.panels.model import Panel
from wallbill.places.words import did_you_mean
from wallbill.sources.spec import SourceSpec
from wallbill.units.quantity import Quantity
from wallbill.wall.clock import instant

DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Place:
    """Where the wall stands, WGS 84 degrees; ``elevation``: above the sea, None if unsaid."""

    latitude_deg: float
    longitude_deg: float
    elevation: Quantity | None = None

    def __post_init__(self) -> None:
        if not (-90 <= self.latitude_deg <= 90 and -180 <= self.longitude_deg <= 180):
            raise ValueError(f"no such place: {self.latitude_deg}, {self.longitude_deg}")


class Weekday(IntEnum):
    """Days of the week, numbered as ``date.weekday`` numbers them."""

    MON = 0
    TUE = 1
    WED = 2
    THU = 3
    FRI = 4
    SAT = 5
    SUN = 6


EVERY_DAY = frozenset(Weekday)


@dataclass(frozen=True, slots=True)
class Hours:
    """A span of the day in the wall's own time, from ``start`` up to, not at, ``end``.

    An ``end`` at or before ``start`` lies on the next day; both at midnight is the whole day.
    """

    start: time
    end: time

    def span(self, day: date, zone: tzinfo) -> tuple[datetime, datetime]:
        """Begin and end (UTC) of the span that begins on ``day``; both the same where the clocks skip all of it."""
        last = day if self.end > self.start else day + DAY
        return instant(day, self.start, zone), instant(last, self.end, zone)

    def days_at(self, moment: datetime) -> Iterator[date]:
        """The days on which spans began that hold at ``moment`` (aware, in the wall's zone): seldom more than one."""
        zone = moment.tzinfo
        if zone is None:
            raise ValueError("a moment has a time zone")
        at, today = moment.astimezone(UTC), moment.date()
        # Where midnight comes twice, tomorrow's span may hold already in the second of today's last hours.
        for day in (today, today - DAY, today + DAY):
            begin, end = self.span(day, zone)
            if begin <= at < end:
                yield day


WHOLE_DAY = Hours(time(0), time(0))
Quiet = Hours
"""The hours in which a display is not refreshed."""


@dataclass(frozen=True, slots=True)
class Dates:
    """Days of the year from ``first`` to ``last``, both included, each as month and day.

    ``years``: those of the first and of the last day; None: every year, over New Year where ``last`` is the earlier.
    29 February is simply not met in a common year: a range that begins with it begins a day later, one that ends with
    it a day earlier.
    """

    first: tuple[int, int]
    last: tuple[int, int]
    years: tuple[int, int] | None = None

    def covers(self, day: date) -> bool:
        """Whether the range holds on a day."""
        at = day.month, day.day
        if self.years is not None:
            return (self.years[0], *self.first) <= (day.year, *at) <= (self.years[1], *self.last)
        if self.first <= self.last:
            return self.first <= at <= self.last
        return at >= self.first or at <= self.last


@dataclass(frozen=True, slots=True)
class TimetableEntry:
    """A sheet for some hours of some days. ``days``, ``dates``: those on which the span begins; no dates: all."""

    hours: Hours
    days: frozenset[Weekday]
    sheet: str
    dates: tuple[Dates, ...] = ()
    where: Where = field(default=Where(), compare=False)

    def covers(self, moment: datetime) -> bool:
        """Whether the entry holds at ``moment`` (aware, in the wall's zone)."""
        return any(self.begins_on(day) for day in self.hours.days_at(moment))

    def begins_on(self, day: date) -> bool:
        """Whether a span of the entry begins on this day."""
        if day.weekday() not in self.days:
            return False
        return not self.dates or any(dates.covers(day) for dates in self.dates)


@dataclass(frozen=True, slots=True)
class Interrupt:
    """A sheet that goes before all others while ``when``, an expression over facts, is true.

    ``even_quiet``: the display looks in its quiet hours as well, and this sheet alone may be shown in them.
    """

    when: str
    sheet: str
    even_quiet: bool = False
    where: Where = field(default=Where(), compare=False)


@dataclass(frozen=True, slots=True)
class Display:
    """One installed panel.

    ``read_from``: how far away its reader stands, a length. ``turned``: 0, 90, 180 or 270 degrees clockwise.
    ``sheet``: shown when the timetable says nothing. ``every``: how often it is looked at anew.
    ``quiet``: hours without a refresh. ``pictures``: how they are scattered into dots, unless the sheet says it.
    ``neutrals``: what their greys are made of. ``battery_empty``: the voltage at which its battery is empty.
    ``where``: the file and line that named it.
    """

    name: str
    panel: Panel
    read_from: Quantity
    turned: int
    sheet: str
    every: timedelta
    quiet: Quiet | None = None
    pictures: Way = Way.FINE
    neutrals: Neutrals = Neutrals.PLAIN
    timetable: tuple[TimetableEntry, ...] = ()
    interrupts: tuple[Interrupt, ...] = ()
    battery_empty: Quantity | None = None
    where: Where = field(default=Where(), compare=False)

    @property
    def page_px(self) -> tuple[int, int]:
        """Width and height of the page as it hangs, pixels."""
        return self.panel.turned(self.turned)

    @property
    def read_from_m(self) -> float:
        """How far away its reader stands, metres."""
        return self.read_from.to("m").value

    def sheet_at(self, moment: datetime) -> str:
        """The sheet that the timetable gives at ``moment`` (aware, in the wall's zone), interrupts aside.

        Of several entries that hold, the first in the file counts.
        """
        return next((entry.sheet for entry in self.timetable if entry.covers(moment)), self.sheet)

    def is_quiet(self, moment: datetime) -> bool:
        """Whether ``moment`` (aware, in the wall's zone) lies in the quiet hours."""
        return self.quiet is not None and any(True for _ in self.quiet.days_at(moment))

    def sheets(self) -> Iterator[str]:
        """Every sheet that the display may show, each once."""
        yield from dict.fromkeys(
            [
                self.sheet,
                *(entry.sheet for entry in self.timetable),
                *(interrupt.sheet for interrupt in self.interrupts),
            ]
        )


def interrupts_at(display: Display, *, quiet: bool) -> tuple[Interrupt, ...]:
    """The interrupts that count: all, or in the quiet hours only those that may break them."""
    return tuple(interrupt for interrupt in display.interrupts if interrupt.even_quiet or not quiet)


@dataclass(frozen=True, slots=True)
class SecretRef:
    """A secret by its name only. The value is looked up when a source is fetched, and never printed."""

    name: str


@dataclass(frozen=True, slots=True)
class StoreSettings:
    """Where the server keeps what it knows. ``url``: of a PostgreSQL database, None: SQLite in the wall's folder.

    ``keep``: how long old editions, reports and pressings are kept.
    """

    url: str | SecretRef | None = None
    keep: timedelta = timedelta(days=90)


@dataclass(frozen=True, slots=True)
class MailSettings:
    """How notices are mailed. ``security``: starttls, tls or none."""

    to: tuple[str, ...]
    sender: str
    host: str
    port: int
    security: str = "starttls"
    user: str = ""
    password: SecretRef | None = None


@dataclass(frozen=True, slots=True)
class WatchSettings:
    """Who is told when something is amiss, and when it is.

    ``missed_wakes``: calls that a display may miss. ``battery_ahead``: a battery that will be empty sooner is told.
    ``webhook``: an address that is sent a JSON object by POST.
    """

    webhook: str | SecretRef | None = None
    mail: MailSettings | None = None
    missed_wakes: int = 2
    battery_ahead: timedelta = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Wall:
    """A wall folder, read and checked.

    ``language``: a CLDR locale with hyphens, such as ``en-GB``. ``units``: the unit to print for a kind of quantity,
    such as temperature -> °C. ``sources``: their options may hold `SecretRef`. ``contact``: who answers for the
    requests to weather services, "" if unsaid. ``panels``: all panels, the wall's own included. ``store``, ``watch``: what
    the server keeps, and whom it tells.
    """

    folder: Path
    name: str
    place: Place
    time_zone: ZoneInfo
    language: str
    units: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    sources: Mapping[str, SourceSpec] = field(default_factory=lambda: MappingProxyType({}))
    displays: Mapping[str, Display] = field(default_factory=lambda: MappingProxyType({}))
    panels: Mapping[str, Panel] = field(default_factory=lambda: MappingProxyType({}))
    contact: str = ""
    store: StoreSettings = StoreSettings()
    watch: WatchSettings = WatchSettings()

    def display(self, name: str) -> Display:
        """The display of that name; raises `WallError` with the nearest name if there is none."""
        found = self.displays.get(name)
        if found is None:
            raise WallError(
                f"the wall has no display {name!r}",
                where=Where("wall.toml", None, "displays"),
                mend=did_you_mean(name, self.displays, else_="" if self.displays else _NO_DISPLAYS),
            )
        return found


_NO_DISPLAYS = "Add a table [displays.NAME] to wall.toml."
