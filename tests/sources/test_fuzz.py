"""A short run of the fuzzing that ``scripts/fuzz.py`` does at length: every parser, some hundreds of inputs each."""

import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import pytest
from tests.sources.fuzz_seeds import seeds
from tests.sources.fuzzing import check, inputs, parsers

from wallbill.errors import SourceError
from wallbill.sources import reading
from wallbill.sources.spec import ParseContext

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("parser", parsers())
def test_its_seeds_are_read(parser: str) -> None:
    """A seed that is refused at the door would make the whole fuzzing of a parser worth nothing."""
    read = 0
    for seed in seeds(parser):
        context = seed.context(parser)
        with suppress(SourceError):
            reading.reader(context.spec)(seed.data, context)
            read += 1
    assert read > 0


@pytest.mark.parametrize("parser", parsers())
def test_nothing_but_our_own_errors_comes_out(parser: str) -> None:
    faults = check(parser, 1, count=300)
    assert not faults, "\n".join(map(str, faults))


def test_inputs_are_always_the_same() -> None:
    first = [seed.data for _, seed in inputs("feed", 7, count=40)]
    assert first == [seed.data for _, seed in inputs("feed", 7, count=40)]
    assert first[30:] == [seed.data for _, seed in inputs("feed", 7, first=30, count=10)]
    assert first != [seed.data for _, seed in inputs("feed", 8, count=40)]
    assert len(set(first)) > 30


def test_a_fault_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(data: bytes, context: ParseContext) -> object:
        return data[1_000_000]

    monkeypatch.setattr(reading, "reader", lambda spec: broken)
    (fault,) = check("feed", 1, count=20)
    assert fault.number == 0
    assert "IndexError" in fault.what


def test_the_program_reports_and_gives_its_status(tmp_path: Path) -> None:
    program = [sys.executable, str(ROOT / "scripts" / "fuzz.py"), "--count", "40", "--out", str(tmp_path)]
    good = subprocess.run(
        [*program, "list", "feed"], capture_output=True, text=True, timeout=120, check=False
    )
    assert good.returncode == 0, good.stdout + good.stderr
    assert "feed: 40 inputs" in good.stdout
    unknown = subprocess.run([*program, "nothing"], capture_output=True, text=True, timeout=60, check=False)
    assert unknown.returncode == 2
