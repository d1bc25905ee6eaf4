"""XML that carries alerts, read with no document type, no entities and no network; and the index that links alerts."""

import re
from collections.abc import Iterator
from collections.abc import Set as AbstractSet
from datetime import date, timedelta
from itertools import islice

from lxml import etree

from wallbill.errors import Place, SourceError
from wallbill.sources.alerts_message import instant

CAP = re.compile(r"urn:oasis:names:tc:emergency:cap:1\.[12]|http://www\.incident\.com/cap/1\.0")
"""The namespaces of CAP 1.2 and 1.1, and of 1.0, whose elements that are read here have the same names."""

MOST_LINKS = 100
"""Alerts of an index that are followed, the first ones."""

_MEND = "Give the address of the alert, or of the feed that lists alerts, and check that it needs no login."
_DECLARED = re.compile(rb"<\?xml[^>]{0,200}?encoding\s*=\s*[\"']([\w.-]{1,40})[\"']")
_DECLARATION = re.compile(r"\s*<\?xml[^>]{0,200}\?>")
_MOST_ENTRIES = 2_000
_ENTRIES = frozenset({"entry", "item"})


def read_xml(data: bytes, file: str) -> etree._Element:
    """The root element of a payload; raises `SourceError` with the line for what is no XML, or has a document type.

    No alert needs a document type, and the entities that it may declare can fill the memory.
    """
    text = _decoded(data, file)
    if not text.strip():
        raise SourceError("the payload is empty", where=Place(file), mend=_MEND)
    barred = re.search(r"<!(DOCTYPE|ENTITY)", text, re.IGNORECASE)
    if barred is not None:
        raise SourceError(
            "a document type is not read",
            where=Place(file, text[: barred.start()].count("\n") + 1),
            mend=_MEND,
        )
    parser = etree.XMLParser(
        encoding="utf-8", resolve_entities=False, no_network=True, load_dtd=False, huge_tree=False
    )
    body = _DECLARATION.sub("", text, count=1).lstrip()
    lead = text[: len(text) - len(body)].count("\n") if text.endswith(body) else 0
    try:
        return etree.fromstring(body.encode("utf-8", "replace"), parser)
    except etree.XMLSyntaxError as fault:
        raise SourceError(
            f"the alert cannot be read: {str(fault.msg).split(', line')[0]}",
            where=Place(file, lead + (fault.lineno or 1)),
            mend="Fetch it again, if it was cut; else report it to its publisher.",
        ) from None
    except ValueError as fault:
        raise SourceError(f"the alert cannot be read: {fault}", where=Place(file), mend=_MEND) from None


def _decoded(data: bytes, file: str) -> str:
    declared = _DECLARED.match(data.lstrip()[:300])
    marked = data.startswith((b"\xff\xfe", b"\xfe\xff"))
    encoding = "utf-16" if marked else declared[1].decode("ascii") if declared else "utf-8"
    try:
        text = data.decode("utf-8-sig" if encoding.lower() in {"utf-8", "utf8"} else encoding)
    except (UnicodeError, LookupError):
        raise SourceError(f"the alert is not written in {encoding}", where=Place(file), mend=_MEND) from None
    return text.removeprefix("\ufeff")


def name_of(element: etree._Element) -> str:
    """An element's name without its namespace, "" for a comment or an instruction."""
    return str(etree.QName(element).localname) if isinstance(element.tag, str) else ""


def children(element: etree._Element, name: str) -> Iterator[etree._Element]:
    """The child elements of that name, whatever their namespace."""
    return (child for child in element if name_of(child) == name)


def text_of(element: etree._Element, name: str) -> str:
    """The text of the first child of that name, "" if there is none."""
    return next((inner_text(child) for child in children(element, name)), "")


def inner_text(element: etree._Element) -> str:
    """All text inside an element, without that of comments."""
    return "".join(str(part) for part in element.xpath(".//text()")).strip()


def alerts_in(root: etree._Element) -> Iterator[etree._Element]:
    """Every CAP alert of a document: the root itself, or those that a feed or an envelope carries."""
    for element in root.iter(etree.Element):
        if name_of(element) == "alert" and CAP.fullmatch(etree.QName(element).namespace or ""):
            yield element


def is_index(root: etree._Element) -> bool:
    """Whether a document is a feed: Atom, RSS 2.0 or RSS 1.0."""
    return name_of(root).lower() in {"feed", "rss", "rdf"}


def areas_of(told: object) -> frozenset[str]:
    """The option ``areas`` as a set of codes; what is no text is left aside."""
    return frozenset(str(code).strip() for code in told) if isinstance(told, list | tuple) else frozenset()


def links_of(data: bytes, file: str, *, today: date, areas: AbstractSet[str]) -> tuple[str, ...]:
    """The addresses of the alerts that an index lists, as they stand there; none for what is no index.

    An entry that says itself that it is no longer of use is left out, and a new alert whose codes are none of
    ``areas``, if the wall names some. Raises `SourceError` for what cannot be read.
    """
    if data.lstrip()[:1] in {b"{", b"["}:
        return ()
    root = read_xml(data, file)
    if not is_index(root):
        return ()
    entries = (element for element in root.iter(etree.Element) if name_of(element) in _ENTRIES)
    links = (
        _link(entry)
        for entry in islice(entries, _MOST_ENTRIES)
        if next(alerts_in(entry), None) is None and _is_wanted(entry, today, areas)
    )
    return tuple(dict.fromkeys(islice((link for link in links if link), MOST_LINKS)))


def _is_wanted(entry: etree._Element, today: date, areas: AbstractSet[str]) -> bool:
    """By the elements of CAP that some publishers repeat in the index."""
    status, expires = text_of(entry, "status"), instant(text_of(entry, "expires"))
    if status and status.lower() != "actual":
        return False
    if expires is not None and expires.date() < today - timedelta(days=1):
        return False
    codes = {inner_text(value) for code in children(entry, "geocode") for value in children(code, "value")}
    codes = {code for value in codes for code in value.split()}
    ours = {area.rpartition("=")[2] for area in areas}
    return not (areas and codes and text_of(entry, "msgType").lower() == "alert" and not codes & ours)


def _link(entry: etree._Element) -> str:
    """An entry's link to the alert itself, else its first link that is no page for people and not the entry's own."""
    found: list[tuple[int, str]] = []
    for child in entry:
        name, kind = name_of(child), str(child.get("type", "")).lower()
        address = str(child.get("href") or child.get("url") or child.get("src") or "").strip()
        if name == "link" and not address:
            address = inner_text(child)
        leads = name in {"link", "enclosure", "content"} and address and child.get("rel") != "self"
        if leads and ("xml" in kind or "cap" in kind or not kind):
            found.append((0 if "cap" in kind else 1 if kind else 2, address))
    return min(found, key=lambda pair: pair[0], default=(0, ""))[1]
