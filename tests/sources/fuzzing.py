"""Spoils payloads in many ways and hands them to their parsers: whatever happens, only our own errors may come out.

The n-th input of a parser is always the same for the same seed of chance, so that a fault can be had again.
"""

import json
import os
import random
import re
import signal
import traceback
import warnings
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from types import FrameType
from typing import Any

from tests.sources.fuzz_seeds import Seed, seeds

from wallbill.errors import WallbillError
from wallbill.sources import reading

INPUT_S = 5.0
"""How long one input may take."""

GROWTH_BYTES = 64 << 20
"""How much a process may grow between its first tenth and its end."""

_TOKENS = (
    b"", b"\0", b"\xff\xfe", b"\xef\xbb\xbf", b"-", b"-1", b"0", b"1e999", b"-1e-400", b"NaN", b"Infinity", b"null", b"true",
    b"[]", b"{}", b'""', b'"', b"'", b"99999999999999999999", b"2147483648", b"-9223372036854775809", b"0.1" + b"0" * 400,
    b"\xf0\x9f\x9a\xa2", b"\xed\xa0\x80", b"\\ud800", b"\\u0000", b"%s%n", b"\r", b"\n\n", b"\r\n ", b"\t", b" " * 50,
    b"0001-01-01T00:00:00Z", b"9999-12-31T23:59:59Z", b"2026-02-30", b"2026-03-29T01:30:00", b"24:00:00", b"99991231T235959Z",
    b'<!ENTITY x "y">', b"<![CDATA[", b"]]>", b"<a>" * 300, b"&#0;", b"&#xD800;", b"&lt;", b"&bogus;", b"</", b"/>",
    b"RRULE:FREQ=SECONDLY\r\n", b"INTERVAL=0;", b"COUNT=99999999;", b"BYMONTHDAY=-31;", b"UNTIL=00010101;", b"TZID=Nowhere/Bad:",
    b"DURATION:-P99999999D\r\n", b"RDATE:19000101T000000Z\r\n", b"BEGIN:VEVENT\r\n", b"END:VCALENDAR\r\n", b"DTSTART:00000000\r\n",
    b"VRB", b"CAVOK", b"Q9999", b"A0000", b"M99/M99", b"/////", b"9999KT", b"(A) ", b"x ", b"- [ ] ", b"due:0000-00-00", b"```\n",
    b"90.1", b"-180.0001", b"181", b"25:61:61", b"PK\x03\x04", b"\x08\xff\xff\xff\xff\xff\xff\xff\xff\xff\x01", b"," * 40, b";",
)  # fmt: skip
_NUMBER = re.compile(rb"-?\d+(?:\.\d+)?")
_VALUES: tuple[Any, ...] = (
    None, True, False, 0, -1, 1e308, -1e308, 10**30, 2**31, -(2**63), 0.1, "", "x", "1", "null", "2026-03-14T07:00:00Z",
    "9999-12-31T23:59:59Z", "0001-01-01T00:00:00+14:00", [], {}, [[]], {"a": {}}, "é" * 400, "\u202e", "\ud800", float("nan"),
    float("inf"),
)  # fmt: skip


class HangError(BaseException):
    """One input took longer than `INPUT_S`; no Exception, so that no parser takes it for a fault of its payload."""


@dataclass(frozen=True, slots=True)
class Fault:
    """What came out of a parser that must not: the input's number, what it was, and where it came from."""

    parser: str
    number: int
    what: str
    where: str

    def __str__(self) -> str:
        return f"{self.parser} input {self.number}: {self.what} at {self.where}"


def parsers() -> tuple[str, ...]:
    """The names of all parsers, as the table of readers has them."""
    return tuple(reading._PARSERS)


def inputs(parser: str, chance: int, *, first: int = 0, count: int) -> Iterator[tuple[int, Seed]]:
    """Numbered inputs: the seeds themselves, and then seeds spoilt."""
    sound = seeds(parser)
    for number in range(first, first + count):
        if number < len(sound):
            yield number, sound[number]
            continue
        if not any(seed.data for seed in sound):
            return  # a parser that looks at no payload
        rng = random.Random(f"{chance} {parser} {number}")
        seed = rng.choice(sound)
        data = seed.data
        for _ in range(rng.choice((1, 1, 1, 2, 3, 6))):
            data = rng.choice(_WAYS)(data, rng, rng.choice(sound).data)[:400_000]
        yield number, Seed(data, seed.options)


def check(
    parser: str, chance: int, *, first: int = 0, count: int, at: Callable[[int], None] = lambda _: None
) -> list[Fault]:
    """The faults of some inputs, each kind of fault once. ``at`` is told each number before its turn."""
    found: dict[tuple[str, str], Fault] = {}
    before = None
    old = signal.signal(signal.SIGALRM, _ring)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            for number, seed in inputs(parser, chance, first=first, count=count):
                at(number)
                fault = _fault(parser, number, seed)
                if fault is not None:
                    found.setdefault((fault.what.split(":")[0], fault.where), fault)
                if number == first + count // 10:
                    before = _resident_bytes()
    finally:
        signal.signal(signal.SIGALRM, old)
    growth = _resident_bytes() - (before or 0)
    if before is not None and growth > GROWTH_BYTES:
        found["growth", ""] = Fault(
            parser, first + count, f"memory grew by {growth >> 20} MiB", "the whole run"
        )
    return list(found.values())


def _fault(parser: str, number: int, seed: Seed) -> Fault | None:
    context = seed.context(parser)
    signal.setitimer(signal.ITIMER_REAL, INPUT_S)
    try:
        reading.reader(context.spec)(seed.data, context)
    except WallbillError:
        return None
    except (Exception, HangError) as fault:  # noqa: BLE001  finding these is what this is for
        frames = traceback.extract_tb(fault.__traceback__)
        ours = [frame for frame in frames if "/wallbill/" in frame.filename] or frames
        where = f"{Path(ours[-1].filename).name}:{ours[-1].lineno}"
        return Fault(parser, number, f"{type(fault).__name__}: {str(fault)[:120]}", where)
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
    return None


def _ring(signum: int, frame: FrameType | None) -> None:
    raise HangError(f"more than {INPUT_S:g} s")


def _resident_bytes() -> int:
    pages = Path("/proc/self/statm").read_text(encoding="ascii").split()[1]
    return int(pages) * os.sysconf("SC_PAGE_SIZE")


# The ways of spoiling: each takes a payload, chance, and another payload of the same parser.


def _flip(data: bytes, rng: random.Random, _: bytes) -> bytes:
    spoilt = bytearray(data)
    for _n in range(rng.choice((1, 2, 8)) if spoilt else 0):
        spoilt[rng.randrange(len(spoilt))] ^= 1 << rng.randrange(8)
    return bytes(spoilt)


def _token(data: bytes, rng: random.Random, _: bytes) -> bytes:
    at = rng.randint(0, len(data))
    return data[:at] + rng.choice(_TOKENS) + data[at + rng.choice((0, 0, 1, 3, 10)) :]


def _number(data: bytes, rng: random.Random, _: bytes) -> bytes:
    found = list(_NUMBER.finditer(data))
    if not found:
        return data
    one = rng.choice(found)
    return data[: one.start()] + rng.choice(_TOKENS) + data[one.end() :]


def _cut(data: bytes, rng: random.Random, _: bytes) -> bytes:
    at = rng.randint(0, len(data))
    return data[:at] if rng.random() < 0.7 else data[at:]


def _gone(data: bytes, rng: random.Random, _: bytes) -> bytes:
    at = rng.randint(0, len(data))
    return data[:at] + data[at + rng.choice((1, 5, 40, 400)) :]


def _again(data: bytes, rng: random.Random, _: bytes) -> bytes:
    at = rng.randint(0, len(data))
    piece = data[at : at + rng.choice((1, 10, 100, 1000))]
    return data[:at] + piece * rng.choice((2, 2, 3, 30)) + data[at:]


def _splice(data: bytes, rng: random.Random, other: bytes) -> bytes:
    return data[: rng.randint(0, len(data))] + other[rng.randint(0, len(other)) :]


def _lines(data: bytes, rng: random.Random, _: bytes) -> bytes:
    lines = data.splitlines(keepends=True)
    if len(lines) < 2:
        return data
    one, two = rng.randrange(len(lines)), rng.randrange(len(lines))
    way = rng.randrange(3)
    if way == 0:
        lines[one], lines[two] = lines[two], lines[one]
    elif way == 1:
        del lines[one]
    else:
        lines.insert(two, lines[one])
    return b"".join(lines)


def _tree(data: bytes, rng: random.Random, _: bytes) -> bytes:
    """Another value somewhere in a JSON payload; a timetable's part is one too."""
    head, body, tail = _json_part(data)
    try:
        told = json.loads(body)
    except (ValueError, RecursionError):
        return _token(data, rng, b"")
    spot: Any = told
    for _n in range(rng.randint(0, 8) if isinstance(told, dict | list) else 0):
        keys = (
            list(spot) if isinstance(spot, dict) else list(range(len(spot))) if isinstance(spot, list) else []
        )
        if not keys:
            break
        key = rng.choice(keys)
        if isinstance(spot[key], dict | list) and spot[key] and rng.random() < 0.8:
            spot = spot[key]
            continue
        way = rng.randrange(4)
        if way == 0:
            del spot[key]
        elif way == 1 and isinstance(spot, dict):
            spot[rng.choice(("", "x", "time", f"{key}x"))] = spot.pop(key)
        else:
            spot[key] = rng.choice(_VALUES)
        break
    made = json.dumps(told).encode()
    return head.replace(str(len(body)).encode(), str(len(made)).encode()) + made + tail


def _json_part(data: bytes) -> tuple[bytes, bytes, bytes]:
    """What stands before the JSON, the JSON, and what stands after it, of a timetable with news."""
    found = re.match(rb"wallbill timetable 1\n(\d{1,9}) \w*\n", data)
    if not found:
        return b"", data, b""
    end = found.end() + int(found[1])
    return data[: found.end()], data[found.end() : end], data[end:]


_WAYS = (
    _flip,
    _token,
    _token,
    _number,
    _number,
    _cut,
    _gone,
    _again,
    _splice,
    _lines,
    _lines,
    _tree,
    _tree,
    _tree,
)
