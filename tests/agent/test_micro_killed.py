"""Whenever the power goes, the microcontroller twin's next wake puts everything right by itself."""

import json
import shutil
from pathlib import Path

import pytest

from tests.agent.fault_server import picture, serving
from tests.agent.micro_twin import call, cpython, micropython, settle, wake

KILLED = -9


def _tag(folder: Path) -> str:
    """The tag that the twin believes is shown."""
    found = folder / "state.json"
    return str(json.loads(found.read_bytes())["tag"]) if found.exists() else ""


@pytest.mark.parametrize("straight", [False, True])
@pytest.mark.parametrize("known", [False, True])
def test_killed_at_every_step_the_next_wake_recovers(tmp_path: Path, *, known: bool, straight: bool) -> None:
    old, new = picture(1), picture(2)
    kept, glass = tmp_path / "kept", tmp_path / "glass"
    python = cpython()
    with serving(old) as server:
        settle(kept, server.address)
        if known:
            wake(python, kept, glass, straight=straight)
        before = glass.read_bytes() if known else b""
        server.picture = new
        counted = tmp_path / "counted"
        shutil.copytree(kept, counted)
        (said,) = wake(python, counted, tmp_path / "other", straight=straight)
        assert said["steps"] > 10
        seen = set()
        for step in range(1, said["steps"] + 1):
            state = tmp_path / f"state-{step}"
            shutil.copytree(kept, state)
            glass.write_bytes(before)
            assert call(python, state, glass, straight=straight, kill_step=step).returncode == KILLED
            shown = glass.read_bytes()
            seen.add(shown)
            told = _tag(state)
            assert told in {"", {before: old.tag, new.plates: new.tag}.get(shown, "")}
            (after,) = wake(python, state, glass, straight=straight)
            assert after["status"] in {"shown", "same"}
            assert glass.read_bytes() == new.plates
            assert _tag(state) == new.tag
            assert not list(state.glob("*.new"))
        assert seen == {before, b"half a picture", new.plates}


def test_killed_in_micropython_too(tmp_path: Path) -> None:
    glass = tmp_path / "glass"
    with serving(picture(1)) as server:
        settle(tmp_path / "kept", server.address)
        (said,) = wake(micropython(), tmp_path / "kept", glass)
        for step in range(1, said["steps"] + 1, 7):
            state = tmp_path / f"state-{step}"
            settle(state, server.address)
            glass.write_bytes(b"")
            assert call(micropython(), state, glass, kill_step=step).returncode != 0
            wake(micropython(), state, glass)
            assert glass.read_bytes() == picture(1).plates


def test_a_torn_picture_is_put_up_again_though_the_server_is_away(tmp_path: Path) -> None:
    glass, state = tmp_path / "glass", tmp_path / "state"
    with serving(picture(1)) as server:
        settle(state, server.address)
        steps = wake(cpython(), state, glass)[0]["steps"]
        shutil.rmtree(state)
        settle(state, server.address)
        for step in range(steps, 0, -1):  # the last step at which the panel is left half refreshed
            settle(state, server.address)
            call(cpython(), state, glass, kill_step=step)
            if glass.read_bytes() == b"half a picture":
                break
            shutil.rmtree(state)
    (said,) = wake(cpython(), state, glass)
    assert said["status"] == "refused"
    assert glass.read_bytes() == picture(1).plates
