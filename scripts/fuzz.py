"""Fuzzes every parser of every kind of source, each in a process of its own with limits of time and memory.

    python scripts/fuzz.py [--count 100000] [--chance 1] [--jobs 2] [--out out/fuzz] [PARSER ...]

Prints what came out that is no error of ours, what hung, and what grew, and leaves with 1 if anything did. The inputs
that did it are written to ``--out``. An input is had again by its parser, its number and ``--chance``.
"""

import argparse
import mmap
import resource
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from tests.sources.fuzzing import INPUT_S, check, inputs, parsers  # noqa: E402  the folder is told just above

MEMORY_BYTES = 2 << 30
_SLACK_S = 20.0


def main() -> int:
    """Run as a whole, or as the child that does one parser."""
    asked = _arguments()
    unknown = sorted(set(asked.parsers) - set(parsers()))
    if unknown:
        print(f"there is no parser {unknown[0]!r}; there are: {', '.join(parsers())}", file=sys.stderr)
        return 2
    if asked.child:
        return _child(asked)
    with ThreadPoolExecutor(asked.jobs) as pool:
        results = list(pool.map(lambda parser: _one(parser, asked), asked.parsers or parsers()))
    bad = sum(results)
    print(f"{len(results) - bad} of {len(results)} parsers held")
    return 1 if bad else 0


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Fuzz the parsers of all sources.")
    parser.add_argument("parsers", nargs="*")
    parser.add_argument("--count", type=int, default=100_000)
    parser.add_argument("--chance", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--out", type=Path, default=ROOT / "out" / "fuzz")
    parser.add_argument("--child", type=Path, help=argparse.SUPPRESS)
    return parser.parse_args()


def _one(parser: str, asked: argparse.Namespace) -> int:
    """One parser in a child; watched, since what hangs in a library's own code hears no alarm."""
    asked.out.mkdir(parents=True, exist_ok=True)
    mark = asked.out / f"{parser.replace(' ', '-')}.at"
    mark.write_bytes(bytes(8))
    began = time.monotonic()
    command = [sys.executable, __file__, "--count", str(asked.count), "--chance", str(asked.chance)]
    with subprocess.Popen(
        [*command, "--out", str(asked.out), "--child", str(mark), parser], stdout=subprocess.PIPE, text=True
    ) as child:
        hung = _watch(child, mark)
        told = child.stdout.read() if child.stdout else ""
    at = int.from_bytes(mark.read_bytes(), "big")
    mark.unlink()
    lines = told.splitlines()
    if hung or child.returncode not in {0, 1}:
        how = "hung" if hung else f"ended with status {child.returncode}"
        lines.append(f"{parser} input {at}: its process {how}")
        _write(asked, parser, at)
    print(
        f"{parser}: {asked.count} inputs in {time.monotonic() - began:.0f} s, {len(lines)} faults", flush=True
    )
    for line in lines:
        print(f"  {line}", flush=True)
    return 1 if lines else 0


def _watch(child: subprocess.Popen[str], mark: Path) -> bool:
    """Whether the child stood at one input for too long, and was ended."""
    seen, since = b"", time.monotonic()
    while child.poll() is None:
        time.sleep(0.1)
        now = mark.read_bytes()
        if now != seen:
            seen, since = now, time.monotonic()
        if time.monotonic() - since > INPUT_S + _SLACK_S:
            child.kill()
            return True
    return False


def _child(asked: argparse.Namespace) -> int:
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    (parser,) = asked.parsers
    with asked.child.open("r+b") as file, mmap.mmap(file.fileno(), 8) as place:

        def at(number: int) -> None:
            place[:] = number.to_bytes(8, "big")

        faults = check(parser, asked.chance, count=asked.count, at=at)
    for fault in faults:
        print(fault)
        _write(asked, parser, fault.number)
    return 1 if faults else 0


def _write(asked: argparse.Namespace, parser: str, number: int) -> None:
    """The input that did it, for a test of its own."""
    for _, seed in inputs(parser, asked.chance, first=number, count=1):
        (asked.out / f"{parser.replace(' ', '-')}-{number}.bin").write_bytes(seed.data)


if __name__ == "__main__":
    sys.exit(main())
