"""The wall's language: values of the Unicode CLDR (release carried by Babel 2.18), and the traps on the way."""

import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallbill.errors import WallbillError
from wallbill.units.quantity import UNITS, Quantity
from wallbill.units.wording import MISSING, Wording

LONDON = ZoneInfo("Europe/London")
MONDAY = datetime(2025, 2, 3, 15, 7, 9, tzinfo=LONDON)
NBSP, THIN, RLM = "\u00a0", "\u202f", "\u200f"
LANGUAGES = ["en-GB", "en-US", "de", "fr", "ja", "ar", "pl"]


def _w(language: str = "en-GB", **units: str) -> Wording:
    return Wording(language, LONDON, units)


# Source: Unicode CLDR through babel 2.18.0, for 2025-02-03 15:07:09. Minus signs are ours: U+2212.
CLDR = {
    "en-US": (
        "Monday, February 3, 2025", "Feb 3, 2025", "2/3/25", f"3:07{THIN}PM", "Mon, Feb 3",
        "−1,234,567.891", "26%", "−3.5°C",
    ),
    "en-GB": (
        "Monday, 3 February 2025", "3 Feb 2025", "03/02/2025", "15:07", "Mon 3 Feb",
        "−1,234,567.891", "26%", "−3.5°C",
    ),
    "de": (
        "Montag, 3. Februar 2025", "03.02.2025", "03.02.25", "15:07", "Mo., 3. Feb.",
        "−1.234.567,891", f"26{NBSP}%", f"−3,5{NBSP}°C",
    ),
    "fr": (
        "lundi 3 février 2025", "3 févr. 2025", "03/02/2025", "15:07", "lun. 3 févr.",
        f"−1{THIN}234{THIN}567,891", f"26{NBSP}%", f"−3,5{THIN}°C",
    ),
    "ja": (
        "2025年2月3日月曜日", "2025/02/03", "2025/02/03", "15:07", "2月3日(月)",
        "−1,234,567.891", "26%", "−3.5°C",
    ),
    "ar": (
        "الاثنين، 3 فبراير 2025", f"03{RLM}/02{RLM}/2025", f"3{RLM}/2{RLM}/2025", f"3:07{THIN}م", "الاثنين، 3 فبراير",
        "\u200e−1,234,567.891", "\u200e26%\u200e", "\u200e−3.5°م",
    ),
    "pl": (
        "poniedziałek, 3 lutego 2025", "3 lut 2025", "3.02.2025", "15:07", "pon., 3 lut",
        f"−1{NBSP}234{NBSP}567,891", "26%", "−3,5°C",
    ),
}  # fmt: skip


@pytest.mark.parametrize("language", CLDR)
def test_the_table_of_the_cldr(language: str) -> None:
    wording = _w(language)
    marks = str.maketrans("", "", "\u200e\u061c")
    got = (
        wording.date(MONDAY, "full"),
        wording.date(MONDAY, "medium"),
        wording.date(MONDAY, "short"),
        wording.time(MONDAY),
        wording.date(MONDAY, "MMMEd"),
        wording.number(-1234567.891),
        wording.percent(0.26),
        wording.quantity(Quantity(-3.5, "°C"), 1),
    )
    assert [text.translate(marks) for text in got] == [text.translate(marks) for text in CLDR[language]]


@pytest.mark.parametrize(
    ("language", "first", "weekend"),
    [  # Source: Unicode CLDR supplemental week data. "de" alone has none: the likely territory is taken.
        ("en-US", 6, (5, 6)), ("en-GB", 0, (5, 6)), ("de", 0, (5, 6)), ("de-DE", 0, (5, 6)), ("fr", 0, (5, 6)),
        ("ja", 6, (5, 6)), ("ar-EG", 5, (4, 5)), ("ar-SA", 6, (4, 5)), ("en", 6, (5, 6)), ("pl", 0, (5, 6)),
    ],
)  # fmt: skip
def test_the_first_day_of_the_week(language: str, first: int, weekend: tuple[int, int]) -> None:
    assert _w(language).first_weekday == first
    assert _w(language).weekend == weekend


def test_the_way_the_language_runs() -> None:
    assert [_w(tag).direction for tag in ("en-GB", "ar", "he", "ja")] == ["ltr", "rtl", "rtl", "ltr"]


@pytest.mark.parametrize(
    ("language", "short", "in_pattern"),
    [  # Source: CLDR, abbreviated day names, stand-alone and in a date.
        ("de", "Mo", "Mo."), ("fr", "lun.", "lun."), ("ja", "月", "月"), ("en-GB", "Mon", "Mon"), ("pl", "pon.", "pon."),
    ],
)  # fmt: skip
def test_weekdays(language: str, short: str, in_pattern: str) -> None:
    assert _w(language).weekday(MONDAY, "short") == short
    assert _w(language).date(MONDAY, "EEE d").startswith(in_pattern)


def test_names_of_days_and_months() -> None:
    assert _w().weekday(MONDAY) == "Monday"
    assert _w().weekday(date(2025, 2, 3), "narrow") == "M"
    assert _w("pl").month(MONDAY) == "luty"
    assert _w("pl").date(MONDAY, "d MMMM") == "3 lutego"


@pytest.mark.parametrize(
    ("language", "words"),
    [  # Source: CLDR, relative days, as carried by dateparser 1.5 (its data are made from the CLDR), read once.
        ("en-GB", ("yesterday", "today", "tomorrow")), ("de", ("gestern", "heute", "morgen")),
        ("fr", ("hier", "aujourd’hui", "demain")), ("ja", ("昨日", "今日", "明日")),
        ("pl", ("wczoraj", "dzisiaj", "jutro")), ("ar", ("أمس", "اليوم", "غدًا")),
    ],
)  # fmt: skip
def test_relative_days(language: str, words: tuple[str, str, str]) -> None:
    today = date(2026, 3, 14)
    names = [_w(language).day_name(today + timedelta(days=n), today) for n in (-1, 0, 1)]
    assert tuple(names) == words


def test_days_further_off_and_languages_without_words() -> None:
    today = date(2026, 3, 14)
    assert _w().day_name(date(2026, 3, 16), today) == "Monday"
    assert _w().day_name(date(2026, 3, 20), today) == "Friday"
    assert _w().day_name(date(2026, 3, 21), today) == "Sat 21 Mar"
    assert _w().day_name(date(2026, 3, 12), today) == "Thu 12 Mar"
    assert _w("sw").day_name(today, today) == "Jumamosi"
    late = datetime(2026, 6, 30, 23, 30, tzinfo=UTC)  # 1 July in London
    assert _w().day_name(late, date(2026, 6, 30)) == "tomorrow"


def test_skeletons_keep_the_widths_that_were_asked_for() -> None:
    # Source: UTS 35 part 4, "Matching Skeletons": the fields of the nearest pattern take the widths asked for.
    assert _w().date(MONDAY, "EEEEdMMMM") == "Monday 3 February"
    assert _w("de").date(MONDAY, "EEEEdMMMM") == "Montag, 3. Februar"
    assert _w("ja").date(MONDAY, "EEEEdMMMM") == "2月3日月曜日"
    assert _w("en-US").date(MONDAY, "EEEEdMMMM") == "Monday, February 3"
    assert _w("de").date(MONDAY, "EEEE") == "Montag"
    assert _w("fr").date(MONDAY, "MMMM") == "février"


def test_patterns_and_the_languages_own_hour() -> None:
    assert _w("de").date(MONDAY, "EEEE, d. MMMM 'um' HH:mm") == "Montag, 3. Februar um 15:07"
    assert _w("en-GB").date(MONDAY, "EEEjm") == "Mon 15:07"
    assert _w("en-GB").date(MONDAY, "w") == "6"  # 2025-02-03 is in week 6 (ISO 8601)
    assert _w("en-US").date(MONDAY, "jm") == f"3:07{THIN}PM"


@pytest.mark.parametrize("pattern", ["", "RRRR", "MMMdfoo"])
def test_a_pattern_that_is_none_is_told(pattern: str) -> None:
    with pytest.raises(WallbillError) as caught:
        _w().date(date(2025, 2, 3), pattern)
    assert caught.value.mend


def test_times_are_told_in_the_walls_zone() -> None:
    assert _w().time(datetime(2026, 7, 1, 12, 0, tzinfo=UTC)) == "13:00"
    assert _w().date(datetime(2026, 7, 1, 23, 30, tzinfo=UTC), "d MMM") == "2 Jul"
    assert _w().time(time(9, 5)) == "09:05"
    assert _w().time(MONDAY, "medium") == "15:07:09"


def test_the_clock_and_the_digits_can_be_chosen() -> None:
    # BCP 47 -u- extension, keys hc and nu (RFC 6067, UTS 35).
    assert _w("en-GB-u-hc-h12").time(MONDAY) == f"3:07{THIN}pm"
    assert _w("en-US-u-hc-h23").time(MONDAY) == "15:07"
    assert _w("ar-EG").number(1234.5) == "١٬٢٣٤٫٥"
    assert _w("ar-EG-u-nu-latn").number(1234.5) == "1,234.5"
    assert _w("ar-EG").date(MONDAY, "d") == "٣"
    assert _w("fa").quantity(Quantity(12, "°C"), width="narrow") == "۱۲°"


@pytest.mark.parametrize("language", ["", "xx-nowhere", "english", "e", "en-GB-GB-GB"])
def test_an_unknown_language_is_told(language: str) -> None:
    with pytest.raises(WallbillError, match="unknown language"):
        _w(language)


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (0.5, 0, "1"), (2.5, 0, "3"), (-2.5, 0, "−3"), (-0.4, 0, "0"), (-0.0, 1, "0.0"), (1.005, 2, "1.01"),
        (1234.5678, None, "1,234.568"), (3.0, None, "3"), (1e15, 0, "1,000,000,000,000,000"), (7, 2, "7.00"),
        (Decimal("2.675"), 2, "2.68"), (float("nan"), 0, MISSING), (float("inf"), 0, MISSING),
    ],
)  # fmt: skip
def test_rounding(value: float, digits: int | None, text: str) -> None:
    assert _w().number(value, digits) == text


def test_swedish_has_a_true_minus_sign() -> None:
    # Babel writes a hyphen although the CLDR's minus sign of sv is U+2212.
    assert _w("sv").number(-3.5) == "−3,5"


def test_units_are_the_walls() -> None:
    wording = _w("en-GB", temperature="°F", speed="mph")
    assert wording.quantity(Quantity(11, "°C")) == "52°F"
    assert (
        wording.quantity(Quantity(10, "m/s")) == f"22{NBSP}mph"
        or wording.quantity(Quantity(10, "m/s")) == "22mph"
    )
    assert wording.quantity(Quantity(11, "°C"), unit="K", digits=2) == f"284.15{NBSP}K"
    assert wording.quantity(Quantity(1013.2, "hPa")) == f"1,013{NBSP}hPa"


def test_forms_of_a_quantity() -> None:
    eleven = Quantity(11.4, "°C")
    assert _w().quantity(eleven, width="narrow") == "11°"
    assert _w("de").quantity(eleven, width="narrow") == "11°"
    assert _w().quantity(eleven, width="long") == f"11{NBSP}degrees{NBSP}Celsius"
    assert _w().quantity(Quantity(1, "°C"), width="long") == f"1{NBSP}degree{NBSP}Celsius"
    assert _w().quantity(eleven, width="bare") == "11"
    assert _w().quantity(eleven, 1, sign=True) == "+11.4°C"
    assert _w().quantity(Quantity(-0.3, "°C"), sign=True) == "0°C"
    assert _w().quantity(Quantity(-3, "°C"), width="narrow") == "−3°"
    assert _w().quantity(Quantity(2, "Wh")) == f"2{NBSP}Wh"
    assert _w("fr").quantity(Quantity(18, "km/h")) == f"18{THIN}km/h"
    assert _w("pl").quantity(Quantity(5, "d"), width="long") == f"5{NBSP}dni"
    assert _w("pl").quantity(Quantity(1, "d"), width="long") == f"1{NBSP}dzień"


def test_a_share_is_a_percentage() -> None:
    assert _w().quantity(Quantity(26.4, "%")) == "26%"
    assert _w("de").quantity(Quantity(0.264, "1"), 1) == f"26,4{NBSP}%"
    assert _w().percent(Quantity(80, "%")) == "80%"
    assert _w().percent(-0.004) == "0%"


def test_a_number_without_a_unit_is_told() -> None:
    with pytest.raises(WallbillError, match="has no unit"):
        _w().quantity(3)  # type: ignore[arg-type]  # the fault under test
    with pytest.raises(WallbillError, match="unknown width"):
        _w().quantity(Quantity(3, "m"), width="wide")


@pytest.mark.parametrize(
    ("units", "what"),
    [
        ({"warmth": "°C"}, "unknown kind"),
        ({"temperature": "km/h"}, "no unit of"),
        ({"speed": "furlongs"}, "no unit of"),
    ],
)
def test_units_that_do_not_fit_are_told(units: dict[str, str], what: str) -> None:
    with pytest.raises(WallbillError, match=what):
        _w("en-GB", **units)


@given(unit=st.sampled_from(sorted(UNITS)), value=st.floats(-1e6, 1e6), language=st.sampled_from(LANGUAGES))
def test_every_unit_prints_in_every_language_without_a_break(unit: str, value: float, language: str) -> None:
    for width in ("short", "narrow", "long"):
        text = _w(language).quantity(Quantity(value, unit), 1, width=width)
        assert " " not in text
        assert "-" not in text.replace("Kilowatt-hours", "").replace("kilowatt-h", "")


def test_spans_of_time() -> None:
    nine, eleven = datetime(2026, 3, 14, 9, 30, tzinfo=LONDON), datetime(2026, 3, 14, 11, tzinfo=LONDON)
    assert _w().span(nine, eleven) == "09:30–11:00"
    assert _w("de").span(nine, eleven) == "09:30–11:00"
    assert _w("ja").span(nine, eleven) == "9:30～11:00"
    # Source: CLDR interval formats of en-US: thin spaces round the dash, the half of the day once.
    assert _w("en-US").span(nine, eleven) == f"9:30\u2009–\u200911:00{THIN}AM"
    assert _w().span(nine, nine) == "09:30"
    assert _w().span(nine, None) == "09:30"
    assert _w().span(nine, datetime(2026, 3, 15, tzinfo=LONDON)) == "09:30–00:00"
    assert (
        _w().span(nine, datetime(2026, 3, 15, 6, tzinfo=LONDON))
        == f"Sat{NBSP}09:30{NBSP}–{NBSP}Sun{NBSP}06:00"
    )
    assert _w().span(nine, datetime(2026, 3, 25, 6, tzinfo=LONDON)).startswith("Sat 14 Mar")


def test_spans_of_days_are_told_with_their_last_day() -> None:
    # Source: CLDR interval formats, skeleton MMMd.
    assert _w().span(date(2026, 3, 28), date(2026, 3, 30)) == "28–29 Mar"
    assert _w().span(date(2026, 3, 28), date(2026, 3, 29)) == "28 Mar"
    assert _w().span(date(2026, 3, 28), date(2026, 3, 28)) == "28 Mar"
    assert _w("de").span(date(2026, 3, 28), date(2026, 3, 30)) == "28.–29. März"
    assert _w().span(None, date(2026, 3, 28)) == "28 Mar"


@pytest.mark.parametrize(
    ("length", "text"),
    [
        (timedelta(hours=11, minutes=42), "11 h 42 min"), (timedelta(minutes=5), "5 min"), (timedelta(0), "0 s"),
        (timedelta(seconds=45), "45 s"), (timedelta(seconds=59.6), "1 min"), (timedelta(minutes=59, seconds=40), "1 h"),
        (timedelta(days=2, hours=4, minutes=50), "2 d 5 h"), (timedelta(hours=23, minutes=59, seconds=50), "1 d"),
        (-timedelta(minutes=3, seconds=40), "−4 min"), (timedelta(hours=24), "1 d"),
    ],
)  # fmt: skip
def test_lengths_of_time(length: timedelta, text: str) -> None:
    assert _w().duration(length).replace(NBSP, " ") == text


def test_lengths_of_time_in_words() -> None:
    day = timedelta(hours=11, minutes=42)
    # Source: CLDR, units hour and minute, list patterns of units.
    assert _w().duration(day, "long").replace(NBSP, " ") == "11 hours, 42 minutes"
    assert _w().duration(day, "narrow") == f"11h{NBSP}42m"
    assert _w("de").duration(day, "short").replace(NBSP, " ") == "11 Std., 42 Min."
    assert _w("ja").duration(day, "short").replace(NBSP, " ") == "11 時間 42 分"
    assert _w("ar").duration(day).replace(NBSP, " ") == "11 س و42 د"
    assert _w("ru").duration(timedelta(minutes=5)).replace(NBSP, " ") == "5 мин"
    assert _w().duration(Quantity(90, "min")).replace(NBSP, " ") == "1 h 30 min"


@pytest.mark.parametrize(
    ("language", "degrees", "text"),
    [  # Sixteen points of 22.5 degrees, each centred on its name. Common practice, no source.
        ("en-GB", 0, "N"), ("en-GB", 11.2, "N"), ("en-GB", 11.3, "NNE"), ("en-GB", 225, "SW"), ("en-GB", 359, "N"),
        ("en-GB", 292.5, "WNW"), ("de", 67.5, "ONO"), ("de", 90, "O"), ("fr", 225, "SO"), ("fr", 247.5, "OSO"),
        ("pl", 90, "E"), ("ja", 45, "北東"), ("cs", 135, "JV"), ("zh", 225.4, "225°"), ("en-GB", -45, "NW"),
    ],
)  # fmt: skip
def test_points_of_the_compass(language: str, degrees: float, text: str) -> None:
    assert _w(language).compass(degrees) == text


def test_fewer_points() -> None:
    assert [_w().compass(d, 8) for d in (10, 30, 200, 338)] == ["N", "NE", "S", "N"]
    assert [_w().compass(d, 4) for d in (10, 46, 200, 350)] == ["N", "E", "S", "N"]
    with pytest.raises(WallbillError):
        _w().compass(10, 7)


def test_lists_and_plurals() -> None:
    # Source: CLDR list patterns; plural rules: Arabic 0, 1, 2, 3, 11, 100 are all six forms, French 0 is "one".
    assert _w().list_of(["Orla", "Tam", "Bryn"]) == "Orla, Tam and Bryn"
    assert _w("en-US").list_of(["Orla", "Tam", "Bryn"]) == "Orla, Tam, and Bryn"
    assert _w("de").list_of(["Orla", "Tam"]) == "Orla und Tam"
    assert _w().list_of([]) == MISSING
    forms = {form: form for form in ("zero", "one", "two", "few", "many", "other")}
    assert [_w("ar").plural(n, **forms) for n in (0, 1, 2, 3, 11, 100)] == list(forms)
    assert _w("fr").plural(0, one="bateau", other="bateaux") == "bateau"
    assert _w().plural(2, one="boat", other="boats") == "boats"
    with pytest.raises(WallbillError):
        _w().plural(2, one="boat")


@pytest.mark.parametrize(
    "call",
    [
        lambda w: w.number(None), lambda w: w.quantity(None), lambda w: w.percent(None), lambda w: w.date(None),
        lambda w: w.time(None), lambda w: w.weekday(None), lambda w: w.month(None), lambda w: w.span(None, None),
        lambda w: w.day_name(None, date(2026, 3, 14)), lambda w: w.duration(None), lambda w: w.compass(None),
        lambda w: w.list_of(None), lambda w: w.plural(None, other="x"), lambda w: w.compass(float("nan")),
    ],
)  # fmt: skip
@pytest.mark.parametrize("language", LANGUAGES)
def test_a_gap_is_a_dash(call: Callable[[Wording], str], language: str) -> None:
    assert call(_w(language)) == "–"


def test_a_wording_is_a_value() -> None:
    assert _w("de", speed="kn") == _w("de", speed="kn")
    with pytest.raises(AttributeError):
        _w().language = "de"  # type: ignore[misc]  # the fault under test


def test_the_import_brings_no_web_or_picture_library() -> None:
    # The import is kept small by what it loads; times are measured in benchmarks, not in tests.
    code = "import sys, wallbill.units.wording; print(sorted({m.split('.')[0] for m in sys.modules}))"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert not {"numpy", "PIL", "httpx2", "jinja2", "pydantic"} & set(
        loaded.replace("'", "").strip("[]\n").split(", ")
    )
