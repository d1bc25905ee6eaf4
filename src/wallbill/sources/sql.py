"""Values and readings out of a database, by one query that only reads.

That a query is one SELECT is looked at here, so that a mistake is told before anything is asked. It is no guard: the
connection that can only read is.
"""

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo

from wallbill.errors import Place, SourceError
from wallbill.facts.series import Series
from wallbill.facts.values import Values
from wallbill.findings import Finding
from wallbill.sources.moments import Moments, moments_of
from wallbill.sources.picking import ColumnOf
from wallbill.sources.saying import Saying
from wallbill.sources.spec import ParseContext, SourceSpec
from wallbill.sources.value_facts import rows_fact, values_fact, with_findings
from wallbill.sources.value_options import Sought, sought

DATABASES = ("sqlite", "postgresql")
"""The databases that can be asked: those of which we know how to let nothing be written."""

_ROWS, _ROWS_MOST = 10_000, 100_000
_DAY = timedelta(days=1)

# What is no word of the query itself: comments, texts, quoted names, PostgreSQL's texts between dollars.
_ASIDE = re.compile(
    r"""--[^\n]*|/\*.*?\*/|'(?:[^']|'')*'|"(?:[^"]|"")*"|`[^`]*`|\$(\w*)\$.*?\$\1\$""", re.DOTALL
)
_A_NAME = re.compile(r"(?<![:\w\\]):(?=\w)")
_WRITES = frozenset(
    (
        "insert",
        "update",
        "delete",
        "merge",
        "drop",
        "alter",
        "create",
        "truncate",
        "attach",
        "detach",
        "pragma",
        "vacuum",
        "grant",
        "revoke",
        "copy",
        "call",
        "into",
        "reindex",
        "lock",
        "execute",
        "prepare",
        "listen",
        "notify",
        "set",
        "reset",
        "begin",
        "commit",
        "rollback",
    )
)


@dataclass(frozen=True, slots=True)
class Query:
    """What to ask.

    ``text``: with ``:now`` and ``:since``, a backslash before other colons that look like them. ``names``: which of the
    two it uses. ``since``: how far back the latter lies. ``most_rows``: how many rows to take.
    """

    text: str = field(repr=False)
    names: frozenset[str]
    since: timedelta
    most_rows: int
    moments: Moments


def database_of(spec: SourceSpec) -> str:
    """The name of a source's database, one of `DATABASES`; raises `SourceError` for any other."""
    if "file" in spec.options:
        return DATABASES[0]
    at = Place(spec.where.file, spec.where.line, "url")
    try:
        scheme = urlsplit(str(spec.options.get("url", "")).strip()).scheme.lower()
    except ValueError:
        scheme = ""
    name = {"postgres": "postgresql"}.get(scheme.partition("+")[0], scheme.partition("+")[0])
    if name not in DATABASES:
        raise SourceError(
            f"a database of the kind {name!r} cannot be asked" if name else "its address names no database",
            where=at,
            mend="Use sqlite:///… or postgresql://…; of another database, let it write a CSV or JSON file.",
        )
    return name


def query_of(spec: SourceSpec, zone: ZoneInfo) -> Query:
    """What a source asks its database; raises `SourceError` that names the option. ``zone``: the wall's."""
    say = Saying(spec.options, spec.where)
    text = say.text("query", "").strip().rstrip(";").strip()
    words = _words(text, say.at("query"))
    names = frozenset(re.findall(r"(?<![:\w]):([A-Za-z_]\w*)", words))
    if names - {"now", "since"}:
        raise SourceError(
            f"the query asks for :{min(names - {'now', 'since'})}, which nothing fills in",
            where=say.at("query"),
            mend="Use :now and :since; write a colon in a text as it is.",
        )
    return Query(
        text=_ASIDE.sub(lambda aside: _A_NAME.sub(r"\\:", aside[0]), text),
        names=names,
        since=say.length("since") or _DAY,
        most_rows=say.whole("most_rows", _ROWS, least=1, most=_ROWS_MOST),
        moments=moments_of(say, zone),
    )


def _words(text: str, where: Place) -> str:
    """The query without comments and texts; raises `SourceError` if it is not one SELECT."""
    words = _ASIDE.sub(" ", text)
    lower = words.lower()
    first = re.match(r"[\s(]*(\w+)", lower)
    if first is None or first[1] not in {"select", "with"}:
        raise SourceError(
            "the query is no SELECT" if text else "there is no query",
            where=where,
            mend='Write one query that reads, such as "SELECT at, temp FROM readings WHERE at >= :since".',
        )
    if ";" in words:
        raise SourceError(
            "there is more than one query", where=where, mend="Write one SELECT, with no semicolon."
        )
    writes = sorted(_WRITES & set(re.findall(r"(?<![\w.])[a-z]+(?!\w)", lower)))
    if writes:
        raise SourceError(
            f"the query would do more than read: {writes[0].upper()}",
            where=where,
            mend=f'Take it out; a column of that name is written "{writes[0]}", in quotes.',
        )
    return words


def columns_of(spec: SourceSpec) -> tuple[Sought, ...]:
    """The values that a source wants, each with its column; raises `SourceError` that names the option."""
    return sought(spec.options, spec.where, table="columns", keys=("column",), good_for=spec.good_for)


def packed_rows(columns: Sequence[str], rows: Sequence[Sequence[object]], *, cut: bool) -> bytes:
    """The rows of an answer as a payload. ``cut``: whether there were more."""
    return json.dumps({"columns": list(columns), "rows": [list(row) for row in rows], "cut": cut}).encode()


def parse(data: bytes, context: ParseContext) -> Values | Series | tuple[Series, ...]:
    """The rows of a query: series where ``time`` names the column of times, else the values of one row.

    Raises `SourceError` where the answer lacks a column, has several rows but no time, or mostly bad rows.
    """
    spec = context.spec
    say = Saying(spec.options, spec.where)
    wanted, moments = columns_of(spec), moments_of(say, context.zone)
    names, rows, cut = _unpacked(data, spec.name)
    time = say.text("time", "")
    _check_columns(names, (*(_column(one) for one in wanted), *([time] if time else [])), spec)
    told = [dict(zip(names, row, strict=False)) for row in rows]
    if time:
        way = (ColumnOf(time), moments)
        fact = rows_fact(told, context, wanted, time=way, gap_after=say.length("gap_after"))
        return with_findings(fact, _cut_finding(len(rows), spec.name)) if cut else fact
    if len(told) > 1 or cut:
        raise SourceError(
            f"the query gives {len(told)} rows, and nothing says when each was",
            where=say.at("time"),
            mend='Name the column of times with time = "…", or let the query give one row.',
        )
    row: object = told[0] if told else None
    return values_fact(row, context, wanted, moments=moments, service="sql")


def _column(one: Sought) -> str:
    return one.pick.text if one.pick else one.name


def _check_columns(names: Sequence[str], asked: Sequence[str], spec: SourceSpec) -> None:
    missing = [name for name in asked if name not in names]
    if missing:
        raise SourceError(
            f"the answer has no column {missing[0]!r}",
            where=Place(spec.where.file, spec.where.line, "columns"),
            mend=f"Use one of {', '.join(map(repr, names[:20]))}.",
        )


def _cut_finding(rows: int, source: str) -> Finding:
    return Finding(
        rule="sources.rows-cut",
        where=Place(source),
        what=f"the query gives more than {rows} rows; the rest was left out",
        mend="Ask for less with :since or a coarser step, or set most_rows.",
    )


def _unpacked(data: bytes, source: str) -> tuple[list[str], list[list[object]], bool]:
    try:
        told: Mapping[str, Any] = json.loads(data)
        names, rows = [str(name) for name in told["columns"]], [list(row) for row in told["rows"]]
        return names, rows, bool(told["cut"])
    except (ValueError, TypeError, KeyError, RecursionError):
        raise SourceError(
            "what was kept of it cannot be read", where=Place(source), mend="Gather it anew."
        ) from None
