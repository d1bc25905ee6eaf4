"""One CAP alert out of its XML. Source: Common Alerting Protocol 1.2, OASIS Standard, 1 July 2010."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from itertools import islice

from lxml import etree

from wallbill.errors import Place
from wallbill.facts.alerts import Alert, Certainty, Severity, Urgency
from wallbill.facts.track import Position
from wallbill.findings import Finding
from wallbill.sources.alerts_area import Area, Circle, Polygon, ring_of
from wallbill.sources.alerts_message import (
    Message,
    Notice,
    ending,
    instant,
    references_of,
    word_of,
)
from wallbill.sources.alerts_xml import children, inner_text, text_of

_LANGUAGE = "en-US"
"""What an info is in that does not say: CAP 1.2, section 3.2.2."""

_MOST_INFOS, _MOST_AREAS = 100, 500


class _Doubts:
    """What cannot be read on the way, each with its line."""

    def __init__(self, file: str) -> None:
        self._file = file
        self.found: list[Finding] = []

    def add(self, element: etree._Element, what: str) -> None:
        place = Place(self._file, element.sourceline, str(etree.QName(element).localname))
        self.found.append(
            Finding(
                "sources.left-out", place, what, mend="Nothing, if it happens once; else tell the publisher."
            )
        )


def read_cap(alert: etree._Element, *, file: str, language: str, fetched_at: datetime) -> Message:
    """An alert element as a message, its infos in one language. ``fetched_at``: counts as sent where that is broken.

    A time, word or shape that cannot be read is left out with a finding; the alert itself is never lost for it.
    """
    doubts = _Doubts(file)
    sent = _instant(alert, "sent", doubts)
    if sent is None:
        doubts.add(alert, "it does not say when it was sent; the time of its arrival counts")
    identifier, sender = text_of(alert, "identifier"), text_of(alert, "sender")
    head = _Head(identifier, sender, sent or fetched_at)
    infos = list(islice(children(alert, "info"), _MOST_INFOS))
    chosen = [infos[n] for n in chosen_by_language([_language(info) for info in infos], language)]
    return Message(
        key=(sender, identifier),
        sent=head.sent,
        status=text_of(alert, "status").lower(),
        kind=text_of(alert, "msgType").lower(),
        references=references_of(text_of(alert, "references")),
        notices=tuple(head.notice(info, doubts) for info in chosen),
        findings=tuple(doubts.found),
    )


def chosen_by_language(languages: Sequence[str], wanted: str) -> tuple[int, ...]:
    """Which of several languages to read: the wall's, else one that shares its primary tag, else English, else the first.

    All of the chosen language count, since an alert may have several parts in one. Tags as in RFC 5646, any case.
    """
    tags = [tag.replace("_", "-").lower() for tag in languages]
    want = wanted.replace("_", "-").lower()
    primary = want.partition("-")[0]
    choices = (
        *(tag for tag in tags if tag == want),
        *(tag for tag in tags if tag.partition("-")[0] == primary),
        *(tag for tag in tags if tag.partition("-")[0] == "en"),
        *tags,
    )
    return tuple(n for n, tag in enumerate(tags) if tag == choices[0]) if tags else ()


class _Head:
    """What all parts of an alert share."""

    def __init__(self, identifier: str, sender: str, sent: datetime) -> None:
        self.identifier = identifier
        self.sender = sender
        self.sent = sent

    def notice(self, info: etree._Element, doubts: _Doubts) -> Notice:
        effective = _instant(info, "effective", doubts) or self.sent
        onset = _instant(info, "onset", doubts)
        responses = tuple(inner_text(child) for child in children(info, "responseType"))
        alert = Alert(
            identifier=self.identifier,
            sender=self.sender,
            sent=self.sent,
            event=one_line(text_of(info, "event")),
            severity=word_of(Severity, text_of(info, "severity")),
            urgency=word_of(Urgency, text_of(info, "urgency")),
            certainty=word_of(Certainty, text_of(info, "certainty")),
            effective=effective,
            onset=onset,
            ends=ending(ends=_instant(info, "expires", doubts), begins=(self.sent, effective, onset)),
            language=_language(info),
            headline=one_line(text_of(info, "headline")),
            description=paragraphs(text_of(info, "description")),
            instruction=paragraphs(text_of(info, "instruction")),
            sender_name=one_line(text_of(info, "senderName")),
            web=one_line(text_of(info, "web")),
            categories=tuple(inner_text(child) for child in children(info, "category")),
            responses=responses,
            awareness_type=one_line(next(_parameters(info, "awareness_type"), "")),
        )
        warns = not (responses and all(word.lower() == "allclear" for word in responses))
        areas = tuple(_area(area, doubts) for area in islice(children(info, "area"), _MOST_AREAS))
        return Notice(alert, areas, warns and not _is_green(info))


def one_line(text: str) -> str:
    """Text with its white space made single spaces."""
    return " ".join(text.split())


def paragraphs(text: str) -> str:
    """Text with its hard line ends taken out, paragraphs parted by one blank line."""
    parts: list[list[str]] = [[]]
    for line in text.splitlines():
        if line.strip():
            parts[-1].append(one_line(line))
        elif parts[-1]:
            parts.append([])
    return "\n\n".join(" ".join(part) for part in parts if part)


def _language(info: etree._Element) -> str:
    return one_line(text_of(info, "language")) or _LANGUAGE


def _instant(element: etree._Element, name: str, doubts: _Doubts) -> datetime | None:
    told = next(children(element, name), None)
    if told is None or not inner_text(told):
        return None
    moment = instant(inner_text(told))
    if moment is None:
        doubts.add(told, f"left out, as it is no time with an offset: {inner_text(told)[:40]!r}")
    return moment


def _is_green(info: etree._Element) -> bool:
    """Whether the awareness level of European weather services is 1, "green": nothing to warn of (common practice)."""
    return any(level.lstrip().startswith("1;") for level in _parameters(info, "awareness_level"))


def _parameters(info: etree._Element, name: str) -> Iterator[str]:
    """The values of the parameters of that name, in any case."""
    told = (p for p in children(info, "parameter") if text_of(p, "valueName").lower() == name)
    yield from (text_of(parameter, "value") for parameter in told)


def _area(area: etree._Element, doubts: _Doubts) -> Area:
    shapes: tuple[Polygon | Circle, ...] = (*_polygons(area, doubts), *_circles(area, doubts))
    codes = tuple(
        (text_of(code, "valueName"), value)
        for code in children(area, "geocode")
        for value in text_of(code, "value").split()
    )
    return Area(one_line(text_of(area, "areaDesc")), shapes, codes)


def _polygons(area: etree._Element, doubts: _Doubts) -> Iterator[Polygon]:
    """``lat,lon lat,lon …``, latitude first, closed."""
    for told in children(area, "polygon"):
        points = [_numbers(pair) for pair in inner_text(told).split()]
        good = [pair for pair in points if pair is not None]
        ring = ring_of(good) if good and len(good) == len(points) else None
        if ring is not None:
            yield Polygon(ring)
        elif inner_text(told):
            doubts.add(told, f"left out, as it is no outline: {inner_text(told)[:40]!r}")


def _circles(area: etree._Element, doubts: _Doubts) -> Iterator[Circle]:
    """``lat,lon km``."""
    for told in children(area, "circle"):
        pair, _, radius = inner_text(told).partition(" ")
        centre, size = _numbers(pair), _numbers(f"{radius},0")
        try:
            if centre is None or size is None or not 0 <= size[0] <= 25_000:
                raise ValueError  # noqa: TRY301 one place tells both faults
            yield Circle(Position(*centre), size[0] * 1000)
        except ValueError:
            doubts.add(told, f"left out, as it is no circle: {inner_text(told)[:40]!r}")


def _numbers(pair: str) -> tuple[float, float] | None:
    try:
        first, second = pair.split(",")
        return float(first), float(second)
    except ValueError:
        return None
