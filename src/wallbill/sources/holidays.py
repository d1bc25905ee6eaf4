"""Public holidays of a country, reckoned by the ``holidays`` library, as an agenda of whole days; needs no network."""

from datetime import date, timedelta

import holidays as almanac

from wallbill.errors import SourceError
from wallbill.facts.agenda import Agenda, Event, in_order, local_day
from wallbill.places.words import did_you_mean
from wallbill.sources.spec import ParseContext

_AHEAD_DAYS = 400
_BACK_DAYS = 31


def parse(data: bytes, context: ParseContext) -> Agenda:
    """The holidays from a month ago to some 13 months ahead. ``data`` is not looked at.

    Two holidays of one date are two events. Raises `SourceError` for a country, region, language or category that the
    library does not know, with what it does know.
    """
    country = _country(context)
    region = _one_of(context, "region", _regions(country))
    language = _language(context, country)
    categories = _categories(context, country, region)
    today = local_day(context.now, context.zone)
    first, last = today - timedelta(days=_BACK_DAYS), today + timedelta(days=_AHEAD_DAYS)
    days = almanac.country_holidays(
        country,
        subdiv=region,
        years=range(first.year, last.year + 1),
        language=language,
        categories=categories,
    )
    found = [(day, name) for day in days if first <= day <= last for name in days.get_list(day)]
    events = in_order((_event(day, name, country) for day, name in dict.fromkeys(found)), context.zone)
    name = f"{country}-{region}" if region else country
    return Agenda(context.origin("holidays"), name, events)


def _event(day: date, name: str, country: str) -> Event:
    return Event(
        uid=f"{country}-{day.isoformat()}-{name}",
        summary=name,
        starts=day,
        ends=day + timedelta(days=1),
        categories=("holiday",),
    )


def _country(context: ParseContext) -> str:
    told = str(context.spec.options.get("country", "")).strip().upper()
    known = almanac.list_supported_countries(include_aliases=False)
    if told not in known:
        raise SourceError(
            f"no holidays are known of the country {told!r}",
            where=context.spec.where,
            mend=did_you_mean(told, known, else_="Give its two letters of ISO 3166-1, such as GB."),
        )
    return told


def _regions(country: str) -> list[str]:
    return almanac.list_supported_countries(include_aliases=True).get(country, [])


def _one_of(context: ParseContext, name: str, known: list[str]) -> str | None:
    """An option that is one of some words, None where it is not there."""
    told = context.spec.options.get(name)
    if told is None:
        return None
    if str(told) not in known:
        raise SourceError(
            f"no {name} {str(told)!r} is known there",
            where=context.spec.where,
            mend=did_you_mean(str(told), known)
            if known
            else f"Take {name} out: the country's are the same all over.",
        )
    return str(told)


def _language(context: ParseContext, country: str) -> str | None:
    """The language of the names as the library calls it; None: the country has but one.

    One that a wall asks for by name must be there; the wall's own is taken where it is, in another land's spelling if
    need be.
    """
    known = almanac.list_localized_countries().get(country, [])
    told = context.spec.options.get("language")
    wanted = str(told or context.language).replace("-", "_")
    first = wanted.partition("_")[0]
    near = [wanted, first, *(one for one in known if one.partition("_")[0] == first)]
    found = next((one for one in near if one in known), None)
    own = almanac.country_holidays(country).default_language
    if found is None and told and own and own.partition("_")[0] != first:
        raise SourceError(
            f"its holidays have no names in {str(told)!r}",
            where=context.spec.where,
            mend=did_you_mean(wanted, [*known, own]),
        )
    # Of no language at all, the library takes that of the machine it runs on.
    return found or own


def _categories(context: ParseContext, country: str, region: str | None) -> tuple[str, ...]:
    told = context.spec.options.get("categories", [])
    asked = [str(one) for one in told] if isinstance(told, list | tuple) else [str(told)]
    known = tuple(almanac.country_holidays(country, subdiv=region).supported_categories)
    for one in asked:
        if one not in known:
            raise SourceError(
                f"no category {one!r} is known there",
                where=context.spec.where,
                mend=did_you_mean(one, known),
            )
    public = [one for one in ("public",) if one in known]
    return tuple(dict.fromkeys([*public, *asked]))
