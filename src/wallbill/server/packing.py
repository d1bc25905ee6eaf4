"""Orders, frozen facts and pulled pictures as they go between the server and its presses: JSON heads and blobs."""

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from types import MappingProxyType
from typing import Any

from wallbill.server.model import Pull, Pulled, Round
from wallbill.sources.fetching import Failures, Kept
from wallbill.sources.frozen import KeptSource, Mark
from wallbill.store.model import Impressed


@dataclass(frozen=True, slots=True)
class Snapshot:
    """What was kept of the sources of a round. ``name``: tells one snapshot from another."""

    name: str
    sources: tuple[KeptSource, ...] = field(default=(), repr=False)


@dataclass(frozen=True, slots=True)
class Print:
    """What came off the press. ``standing``: the page that the picture was made from, for the next one; b"" for none."""

    pulled: Pulled
    standing: bytes = field(default=b"", repr=False)


def plain_pull(order: Pull) -> dict[str, Any]:
    """An order as plain values for JSON."""
    return {
        "displays": list(order.displays),
        "at": order.at.isoformat(),
        "sheet": order.sheet,
        "wall": order.wall,
        "why": order.why,
    }


def pull_of(plain: Mapping[str, Any]) -> Pull:
    """The order that `plain_pull` wrote."""
    return Pull(
        displays=tuple(map(str, plain["displays"])),
        at=datetime.fromisoformat(plain["at"]),
        sheet=str(plain["sheet"]),
        wall=str(plain["wall"]),
        why=str(plain["why"]),
    )


def plain_round(work: Round) -> dict[str, Any]:
    """A round as plain values for JSON."""
    return {
        "at": work.at.isoformat(),
        "sources": list(work.sources),
        "pulls": [plain_pull(order) for order in work.pulls],
    }


def round_of(plain: Mapping[str, Any]) -> Round:
    """The round that `plain_round` wrote."""
    return Round(
        at=datetime.fromisoformat(plain["at"]),
        sources=tuple(map(str, plain["sources"])),
        pulls=tuple(pull_of(each) for each in plain["pulls"]),
    )


def plain_marks(marks: Iterable[Mark]) -> list[list[str]]:
    """Marks as plain values for JSON."""
    return [[mark.source, mark.identity, mark.settings] for mark in marks]


def marks_of(plain: Iterable[Sequence[str]]) -> tuple[Mark, ...]:
    """The marks that `plain_marks` wrote."""
    return tuple(Mark(*each) for each in plain)


def packed_snapshot(snapshot: Snapshot) -> tuple[dict[str, Any], tuple[bytes, ...]]:
    """A snapshot as a head and blobs."""
    sources = [
        {
            "source": each.source,
            "parts": [_plain_kept(part) for part in each.parts],
            "failures": _plain_failures(each.failures),
        }
        for each in snapshot.sources
    ]
    bodies = tuple(part.body for each in snapshot.sources for part in each.parts)
    return {"name": snapshot.name, "sources": sources}, bodies


def snapshot_of(head: Mapping[str, Any], blobs: Iterable[bytes]) -> Snapshot:
    """The snapshot that `packed_snapshot` packed."""
    bodies = iter(blobs)
    sources = tuple(
        KeptSource(
            source=each["source"],
            parts=tuple(_kept(each["source"], part, next(bodies)) for part in each["parts"]),
            failures=_failures(each["failures"]),
        )
        for each in head["sources"]
    )
    return Snapshot(head["name"], sources)


def _plain_kept(part: Kept) -> dict[str, Any]:
    return {
        "part": part.part,
        "identity": part.identity,
        "asked": part.asked,
        "headers": dict(part.headers),
        "fetched_at": part.fetched_at.isoformat(),
        "due_at": part.due_at.isoformat(),
    }


def _kept(source: str, plain: Mapping[str, Any], body: bytes) -> Kept:
    return Kept(
        source=source,
        part=plain["part"],
        identity=plain["identity"],
        asked=plain["asked"],
        body=body,
        headers=MappingProxyType(plain["headers"]),
        fetched_at=datetime.fromisoformat(plain["fetched_at"]),
        due_at=datetime.fromisoformat(plain["due_at"]),
    )


def _plain_failures(failures: Failures | None) -> list[Any] | None:
    if failures is None:
        return None
    return [failures.identity, failures.count, failures.due_at.isoformat(), failures.what, failures.mend]


def _failures(plain: Sequence[Any] | None) -> Failures | None:
    if plain is None:
        return None
    identity, count, due_at, what, mend = plain
    return Failures(identity, count, datetime.fromisoformat(due_at), what, mend)


def packed_print(made: Print) -> tuple[dict[str, Any], tuple[bytes, ...]]:
    """What came off the press as a head and blobs."""
    pulled = made.pulled
    impression = pulled.impression
    head: dict[str, Any] = {
        "sheet": pulled.sheet,
        "by": pulled.by,
        "dated": [list(pair) for pair in pulled.dated],
        "stale": list(pulled.stale),
        "findings": pulled.findings,
        "took_ms": pulled.took_ms,
        "fault": pulled.fault,
        "impression": None,
    }
    if impression is None:
        return head, ()
    head["impression"] = {
        "digest": impression.digest,
        "panel": impression.panel,
        "width_px": impression.width_px,
        "height_px": impression.height_px,
        "minor": [list(part) for part in impression.minor],
    }
    return head, (impression.png, made.standing)


def print_of(head: Mapping[str, Any], blobs: Sequence[bytes]) -> Print:
    """What `packed_print` packed. Raises `ValueError`, `KeyError` or `TypeError` for what it is not."""
    told = head["impression"]
    impression = None
    if told is not None:
        impression = Impressed(
            digest=str(told["digest"]),
            panel=str(told["panel"]),
            width_px=int(told["width_px"]),
            height_px=int(told["height_px"]),
            png=blobs[0],
            minor=tuple((int(a), int(b), int(c), int(d)) for a, b, c, d in told["minor"]),
        )
    pulled = Pulled(
        sheet=str(head["sheet"]),
        by=str(head["by"]),
        impression=impression,
        dated=tuple((str(name), str(moment)) for name, moment in head["dated"]),
        stale=tuple(map(str, head["stale"])),
        findings=str(head["findings"]),
        took_ms=int(head["took_ms"]),
        fault=str(head["fault"]),
    )
    json.loads(pulled.findings)
    return Print(pulled, blobs[1] if len(blobs) > 1 else b"")
