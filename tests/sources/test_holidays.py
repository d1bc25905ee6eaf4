"""Public holidays, against published counts and the dates of Easter."""

from datetime import UTC, date, datetime
from typing import Any

import pytest
from tests.sources.world_bench import context

from wallbill.errors import SourceError
from wallbill.facts.agenda import Agenda
from wallbill.sources.holidays import parse

NEW_YEAR = datetime(2025, 1, 1, 9, 0, tzinfo=UTC)


def read(now: datetime = NEW_YEAR, language: str = "en-GB", **options: Any) -> Agenda:
    return parse(b"", context("holidays", now=now, zone="Europe/Berlin", language=language, options=options))


def days_of(year: int, **options: Any) -> set[date]:
    found = read(datetime(year, 1, 1, 9, tzinfo=UTC), **options)
    return {e.starts for e in found.events if not isinstance(e.starts, datetime) and e.starts.year == year}


@pytest.mark.parametrize(("country", "count"), [("DE", 9), ("FR", 11), ("GB", 6), ("US", 11), ("JP", 19)])
def test_how_many_a_country_has(country: str, count: int) -> None:
    # Nation-wide public holidays of 2025 by the holidays library 0.109, MIT; DE, FR and US agree with those countries'
    # federal lists (from memory); JP counts the substitute days of its law.
    assert len(days_of(2025, country=country)) == count


@pytest.mark.parametrize(
    ("year", "easter"),
    [
        # Gregorian Easter Sundays, tables of the Book of Common Prayer and of the Astronomical Applications Department
        # of the US Naval Observatory (from memory); 2038 is the latest possible date, 25 April.
        (2024, date(2024, 3, 31)),
        (2025, date(2025, 4, 20)),
        (2026, date(2026, 4, 5)),
        (2027, date(2027, 3, 28)),
        (2038, date(2038, 4, 25)),
    ],
)
def test_easter(year: int, easter: date) -> None:
    germany = days_of(year, country="DE")
    ordinals = {day.toordinal() - easter.toordinal() for day in germany}
    # Good Friday, Easter Monday, Ascension, Whit Monday: 2 days before, 1, 39 and 50 days after.
    assert {-2, 1, 39, 50} <= ordinals
    assert easter in days_of(year, country="DE", region="BB")  # Easter Sunday is one in Brandenburg alone


@pytest.mark.parametrize(("year", "easter"), [(2024, date(2024, 5, 5)), (2026, date(2026, 4, 12))])
def test_orthodox_easter(year: int, easter: date) -> None:
    # Orthodox Easter Sundays by dateutil.easter, method 2; Good Friday, Easter Monday and Whit Monday are holidays.
    ordinals = {day.toordinal() - easter.toordinal() for day in days_of(year, country="GR")}
    assert {-2, 1, 50} <= ordinals


def test_events_are_whole_days_in_order() -> None:
    found = read(country="DE")
    first = found.events[0]
    assert (first.all_day, first.starts, first.last_day) == (True, date(2024, 12, 25), date(2024, 12, 25))
    starts = [event.starts for event in found.events]
    assert starts == sorted(starts, key=str)
    assert found.name == "DE"
    assert found.origin.findings == ()
    assert len({event.uid for event in found.events}) == len(found.events)


def test_regions() -> None:
    assert date(2025, 1, 2) in days_of(2025, country="GB", region="SCT")
    assert date(2025, 1, 2) not in days_of(2025, country="GB", region="ENG")
    assert date(2025, 6, 19) in days_of(
        2025, country="DE", region="BY"
    )  # Corpus Christi, 60 days after Easter
    assert read(country="GB", region="SCT").name == "GB-SCT"


def test_names_are_in_the_walls_language_where_the_country_has_it() -> None:
    def christmas(**how: Any) -> str:
        return next(e.summary for e in read(**how).events if e.starts == date(2025, 12, 25))

    assert christmas(country="DE") == "Christmas Day"
    assert christmas(country="DE", language="de-DE") == "Erster Weihnachtstag"
    assert christmas(country="DE", language="ar") == "Erster Weihnachtstag"
    own = parse(b"", context("holidays", now=NEW_YEAR, options={"country": "FR", "language": "fr"}))
    assert any(e.summary == "Noël" for e in own.events)


def test_further_days_can_be_asked_for() -> None:
    more = days_of(2025, country="DE", region="BY", categories=["catholic"])
    assert more - days_of(2025, country="DE", region="BY") == {date(2025, 8, 15)}  # Assumption Day


@pytest.mark.parametrize(
    ("options", "what", "mend"),
    [
        ({"country": "XX"}, "country 'XX'", "GB"),
        ({}, "country ''", "GB"),
        ({"country": "GB", "region": "SCO"}, "region 'SCO'", "SCT"),
        ({"country": "VA", "region": "X"}, "region 'X'", "region"),
        ({"country": "DE", "categories": ["shool"]}, "category 'shool'", "school"),
    ],
)
def test_what_is_unknown_is_told_with_what_is_known(options: dict[str, object], what: str, mend: str) -> None:
    with pytest.raises(SourceError, match=what) as caught:
        parse(b"", context("holidays", options=options))
    assert mend in caught.value.mend
    assert caught.value.where.line == 7


def test_a_language_that_is_asked_for_must_be_there() -> None:
    with pytest.raises(SourceError, match="no names in 'sw'"):
        parse(b"", context("holidays", options={"country": "DE", "language": "sw"}))
