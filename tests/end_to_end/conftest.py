"""One press of the example wall, shared by all tests, and by all processes that test side by side."""

import fcntl
import os
import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.end_to_end.running import AT, DEMO, Said, files_in, wallbill, without_network
from wallbill.cli.main import run

GUARD = """
import os, socket, sys

def _log(text):
    with open(os.environ["NETWORK_LOG"], "a", encoding="utf-8") as file:
        file.write(text + "\\n")

def _refuse(*_, **__):
    _log("asked")
    raise OSError("this test has no network")

_log("started " + " ".join(sys.orig_argv))
for name in ("connect", "connect_ex", "sendto", "bind"):
    setattr(socket.socket, name, _refuse)
for name in ("getaddrinfo", "gethostbyname", "create_connection"):
    setattr(socket, name, _refuse)
"""


@dataclass(frozen=True)
class DemoPress:
    """The example wall, pressed with no network and a cold cache. ``log``: what the guard of the network saw."""

    wall: Path
    out: Path
    cache: Path
    log: Path
    said: Said


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest) -> DemoPress:
    """The example wall pressed once: a copy, so that its files can be compared before and after."""
    base = tmp_path_factory.getbasetemp()
    folder = (base.parent if hasattr(request.config, "workerinput") else base) / "demo-press"
    folder.mkdir(exist_ok=True)
    with (folder / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)  # of several test processes one presses, the others wait
        if not (folder / "status").exists():
            _press_demo(folder)
    said = Said(
        int((folder / "status").read_text()), (folder / "stdout").read_text(), (folder / "stderr").read_text()
    )
    return DemoPress(folder / "wall", folder / "out", folder / "cache", folder / "log", said)


def _press_demo(folder: Path) -> None:
    shutil.copytree(DEMO, folder / "wall", ignore=shutil.ignore_patterns("__pycache__", ".*"))
    before = files_in(folder / "wall")
    said = wallbill(
        "press", folder / "wall", "--offline", "--at", AT, "--out", folder / "out",
        cache=folder / "cache", more={**guard(folder), "PYTHONHASHSEED": "1"}, before=without_network, limit_s=120,
    )  # fmt: skip
    assert files_in(folder / "wall") == before, "the press left something in the wall's folder"
    (folder / "stdout").write_text(said.out)
    (folder / "stderr").write_text(said.err)
    (folder / "status").write_text(str(said.status))


def guard(folder: Path) -> dict[str, str]:
    """Environment in which every Python process has no network, and says so in ``folder``/log when it asks for it."""
    (folder / "guard").mkdir(exist_ok=True)
    (folder / "guard" / "sitecustomize.py").write_text(GUARD, encoding="utf-8")
    paths = [str(folder / "guard"), *filter(None, [os.environ.get("PYTHONPATH")])]
    return {"PYTHONPATH": os.pathsep.join(paths), "NETWORK_LOG": str(folder / "log")}


@pytest.fixture
def press(demo: DemoPress, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> "Press":
    """Presses walls in this process, with the cache that the example wall has warmed."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(demo.cache))
    return Press(capsys)


class Press:
    """``wallbill press`` in this process: fast, and fit for whatever cannot hang."""

    def __init__(self, capsys: pytest.CaptureFixture[str]) -> None:
        self._capsys = capsys

    def __call__(self, wall: Path, *names: str, out: Path | None = None, status: int | None = None) -> Said:
        """Presses ``wall`` into ``out`` (``out`` beside the wall if not said); ``status``: what it must end with."""
        target = out or wall.parent / "out"
        said = self.run("press", wall, *names, "--offline", "--at", AT, "--out", target)
        if status is not None:
            assert said.status == status, said
        return said

    def run(self, *arguments: object) -> Said:
        """Any command."""
        self._capsys.readouterr()
        status = run([str(argument) for argument in arguments])
        out, err = self._capsys.readouterr()
        assert "Traceback" not in err, err
        assert "fault of Wallbill's own" not in err, err
        return Said(status, out, err)
