"""News feeds (RSS 0.9x to 2.0, RSS 1.0, Atom 1.0 of RFC 4287) made into headlines.

``feedparser`` reads them; it is handed bytes in a stream, since of a text it would take an address or a file name.
Option ``max``: how many headlines are kept, 20 unless said.
"""

import re
from calendar import timegm
from collections.abc import Mapping
from datetime import UTC, datetime
from html.entities import html5
from io import BytesIO
from types import MappingProxyType
from typing import Any
from urllib.parse import urlsplit

import feedparser
from lxml import etree

from wallbill.errors import Place, SourceError
from wallbill.facts.headlines import Headline, Headlines
from wallbill.findings import Finding, Weight
from wallbill.sources.plain_text import from_html, from_title, one_line
from wallbill.sources.spec import ParseContext

HEADLINES = 20
"""Headlines kept where a source does not say."""

_MOST = 200
_TITLE, _SUMMARY = 300, 1000
_LARGEST_BYTES = 4 << 20
_DECLARED = re.compile(r"""^\s*<\?xml[^>]{0,200}?\?>""")
_ENCODING = re.compile(rb"""^\s*<\?xml[^>]{0,200}?encoding\s*=\s*["']([A-Za-z0-9._-]{1,40})["']""")
_ENTITY = re.compile(r"&(#[0-9]{1,7};|#[xX][0-9A-Fa-f]{1,6};|[A-Za-z][A-Za-z0-9]{0,30};)?")
_NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_.-]*")
_OF_XML = frozenset({"amp;", "lt;", "gt;", "quot;", "apos;"})
_ROOTS = frozenset({"rss", "feed", "rdf"})
_USUAL = MappingProxyType(
    {
        "dc": "http://purl.org/dc/elements/1.1/",
        "content": "http://purl.org/rss/1.0/modules/content/",
        "atom": "http://www.w3.org/2005/Atom",
    }
)
_LONGEST = 8000
_MOST_ATTRIBUTES = 40
_MOST_ELEMENTS = 20_000
_MEND = "Give the address of the feed itself, and check that it needs no login."


def parse(data: bytes, context: ParseContext) -> Headlines:
    """A feed as headlines; raises `SourceError` for what is no feed, is too large, or declares entities.

    A feed that is not well-formed is read as far as it goes, with a finding.
    """
    file = str(context.spec.options.get("file") or context.spec.name)
    most = _most(context)
    xml, fault = _checked(data, file)
    found = _understood(xml, file)
    read = (_headline(entry) for entry in found.get("entries", ()))
    headlines = _distinct([headline for headline in read if headline is not None])
    if fault is not None and not headlines:
        raise SourceError(
            "the feed is broken before its first entry",
            where=Place(file, fault),
            mend="Fetch it again, if it was cut; else tell who publishes it.",
        )
    feed = found.get("feed", {})
    origin = context.origin("feed", findings=_findings(fault, file))
    return Headlines(
        origin,
        _words(feed, "title", _TITLE) or context.spec.name,
        tuple(headlines[:most]),
        _moment(feed, "updated_parsed", "published_parsed"),
    )


def _understood(xml: bytes, file: str) -> Mapping[str, Any]:
    """What the library makes of a feed."""
    try:
        found: Mapping[str, Any] = feedparser.parse(
            BytesIO(xml),
            response_headers={"content-type": "application/xml; charset=utf-8"},
            sanitize_html=False,
            resolve_relative_uris=False,
        )
    except Exception as fault:  # noqa: BLE001  over elements in odd places the library stumbles in many ways
        raise SourceError(
            f"the feed cannot be understood ({type(fault).__name__})", where=Place(file), mend=_MEND
        ) from None
    return found


def _most(context: ParseContext) -> int:
    value = context.spec.options.get("max", HEADLINES)
    if not isinstance(value, int) or isinstance(value, bool) or not 1 <= value <= _MOST:
        raise SourceError(
            f"max is {value!r}", where=context.spec.where, mend=f"Give a whole number from 1 to {_MOST}."
        )
    return value


def _checked(data: bytes, file: str) -> tuple[bytes, int | None]:
    """The feed as well-formed XML of a bearable size, and the line of the first fault that had to be mended for that.

    ``feedparser`` takes up to a minute over some broken megabytes, and ``lxml`` no time at all.
    """
    if len(data) > _LARGEST_BYTES:
        raise SourceError(
            f"the feed is larger than {_LARGEST_BYTES >> 20} MiB",
            where=Place(file),
            mend="Ask its publisher for a shorter feed, or take one of a single subject.",
        )
    text = _decoded(data).lstrip("\ufeff \t\r\n\0")
    if not text:
        raise SourceError("the payload is empty", where=Place(file), mend=_MEND)
    entity = re.search(r"<!ENTITY", text, re.IGNORECASE)
    if entity:
        raise SourceError(
            "the feed declares entities of its own",
            where=Place(file, text[: entity.start()].count("\n") + 1),
            mend="Take another feed: entities can fill the memory, and no feed needs them.",
        )
    bare = _ENTITY.sub(_known_entity, _DECLARED.sub("", text, count=1)).encode("utf-8", "replace")
    parser = etree.XMLParser(encoding="utf-8", resolve_entities=False, no_network=True, recover=True)
    try:
        root = etree.fromstring(bare, parser)
    except etree.XMLSyntaxError:
        root = None
    if root is None or _local(root).lower() not in _ROOTS:
        page = re.match(
            r"\s*(?:<!--.*?-->\s*)*<(?:!doctype\s+html|html)", text[:2000], re.IGNORECASE | re.DOTALL
        )
        what = (
            "a web page came in place of a feed" if page else f"this is no feed: it begins with {text[:40]!r}"
        )
        raise SourceError(what, where=Place(file, 1), mend=_MEND)
    fault = parser.error_log[0].line if len(parser.error_log) else None
    try:
        _prune(root)
        return etree.tostring(root, encoding="utf-8"), fault
    except ValueError:  # names that the recovery let through and that no XML may have
        raise SourceError("the feed is broken beyond reading", where=Place(file, fault), mend=_MEND) from None


def _known_entity(found: re.Match[str]) -> str:
    """An entity of HTML as its sign, since XML does not know it; those of XML stay; else an ampersand is no more."""
    name = found[1] or ""
    if name.startswith("#"):
        number = int(name[2:-1], 16) if name[1] in "xX" else int(name[1:-1])
        good = (
            number in {9, 10, 13}
            or 32 <= number < 0xD800
            or 0xE000 <= number < 0xFFFE
            or 0xFFFF < number < 0x110000
        )
        return found[0] if good else "\ufffd"
    if name in _OF_XML:
        return found[0]
    return html5.get(name) or f"&amp;{name}"


def _local(element: etree._Element) -> str:
    """An element's name without its namespace, or without a prefix that nobody has declared."""
    return str(element.tag).rpartition("}")[2].rpartition(":")[2]


def _prune(root: etree._Element) -> None:
    """Takes out what no page could show: entries beyond the most, ends of very long texts, heaps of attributes.

    Prefixes that nobody has declared are given their usual meaning, or taken off.
    """
    entries = 0
    for number, element in enumerate(list(root.iter(etree.Element))):
        entries += _local(element) in {"item", "entry"}
        over = number > _MOST_ELEMENTS or (entries > _MOST and _local(element) in {"item", "entry"})
        if over and element.getparent() is not None:
            element.getparent().remove(element)
            continue
        local = _local(element)
        if ":" in element.tag.rpartition("}")[2] or not _NAME.fullmatch(local):
            space = _USUAL.get(element.tag.partition(":")[0], "urn:unknown")
            element.tag = f"{{{space}}}{local if _NAME.fullmatch(local) else 'unknown'}"
        names = list(element.attrib)
        for name in names:
            if ":" in name.rpartition("}")[2] or len(names) > _MOST_ATTRIBUTES:
                del element.attrib[name]
        if element.text and len(element.text) > _LONGEST:
            element.text = element.text[:_LONGEST]
        if element.tail and len(element.tail) > _LONGEST:
            element.tail = element.tail[:_LONGEST]


def _decoded(data: bytes) -> str:
    """The text, by its byte order mark or its XML declaration, else as UTF-8; wrong bytes are replaced."""
    marks = (
        (b"\xff\xfe\0\0", "utf-32"),
        (b"\0\0\xfe\xff", "utf-32"),
        (b"\xff\xfe", "utf-16"),
        (b"\xfe\xff", "utf-16"),
    )
    encoding = next((name for mark, name in marks if data.startswith(mark)), "")
    if not encoding and (declared := _ENCODING.match(data[:300])):
        encoding = declared[1].decode("ascii")
    try:
        return data.decode(encoding or "utf-8", "replace" if encoding else "strict")
    except (LookupError, UnicodeError, ValueError):
        return data.decode("utf-8", "replace") if encoding else data.decode("cp1252", "replace")


def _headline(entry: Mapping[str, Any]) -> Headline | None:
    """One entry; None for one that has no words."""
    title = _words(entry, "title", _TITLE)
    summary = _words(entry, "summary", _SUMMARY) or _content(entry)
    if not title and not summary:
        return None
    link = str(entry.get("link") or "").strip()
    return Headline(
        title=title or one_line(summary, _TITLE),
        summary=summary,
        published=_moment(entry, "published_parsed", "updated_parsed"),
        link=link if _is_of_the_web(link) else "",
        id=str(entry.get("id") or link)[:500],
    )


def _words(part: Mapping[str, Any], name: str, most: int) -> str:
    """A text of a feed as plain words, by the type that it was given with."""
    value = part.get(name)
    if not isinstance(value, str):
        return ""
    detail = part.get(f"{name}_detail") or {}
    plain = str(detail.get("type", "")) == "text/plain"
    return from_title(value, most) if plain else from_html(value, most)


def _content(entry: Mapping[str, Any]) -> str:
    contents = entry.get("content") or ()
    texts = (str(one.get("value") or "") for one in contents if isinstance(one, Mapping))
    return next((words for text in texts if (words := from_html(text, _SUMMARY))), "")


def _is_of_the_web(link: str) -> bool:
    try:
        parts = urlsplit(link)
    except ValueError:
        return False
    return parts.scheme in {"http", "https"} and bool(parts.netloc) and len(link) <= 2000


def _moment(part: Mapping[str, Any], *names: str) -> datetime | None:
    """The first date that is there and can be: feedparser gives them in UTC."""
    for name in names:
        parsed = part.get(name) if name in part else None  # asking for what is not there, it warns
        if parsed is None:
            continue
        try:
            return datetime.fromtimestamp(timegm(parsed), UTC)
        except (ValueError, OverflowError, OSError, TypeError):
            continue
    return None


def _distinct(headlines: list[Headline]) -> list[Headline]:
    """Each entry once, newest first; those of one moment, and those without a date, as they stand in the feed."""
    seen: set[str] = set()
    once = []
    for headline in headlines:
        key = headline.id or headline.title
        if key not in seen:
            seen.add(key)
            once.append(headline)
    return sorted(once, key=lambda h: -h.published.timestamp() if h.published else float("inf"))


def _findings(line: int | None, file: str) -> tuple[Finding, ...]:
    """A note where the feed is not well-formed."""
    if line is None:
        return ()
    return (
        Finding(
            rule="sources.feed-broken",
            where=Place(file, line),
            what="the feed is not well-formed; it is read as far as it goes",
            mend="Nothing, if the headlines are right; else tell who publishes it.",
            weight=Weight.NOTE,
        ),
    )
