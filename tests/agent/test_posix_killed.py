"""Whenever the shell client is killed, its next run puts everything right by itself."""

import shutil
import signal
import subprocess
from pathlib import Path

from tests.agent.fault_server import picture, serving
from tests.agent.shell_client import CLIENT, ShellClient, settle

TOOLS = (
    "awk", "base64", "cat", "cksum", "curl", "cut", "date", "flock", "head", "mkdir", "mv", "od", "rm", "sed", "sha256sum",
    "sync", "tail", "timeout", "tr", "wc",
)  # fmt: skip

SHIM = """#!/bin/sh
# Counts the programs that the client calls; before the one that is wanted, the client is killed.
echo x >>"$COUNT"
[ "$(/usr/bin/wc -l <"$COUNT")" -lt "$LAST" ] || { kill -9 "$(/usr/bin/head -n 1 "$CLIENT_PID")"; exit 1; }
exec /usr/bin/%s "$@"
"""


def _shims(folder: Path) -> Path:
    folder.mkdir()
    for tool in TOOLS:
        found = shutil.which(tool, path="/usr/bin:/bin")
        assert found, f"{tool} is missing"
        shim = folder / tool
        shim.write_text(SHIM % tool if found.startswith("/usr/bin/") else SHIM.replace("/usr/bin/%s", found))
        shim.chmod(0o755)
    return folder


def _run(settings: Path, glass: Path, shims: Path, last: int) -> tuple[int, int]:
    """A run that is killed at its ``last`` program; its exit status, and how many programs it called."""
    count, pid = settings.parent / "count", settings.parent / "pid"
    count.write_text("")
    ended = subprocess.run(
        ["dash", "-c", 'echo $$ >"$CLIENT_PID"; exec dash "$0" "$@"', str(CLIENT), str(settings), "--now"],
        capture_output=True,
        timeout=60,
        check=False,
        env={
            "PATH": f"{shims}:/usr/bin:/bin",
            "GLASS": str(glass),
            "COUNT": str(count),
            "CLIENT_PID": str(pid),
            "LAST": str(last),
        },
    )
    return ended.returncode, len(count.read_text().splitlines())


def _tag(folder: Path) -> str:
    found = folder / "kept" / "state"
    lines = found.read_text(encoding="ascii").splitlines() if found.exists() else []
    return next((line[4:] for line in lines if line.startswith("tag=")), "")


def test_killed_at_every_program_it_calls_the_next_run_recovers(tmp_path: Path) -> None:
    old, new = picture(1), picture(2)
    state, glass = tmp_path / "state", tmp_path / "glass"
    shims = _shims(tmp_path / "shims")
    client = ShellClient("dash")
    with serving(old) as server:
        client.run_once(server.address, state, glass)
        shutil.copytree(state / "kept", tmp_path / "before")
        server.picture = new
        settings = settle(state, server.address)
        status, programs = _run(settings, glass, shims, 1000)
        assert (status, glass.read_bytes()) == (0, new.plates)
        assert programs > 40
        seen = set()
        for last in range(1, programs + 1):
            shutil.rmtree(state / "kept")
            shutil.copytree(tmp_path / "before", state / "kept")
            glass.write_bytes(old.plates)
            assert _run(settings, glass, shims, last)[0] == -signal.SIGKILL
            shown = glass.read_bytes()
            seen.add(shown)
            assert _tag(state) in {"", {old.plates: old.tag, new.plates: new.tag}.get(shown, "")}
            assert client.run_once(server.address, state, glass).status in {"shown", "same"}
            assert glass.read_bytes() == new.plates
            assert _tag(state) == new.tag
            assert sorted(file.name for file in (state / "kept").iterdir()) == [
                "lock.file",
                "picture.plates",
                "state",
            ]
        assert seen == {old.plates, new.plates}
