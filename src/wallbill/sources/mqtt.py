"""Values out of MQTT messages (3.1.1 and 5): which topics a wall wants, and what their payloads say.

The messages come as `wallbill.sources.mqtt_messages` packs them, from whatever listened to the broker.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from wallbill.errors import Place, SourceError
from wallbill.facts.values import Group, Value, Values
from wallbill.findings import Finding, Weight
from wallbill.sources.datum import DoubtError, Wanted, datum, decoded, unpacked
from wallbill.sources.moments import Moments, moments_of
from wallbill.sources.mqtt_messages import PAYLOAD_MOST, Message, unpacked_messages
from wallbill.sources.mqtt_topics import filter_fault, is_open, opened
from wallbill.sources.saying import Saying
from wallbill.sources.spec import ParseContext, SourceSpec
from wallbill.sources.value_facts import oldest
from wallbill.sources.value_options import Sought, sought
from wallbill.sources.value_reading import Doubts, Heard, value_of

PROTOCOLS = ("3.1.1", "5")
_PORT, _TLS_PORT = 1883, 8883
_LISTEN_MOST_S = 60.0


@dataclass(frozen=True, slots=True)
class Broker:
    """Where to listen, and how.

    ``ca``: a file of the wall that holds the certificates to trust, "" for those that this machine trusts.
    ``listen_s``: for how long to listen at most.
    """

    host: str
    port: int
    tls: bool
    ca: str
    user: str = field(repr=False)
    password: str = field(repr=False)
    protocol: str
    qos: int
    client_id: str
    listen_s: float


def broker_of(spec: SourceSpec) -> Broker:
    """The broker that a source names; raises `SourceError` that names the option."""
    say = Saying(spec.options, spec.where)
    host = say.text("broker", "").strip()
    if not host or any(sign in host for sign in "/@ \t\n") or (":" in host and host.count(":") < 2):
        raise SourceError(
            f"{host!r} is no broker" if host else "it names no broker",
            where=say.at("broker"),
            mend='Give the host alone, such as broker = "broker.lan"; port, user and password have keys of their own.',
        )
    tls = say.truth("tls", default=False) or bool(say.text("ca", ""))
    listen = say.length("listen")
    return Broker(
        host=host.strip("[]"),
        port=say.whole("port", _TLS_PORT if tls else _PORT, least=1, most=65535),
        tls=tls,
        ca=say.text("ca", ""),
        user=str(spec.options.get("user") or ""),
        password=str(spec.options.get("password") or ""),
        protocol=say.choice("protocol", PROTOCOLS[0], PROTOCOLS),
        qos=say.whole("qos", 0, most=2),
        client_id=say.text("client_id", ""),
        listen_s=min(listen.total_seconds(), _LISTEN_MOST_S) if listen else 3.0,
    )


def topics_of(spec: SourceSpec) -> tuple[Sought, ...]:
    """The values that a source wants, each with its topic; raises `SourceError` that names the option."""
    wanted = sought(
        spec.options,
        spec.where,
        table="values",
        keys=("topic", "pick", "availability"),
        good_for=spec.good_for,
    )
    common = Saying(spec.options, spec.where).text("availability", "")
    for one in wanted:
        _check(one.topic, one.place)
        if one.availability:
            _check(one.availability, one.place, closed=True)
    if common:
        _check(common, Place(spec.where.file, spec.where.line, "availability"), closed=True)
    return tuple(replace(one, availability=one.availability or common) for one in wanted)


def filters_of(wanted: Sequence[Sought]) -> tuple[str, ...]:
    """All topic filters to ask the broker for, each once."""
    named = [*(one.topic for one in wanted), *(one.availability for one in wanted if one.availability)]
    return tuple(dict.fromkeys(named))


def _check(topic: str, place: Place, *, closed: bool = False) -> None:
    fault = filter_fault(topic) or ("it leaves a level open" if closed and is_open(topic) else None)
    if fault:
        raise SourceError(
            f"{topic[:60]!r} is no topic to listen to: {fault}",
            where=place,
            mend='Write topic = "house/boiler/temp", or with a level left open "house/+/temp".',
        )


def parse(data: bytes, context: ParseContext) -> Values:
    """The messages of a source as its values; raises `SourceError` for what was never kept by us.

    A topic with a level left open gives a group of values, named by what stands there. A topic that has said nothing,
    or whose retained message was cleared, has no value.
    """
    wanted = topics_of(context.spec)
    reader = _Reader(
        {message.topic: message for message in unpacked_messages(data, context.spec.name)},
        context,
        moments=moments_of(Saying(context.spec.options, context.spec.where), context.zone),
    )
    entries = tuple(reader.entry(one) for one in wanted)
    values = [
        value for entry in entries for value in (entry.entries if isinstance(entry, Group) else (entry,))
    ]
    findings = (*reader.doubts.told(), *_ageless(values, context.spec.name))
    return Values(context.origin("mqtt", issued_at=oldest(values), findings=findings), entries)


class _Reader:
    """Reads the messages of one source."""

    def __init__(self, messages: Mapping[str, Message], context: ParseContext, *, moments: Moments) -> None:
        self._messages = messages
        self._latest = context.fetched_at
        self._moments = moments
        self.doubts = Doubts(context.spec.name)

    def entry(self, wanted: Sought) -> Value | Group:
        """What a topic gives, or what the topics give that match a filter."""
        if not is_open(wanted.topic):
            return self._value(wanted, self._messages.get(wanted.topic))
        found = [
            self._value(wanted, message, name=name)
            for topic, message in self._messages.items()
            if message.payload
            and (name := opened(wanted.topic, topic)) is not None
            and topic != wanted.availability
        ]
        return Group(wanted.name, tuple(sorted(found, key=lambda value: value.name)))

    def _value(self, wanted: Sought, message: Message | None, *, name: str = "") -> Value:
        online = self._online(wanted.availability)
        if message is None:
            return Value(name or wanted.name, None, None, None, online=online, good_for=wanted.good_for)
        try:
            payload = _payload(message, wanted)
        except DoubtError as doubt:
            self.doubts.add(name or wanted.name, doubt)
            payload = None
        held_at = self._latest if online else message.held_at
        heard = Heard(payload, message.at, latest=message.seen_at, held_at=held_at, online=online)
        return value_of(wanted, heard, self._moments, doubts=self.doubts, name=name)

    def _online(self, topic: str) -> bool | None:
        """What the sender's topic says, or its Will after it is gone."""
        message = self._messages.get(topic) if topic else None
        if message is None or not message.payload:
            return None
        try:
            said, _ = datum(unpacked(decoded(message.payload)), Wanted(kind="truth"))
        except DoubtError as doubt:
            self.doubts.add(topic, doubt)
            return None
        return said if isinstance(said, bool) else None


def _payload(message: Message, wanted: Sought) -> object:
    """A payload as a JSON value or as text; nothing for an empty one. Raises `DoubtError`."""
    if len(message.payload) > PAYLOAD_MOST:
        raise DoubtError(f"its payload is larger than {PAYLOAD_MOST // 1024} KiB", "Send less on this topic.")
    text = decoded(message.payload)
    if not text.strip():
        return None
    value = (
        text
        if wanted.wanted.kind == "text" and wanted.pick is None and wanted.time is None
        else unpacked(text)
    )
    if isinstance(value, str) and value == text and (wanted.pick or wanted.time):
        raise DoubtError(
            "it is no JSON", "Take pick and time away for a plain payload, or look at what is sent."
        )
    return value


def _ageless(values: Sequence[Value], source: str) -> tuple[Finding, ...]:
    """A note of the values whose age cannot be told."""
    names = [value.name for value in values if value.value is not None and value.at is None]
    if not names:
        return ()
    return (
        Finding(
            rule="sources.age-unknown",
            where=Place(source),
            what=f"the broker had kept the message, so that its age cannot be told: {', '.join(names[:10])}",
            mend='Nothing, if it is marked well enough; or let the device send its time, and add time = "…".',
            weight=Weight.NOTE,
        ),
    )
