"""Large figures and days to go, as sheets call them."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from markupsafe import Markup

from wallbill.blocks.charts.readings import in_unit
from wallbill.blocks.days.figure import Figure, big_number
from wallbill.blocks.days.trend import Trend, trend
from wallbill.blocks.drawing.labels import Align
from wallbill.errors import SheetError
from wallbill.facts.agenda import Event, local_day
from wallbill.facts.series import Series
from wallbill.places.words import shown
from wallbill.sheets.asking import moment
from wallbill.sheets.bench import Bench, is_gap
from wallbill.sheets.daying_asked import look_of, none_left
from wallbill.sheets.missing import Missing
from wallbill.units.quantity import Quantity
from wallbill.units.wording import MISSING

_SPACES = " \N{NO-BREAK SPACE}\N{NARROW NO-BREAK SPACE}"
_USUAL_HOURS = 3.0
_MOST_DIGITS = 12
_NUMBER = ("label", "digits", "unit", "series", "over", "threshold", "trend", "change", "like", "align")


@dataclass(frozen=True, slots=True)
class Figures:
    """The functions of a sheet that set one figure large."""

    bench: Bench

    def big_number(self, value: Any, *, width_px: float, height_px: float, **how: Any) -> Markup:
        """A quantity, a number or a text, as large as its box allows; see `wallbill.blocks.days.figure.big_number`.

        ``digits``: after the decimal sign. ``unit``: to show it in, or to print behind a bare number; "" for none.
        ``label``: what it is. ``series``: drawn small at the foot, and what the trend is told of. ``over``: the stretch of
        the trend, ``threshold``: of the rule by difference; without, the rule by slope. ``trend``: whether an arrow is
        shown. ``change``: how the change is worded, with ``{change}`` and ``{time}`` in it; "" for not at all.
        ``like``: a text whose size the figure takes. ``align``: left, center or right.
        """
        look = look_of(self.bench, (width_px, height_px), how, block="a large figure")
        series = how.pop("series", None)
        mend = "one series, such as facts.NAME, or facts.NAME[0] of several"
        if is_gap(series, Series, block="the trend of a large figure", mend=mend):
            series = None
        digits, unit = _digits(how.pop("digits", 0)), how.pop("unit", None)
        unit = None if unit is None or isinstance(unit, Missing) else str(unit)
        text, sign = self._told(value, digits=digits, unit=unit)
        drawn = series and in_unit(series, self._unit(series.unit, unit))
        over = how.pop("over", timedelta(hours=_USUAL_HOURS))
        threshold = how.pop("threshold", None)
        moves = _trend(drawn, over, threshold) if how.pop("trend", True) else None
        figure = Figure(
            text=text,
            unit=sign,
            label=str(how.pop("label", "")),
            below=self._below(moves, drawn, digits, how.pop("change", "{change} · {time}")),
            heading=moves.heading if moves else None,
            spark=drawn,
            like=str(how.pop("like", "" if text != MISSING else _usual(digits))),
            align=self._align(how.pop("align", None)),
        )
        none_left(how, "big_number", takes=_NUMBER)
        return big_number(figure, look=look)

    def countdown(self, until: Any, *, width_px: float, height_px: float, **how: Any) -> Markup:
        """How many days there are to an event, a date or a moment, as large as the box allows.

        ``label``: what it is, an event's own summary if unsaid. Today and tomorrow are words.
        """
        look = look_of(self.bench, (width_px, height_px), how, block="a count of days")
        count = self.days_until(until)
        label = how.pop("label", until.summary if isinstance(until, Event) else "")
        text, unit = (str(count), "") if isinstance(count, Missing) else self._days(count)
        day = (
            None
            if isinstance(count, Missing)
            else local_day(self.bench.now, self.bench.wording.zone) + timedelta(days=count)
        )
        figure = Figure(
            text=text,
            unit=unit,
            label=str(label),
            below=self.bench.wording.date(day, "EEEEdMMMM") if how.pop("date", True) and day else "",
            like=str(how.pop("like", "")),
            align=self._align(how.pop("align", None)),
        )
        none_left(how, "countdown", takes=("label", "date", "like", "align"))
        return big_number(figure, look=look)

    def days_until(self, until: Any) -> "int | Missing":
        """Days of the wall's calendar from today to an event, a date or a moment; 0 while an event is on.

        Below 0 for what is over. Missing stays missing.
        """
        zone = self.bench.wording.zone
        today = local_day(self.bench.now, zone)
        if isinstance(until, Missing):
            return until
        if isinstance(until, str):
            until = moment(until, zone, option="until")
        if isinstance(until, Event):
            away = (local_day(until.starts, zone) - today).days
            return 0 if away < 0 and not until.is_over(self.bench.now, zone) else away
        if isinstance(until, date | datetime):
            return (local_day(until, zone) - today).days
        raise SheetError(
            f"days are counted to an event, a date or a moment, not to {shown(until)}",
            mend="Hand it an event of facts.NAME, or its starts.",
        )

    def in_days(self, until: Any) -> str:
        """The same in words: today, tomorrow, in 12 days, 3 days ago."""
        count = self.days_until(until)
        return str(count) if isinstance(count, Missing) else self.bench.wording.in_days(count)

    def _align(self, given: Any) -> Align:
        """Where the figure stands in its box: where lines of the language begin, if the sheet does not say it."""
        if given is None or isinstance(given, Missing):
            return Align.RIGHT if self.bench.wording.direction == "rtl" else Align.LEFT
        if given not in list(Align):
            raise SheetError(f"align is {' or '.join(Align)}, got {shown(given)}", mend='Write align="left".')
        return Align(given)

    def _days(self, count: int) -> tuple[str, str]:
        """The figure and what stands behind it: a number and its word for days, or words alone."""
        wording = self.bench.wording
        text = wording.in_days(count)
        number = wording.number(abs(count), 0)
        if count > 1:
            text = wording.quantity(Quantity(float(count), "d"), 0, unit="d", width="long")
        if number not in text or abs(count) <= 1:
            return text, ""
        rest = text.replace(number, " ", 1).strip(_SPACES)
        return number, rest

    def _told(self, value: Any, *, digits: int, unit: str | None) -> tuple[str, str]:
        """The figure and its unit, in the wall's language; a dash for a gap."""
        wording = self.bench.wording
        if value is None or isinstance(value, Missing):
            return (MISSING if value is None else str(value)), ""
        if isinstance(value, Quantity):
            asked = unit or None
            bare = wording.quantity(value, digits, unit=asked, width="bare")
            whole = wording.quantity(value, digits, unit=asked)
            return bare, "" if unit == "" else whole.replace(bare, "", 1).strip(_SPACES)
        if isinstance(value, int | float) and not isinstance(value, bool):
            return wording.number(value, digits), unit or ""
        if isinstance(value, datetime):
            return wording.time(value), unit or ""
        if isinstance(value, date):
            return wording.date(value, "MMMd"), unit or ""
        if isinstance(value, timedelta):
            return wording.duration(value), unit or ""
        if isinstance(value, str):
            return value, unit or ""
        raise SheetError(
            f"a large figure is a quantity, a number, a time or a text, not {shown(value)}",
            mend="Hand it a part of the fact, such as facts.NAME.latest_quantity.",
        )

    def _unit(self, own: str, asked: str | None) -> str:
        """The unit that a series is shown in."""
        wording = self.bench.wording
        kind = Quantity(0.0, own).kind
        return asked or wording.units.get(kind, own)

    def _below(self, moves: Trend | None, drawn: Series | None, digits: int, pattern: str) -> str:
        if moves is None or drawn is None or not pattern:
            return ""
        wording = self.bench.wording
        change = wording.quantity(Quantity(moves.change, drawn.unit), digits, unit=drawn.unit, sign=True)
        return pattern.replace("{change}", change).replace("{time}", wording.duration(moves.over))


def _trend(series: Series | None, over: Any, threshold: Any) -> Trend | None:
    if not isinstance(over, timedelta) or over <= timedelta(0):
        raise SheetError(
            f"a trend is told over a length of time, got {shown(over)}", mend="Write over=hours(3)."
        )
    if threshold is not None and (not isinstance(threshold, int | float) or threshold < 0):
        raise SheetError(
            f"a threshold is a number in the figure's unit, got {shown(threshold)}",
            mend="Write threshold=0.5.",
        )
    return None if series is None else trend(series, over=over, threshold=threshold)


def _digits(given: Any) -> int:
    if isinstance(given, bool) or not isinstance(given, int) or not 0 <= given <= _MOST_DIGITS:
        raise SheetError(
            f"digits is a whole number from 0 to {_MOST_DIGITS}, got {shown(given)}", mend="Write digits=1."
        )
    return given


def _usual(digits: int) -> str:
    """A figure of the usual length, for the size of a dash."""
    return "88" if digits < 1 else f"88.{'8' * digits}"
