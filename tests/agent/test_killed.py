"""Whenever the power goes, the next wake puts everything right by itself."""

import os
import shutil
import subprocess
from pathlib import Path

from tests.agent import killing
from tests.agent.agents import PYTHON, call_here, settings, write_agent
from tests.agent.contract import KEY
from tests.agent.fault_server import picture, serving

_DRIVER = "import sys; data = sys.stdin.buffer.read(); open(sys.argv[1], 'wb').write(data)"


def _run(step: int, file: Path, state: Path) -> tuple[int, int]:
    """Exit status and steps of a wake that ends before its step ``step``."""
    ended = subprocess.run(
        [PYTHON, killing.__file__, str(step), str(file), "once", "--now", "--state", str(state)],
        capture_output=True,
        text=True,
        timeout=60,
        env={"WALLBILL_KEY": KEY, "PATH": os.environ["PATH"]},
        check=False,
    )
    return ended.returncode, int(ended.stderr or 0)


def test_killed_at_every_step_the_next_wake_recovers(tmp_path: Path) -> None:
    glass = tmp_path / "glass.plates"
    with serving(picture(1)) as server:
        values = settings(server.address, {"adapter": "file", "path": str(glass), "form": "plates"})
        file = write_agent(tmp_path, values)
        kept = tmp_path / "kept"
        assert _run(0, file, kept)[0] == 0
        old, new = picture(1), picture(2)
        server.picture = new
        shutil.copytree(kept, tmp_path / "counted")
        steps = _run(0, file, tmp_path / "counted")[1]
        assert steps > 12
        seen = set()
        for step in range(1, steps + 1):
            state = tmp_path / f"state-{step}"
            shutil.copytree(kept, state)
            glass.write_bytes(old.plates)
            assert _run(step, file, state)[0] == killing.KILLED
            shown = glass.read_bytes()
            assert shown in {old.plates, new.plates}
            seen.add(shown)
            server.asked.clear()
            assert call_here(values, "once", "--now", state=state)[0] == 0
            assert glass.read_bytes() == new.plates
            told = server.pictures_asked[0].headers.get("if-none-match")
            assert told in ({None, old.tag} if shown == old.plates else {None, new.tag})
            assert len(list(state.glob("picture-*"))) == 1  # nothing is left lying about
        assert seen == {old.plates, new.plates}


def test_killed_while_a_driver_runs_the_picture_is_shown_again(tmp_path: Path) -> None:
    glass = tmp_path / "glass"
    with serving(picture(1)) as server:
        values = settings(server.address, {"adapter": "command", "argv": [PYTHON, "-c", _DRIVER, str(glass)]})
        file = write_agent(tmp_path, values)
        state = tmp_path / "state"
        steps = _run(0, file, state)[1]
        right = glass.read_bytes()
        for step in range(1, steps + 1):
            shutil.rmtree(state)
            glass.write_bytes(b"half a picture")
            assert _run(step, file, state)[0] == killing.KILLED
            if glass.read_bytes() != right:
                server.asked.clear()
                assert call_here(values, "once", "--now", state=state)[0] == 0
                assert "if-none-match" not in server.pictures_asked[0].headers
            assert glass.read_bytes() == right
