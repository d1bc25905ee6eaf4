"""``wall.toml`` as pydantic models: which keys there are, and what may stand in each."""

import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from datetime import time, timedelta
from typing import Annotated, Any, Literal
from zoneinfo import ZoneInfo

from pydantic import (
    AfterValidator,
    ConfigDict,
    Field,
    PlainValidator,
    ValidationInfo,
    model_validator,
)

from wallbill.inks.inkset import Neutrals
from wallbill.inks.manner import Way
from wallbill.panels.model import Panel
from wallbill.places.faults import shown, wrong
from wallbill.places.words import did_you_mean
from wallbill.units.quantity import UNITS, Quantity
from wallbill.wall import values
from wallbill.wall.model import EVERY_DAY, WHOLE_DAY, Dates, Hours, Weekday
from wallbill.wall.table import Table, text
from wallbill.wall.tables_server import StoreTable, WatchTable

DEFAULT_EVERY = timedelta(minutes=30)
_WHEN = re.compile(r"(?:facts\.)?([A-Za-z_]\w*)(?:\.\w+)*")


@dataclass(frozen=True, slots=True)
class Known:
    """What a wall may name, from outside its text.

    ``zone``: a time zone by its name, or None. ``language``: a locale's name as we write it, or None.
    ``zones``: all names, asked for only to find the nearest. ``sheets``: the wall's sheets.
    ``sources``: the names of the wall's own sources.
    """

    panels: Mapping[str, Panel]
    zone: Callable[[str], ZoneInfo | None]
    zones: Callable[[], Collection[str]]
    language: Callable[[str], str | None]
    sheets: Collection[str]
    sources: Collection[str] = ()


def _known(info: ValidationInfo) -> Known:
    known = info.context
    if not isinstance(known, Known):
        raise TypeError("a wall is read with Known as its context")
    return known


def _zone(value: object, info: ValidationInfo) -> ZoneInfo:
    name = text(value, "Europe/London")
    if (found := _known(info).zone(name)) is None:
        mend = "Write a name of the IANA database, such as 'Europe/London'."
        if re.match(r"(?i)(gmt|utc)\s*[+-]", name):
            mend = "Write the place's own zone, such as 'Europe/London', so that clock changes are kept."
        else:
            mend = did_you_mean(name, _known(info).zones(), else_=mend)
        raise wrong(f"there is no time zone {name!r}", mend)
    return found


def _language(value: object, info: ValidationInfo) -> str:
    name = text(value, "en-GB")
    known = _known(info).language
    if (found := known(name)) is None:
        alone = known(re.split(r"[-_]", name)[0])
        mend = f"Write {alone!r}, or {alone!r} with another territory." if alone else _SUCH_LANGUAGES
        raise wrong(f"there is no language {name!r}", mend)
    return found


_SUCH_LANGUAGES = "Write a CLDR locale, such as 'en-GB', 'de' or 'pt-BR'."


def _panel(value: object, info: ValidationInfo) -> Panel:
    name = text(value, "5.8in-648x480-black-white-red")
    panels = _known(info).panels
    if (found := panels.get(name)) is None:
        raise wrong(
            f"there is no panel {name!r}",
            did_you_mean(name, panels, else_="`wallbill panels` lists every panel."),
        )
    return found


def _sheet(value: object, info: ValidationInfo) -> str:
    name = text(value, "hall")
    sheets = _known(info).sheets
    if name not in sheets:
        mend = did_you_mean(
            name.removesuffix(".html"),
            sheets,
            else_=f"Make the file sheets/{name.removesuffix('.html')}.html.",
        )
        raise wrong(f"there is no sheet {name!r} in sheets/", mend)
    return name


def _when(value: object, info: ValidationInfo) -> str:
    condition = text(value, "alerts.active").strip()
    found = _WHEN.fullmatch(condition)
    sources = _known(info).sources
    if found and found[1] not in sources:
        raise wrong(
            f"the wall has no source {found[1]!r}",
            did_you_mean(
                found[1], sources, else_="Add a table [sources.NAME], and write when = 'NAME.part'."
            ),
        )
    return condition


def _every(value: object, info: ValidationInfo) -> timedelta:
    found = values.duration(value)
    panel = info.data.get("panel")
    if isinstance(panel, Panel) and found.total_seconds() < panel.refresh.least_interval_s:
        least_s = panel.refresh.least_interval_s
        raise wrong(
            f"{shown(value)} is sooner than the panel may be refreshed again",
            f"Write {_minutes(least_s)!r} or longer, the least interval of {panel.name}.",
        )
    return found


def _quiet(value: object) -> Hours:
    found = values.hours(value)
    if found.start == found.end:
        raise wrong(
            "a display that is quiet the whole day would never show anything",
            "Leave some of the day out, such as '23:00-06:00', or take the line away.",
        )
    return found


def _minutes(seconds_s: int) -> str:
    return f"{seconds_s} s" if seconds_s % 60 else f"{seconds_s // 60} min"


def _units(chosen: dict[str, str]) -> dict[str, str]:
    kinds = sorted({scale.kind for scale in UNITS.values()})
    for kind, unit in chosen.items():
        if kind not in kinds:
            raise wrong(f"{kind!r} is no kind of quantity", did_you_mean(kind, kinds))
        signs = [sign for sign, scale in UNITS.items() if scale.kind == kind]
        if unit not in signs:
            raise wrong(f"{unit!r} is no unit of {kind}", f"Use one of {', '.join(signs)}.")
    return chosen


def _named(pattern: str, mend: str) -> AfterValidator:
    def check(name: str) -> str:
        if not re.fullmatch(pattern, name):
            raise wrong(f"{name!r} cannot be a name", mend)
        return name

    return AfterValidator(check)


SourceName = Annotated[
    str,
    _named(r"[a-z][a-z0-9_]{0,39}", "Use small letters, digits and _ only: sheets call it facts.NAME."),
]
DisplayName = Annotated[
    str,
    _named(
        r"[a-z0-9][a-z0-9-]{0,39}", "Use small letters, digits and hyphens only: it is part of an address."
    ),
]
_Filled = Annotated[str, PlainValidator(lambda value: text(value, "Fennel Quay"))]
_Sheet = Annotated[str, PlainValidator(_sheet)]


class PlaceTable(Table):
    """``place``: degrees, north and east positive."""

    latitude: Annotated[float, Field(ge=-90, le=90, allow_inf_nan=False)]
    longitude: Annotated[float, Field(ge=-180, le=180, allow_inf_nan=False)]
    elevation: Annotated[Quantity | None, PlainValidator(values.length)] = None


class WallTable(Table):
    """``[wall]``."""

    name: _Filled
    place: PlaceTable
    time_zone: Annotated[ZoneInfo, PlainValidator(_zone)]
    language: Annotated[str, PlainValidator(_language)] = "en"
    units: Annotated[dict[str, str], AfterValidator(_units)] = Field(default_factory=dict)
    contact: str = ""


class SourceTable(Table):
    """``[sources.NAME]``: the keys that every kind has. The further keys are checked against the kind."""

    model_config = ConfigDict(strict=True, extra="allow", frozen=True)

    kind: str
    every: Annotated[timedelta | None, PlainValidator(values.duration)] = None
    good_for: Annotated[timedelta | None, PlainValidator(values.duration)] = None


class EntryTable(Table):
    """One entry of a ``timetable``: some hours, of some days of the week, of some days of the year."""

    start: Annotated[time | None, PlainValidator(values.clock)] = Field(default=None, alias="from")
    end: Annotated[time | None, PlainValidator(values.clock)] = Field(default=None, alias="to")
    days: Annotated[frozenset[Weekday], PlainValidator(values.days)] = EVERY_DAY
    dates: Annotated[tuple[Dates, ...], PlainValidator(values.dates)] = ()
    sheet: _Sheet

    @model_validator(mode="after")
    def _says_when(self) -> "EntryTable":
        if (self.start is None) != (self.end is None):
            given, left_out = ("to", "from") if self.start is None else ("from", "to")
            raise wrong(
                f"{given!r} is there, but {left_out!r} is missing", f"Add {left_out} = …, or leave both out."
            )
        if self.start is None and not self.model_fields_set & {"days", "dates"}:
            raise wrong(
                "the entry does not say when it holds",
                "Add from = '06:30' and to = '09:00', or days = …, or dates = … .",
            )
        _ = self.hours
        return self

    @property
    def hours(self) -> Hours:
        """The hours of the day; all of it where none are said."""
        if self.start is None or self.end is None:
            return WHOLE_DAY
        return values.hours_between(self.start, self.end)


class InterruptTable(Table):
    """One entry of ``interrupts``."""

    when: Annotated[str, PlainValidator(_when)]
    sheet: _Sheet
    even_quiet: bool = False


class DisplayTable(Table):
    """``[displays.NAME]``. ``every`` is checked against the panel, which stands above it for that reason."""

    panel: Annotated[Any, PlainValidator(_panel)]
    read_from: Annotated[Quantity, PlainValidator(values.distance)]
    turned: Literal[0, 90, 180, 270] = 0
    sheet: _Sheet
    every: Annotated[timedelta, PlainValidator(_every)] = DEFAULT_EVERY
    quiet: Annotated[Hours | None, PlainValidator(_quiet)] = None
    pictures: Way = Way.FINE
    neutrals: Neutrals = Neutrals.PLAIN
    timetable: list[EntryTable] = Field(default_factory=list)
    interrupts: list[InterruptTable] = Field(default_factory=list)
    battery_empty: Annotated[Quantity | None, PlainValidator(values.cell_voltage)] = None


class WallFile(Table):
    """The whole of ``wall.toml``."""

    wall: WallTable
    sources: dict[SourceName, SourceTable] = Field(default_factory=dict)
    displays: dict[DisplayName, DisplayTable] = Field(default_factory=dict)
    store: StoreTable = Field(default_factory=StoreTable)
    watch: WatchTable = Field(default_factory=WatchTable)
