"""A store that is killed at any moment opens again, is whole, and holds what it had said that it holds."""

import json
import subprocess
import sys
from collections import Counter

from tests.store import deeds
from tests.store.houses import House
from tests.store.racing import ROOT


def _killed(house: House, way: str, rounds: int) -> list[tuple[int, str]]:
    done = subprocess.run(
        [sys.executable, "-m", "tests.store.crashing", house.url, way, str(rounds)],
        cwd=ROOT, capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return [(said, wrong) for said, wrong in json.loads(done.stdout)]


def test_killed_around_every_statement(house: House) -> None:
    told = _killed(house, "every", 0)
    assert [wrong for _, wrong in told if wrong] == []
    points = Counter(kind for kind, _ in told)
    assert set(points) == set(range(deeds.KINDS))
    # Before and after a statement and the commit, and the one that came through.
    assert min(points.values()) >= 5


def test_killed_at_a_moment_that_nobody_chose(house: House) -> None:
    told = _killed(house, "any", 10)
    assert [wrong for _, wrong in told if wrong] == []
    assert len({said for said, _ in told}) > 3
