"""Values in the words and figures of the wall's language: the filters that sheets use.

Source of all names, patterns and units: the Unicode CLDR, through Babel. Every method given None gives an en dash,
so that a page with a gap in its facts still prints.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from math import isfinite
from types import MappingProxyType
from typing import Literal
from zoneinfo import ZoneInfo

from babel.dates import format_interval, format_timedelta
from babel.lists import format_list

from wallbill.errors import WallbillError
from wallbill.units.figures import LENGTHS, NBSP, NNBSP, number_text, percent_text, rounded, unit_text
from wallbill.units.locales import Tongue, has_12_hours, tongue
from wallbill.units.patterns import WIDTHS, asks_time, date_pattern
from wallbill.units.quantity import UNITS, Quantity
from wallbill.units.words import RELATIVE_DAYS, winds

MISSING = "–"
"""What stands for a value that is not there: an en dash."""

Day = date
"""A date or an instant, under a name that no method hides."""

Clock = time
"""A time of day, likewise."""

_MINUS = "\N{MINUS SIGN}"
_DASH = "–"
_WIDE_DASH = f"{NBSP}–{NBSP}"

_NAME_WIDTHS = MappingProxyType({"long": "wide", "short": "abbreviated", "narrow": "narrow"})

ListStyle = Literal["standard", "unit", "unit-short", "unit-narrow"]

_LISTS: Mapping[str, ListStyle] = MappingProxyType(
    {"long": "unit", "short": "unit-short", "narrow": "unit-narrow"}
)

_NO_LARGER_UNIT = 1e9  # of days, before weeks or years are told instead

_STEPS = (("d", 86400), ("h", 3600), ("min", 60), ("s", 1))


@dataclass(frozen=True, slots=True)
class Wording:
    """The wall's language, zone and choice of units, and what is printed with them.

    ``language``: a BCP 47 tag such as ``en-GB``. ``units``: kind of quantity to the sign that is to be used for it,
    such as ``{"temperature": "°F"}``; other kinds stay in the unit that they come in.
    Raises `WallbillError` for a language, kind or unit that is not known.
    """

    language: str
    zone: ZoneInfo
    units: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    _tongue: Tongue = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_tongue", tongue(self.language))
        object.__setattr__(self, "units", MappingProxyType(dict(self.units)))
        kinds = {scale.kind for scale in UNITS.values()}
        for kind, sign in self.units.items():
            if kind not in kinds:
                raise WallbillError(
                    f"unknown kind of unit {kind!r}", mend=f"Use one of {', '.join(sorted(kinds))}."
                )
            if sign not in UNITS or UNITS[sign].kind != kind:
                fitting = ", ".join(unit for unit, scale in UNITS.items() if scale.kind == kind)
                raise WallbillError(f"{sign!r} is no unit of {kind}", mend=f"Use one of {fitting}.")

    @property
    def direction(self) -> str:
        """``ltr`` or ``rtl``: the way the language runs, for ``<html dir>``."""
        return str(self._tongue.locale.text_direction)

    @property
    def first_weekday(self) -> int:
        """The day that a week begins with: 0 Monday to 6 Sunday."""
        return int(self._tongue.home.first_week_day)

    @property
    def week_min_days(self) -> int:
        """How many days of a week must lie in a year for it to be the year's first: 4 by ISO 8601, 1 in many places."""
        return int(self._tongue.home.min_week_days)

    @property
    def hours_12(self) -> bool:
        """Whether the clock counts to twelve, as the language or its tag says."""
        return self._tongue.hours_12

    @property
    def weekend(self) -> tuple[int, int]:
        """First and last day of the weekend: 0 Monday to 6 Sunday."""
        return int(self._tongue.home.weekend_start), int(self._tongue.home.weekend_end)

    def number(self, value: float | Decimal | None, digits: int | None = None, *, sign: bool = False) -> str:
        """A number with its separators; ``digits`` after the decimal sign, None: as many as it has, three at most.

        Halves are rounded away from nought. ``sign``: a plus sign stands before what is above nought. Nought has
        no sign, however it came about.
        """
        near = rounded(value, digits)
        return MISSING if near is None else _plus(near, sign=sign) + number_text(self._tongue, near, digits)

    def quantity(
        self, value: Quantity | None, digits: int | None = 0, *,
        unit: str | None = None, sign: bool = False, width: str = "short",
    ) -> str:  # fmt: skip
        """A quantity in the wall's unit for its kind, or in ``unit``, with ``digits`` after the decimal sign.

        ``width``: ``short`` for "11 °C" and "18 km/h", ``long`` for "11 degrees Celsius", ``narrow`` for "11°",
        ``bare`` for the figure alone. No line breaks inside it.
        """
        if value is None:
            return MISSING
        if not isinstance(value, Quantity):
            raise WallbillError(
                f"{value!r} has no unit",
                mend="Use the filter number, or give a quantity such as temperature.",
            )
        shown = value.to(unit or self.units.get(value.kind, value.unit))
        near = rounded(shown.value, digits)
        if near is None:
            return MISSING
        if width == "bare":
            return self.number(near, digits, sign=sign)
        if shown.unit in {"%", "1"}:
            return _plus(near, sign=sign) + self.percent(shown, digits)
        return _plus(near, sign=sign) + unit_text(self._tongue, near, shown.unit, digits=digits, width=width)

    def percent(self, value: float | Decimal | Quantity | None, digits: int | None = 0) -> str:
        """A share, 1 being all, as a percentage; a quantity of the kind share may be given as well."""
        share = (
            value.to("%").value
            if isinstance(value, Quantity)
            else None
            if value is None
            else float(value) * 100
        )
        near = rounded(share, digits)
        return MISSING if near is None else percent_text(self._tongue, near, digits)

    def date(self, value: Day | None, pattern: str = "medium") -> str:
        """A date, or the local date of an instant, as CLDR shows it.

        ``pattern``: ``full``, ``long``, ``medium``, ``short``; a skeleton such as ``EEEEdMMMM``, which the language
        puts in its own order (``j``: the hour by its own clock); or a pattern such as ``d. MMM``.
        A date has no time of day: a pattern that asks for one prints a dash, as an all-day event has none.
        """
        if value is None:
            return MISSING
        local = self._local(value) if isinstance(value, datetime) else value
        wanted = pattern.replace("j", "h" if self._tongue.hours_12 else "H") if pattern.isalpha() else pattern
        shape = date_pattern(wanted, self._tongue.locale)
        if not isinstance(value, datetime) and pattern not in WIDTHS and asks_time(pattern):
            return MISSING
        try:
            text = shape.apply(local, self._tongue.locale)
        except (AttributeError, KeyError, ValueError) as fault:
            raise WallbillError(
                f"{value!r} cannot be shown as {pattern!r}",
                mend="Use CLDR letters, and give an instant for times of day.",
            ) from fault
        return self._tongue.printed(text)

    def time(self, value: datetime | Day | Clock | None, width: str = "short") -> str:
        """The time of day of an instant, by the language's own clock of 12 or 24 hours. ``width``: as for `date`.

        A date prints a dash: it has no time of day.
        """
        if value is None or (isinstance(value, date) and not isinstance(value, datetime)):
            return MISSING
        local = self._local(value) if isinstance(value, datetime) else datetime.combine(date.min, value)
        text = (
            self._clock(local)
            if width == "short"
            else self._tongue.locale.time_formats[width].apply(local, self._tongue.locale)
        )
        return self._tongue.printed(text)

    def weekday(self, value: Day | None, width: str = "long") -> str:
        """The name of the day; ``width``: ``long``, ``short`` or ``narrow`` (one letter), as it stands alone."""
        if value is None:
            return MISSING
        names = self._tongue.locale.days["stand-alone"][_known(width, _NAME_WIDTHS)]
        return str(names[self._day(value).weekday()])

    def month(self, value: Day | None, width: str = "long") -> str:
        """The name of the month, as it stands alone; ``width`` as for `weekday`."""
        if value is None:
            return MISSING
        names = self._tongue.locale.months["stand-alone"][_known(width, _NAME_WIDTHS)]
        return str(names[self._day(value).month])

    def day_name(self, value: Day | None, today: Day, *, width: str = "long") -> str:
        """Yesterday, today or tomorrow in the language's words; else the weekday, and the date from a week off.

        ``today`` may be an instant; both are then told in the wall's zone.
        """
        if value is None:
            return MISSING
        away = (self._day(value) - self._day(today)).days
        words = RELATIVE_DAYS.get(self._tongue.locale.language)
        if words is not None and -1 <= away <= 1:
            return words[away + 1]
        return self.weekday(value, width) if 0 <= away < 7 else self.date(self._day(value), "MMMEd")

    def in_days(self, count: int | None) -> str:
        """So many days from today: "today", "tomorrow", "in 12 days", "3 days ago", in the language's words."""
        if count is None:
            return MISSING
        words = RELATIVE_DAYS.get(self._tongue.locale.language)
        if words is not None and -1 <= count <= 1:
            return words[count + 1]
        text = format_timedelta(
            timedelta(days=count),
            granularity="day",
            threshold=_NO_LARGER_UNIT,
            add_direction=True,
            locale=self._tongue.locale,
        )
        return self._tongue.printed(text)

    def span(self, start: Day | None, end: Day | None) -> str:
        """From one instant to another, or from one date up to, not with, another, with an en dash.

        Instants on one local day give their times; on two, weekday and time of each. Dates give the inclusive days.
        """
        if start is None or end is None:
            known = start or end
            return MISSING if known is None else self._single(known)
        if isinstance(start, datetime) and isinstance(end, datetime):
            return self._between_times(self._local(start), self._local(end))
        first = self._day(start)
        last = max(first, self._day(end) - timedelta(days=1))
        if first == last:
            return self.date(first, "MMMd")
        return self._tongue.printed(format_interval(first, last, "MMMd", locale=self._tongue.locale))

    def duration(self, value: timedelta | Quantity | None, width: str = "sign") -> str:
        """A length of time in its two largest units: "11 h 42 min", "2 d 4 h"; below a minute in seconds.

        ``width``: ``sign`` for the international signs (languages of Latin script; others as ``narrow``), or CLDR's
        ``long``, ``short`` and ``narrow``.
        """
        if value is None:
            return MISSING
        seconds = value.to("s").value if isinstance(value, Quantity) else value.total_seconds()
        parts = _parts(abs(seconds))
        minus = _MINUS if seconds < 0 and any(count for count, _ in parts) else ""
        if width == "sign" and self._tongue.script == "Latn":
            return minus + NBSP.join(f"{self.number(count)}{NBSP}{sign}" for count, sign in parts)
        size = "narrow" if width == "sign" else width
        words = [unit_text(self._tongue, Decimal(n), sign, digits=0, width=size) for n, sign in parts]
        text = self._joined(words, _LISTS[LENGTHS[size]])
        return minus + text.replace(" ", NBSP)

    def compass(self, value: float | Quantity | None, points: int = 16) -> str:
        """The point of the compass for degrees clockwise from north; ``points``: 16, 8 or 4.

        Degrees where the language's letters are not known.
        """
        if value is None:
            return MISSING
        degrees = value.value if isinstance(value, Quantity) else value
        if not isfinite(degrees):
            return MISSING
        if points not in {4, 8, 16}:
            raise WallbillError(f"no compass has {points} points here", mend="Use 4, 8 or 16.")
        letters = winds(self._tongue.locale.language)
        if letters is None:
            return f"{self.number(round(degrees) % 360, 0)}°"
        return letters[round(degrees % 360 / (360 / points)) % points * (16 // points)]

    def list_of(self, words: Iterable[object] | None) -> str:
        """Words as a list of the language: "Orla, Tam and Bryn"."""
        if words is None:
            return MISSING
        texts = [str(word) for word in words]
        return self._joined(texts, "standard") if texts else MISSING

    def plural(self, count: float | None, **forms: str) -> str:
        """The form for a count by the language's rules: ``plural(n, one="boat", other="boats")``.

        Forms: zero, one, two, few, many, other; ``other`` stands in for those not given.
        """
        if count is None:
            return MISSING
        form = str(self._tongue.locale.plural_form(count))
        if form not in forms and "other" not in forms:
            raise WallbillError(f"no form {form!r} is given", mend='Give at least other="…".')
        return forms.get(form, forms.get("other", ""))

    def _joined(self, words: list[str], style: ListStyle) -> str:
        """Words as a list of the language. Babel repeats a word in a style that has no pattern for pairs: passed over."""
        known = self._tongue.locale.list_patterns
        choices: tuple[ListStyle, ...] = (style, "unit-short", "unit", "standard")
        sound = next((choice for choice in choices if "2" in known.get(choice, ())), None)
        return (
            ", ".join(words) if sound is None else format_list(words, style=sound, locale=self._tongue.locale)
        )

    def _single(self, value: Day) -> str:
        return self.time(value) if isinstance(value, datetime) else self.date(value, "MMMd")

    def _between_times(self, start: datetime, end: datetime) -> str:
        midnight = end.time() == time() and end > start
        if (end - timedelta(days=1) if midnight else end).date() != start.date():
            near = end.date() - start.date() < timedelta(days=7)
            return _WIDE_DASH.join(
                f"{self.weekday(at, 'short') if near else self.date(at.date(), 'MMMEd')}{NBSP}{self.time(at)}"
                for at in (start, end)
            )
        if start == end:
            return self.time(start)
        if self._tongue.hours_12:
            text = format_interval(
                start.replace(tzinfo=None), end.replace(tzinfo=None), "hm", locale=self._tongue.locale
            )
            return self._tongue.printed(text)
        dash = "～" if self._tongue.locale.language == "ja" else _DASH
        return f"{self.time(start)}{dash}{self.time(end)}"

    def _clock(self, local: datetime) -> str:
        """The short time; the space before am and pm does not break."""
        locale = self._tongue.locale
        pattern = locale.time_formats["short"]
        if has_12_hours(pattern.pattern) != self._tongue.hours_12:
            pattern = date_pattern("hm" if self._tongue.hours_12 else "Hm", locale)
        return str(pattern.apply(local, locale)).replace(" ", NNBSP)

    def _local(self, value: datetime) -> datetime:
        """An instant in the wall's zone; one without a zone is taken to be told there already."""
        return value.astimezone(self.zone) if value.tzinfo else value.replace(tzinfo=self.zone)

    def _day(self, value: Day) -> Day:
        return self._local(value).date() if isinstance(value, datetime) else value


def _plus(value: Decimal, *, sign: bool) -> str:
    return "+" if sign and value > 0 else ""


def _parts(seconds: float) -> list[tuple[int, str]]:
    """The two largest units of a length of time that are next to each other, the second left out where it is nought."""
    if seconds < 59.5:
        return [(round(seconds), "s")]
    whole = round(seconds / 60) * 60 if seconds < 86370 else round(seconds / 3600) * 3600
    for place, (sign, size) in enumerate(_STEPS):
        if whole >= size:
            rest = whole % size // _STEPS[place + 1][1]
            return [(whole // size, sign), *([(rest, _STEPS[place + 1][0])] if rest else [])]
    return [(0, "s")]


def _known(word: str, choices: Mapping[str, str]) -> str:
    """What a width word stands for; raises `WallbillError` for another word."""
    if word not in choices:
        raise WallbillError(f"unknown width {word!r}", mend=f"Use {', '.join(choices)}.")
    return choices[word]
