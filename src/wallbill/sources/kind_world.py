"""The kinds of source that bring the world in: news, departures, lists, holidays, remote calendars, pictures.

They stand apart from their readers, so that the list of kinds loads none of the readers' libraries.
"""

from datetime import timedelta

from wallbill.sources.kind import FETCH, FILE, URL, Kind, Option, fetched

LIST_FORMATS = ("plain", "markdown")
PICTURE_ORDERS = ("name", "mixed")

_MINUTES, _HOUR, _DAY = timedelta(minutes=5), timedelta(hours=1), timedelta(days=1)
_AHEAD = Option("ahead", "how far ahead to look, such as 60 days", types=(str, int))


def world_kinds() -> tuple[Kind, ...]:
    """The kinds, in the order to list them."""
    return (_feed(), _departures(), _list(), _holidays(), _caldav(), _pictures())


def _feed() -> Kind:
    most = Option("max", "how many headlines to keep, newest first; else 20", types=(int,))
    return fetched("feed", "headlines of a news feed (RSS, Atom)", most, every=_HOUR, good_for=2 * _DAY)


def _departures() -> Kind:
    return Kind(
        name="departures",
        what="departures from a stop (GTFS), with delays where there is a realtime feed",
        options=(
            Option("url", "where the timetable is, a ZIP archive; the address is never printed"),
            Option("file", "a timetable inside the wall folder, a ZIP archive or a folder"),
            Option("stop", "stop_id of a stop or station, or several", required=True, types=(str, list)),
            Option("realtime", "address, or file of the wall, of the vehicles' news (GTFS Realtime)"),
            Option("routes", "only these, by route_id or name", types=(str, list)),
            Option("towards", "only with these headsigns", types=(str, list)),
            Option("ahead", "how far ahead to look, such as 3 days; else 2 days", types=(str, int)),
            Option("name", "what to call it; else the stops' names"),
            *FETCH,
        ),
        one_of=("url", "file"),
        every=_MINUTES,
        good_for=3 * _DAY,
    )


def _list() -> Kind:
    return fetched(
        "list",
        "to-dos of a text with one thing a line, or of Markdown task lists",
        Option("format", "how it is written; else markdown for .md, and plain", choices=LIST_FORMATS),
        Option("name", "what the list is called; else its first heading, or the source's name"),
        every=timedelta(minutes=15),
        good_for=_DAY,
    )


def _holidays() -> Kind:
    return Kind(
        name="holidays",
        what="public holidays of a country; needs no network",
        options=(
            Option("country", "its two letters of ISO 3166-1, such as GB", required=True),
            Option("region", "a part of it, such as SCT or BY (ISO 3166-2 without the country)"),
            Option("language", "of the names, such as en; else the wall's, where the country has it"),
            Option("categories", "further days than public ones, such as bank or school", types=(list,)),
        ),
    )


def _caldav() -> Kind:
    return Kind(
        name="caldav",
        what="events and to-dos of a calendar on a server (CalDAV), read only",
        options=(
            Option("url", "the address of the calendar itself; https, or a private host", required=True),
            Option("name", "what to call it; else the calendar's own name"),
            _AHEAD,
            *FETCH,
        ),
        every=timedelta(minutes=30),
        good_for=_DAY,
    )


def _pictures() -> Kind:
    return Kind(
        name="pictures",
        what="pictures that take turns day by day, or one picture of the web",
        options=(
            URL,
            FILE,
            Option("folder", "a folder of the wall, in place of a URL, such as pictures/garden"),
            Option("order", "how days take their turn; else by name", choices=PICTURE_ORDERS),
            Option("name", "what the album is called; else the source's name"),
            Option("caption", "what to print with the picture of a URL; else what the picture says itself"),
            *FETCH,
        ),
        one_of=("url", "file", "folder"),
        every=_HOUR,
        good_for=None,
    )
