"""The kinds of source that read a house: MQTT, JSON and SQL, with their options."""

from collections.abc import Mapping
from datetime import timedelta

from wallbill.sources.kind import FETCH, FILE, URL, Kind, Option

_TIMES = (
    Option("time_format", "iso, unix, unix-ms, or a pattern such as %d.%m.%Y %H:%M; else iso"),
    Option("time_zone", "the zone of times that name none; else the wall's"),
)
_GAP = Option("gap_after", "readings further apart than this have a gap between them")
_HOURS = timedelta(hours=6)


def house_kinds() -> tuple[Kind, ...]:
    """The kinds mqtt, json and sql."""
    return _mqtt(), _json(), _sql()


def is_local_database(options: Mapping[str, object]) -> bool:
    """Whether the database of a source of the kind sql is a file of this machine."""
    return "file" in options or str(options.get("url", "")).strip().lower().startswith("sqlite")


def _mqtt() -> Kind:
    return Kind(
        name="mqtt",
        what="values that devices publish to a broker (MQTT)",
        options=(
            Option(
                "broker", "the broker's host; naming it allows it, in your own network too", required=True
            ),
            Option(
                "values",
                "the values to read: name = { topic, pick, unit, as, time, good_for, availability } for each",
                required=True,
                types=(dict,),
            ),
            Option("port", "the broker's port; else 1883, with tls 8883", types=(int,)),
            Option("user", "the user's name at the broker"),
            Option("password", "the password at the broker; give it as a secret"),
            Option("tls", "whether the connection is encrypted; else false", types=(bool,)),
            Option("ca", "a file of the wall with the certificates to trust; else those of this machine"),
            Option("protocol", "the version of MQTT; else 3.1.1", choices=("3.1.1", "5")),
            Option("qos", "quality of service, 0 to 2; else 0", types=(int,)),
            Option("client_id", "the name to connect under; else one is made up each time"),
            Option("listen", "how long to listen for messages; else 3 s"),
            Option("availability", "the topic on which the sender says online or offline, as by its Will"),
            *_TIMES,
        ),
        every=timedelta(minutes=1),
        good_for=_HOURS,
    )


def _json() -> Kind:
    return Kind(
        name="json",
        what="values or readings out of JSON, picked by JMESPath",
        options=(
            URL,
            FILE,
            Option(
                "values",
                "the values to read: name = { pick, unit, as, time, good_for } for each",
                required=True,
                types=(dict,),
            ),
            Option("rows", "the pick of a list of readings; each value is then picked out of a row"),
            Option("time", "the pick of the time, in the payload or in a row"),
            *_TIMES,
            _GAP,
            *FETCH,
        ),
        one_of=("url", "file"),
        every=timedelta(minutes=15),
        good_for=_HOURS,
    )


def _sql() -> Kind:
    return Kind(
        name="sql",
        what="values or readings of a database (SQLite, PostgreSQL), by one query that only reads",
        options=(
            Option("url", "the database, such as postgresql://user@host/name; give it as a secret"),
            Option("file", "an SQLite file inside the wall folder"),
            Option("password", "the password at the database; give it as a secret"),
            Option("query", "one SELECT; :now and :since are filled in", required=True),
            Option("since", "how far back :since lies; else 1 day"),
            Option(
                "columns",
                "the values to read: name = { column, unit, as, time, good_for } for each",
                required=True,
                types=(dict,),
            ),
            Option("time", "the column of times; many rows then give series, else one row gives values"),
            *_TIMES,
            _GAP,
            Option("most_rows", "how many rows to take at most; else 10000", types=(int,)),
        ),
        one_of=("url", "file"),
        every=timedelta(minutes=15),
        good_for=_HOURS,
    )
