"""The shell client as a device client under test, run by a shell of the machine."""

import re
import shutil
import subprocess
from collections.abc import Mapping
from pathlib import Path

from tests.agent.contract import KEY, Outcome
from tests.agent.fault_server import picture
from wallbill.agent import shell_clients

CLIENT = Path(shell_clients.__file__).parent / "posix" / "wallbill-client.sh"
SHOW = """#!/bin/sh
# The panel: a file, which a refresh that is cut off leaves as neither the old picture nor the new one.
printf 'half a picture' >"$GLASS.frame" && cat "$1" >"$GLASS.frame" && mv "$GLASS.frame" "$GLASS"
"""


def settle(folder: Path, url: str, **over: str | int) -> Path:
    """Writes settings, key and a program that shows; gives the settings' path."""
    folder.mkdir(parents=True, exist_ok=True)
    show, key = folder / "show", folder / "key"
    if not show.exists():
        show.write_text(SHOW, encoding="utf-8")
        show.chmod(0o755)
    key.write_text(KEY + "\n", encoding="ascii")
    values: dict[str, str | int] = {
        "address": f"{url}/displays/hall",
        "name": "hall",
        "form": "plates",
        "media_type": "application/octet-stream",
        "length_bytes": len(picture(1).plates),
        "folder": str(folder / "kept"),
        "show": str(show),
        "key_file": str(key),
        "least_interval_s": 0,
        "quiet_s": 1,
        "patience_s": 2,
    }
    settings = folder / "hall.conf"
    settings.write_text("".join(f"{word}='{value}'\n" for word, value in {**values, **over}.items()))
    return settings


def call(
    shell: str, settings: Path, glass: Path, *words: str, env: Mapping[str, str] | None = None
) -> subprocess.CompletedProcess[str]:
    """Runs the client."""
    found = shutil.which(shell.split(maxsplit=1)[0])
    assert found, f"{shell} is missing: install the Debian packages dash, busybox and curl"
    return subprocess.run(
        [found, *shell.split()[1:], str(CLIENT), str(settings), *words],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
        env={"PATH": "/usr/bin:/bin", "GLASS": str(glass), **(env or {})},
    )


class ShellClient:
    """The shell client, as `contract.Client`."""

    takes_unusual = frozenset({"chunked", "without_length", "dated_wrongly", "in_small_pieces", "gone_on"})

    def __init__(self, shell: str) -> None:
        self._shell = shell

    def run_once(self, url: str, state: Path, glass: Path) -> Outcome:
        """One run."""
        ended = call(self._shell, settle(state, url), glass, "--now")
        assert ended.stderr == ""
        found = re.fullmatch(r"(new|same|kept) (\d+)(?: .*)?\n", ended.stdout)
        assert found, ended.stdout
        assert ended.returncode == (1 if found[1] == "kept" else 0)
        status = {"new": "shown", "same": "same", "kept": "refused"}[found[1]]
        return Outcome(status, int(found[2]))
