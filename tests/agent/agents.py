"""The agent as a device client under test: its own file, run in a process of its own."""

import io
import json
import os
import re
import subprocess
import sys
from collections.abc import Mapping
from contextlib import redirect_stdout
from pathlib import Path
from typing import Any

from tests.agent.contract import KEY, PATIENCE_S, QUIET_S, Outcome
from tests.agent.fault_server import HEIGHT_PX, INKS, WIDTH_PX
from wallbill.agent.bundling import bundle
from wallbill.agent.device.settings import merged
from wallbill.agent.device.shell_main import Place, main
from wallbill.agent.shell import device_modules

PYTHON = os.environ.get("WALLBILL_AGENT_PYTHON", sys.executable)
"""The Python that the agent runs on; another one may be tried."""


def settings(address: str, glass: Mapping[str, Any], **over: Any) -> dict[str, Any]:
    """Settings for the fault server's pictures, with little patience and no rest between refreshes."""
    plain = {
        "v": 1,
        "display": "hall",
        "address": address,
        "panel": {"name": "test", "width_px": WIDTH_PX, "height_px": HEIGHT_PX, "inks": INKS},
        "limits": {"least_interval_s": 0},
        "glass": dict(glass),
        "network": {"join_s": 0, "quiet_s": QUIET_S, "patience_s": PATIENCE_S},
    }
    return merged(plain, over)


def write_agent(folder: Path, values: Mapping[str, Any]) -> Path:
    """The agent's file with those settings."""
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / "hall.pyz"
    file.write_bytes(bundle(device_modules(), values))
    return file


def call(file: Path, *words: str, state: Path, key: str = KEY) -> subprocess.CompletedProcess[str]:
    """Runs the agent."""
    return subprocess.run(
        [PYTHON, "-W", "error", str(file), *words, "--state", str(state)],
        capture_output=True,
        text=True,
        timeout=60,
        env={"WALLBILL_KEY": key, "PATH": os.environ["PATH"], "HOME": str(file.parent)},
        check=False,
    )


def call_here(values: Mapping[str, Any], *words: str, state: Path, key: str = KEY) -> tuple[int, str]:
    """Runs the agent in this process, which is quicker; gives its exit status and what it says."""
    folder = state.parent
    key_file = folder / "here.key"
    key_file.write_text(key, encoding="ascii")
    key_file.chmod(0o600)
    place = Place(folder / "here.pyz", json.dumps({**values, "key_file": str(key_file)}).encode(), ())
    said = io.StringIO()
    with redirect_stdout(said):
        status = main([*words, "--state", str(state)], place)
    return status, said.getvalue()


class Agent:
    """The agent, as `contract.Client`."""

    takes_unusual = frozenset(
        {"chunked", "without_length", "dated_wrongly", "in_small_pieces", "gone_on", "moved_here"}
    )

    def run_once(self, url: str, state: Path, glass: Path) -> Outcome:
        """One wake of the agent, with a file for its panel: in a process of its own if another Python is to be tried."""
        values = settings(url, {"adapter": "file", "path": str(glass), "form": "plates"})
        if sys.executable == PYTHON:
            return _outcome(*call_here(values, "once", "--now", state=state))
        file = state.parent / "hall.pyz"
        if not file.exists():
            write_agent(state.parent, values)
        file.with_suffix(".json").write_text(json.dumps({"address": url}), encoding="utf-8")
        ended = call(file, "once", "--now", state=state)
        assert ended.stderr == ""
        return _outcome(ended.returncode, ended.stdout)


def _outcome(status: int, said: str) -> Outcome:
    found = re.fullmatch(r"(\w+)(?:: .*)?; next in (\d+) s\n", said)
    assert found, said
    what = "refused" if found[1] == "failed" else found[1]
    assert status == (1 if what == "refused" else 0), said
    return Outcome(what, int(found[2]))
