"""Kept fits: packed with a checksum, so that a damaged one is noticed and made again."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

ALGORITHM = "2"
"""Part of every key: raise it when the same ask would give other bytes."""

_MAGIC = b"wallbill face\n"
_DIGEST_BYTES = 32


@dataclass(frozen=True, slots=True)
class Record:
    """A font file with what has to be known about it: JSON values by name."""

    facts: Mapping[str, Any]
    data: bytes


def key_of(what: str, *parts: object) -> str:
    """A key for the keep: the kind of thing, and a digest of everything that it depends on."""
    text = json.dumps([ALGORITHM, what, *parts], ensure_ascii=True, sort_keys=True, default=list)
    return f"{what}-{hashlib.sha256(text.encode()).hexdigest()}"


def packed(record: Record) -> bytes:
    """A record as bytes, with a SHA-256 of the rest in front."""
    facts = json.dumps(dict(record.facts), sort_keys=True).encode()
    body = len(facts).to_bytes(4, "big") + facts + record.data
    return _MAGIC + hashlib.sha256(body).digest() + body


def unpacked(data: bytes | None) -> Record | None:
    """The record, or None where there is none, or it is damaged."""
    if data is None or not data.startswith(_MAGIC):
        return None
    digest, body = data[len(_MAGIC) :][:_DIGEST_BYTES], data[len(_MAGIC) + _DIGEST_BYTES :]
    if hashlib.sha256(body).digest() != digest:
        return None
    end = 4 + int.from_bytes(body[:4], "big")
    return Record(json.loads(body[4:end]), body[end:])
