"""What a broker said: the last message of each topic, how it is kept, and what a later listening changes in it."""

import base64
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import Any

from wallbill.errors import Place, SourceError
from wallbill.sources.mqtt_topics import opened

_EDITION = 1

PAYLOAD_MOST = 65_536
"""Bytes of a payload that can be read; one more is kept, so that the reader sees that it is too large."""

TOPICS_MOST = 1000
"""Topics of one source of which the last message is kept."""


@dataclass(frozen=True, slots=True)
class Message:
    """The last message of a topic.

    ``retained``: whether the broker gave it out of its memory. ``at``: when it was published (aware, UTC), None
    where that cannot be told. ``held_at``: no older than this, if that is known. ``seen_at``: when the broker last
    gave it to us. An empty payload says that the topic has no value.
    """

    topic: str
    payload: bytes = field(repr=False)
    retained: bool
    at: datetime | None
    held_at: datetime | None
    seen_at: datetime


def heard(topic: str, payload: bytes, *, retained: bool, at: datetime) -> Message:
    """A message as it comes at ``at`` (aware): its moment is known only if the broker did not keep it for us."""
    moment = at.astimezone(UTC)
    return Message(
        topic, payload[: PAYLOAD_MOST + 1], retained, None if retained else moment, None, seen_at=moment
    )


def merged(
    old: Iterable[Message], new: Sequence[Message], *, filters: Sequence[str], at: datetime
) -> tuple[Message, ...]:
    """What is known after a full listening that ended at ``at``: ``new`` (in order of coming) over ``old``.

    A retained message with the payload that we know is the one that we know: its moment stands. With another payload
    it is younger than our last sight of the former. A retained message that we had and that the broker no longer has
    was taken back: the topic has no value. Topics that no filter asks for any more are forgotten.
    """
    before = {message.topic: message for message in old}
    now: dict[str, Message] = {}
    for message in new:
        now[message.topic] = _over(now.get(message.topic) or before.get(message.topic), message)
    for topic, message in before.items():
        if topic not in now:
            gone = message.retained and message.payload
            now[topic] = (
                replace(message, payload=b"", retained=False, at=None, held_at=message.seen_at, seen_at=at)
                if gone
                else message
            )
    asked = [
        message for message in now.values() if any(opened(one, message.topic) is not None for one in filters)
    ]
    asked.sort(key=lambda message: message.seen_at, reverse=True)
    return tuple(sorted(asked[:TOPICS_MOST], key=lambda message: message.topic))


def _over(old: Message | None, new: Message) -> Message:
    """A message in the light of the one before it on its topic."""
    if not new.retained or old is None:
        return new
    if old.payload == new.payload:
        return replace(old, retained=True, seen_at=new.seen_at)
    return replace(new, held_at=old.seen_at)


def packed(messages: Iterable[Message]) -> bytes:
    """Messages as a payload to keep."""
    told = [
        {
            "topic": message.topic,
            "payload": base64.b64encode(message.payload).decode("ascii"),
            "retained": message.retained,
            "at": _text(message.at),
            "held_at": _text(message.held_at),
            "seen_at": _text(message.seen_at),
        }
        for message in messages
    ]
    return json.dumps({"edition": _EDITION, "messages": told}, ensure_ascii=False).encode(
        "utf-8", "surrogatepass"
    )


def unpacked_messages(payload: bytes, source: str) -> tuple[Message, ...]:
    """The messages of a kept payload; raises `SourceError` for what is none."""
    try:
        told: Any = json.loads(payload.decode("utf-8", "surrogatepass"))
        of_now = told["edition"] == _EDITION
        return tuple(_message(one) for one in told["messages"] if of_now)
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        raise SourceError(
            "what was kept of it cannot be read", where=Place(source), mend="Gather it anew."
        ) from None


def _message(told: Mapping[str, Any]) -> Message:
    seen_at = _moment(told["seen_at"])
    topic, retained = told["topic"], told["retained"]
    if seen_at is None or not isinstance(topic, str) or not isinstance(retained, bool):
        raise ValueError("no message")
    return Message(
        topic=topic,
        payload=base64.b64decode(told["payload"], validate=True),
        retained=retained,
        at=_moment(told["at"]),
        held_at=_moment(told["held_at"]),
        seen_at=seen_at,
    )


def _text(moment: datetime | None) -> str | None:
    return None if moment is None else moment.astimezone(UTC).isoformat()


def _moment(text: str | None) -> datetime | None:
    moment = None if text is None else datetime.fromisoformat(text)
    if moment is not None and moment.tzinfo is None:
        raise ValueError("no offset")
    return moment
